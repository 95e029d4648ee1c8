//! The house rules that a lint doesn't hold: what every file says of itself, how long it is, and that the lints are on.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fs;
use std::path::{Path, PathBuf};

const MOST_LINES: usize = 500;

fn sources() -> Vec<PathBuf> {
    let (mut found, mut folders) = (Vec::new(), vec![PathBuf::from("src")]);
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|kind| kind == "rs") {
                found.push(path);
            }
        }
    }
    found.sort();
    assert!(found.len() > 100);
    found
}

/// What a file says of itself before anything else.
fn opening(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap();
    text.lines().map_while(|line| line.strip_prefix("//!")).map(str::trim).collect::<Vec<_>>().join(" ")
}

/// A file that is no module is never compiled, and its tests never run.
#[test]
fn every_file_of_tests_is_a_module_of_the_one_program() {
    let manifest = fs::read_to_string("Cargo.toml").unwrap();
    assert!(manifest.lines().any(|line| line == "autotests = false"));
    let main = fs::read_to_string("tests/main.rs").unwrap();
    let modules: Vec<&str> = main.lines().filter_map(|line| line.strip_prefix("mod ")?.strip_suffix(';')).collect();
    assert!(modules.is_sorted());
    let mut files = Vec::new();
    for entry in fs::read_dir("tests").unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() || path.join("mod.rs").exists() {
            files.push(path.file_stem().unwrap().to_str().unwrap().to_owned());
        }
    }
    files.retain(|name| name != "main");
    files.sort();
    assert_eq!(modules, files);
}

/// Whoever runs the program by another way runs it in the machine's own state, and finds there what others left.
#[test]
fn the_program_is_run_in_a_folder_of_a_test_alone() {
    let asks = concat!("CARGO_BIN", "_EXE");
    for entry in fs::read_dir("tests").unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() && !path.ends_with("folder.rs") {
            assert!(!fs::read_to_string(&path).unwrap().contains(asks), "{}: use `Folder`", path.display());
        }
    }
}

#[test]
fn every_module_opens_with_what_it_is_for() {
    for path in sources() {
        assert!(opening(&path).trim().len() > 20, "{} doesn't say what it is for", path.display());
    }
}

#[test]
fn every_room_says_what_it_must_not_do() {
    let mut rooms = 0;
    for path in sources().iter().filter(|path| path.ends_with("mod.rs") && path.components().count() == 3) {
        let opening = opening(path).to_lowercase();
        let limits = ["must not", "must never", "nothing here", "computes nothing", "chooses no", "reads no files"];
        assert!(
            limits.iter().any(|words| opening.contains(words)),
            "{} doesn't say what it must not do",
            path.display()
        );
        rooms += 1;
    }
    assert!(rooms >= 12, "{rooms}");
}

#[test]
fn no_file_is_longer_than_a_reader_bears() {
    for path in sources() {
        let lines = fs::read_to_string(&path).unwrap().lines().count();
        assert!(lines <= MOST_LINES, "{} has {lines} lines", path.display());
    }
}

#[test]
fn the_lints_are_on_and_the_check_makes_them_errors() {
    let manifest = fs::read_to_string("Cargo.toml").unwrap();
    let lints = manifest.split("[lints.rust]").nth(1).unwrap();
    for line in [
        "unsafe_code = \"forbid\"",
        "missing_docs = \"warn\"",
        "too_many_lines = \"warn\"",
        "unwrap_used = \"warn\"",
        "expect_used = \"warn\"",
        "panic = \"warn\"",
        "exit = \"warn\"",
        "print_stdout = \"warn\"",
        "incompatible_msrv = \"warn\"",
    ] {
        assert!(lints.lines().any(|lint| lint == line), "{line}");
    }
    assert_eq!(fs::read_to_string(".clippy.toml").unwrap().trim(), "too-many-lines-threshold = 80");
    assert!(fs::read_to_string(".ci/run").unwrap().contains("\ncargo clippy --all-targets --locked -- -D warnings\n"));
    // No file lifts the lint on the length of functions for itself.
    for path in sources() {
        assert!(!fs::read_to_string(&path).unwrap().contains("clippy::too_many_lines"), "{}", path.display());
    }
}

/// Somebody who plans from code reads an example first: it says what it does, and it is short.
#[test]
fn an_example_of_the_library_is_read_at_a_glance() {
    let mut examples: Vec<PathBuf> = fs::read_dir("examples").unwrap().map(|entry| entry.unwrap().path()).collect();
    examples.retain(|path| path.is_file());
    assert!(examples.contains(&PathBuf::from("examples/plan.rs")), "{examples:?}");
    for path in examples {
        assert!(opening(&path).len() > 20, "{} doesn't say what it is for", path.display());
        let lines = fs::read_to_string(&path).unwrap().lines().count();
        assert!(lines <= 60, "{} has {lines} lines", path.display());
    }
    // What the crate says of itself begins with two ways in that the tests run.
    let library = fs::read_to_string("src/lib.rs").unwrap();
    let ways: Vec<&str> = library.split("//! ```\n").take(4).collect();
    assert!(ways[1].contains("plan_files(") && ways[3].contains("plan_work("), "{ways:?}");
    assert!(fs::read_to_string(".ci/run").unwrap().contains("--example plan scenarios/cold-store.yaml\n"));
}

/// The names of the types that a text defines; not what an `impl` puts in for a trait's.
fn defined(text: &str) -> Vec<&str> {
    let kinds = ["struct ", "enum ", "union ", "trait ", "type "];
    text.lines()
        .filter_map(|line| {
            let bare = line.trim_start();
            let bare = match bare.strip_prefix("pub") {
                Some(rest) => {
                    rest.strip_prefix('(').and_then(|rest| rest.split_once(')')).map_or(rest, |(_, rest)| rest)
                }
                None if line.starts_with("    type ") => return None,
                None => bare,
            };
            let bare = bare.trim_start();
            let rest = kinds.iter().find_map(|kind| bare.strip_prefix(kind))?;
            rest.split(|c: char| !c.is_alphanumeric() && c != '_').next().filter(|name| !name.is_empty())
        })
        .collect()
}

#[test]
fn no_name_is_given_to_more_than_two_types() {
    let texts: Vec<String> = sources().iter().map(|path| fs::read_to_string(path).unwrap()).collect();
    let mut names: Vec<&str> = texts.iter().flat_map(|text| defined(text)).collect();
    assert!(names.len() > 300, "only {} types were found", names.len());
    names.sort_unstable();
    let many: Vec<&str> =
        names.chunk_by(|one, other| one == other).filter(|same| same.len() > 2).map(|same| same[0]).collect();
    assert!(many.is_empty(), "name each for what it is: {many:?}");
    let text = "pub(super) struct Line {\nenum Kind {\n    type Output = Self;\npub type Row<'a> = (); // struct Other\nlet kind = 1;";
    assert_eq!(defined(text), ["Line", "Kind", "Row"]);
}
