//! Holds the plan of the house: a room uses only rooms below it, and what one room alone may do stays in that room.
//!
//! It reads source text, with comments taken out. Tests inside `src` keep the same rules.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::path::{Path, PathBuf};

/// The rooms from the ground up. Rooms on one floor don't know each other.
const FLOORS: [&[&str]; 11] = [
    &["quantity", "solver"],
    &["refrigerant", "printable"],
    &["cylinder"],
    &["job", "problem"],
    &["plan", "ledger"],
    &["planner", "audit"],
    &["estimate", "transport", "recovery", "disk"],
    &["text"],
    &["door"],
    &["report"],
    &["cli"],
];

/// The solver's own rooms from the ground up. The door, `solver/mod.rs`, and the tests see all of them.
const IN_SOLVER: [&str; 6] = ["problem", "field", "cover", "bound", "search", "goals"];
/// Rooms of the solver that use nothing but what a problem is.
const BESIDE: [&str; 1] = ["direct"];

/// Words, and the rooms that alone may have them. `main` counts as a part of `cli`.
const RESERVED: [(&str, &[&str]); 15] = [
    // What a plan is in data is said where its fields are: nothing may say them a second time.
    ("serde", &["plan", "text", "report", "cli"]),
    ("serde_yaml", &["text", "report", "cli"]),
    ("serde_json", &["printable", "text", "report", "cli"]),
    ("good_lp", &["solver"]),
    ("println!", &["cli"]),
    ("eprintln!", &["cli"]),
    ("std::process", &["cli"]),
    ("std::env", &["cli"]),
    ("SystemTime", &["cli"]),
    ("Instant", &["cli"]),
    ("ZonedDateTime", &["cli"]),
    ("Timestamp::now", &["cli"]),
    ("std::fs", &["disk", "text", "cli"]),
    ("File::open", &["disk", "cli"]),
    ("OpenOptions", &["disk"]),
];

/// What the audit may take from the rooms that it checks: kinds and facts, and nothing that figures.
const AUDIT_MAY_NAME: [(&str, &[&str]); 4] = [
    ("solver", &["direct"]),
    (
        "cylinder",
        &[
            "ByLedger",
            "Condition",
            "Contents",
            "Cylinder",
            "Facts",
            "Fate",
            "Id",
            "Mark",
            "Rules",
            "Scale",
            "Specification",
            "Tag",
            "Terms",
        ],
    ),
    ("job", &["Allowance", "Charge", "Job", "System", "Work"]),
    (
        "ledger",
        &[
            "Bind",
            "CylinderState",
            "Damage",
            "Entry",
            "EntryId",
            "Fact",
            "FactKind",
            "JobId",
            "Pour",
            "Reading",
            "What",
        ],
    ),
];

/// Methods that figure what the audit has to figure itself.
const AUDIT_MUST_NOT_CALL: [&str; 21] = [
    "working_tare",
    "rated_pressure",
    "tested_pressure",
    "empty_tolerance",
    "fill_temperature",
    "pressure_temperature",
    "un_applies",
    "is_tested_at_twice_service_pressure",
    "is_listed_for_r22",
    "planned_charge",
    "charge_by_records",
    "computable",
    ".tolerance(",
    ".with(",
    ".lots()",
    ".fluid()",
    "Terms::",
    "Tag::inside",
    ".goes_with(",
    ".continues(cylinder",
    "bind_of(",
];

/// A source file: its room (`main` and `lib` for these two), its path and its text without comments.
struct Source {
    room: String,
    path: PathBuf,
    text: String,
}

fn sources() -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                let inside = path.strip_prefix(&root).unwrap();
                let room = inside.iter().next().unwrap().to_str().unwrap();
                found.push(Source {
                    room: room.trim_end_matches(".rs").into(),
                    text: without_comments(&fs::read_to_string(&path).unwrap()),
                    path: inside.into(),
                });
            }
        }
    }
    assert!(found.len() > 20, "the sources weren't found under {}", root.display());
    found.sort_by(|one, other| one.path.cmp(&other.path));
    found
}

fn without_comments(text: &str) -> String {
    let lines = text.lines().map(|line| line.split("//").next().unwrap_or(""));
    lines.collect::<Vec<_>>().join("\n")
}

fn floor(room: &str) -> Option<usize> {
    FLOORS.iter().position(|floor| floor.contains(&room))
}

/// Whether a character may stand in a name.
fn in_name(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// The path that begins here, as far as it is spelt out: each path of a `{…}` list by itself.
fn paths(text: &str) -> Vec<String> {
    let text = text.trim_start();
    let Some(inside) = text.strip_prefix('{') else {
        let name: String = text.chars().take_while(|c| in_name(*c) || *c == '*').collect();
        let rest = text[name.len()..].trim_start();
        return match rest.strip_prefix("::") {
            Some(rest) => paths(rest).iter().map(|tail| format!("{name}::{tail}")).collect(),
            None => vec![name],
        };
    };
    let mut found = Vec::new();
    let (mut depth, mut start) = (0, 0);
    for (at, c) in inside.char_indices() {
        let ends = matches!(c, ',' | '}') && depth == 0;
        if ends && !inside[start..at].trim().is_empty() {
            found.extend(paths(&inside[start..at]));
        }
        match c {
            '}' if depth == 0 => break,
            '}' => depth -= 1,
            '{' => depth += 1,
            ',' if depth == 0 => start = at + 1,
            _ => {}
        }
    }
    found
}

/// Every path that starts at the crate: `use` lines, lists in braces, and paths in the middle of code.
fn crate_paths(text: &str) -> Vec<String> {
    let whole = |at: &usize| !text[..*at].chars().next_back().is_some_and(|c| in_name(c) || c == '$');
    text.match_indices("crate::")
        .map(|(at, _)| at)
        .filter(whole)
        .flat_map(|at| paths(&text[at + "crate::".len()..]))
        .collect()
}

/// Imports that leave the room by climbing, `use super::super::planner`: rooms are named from the crate, where the
/// check sees them. `depth` counts the modules from the crate down to this file.
fn climbing(depth: usize, text: &str) -> Vec<&str> {
    let imports = text.lines().filter(|line| line.starts_with("use super::") || line.starts_with("pub use super::"));
    imports
        .filter(|line| {
            let climbed = line.matches("super::").count();
            let name: String = line.split("super::").last().unwrap_or("").chars().take_while(|c| in_name(*c)).collect();
            climbed >= depth && (floor(&name).is_some() || name.is_empty())
        })
        .collect()
}

/// What is wrong with the paths of a file of this room.
fn upward(room: &str, text: &str) -> Vec<String> {
    let ours = match room {
        "lib" | "main" => return Vec::new(),
        room => floor(room).unwrap_or_else(|| panic!("`{room}` stands on no floor of the plan")),
    };
    crate_paths(text)
        .into_iter()
        .filter(|path| {
            let to = path.split("::").next().unwrap_or("");
            to != room && floor(to).is_none_or(|theirs| theirs >= ours)
        })
        .collect()
}

/// Whether the text has this word, not as a part of a longer one.
fn has(text: &str, word: &str) -> bool {
    text.match_indices(word).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = text[at + word.len()..].chars().next();
        !before.is_some_and(in_name) && (word.ends_with(['(', '!', ':']) || !after.is_some_and(in_name))
    })
}

/// The reserved words that a file of this room has.
fn trespasses(room: &str, text: &str) -> Vec<&'static str> {
    let room = if room == "main" { "cli" } else { room };
    RESERVED.iter().filter(|(word, rooms)| !rooms.contains(&room) && has(text, word)).map(|(word, _)| *word).collect()
}

/// What the audit takes that it has to figure itself.
fn borrowed(text: &str) -> Vec<String> {
    let mut found: Vec<String> = crate_paths(text)
        .into_iter()
        .filter(|path| {
            let mut parts = path.split("::");
            let (room, name) = (parts.next().unwrap_or(""), parts.next().unwrap_or(""));
            AUDIT_MAY_NAME.iter().any(|(checked, names)| *checked == room && !names.contains(&name))
        })
        .collect();
    found.extend(AUDIT_MUST_NOT_CALL.iter().filter(|call| text.contains(**call)).map(ToString::to_string));
    found
}

#[test]
fn no_arrow_runs_upward() {
    let mut wrong = Vec::new();
    for source in sources() {
        for path in upward(&source.room, &source.text) {
            wrong.push(format!("src/{}: crate::{path}", source.path.display()));
        }
        let own = usize::from(!source.path.ends_with("mod.rs"));
        for import in climbing(source.path.components().count() - 1 + own, &source.text) {
            wrong.push(format!("src/{}: {import}", source.path.display()));
        }
    }
    assert!(wrong.is_empty(), "rooms use only rooms below them:\n{}", wrong.join("\n"));
}

#[test]
fn every_room_of_the_library_stands_on_a_floor() {
    let sources = sources();
    let library = sources.iter().find(|source| source.room == "lib").unwrap();
    let rooms: Vec<&str> =
        library.text.lines().filter_map(|line| line.trim().strip_prefix("pub mod ")?.strip_suffix(';')).collect();
    assert!(rooms.len() >= 7, "{rooms:?}");
    for room in rooms {
        assert!(floor(room).is_some(), "`{room}` stands on no floor of the plan");
    }
}

/// The modules of the solver: `bound::prices` for `src/solver/bound/prices.rs`, with what each file uses of the others.
fn solver_modules(sources: &[Source]) -> Vec<(String, Vec<String>)> {
    let inside = |source: &&Source| {
        source.room == "solver" && source.path != Path::new("solver/mod.rs") && !source.path.starts_with("solver/tests")
    };
    let module = |source: &Source| {
        let path = source.path.with_extension("");
        let parts: Vec<&str> =
            path.iter().skip(1).filter_map(|part| part.to_str()).filter(|part| *part != "mod").collect();
        parts.join("::")
    };
    let files: Vec<(String, &Source)> = sources.iter().filter(inside).map(|source| (module(source), source)).collect();
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    let uses = |name: &str, source: &Source| solver_paths(name, source.path.ends_with("mod.rs"), &source.text, &names);
    files.iter().map(|(name, source)| (name.clone(), uses(name, source))).collect()
}

/// The modules of the solver that a file uses: by the crate, or by `super`. One that isn't known stands as it is spelt.
fn solver_paths(name: &str, is_door: bool, text: &str, names: &[&str]) -> Vec<String> {
    let above = if is_door { Some(name) } else { name.rsplit_once("::").map(|(above, _)| above) };
    let beside = text.match_indices("super::").filter(|(at, _)| !text[..*at].ends_with("super::"));
    let beside = beside.flat_map(|(at, _)| paths(&text[at + "super::".len()..])).map(|path| match above {
        Some(above) if !is_door => format!("{above}::{path}"),
        _ => path,
    });
    let by_crate = crate_paths(text).into_iter().filter_map(|path| Some(path.strip_prefix("solver::")?.to_owned()));
    let mut used: Vec<String> = Vec::new();
    for path in by_crate.chain(beside) {
        let whole =
            |known: &&&str| path == **known || path.strip_prefix(**known).is_some_and(|rest| rest.starts_with("::"));
        let known = names.iter().filter(whole).max_by_key(|known| known.len());
        let found = known.map_or(path.clone(), ToString::to_string);
        if found != name && !used.contains(&found) {
            used.push(found);
        }
    }
    used
}

/// What is wrong with what a module of the solver uses: a room above its own, or one that no floor has.
fn upward_in_solver(name: &str, used: &[String]) -> Vec<String> {
    let room = |module: &str| module.split("::").next().unwrap_or("").to_owned();
    let floor = |module: &str| IN_SOLVER.iter().position(|known| *known == room(module));
    let allowed = |other: &&String| {
        if BESIDE.contains(&room(name).as_str()) {
            return room(other) == "problem" || room(other) == room(name);
        }
        match (floor(name), floor(other)) {
            (Some(ours), Some(theirs)) => theirs <= ours,
            _ => false,
        }
    };
    used.iter().filter(|other| !allowed(other)).map(|other| format!("solver::{name} uses {other}")).collect()
}

/// The first circle found among modules and what they use, from one to itself.
fn circle(modules: &[(String, Vec<String>)]) -> Option<Vec<String>> {
    let of = |name: &str| modules.iter().find(|(known, _)| known == name).map_or(&[][..], |(_, used)| used);
    for (start, _) in modules {
        let mut ways: Vec<Vec<String>> = vec![vec![start.clone()]];
        let mut seen: Vec<String> = Vec::new();
        while let Some(way) = ways.pop() {
            for next in of(way.last().map_or("", String::as_str)) {
                let longer: Vec<String> = way.iter().cloned().chain([next.clone()]).collect();
                if next == start {
                    return Some(longer);
                }
                if !seen.contains(next) {
                    seen.push(next.clone());
                    ways.push(longer);
                }
            }
        }
    }
    None
}

#[test]
fn no_arrow_runs_upward_or_in_a_circle_inside_the_solver() {
    let modules = solver_modules(&sources());
    assert!(modules.len() > 20, "only {} files of the solver were read", modules.len());
    let wrong: Vec<String> = modules.iter().flat_map(|(name, used)| upward_in_solver(name, used)).collect();
    assert!(wrong.is_empty(), "the solver's rooms use only rooms below them:\n{}", wrong.join("\n"));
    assert_eq!(circle(&modules), None, "files of the solver use each other in a circle");
}

#[test]
fn the_checks_of_the_solver_can_fail() {
    let names =
        ["problem", "problem::watch", "cover", "cover::task", "bound", "bound::prices", "bound::raise", "direct"];
    for (name, is_door, text, uses, wrong) in [
        ("bound::prices", false, "use super::raise::raise;", &["bound::raise"][..], 0),
        ("bound::prices", false, "use crate::solver::cover::task::{Item, NONE};", &["cover::task"], 0),
        ("cover::task", false, "use crate::solver::bound::prices::Prices;", &["bound::prices"], 1),
        ("cover", true, "use super::bound::prices;", &["bound::prices"], 1),
        ("problem", true, "use super::problem::watch::Watch;", &["problem::watch"], 0),
        ("cover::task", false, "fn f(w: &crate::solver::attic::Box) {}", &["attic::Box"], 1),
        ("direct", false, "use crate::solver::cover::task::Item;", &["cover::task"], 1),
        ("direct", false, "use super::problem::Problem; use good_lp::variables;", &["problem"], 0),
    ] {
        let found = solver_paths(name, is_door, text, &names);
        let expected: Vec<String> = uses.iter().map(ToString::to_string).collect();
        let close = |known: &String| expected.iter().any(|path| known.starts_with(path.as_str()));
        assert!(found.len() == expected.len() && found.iter().all(close), "{name}: {text}: {found:?}");
        assert_eq!(upward_in_solver(name, &found).len(), wrong, "{name}: {text}");
    }
    let uses = |name: &str, used: &[&str]| (name.to_owned(), used.iter().map(ToString::to_string).collect::<Vec<_>>());
    let straight = [uses("a", &["b", "c"]), uses("b", &["c"]), uses("c", &[])];
    assert_eq!(circle(&straight), None);
    let bent = [uses("a", &["b"]), uses("b", &["c"]), uses("c", &["b"])];
    assert_eq!(circle(&bent), Some(["b", "c", "b"].map(String::from).to_vec()));
}

#[test]
fn what_one_room_may_do_stays_in_it() {
    let mut wrong = Vec::new();
    let mut solver = Vec::new();
    for source in sources() {
        let path = format!("src/{}", source.path.display());
        for word in trespasses(&source.room, &source.text) {
            wrong.push(format!("{path}: {word}"));
        }
        if has(&source.text, "good_lp") {
            solver.push(path);
        }
    }
    assert!(wrong.is_empty(), "not in this room:\n{}", wrong.join("\n"));
    assert!(solver.len() <= 1, "the solver is called in one file alone: {solver:?}");
}

/// What changes something on a disk.
const CHANGES: [&str; 12] = [
    "fs::write",
    "fs::rename",
    "fs::copy",
    "fs::remove",
    "fs::create_dir",
    "fs::set_permissions",
    ".set_len(",
    ".sync_all(",
    "File::create",
    "File::options",
    "OpenOptions",
    ".create_new(",
];

/// Only so does every step of what changes a file go through the hands of `disk::act`, where a test can stop after it.
#[test]
fn one_file_changes_the_disk() {
    let changes = |text: &str| CHANGES.iter().any(|word| text.contains(word));
    // Tests in a file of the program write what they read.
    let ends = |text: &str| {
        ["#[cfg(test)]\n#[allow", "#[cfg(test)]\nmod tests {"].iter().filter_map(|end| text.find(end)).min()
    };
    let program = |source: &Source| changes(&source.text[..ends(&source.text).unwrap_or(source.text.len())]);
    let is_test = |path: &Path| path.iter().any(|part| part == "tests") || path.ends_with("tests.rs");
    let all = sources();
    let found: Vec<String> = all
        .iter()
        .filter(|source| !is_test(&source.path) && program(source))
        .map(|source| source.path.display().to_string().replace('\\', "/"))
        .collect();
    // The others are tests from first to last.
    assert_eq!(found, ["cli/stopped.rs", "disk/act.rs", "text/any_bytes.rs", "text/reference.rs"]);
}

#[test]
fn the_audit_figures_for_itself() {
    let mut read = 0;
    let mut wrong = Vec::new();
    for source in sources() {
        // Its tests hold it against the rooms that it checks.
        if source.room == "audit" && !source.path.starts_with("audit/tests") {
            read += 1;
            let path = source.path.display();
            wrong.extend(borrowed(&source.text).iter().map(|what| format!("src/{path}: {what}")));
        }
    }
    assert!(read > 5, "only {read} files of the audit were read");
    assert!(wrong.is_empty(), "the audit may not take this from what it checks:\n{}", wrong.join("\n"));
}

#[test]
fn these_checks_can_fail() {
    for (room, text, expected) in [
        ("audit", "use crate::planner::solve;", &["planner::solve"][..]),
        ("planner", "use crate::{job::Work, audit};", &["audit"]),
        (
            "job",
            "use crate::{\n    quantity::{Marks, Weight},\n    plan::{Load, Plan},\n};",
            &["plan::Load", "plan::Plan"],
        ),
        ("cylinder", "fn f() -> crate::job::Job { todo() }", &["job::Job"]),
        ("recovery", "use crate::transport::road;", &["transport::road"]),
        ("plan", "use crate::*;", &["*"]),
        ("plan", "use crate::attic::Box;", &["attic::Box"]),
        ("report", "use crate::audit::Audited; use crate::report::Table;", &[]),
        ("audit", "fn f(c: &crate::cylinder::Cylinder) {}", &[]),
    ] {
        assert_eq!(upward(room, text), expected, "{room}: {text}");
    }
    for (depth, text, climbs) in [
        (1, "use super::planner::solve;", true),
        (2, "use super::super::planner;", true),
        (1, "use super::{planner, audit};", true),
        (2, "use super::field::Rooms;", false),
        (1, "    use super::field::Rooms;", false),
    ] {
        assert_eq!(!climbing(depth, text).is_empty(), climbs, "{text}");
    }
    for (room, text, expected) in [
        ("job", "#[derive(serde::Serialize)]", &["serde"][..]),
        ("planner", "let start = std::time::Instant::now();", &["Instant"]),
        ("report", "println!(\"{table}\"); use serde_json::Value;", &["println!"]),
        ("audit", "use good_lp::variables;", &["good_lp"]),
        ("text", "std::fs::read(path); std::env::var(name)", &["std::env"]),
        ("text", "let file = File::open(path)?;", &["File::open"]),
        ("text", "jiff::ZonedDateTime::now().date()", &["ZonedDateTime"]),
        ("main", "std::process::exit(2)", &[]),
        ("job", "let observed = preserved(my_serde);", &[]),
    ] {
        assert_eq!(trespasses(room, text), expected, "{room}: {text}");
    }
    for (text, expected) in [
        ("use crate::cylinder::{Contents, limit};", &["cylinder::limit"][..]),
        ("crate::cylinder::reasons(cylinder, intake)", &["cylinder::reasons"]),
        ("use crate::job::Lot;", &["job::Lot"]),
        ("use crate::solver::solve;", &["solver::solve"]),
        ("use crate::solver::direct::best;", &[]),
        ("let tare = cylinder.working_tare();", &["working_tare"]),
        ("use crate::cylinder::Cylinder; use crate::plan::Plan;", &[]),
    ] {
        assert_eq!(borrowed(text), expected, "{text}");
    }
    assert_eq!(without_comments("a // crate::cli\nb"), "a \nb");
}
