//! Names of cylinders and systems where a shell completes a line: which, from which file, and that no name gets out of
//! its quotes. In a real bash where there is one.

use std::env;
use std::fs;
use std::path::Path;
use std::process::Command;

use crate::folder::{Answer, Folder, PROGRAM, run};

const BREAKS: &str = " \t\n\"'@><=;|&(:";

/// The names for a line, as a shell that quotes them itself gets them; `None` where no name is wanted there.
fn names(line: &str) -> Option<Vec<String>> {
    let output = run(["complete-names", "plain", "--", line]);
    assert!(output.err.is_empty(), "{line}: {}", output.err);
    let names = output.out.lines().map(str::to_owned).collect();
    (output.status == 0).then_some(names)
}

#[test]
fn names_come_from_the_file_on_the_line() {
    let job = "scenarios/cold-store.yaml";
    let (cylinders, systems) = (["C-110", "C-111"], ["Rack 1, medium temperature", "Rack 2, low temperature"]);
    for line in [
        format!("chargesplit weigh {job} C-11"),
        format!("chargesplit weigh --force {job} C-11"),
        format!("chargesplit weigh {job} --system \"Rack 1, medium temperature\" C-11"),
        format!("chargesplit plan {job} --keep C-11"),
        format!("chargesplit plan {job} --keep C-101 --without=C-11"),
        format!("chargesplit plan {job} --units kg --keep C-11"),
        format!("chargesplit --units lb-oz replan {job} --without C-11"),
        format!("chargesplit -q sheet {job} -o plan.html --without C-11"),
        format!("chargesplit pack --truck scenarios/truck-7.yaml {job} --take C-11"),
        format!("chargesplit tradeoff {job} --without C-11"),
        format!("chargesplit quote {job} --time-limit 3 --without C-11"),
        format!("chargesplit audit {job} plan.json --without C-11"),
        format!("chargesplit replan {job} --with scenarios/van-5.csv --without C-11"),
        "./chargesplit  plan  'scenarios/'cold-\"store\".yaml --keep C-1\\1".to_owned(),
    ] {
        assert_eq!(names(&line).expect(&line), cylinders, "{line}");
    }
    assert_eq!(names(&format!("chargesplit weigh {job} C-101 60 --system Rack")).unwrap(), systems);
    assert_eq!(names(&format!("chargesplit replan {job} --dry Rack")).unwrap(), systems);
    assert_eq!(names(&format!("chargesplit replan {job} --more=Rack")).unwrap(), systems);
    assert_eq!(names(&format!("chargesplit replan {job} --left R")).unwrap(), systems.map(|name| format!("{name}=")));
    assert_eq!(names("chargesplit pack scenarios/day-1.yaml scenarios/day-2.yaml --take T-1").unwrap(), ["T-1"]);
    assert_eq!(names(&format!("chargesplit plan {job} --keep C-999")).unwrap(), Vec::<String>::new());
    for elsewhere in [
        "",
        "chargesplit",
        "chargesplit pl",
        "chargesplit plan ",
        "chargesplit weigh scen",
        "chargesplit plan scenarios/cold-store.yaml --ke",
        "chargesplit plan scenarios/cold-store.yaml --lift-limit ",
        "chargesplit weigh scenarios/cold-store.yaml C-101 ",
        "chargesplit replan scenarios/cold-store.yaml --with ",
        "chargesplit yard --import ",
        "chargesplit yard --import scenarios/old-list.csv --column ",
        "chargesplit plan scenarios/cold-store.yaml --units ",
        "chargesplit schema ",
    ] {
        assert_eq!(names(elsewhere), None, "{elsewhere}");
    }
}

#[test]
fn what_cant_be_read_gives_no_names_and_no_word() {
    let folder = Folder::empty();
    folder.write("broken.yaml", "job: [");
    folder.write("yardless.yaml", "job: A\nunits: lb\nyard: nowhere.yaml\nsystems: []\n");
    folder.write("bytes.yaml", b"\xff\x00\xfe");
    for file in ["broken.yaml", "yardless.yaml", "bytes.yaml", "missing.yaml", ".", "-", "/dev/zero", "$(touch pwned)"]
    {
        let line = format!("chargesplit weigh '{file}' ");
        let output = folder.run(["complete-names", "bash", "--breaks", BREAKS, "--", &line]);
        assert_eq!(output.status, 0, "{file}");
        assert!(output.out.is_empty() && output.err.is_empty(), "{file}");
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3, "nothing was made");
}

/// Ids that mean something to a shell, and each of them wants to leave a file named `pwned`.
const HOSTILE: [&str; 14] = [
    "a b$(touch pwned)",
    "b`touch pwned`",
    "c;touch pwned",
    "d&&touch pwned",
    "e|touch pwned",
    "f>pwned",
    "g'\"$(touch pwned)\"'",
    "h\\$(touch pwned)",
    "*",
    "~",
    "#i",
    "{j,k}",
    "l:m=n@o",
    "\u{5e9}\u{5dc} 🧊",
];

fn hostile() -> Folder {
    let quoted = |text: &str| serde_json::to_string(text).unwrap();
    let mut text = "job: Hostile\ndate: 2026-12-01\nunits: lb\nsystems:\n".to_owned();
    for name in HOSTILE {
        text += &format!("  - {{ name: {}, refrigerant: R-22, nameplate: 20 lb }}\n", quoted(name));
    }
    text += "cylinders:\n";
    // One would be taken for an option, and one rings the bell.
    for id in HOSTILE.iter().chain(&["--force", "ring\u{7}"]) {
        text += &format!(
            "  - {{ id: {}, tare: 16.4, water_capacity: 26.2, gross: 16.4, holds: evacuated, mark: DOT-4BA400, tested: 2024-06 }}\n",
            quoted(id)
        );
    }
    Folder::of(&[("job.yaml", &text)])
}

#[test]
fn names_that_cant_be_typed_are_left_out() {
    let folder = hostile();
    let found = names(&format!("chargesplit weigh {} ", folder.at("job.yaml").display())).unwrap();
    assert_eq!(found, HOSTILE, "in the order of the yard");
}

struct Bash {
    path: String,
}

impl Bash {
    fn find() -> Option<Self> {
        if !Command::new("bash").arg("--version").output().is_ok_and(|output| output.status.success()) {
            eprintln!("SKIPPED: completion in a real shell, because there is no bash here");
            return None;
        }
        let program = Path::new(PROGRAM).parent().unwrap().to_owned();
        let paths = env::split_paths(&env::var_os("PATH").unwrap_or_default()).collect::<Vec<_>>();
        let path = env::join_paths([program].into_iter().chain(paths)).unwrap().into_string().unwrap();
        Some(Self { path })
    }

    fn run(&self, folder: &Folder, script: &str, line: &str) -> Vec<String> {
        let mut command = folder.command_of("bash", ["--norc", "--noprofile", "-c", script, "bash", line]);
        let answer = Answer::to(command.env("PATH", &self.path).env("LC_ALL", "C.UTF-8"));
        assert_eq!(answer.err, "", "{line}");
        answer.out.split_terminator('\0').map(str::to_owned).collect()
    }

    /// What the printed script offers for a line with the cursor at its end.
    fn complete(&self, folder: &Folder, line: &str) -> Vec<String> {
        let script = r#"
            source <(chargesplit completions bash)
            complete -p chargesplit >/dev/null || exit 9
            COMP_WORDBREAKS=$' \t\n"\'@><=;|&(:'
            COMP_LINE="$1"
            COMP_POINT=$(LC_ALL=C; printf %s "${#1}")
            IFS=' ' read -ra COMP_WORDS <<< "$1"
            if [[ "$1" == *' ' ]]; then COMP_WORDS+=(''); fi
            COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
            _chargesplit chargesplit "${COMP_WORDS[COMP_CWORD]}" "${COMP_WORDS[COMP_CWORD-1]}"
            if (( ${#COMPREPLY[@]} )); then printf '%s\0' "${COMPREPLY[@]}"; fi
        "#;
        self.run(folder, script, line)
    }

    /// The words that bash makes of a line.
    fn words(&self, folder: &Folder, line: &str) -> Vec<String> {
        self.run(folder, "eval \"set -- $1\"; printf '%s\\0' \"$@\"", line)
    }
}

#[test]
fn bash_inserts_a_name_as_one_word_and_runs_nothing() {
    let Some(bash) = Bash::find() else { return };
    let folder = &hostile();
    // The line up to what is replaced, what is typed of the name, what closes it, and what ends a name.
    for (line, close, end) in [
        ("chargesplit weigh job.yaml ", "", ""),
        ("chargesplit weigh job.yaml \"", "\"", ""),
        ("chargesplit weigh job.yaml '", "'", ""),
        ("chargesplit plan job.yaml --keep ", "", ""),
        ("chargesplit plan job.yaml --without=", "", ""),
        ("chargesplit replan job.yaml --left ", "", "="),
        ("chargesplit replan job.yaml --left '", "'", "="),
    ] {
        let offered = bash.complete(folder, line);
        assert_eq!(offered.len(), HOSTILE.len(), "{line}: {offered:?}");
        for (offer, name) in offered.iter().zip(HOSTILE) {
            let words = bash.words(folder, &format!("{line}{offer}{close}"));
            let last = words.last().unwrap();
            let value = last.strip_prefix("--without=").unwrap_or(last);
            assert_eq!(value, format!("{name}{end}"), "{line}: {offer}");
            assert_eq!(words.len(), line.split(' ').count(), "{line}: {offer} is one word");
        }
    }
    // Each from its first letter on, alone.
    for name in HOSTILE.iter().filter(|name| name.starts_with(|c: char| c.is_ascii_lowercase())) {
        let typed = &name[..1];
        let offered = bash.complete(folder, &format!("chargesplit weigh job.yaml {typed}"));
        assert_eq!(offered.len(), 1, "{name}");
        let words = bash.words(folder, &offered[0]);
        assert_eq!(words, [*name]);
    }
    assert_eq!(bash.complete(folder, "chargesplit weigh job.yaml l:m"), ["m\\=n\\@o"], "behind the colon");
    assert!(bash.complete(folder, "chargesplit weigh job.yaml zz").is_empty());
    assert_eq!(bash.complete(folder, "chargesplit trade"), ["tradeoff"], "everything else as ever");
    let options = bash.complete(folder, "chargesplit plan job.yaml --in");
    assert_eq!(options, ["--in-turn"]);
    folder.write("k$(touch pwned).html", "");
    assert!(bash.complete(folder, "chargesplit sheet job.yaml -o k").is_empty(), "files are bash's own to quote");
    fs::remove_file(folder.at("k$(touch pwned).html")).unwrap();
    let left: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(left, ["job.yaml"], "nothing in a name was run");
}

#[test]
fn the_scripts_ask_for_names_where_they_can() {
    for (shell, times) in [("bash", 1), ("zsh", 1), ("fish", 0), ("elvish", 0), ("powershell", 0)] {
        let script = run(["completions", shell]).out;
        assert_eq!(script.matches("_chargesplit_names && return 0").count(), times, "{shell}");
        let call = script.lines().filter(|line| line.contains("chargesplit complete-names")).count();
        assert_eq!(call, usize::from(["bash", "zsh", "fish"].contains(&shell)), "{shell}: the call alone, no command");
    }
    let zsh = run(["completions", "zsh"]).out;
    assert!(zsh.starts_with("#compdef chargesplit"));
}
