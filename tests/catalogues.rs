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
        assert!(reference.contains(&format!("| {} |", kind.name())), "{}", kind.name());
    }
}

/// The names in a list under "Catalogues": those in code marks behind the colon of the item that begins so.
fn catalogue(title: &str) -> Vec<String> {
    let developers = developers();
    let section = developers.split("\n## Catalogues\n").nth(1).and_then(|rest| rest.split("\n## ").next()).unwrap();
    let item = section.split("\n- ").find(|item| item.starts_with(title));
    let item = item.unwrap_or_else(|| panic!("DEVELOPERS.md has no list of {title}"));
    let (_, list) = item.split_once(": ").unwrap_or_else(|| panic!("{title} has no list behind a colon"));
    list.split("\n\n").next().unwrap().split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

/// The codes in a table of code: the text behind each `("` between the name of the constant and its end.
fn codes_in(file: &str, name: &str) -> Vec<String> {
    let text = fs::read_to_string(file).unwrap();
    let list = text.split(name).nth(1).and_then(|rest| rest.split("\n];").next()).unwrap();
    list.split("(\"").skip(1).filter_map(|rest| rest.split('"').next()).map(str::to_owned).collect()
}

#[test]
fn every_catalogue_stands_in_the_house_book_as_it_stands_in_the_code() {
    let owned = |names: Vec<&str>| names.into_iter().map(str::to_owned).collect::<Vec<_>>();
    let catalogues = [
        ("Ceilings", owned(CeilingKind::ALL.iter().map(|kind| kind.name()).collect())),
        ("Fitness rules", owned(RULES.iter().map(|rule| rule.code).collect())),
        ("Cautions of a cylinder", owned(CAUTIONS.iter().map(|rule| rule.code).collect())),
        ("Marks on what", owned(Tag::ALL.iter().map(|(_, word)| *word).collect())),
        ("Notices", owned(NOTICES.iter().map(|(code, _)| *code).collect())),
        ("Error codes", owned(CODES.iter().map(|code| code.name()).collect())),
        ("Refusals of a reading", codes_in("src/recovery/weigh.rs", "const CHECKS")),
        ("Figures of a quote", owned(FIGURES.iter().map(|line| line.key).collect())),
        ("Rules of the road", codes_in("src/transport/rules.rs", "const RULES")),
        ("Faults of a plan", owned(FAULTS.iter().map(|(code, _)| *code).collect())),
    ];
    for (title, codes) in catalogues {
        assert!(codes.len() > 1, "{title}: {codes:?}");
        assert_eq!(catalogue(title), codes, "{title}");
    }
}
