//! What the documents list is what the code has, no more and no less: rooms, commands, options, ceilings, codes.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use crate::folder;

use chargesplit::audit::FAULTS;
use chargesplit::cylinder::{CAUTIONS, CeilingKind, RULES, Tag};
use chargesplit::estimate::FIGURES;
use chargesplit::job::NOTICES;
use chargesplit::problem::CODES;

fn developers() -> String {
    fs::read_to_string("DEVELOPERS.md").unwrap()
}

fn readme() -> String {
    fs::read_to_string("README.md").unwrap()
}

#[test]
fn every_room_stands_in_the_picture_and_on_the_map() {
    let (developers, map) = (developers(), fs::read_to_string("src/lib.rs").unwrap());
    let picture = developers.split("```").nth(1).expect("the picture is the first block");
    let rooms: Vec<String> = fs::read_dir("src")
        .unwrap()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.file_type().unwrap().is_dir())
        .map(|entry| entry.file_name().into_string().unwrap())
        .collect();
    assert!(rooms.len() >= 10);
    for room in &rooms {
        assert!(picture.lines().any(|line| line.starts_with(&format!("{room} "))), "{room} isn't in the picture");
        assert!(map.contains(&format!("| [`{room}`] |")), "{room} isn't on the map of the library");
    }
    let drawn = picture.lines().filter_map(|line| line.split_whitespace().next());
    for name in drawn.filter(|name| *name != "main") {
        assert!(rooms.iter().any(|room| room == name), "the picture has a room `{name}`");
    }
}

/// The help of the program, or of one of its commands.
fn help(command: Option<&str>) -> String {
    folder::run(command.into_iter().chain(["--help"])).out
}

fn commands() -> Vec<String> {
    let help = help(None);
    let listed = help.split("Commands:").nth(1).and_then(|rest| rest.split("Options:").next()).unwrap();
    let commands: Vec<String> = listed
        .lines()
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|command| *command != "help")
        .map(str::to_owned)
        .collect();
    assert!(commands.len() >= 8, "{commands:?}");
    commands
}

/// The options that a text names: `--lift-limit`.
fn options(text: &str) -> BTreeSet<String> {
    let named = text.split(|c: char| !c.is_ascii_alphanumeric() && c != '-').filter(|word| word.starts_with("--"));
    named.filter(|word| word.len() > 3 && !word.starts_with("---")).map(str::to_owned).collect()
}

/// The rows of the README's table of commands: what stands in the first column.
fn table() -> Vec<String> {
    let readme = readme();
    let section = readme.split("## Commands").nth(1).and_then(|rest| rest.split("\n## ").next()).unwrap();
    let rows = section.lines().filter(|line| line.starts_with("| `"));
    rows.map(|row| row.split(" | ").next().unwrap().to_owned()).collect()
}

#[test]
fn every_command_stands_in_the_readme_and_every_one_there_is_a_command() {
    let (commands, readme) = (commands(), readme());
    for command in &commands {
        assert!(readme.contains(&format!("`{command} ")), "README says nothing of `{command}`");
    }
    let mut rows = 0;
    for row in table() {
        // `new job`, `new yard` are two uses of one command.
        for name in row.split('`').skip(1).step_by(2).filter_map(|usage| usage.split_whitespace().next()) {
            assert!(commands.iter().any(|command| command == name), "README has a command `{name}`");
            rows += 1;
        }
    }
    assert!(rows >= commands.len() - 1, "{rows}");
}

#[test]
fn every_option_that_the_readme_names_is_one() {
    let known: BTreeMap<String, BTreeSet<String>> =
        commands().into_iter().map(|command| (command.clone(), options(&help(Some(&command))))).collect();
    // In the table: an option of the row's own command.
    let mut compared = 0;
    for row in table() {
        for usage in row.split('`').skip(1).step_by(2) {
            let command = usage.split_whitespace().next().unwrap();
            for option in options(usage) {
                assert!(known[command].contains(&option), "README gives `{command}` an option {option}");
                compared += 1;
            }
        }
    }
    assert!(compared > 8, "{compared}");
    // Elsewhere, and in the reference: an option of any command, or of what the paragraphs on building and measuring call.
    let bench = fs::read_to_string("examples/bench/main.rs").unwrap()
        + &fs::read_to_string("tests/references/solvers.py").unwrap();
    let cargos = ["--release", "--bins", "--example"];
    let reference = fs::read_to_string("scenarios/README.md").unwrap();
    for option in options(&(readme() + &reference)) {
        let ours = known.values().any(|options| options.contains(&option));
        let field = format!("    {}: ", option.trim_start_matches('-').replace('-', "_"));
        let theirs =
            cargos.contains(&option.as_str()) || bench.contains(&field) || bench.contains(&format!("\"{option}\""));
        assert!(ours || theirs, "README names {option}, and nothing has it");
    }
}

#[test]
fn every_ceiling_stands_with_its_source_in_the_reference() {
    let reference = fs::read_to_string("scenarios/README.md").unwrap();
    for kind in CeilingKind::ALL {
        let row = reference.lines().find(|line| line.starts_with(&format!("| {} |", kind.name())));
        let source =
            row.unwrap_or_else(|| panic!("{}", kind.name())).trim_end_matches(" |").rsplit("| ").next().unwrap();
        assert!(source.len() > 5, "{}: {source}", kind.name());
    }
}

/// The codes in a table of code: the text behind each `("` between the name of the constant and its end.
fn codes_in(file: &str, name: &str) -> Vec<String> {
    let text = fs::read_to_string(file).unwrap();
    let list = text.split(name).nth(1).and_then(|rest| rest.split("\n];").next()).unwrap();
    list.split("(\"").skip(1).filter_map(|rest| rest.split('"').next()).map(str::to_owned).collect()
}

/// Every list of names that data or files may hold: what it is, and the names in the order of the code.
fn catalogues() -> Vec<(&'static str, Vec<String>)> {
    let owned = |names: Vec<&str>| names.into_iter().map(str::to_owned).collect::<Vec<_>>();
    vec![
        (
            "Ceilings, `CeilingKind::ALL` in `src/cylinder/ceiling.rs`; where no ceiling bounds a load, `lift` or `scale` does",
            owned(CeilingKind::ALL.iter().map(|kind| kind.name()).collect()),
        ),
        (
            "Fitness rules, `RULES` in `src/cylinder/fitness/mod.rs`, in the order in which they are reported",
            owned(RULES.iter().map(|rule| rule.code).collect()),
        ),
        (
            "Cautions of a cylinder that is filled all the same, `CAUTIONS` in the same file",
            owned(CAUTIONS.iter().map(|rule| rule.code).collect()),
        ),
        (
            "Marks on what a cylinder holds, `Tag::ALL` in `src/cylinder/tag.rs`",
            owned(Tag::ALL.iter().map(|(_, word)| *word).collect()),
        ),
        ("Notices, `NOTICES` in `src/job/notice.rs`", owned(NOTICES.iter().map(|(code, _)| *code).collect())),
        (
            "Error codes of files, `CODES` in `src/problem/code.rs`, each with a wrong file in `wrong/`",
            owned(CODES.iter().map(|code| code.name()).collect()),
        ),
        (
            "Refusals of a reading, `CHECKS` in `src/recovery/weigh.rs`",
            codes_in("src/recovery/weigh.rs", "const CHECKS"),
        ),
        (
            "Figures of a quote, `FIGURES` in `src/estimate/figures.rs`",
            owned(FIGURES.iter().map(|line| line.key).collect()),
        ),
        ("Rules of the road, `RULES` in `src/transport/rules.rs`", codes_in("src/transport/rules.rs", "const RULES")),
        (
            "Faults of a plan, `FAULTS` in `src/audit/fault.rs`, each with a spoiled plan that shows it",
            owned(FAULTS.iter().map(|(code, _)| *code).collect()),
        ),
    ]
}

/// The lists as they stand in the reference: an item each, in lines of at most 120 letters.
fn drawn() -> String {
    let mut text = String::new();
    for (title, names) in catalogues() {
        assert!(names.len() > 1, "{title}: {names:?}");
        let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
        let mut line = "-".to_owned();
        for word in format!("{title}: {}.", names.join(", ")).split(' ') {
            if line.chars().count() + 1 + word.chars().count() > 120 {
                text += &format!("{line}\n");
                line = " ".into();
            }
            line += &format!(" {word}");
        }
        text += &format!("{line}\n");
    }
    text
}

#[test]
fn every_catalogue_stands_in_the_reference_as_it_stands_in_the_code() {
    const FILE: &str = "scenarios/README.md";
    let text = fs::read_to_string(FILE).unwrap();
    let (before, rest) = text.split_once("<!-- codes -->\n").expect("the reference has a place for them");
    let (stand, behind) = rest.split_once("\n## ").expect("and a section behind");
    if std::env::var_os("TRYCMD").is_some_and(|how| how == "overwrite") {
        fs::write(FILE, format!("{before}<!-- codes -->\n{}\n## {behind}", drawn())).unwrap();
        return;
    }
    assert!(stand == drawn(), "write it anew: TRYCMD=overwrite cargo test --test all catalogues::");
}
