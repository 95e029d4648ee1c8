//! One wrong file, at least, for each error code, in `scenarios/wrong/`; what is said of it stands beside it.
//!
//! The part of a name before the first point is the code. A folder holds jobs that are wrong together. To write the
//! expected texts anew: `CHARGESPLIT_UPDATE=1 cargo test --test all wrong_files::`, and read the difference.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use chargesplit::problem::{CODES, Code, Problems};
use chargesplit::text::{Request, Today, read_plan, read_work, read_yard};
use jiff::civil::{Date, date};

const FOLDER: &str = "scenarios/wrong";
const TODAY: Date = date(2026, 12, 1);
/// Made by the tests below, because a file of theirs would be too large or can't be kept.
const MADE_HERE: [Code; 4] = [Code::TooLarge, Code::TooMany, Code::Unreadable, Code::SameJob];

fn read_jobs(jobs: &[PathBuf]) -> Result<(), Problems> {
    let request = Request { jobs, today: &Today::new(|| TODAY), skip_bad_rows: false };
    read_work(&request).map(|_| ())
}

fn read(path: &Path) -> Result<(), Problems> {
    if path.is_dir() {
        return read_jobs(&entries(path).into_iter().filter(|path| has_end(path, "yaml")).collect::<Vec<_>>());
    }
    if has_end(path, "csv") {
        return read_yard(path, TODAY, false).map(|_| ());
    }
    if has_end(path, "json") {
        return read_plan(path).map(|_| ());
    }
    read_jobs(&[path.to_owned()])
}

fn has_end(path: &Path, end: &str) -> bool {
    path.extension().is_some_and(|extension| extension == end)
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

fn code_of(path: &Path) -> Code {
    let name = path.file_name().unwrap().to_string_lossy();
    let name = name.split('.').next().unwrap().to_owned();
    *CODES.iter().find(|code| code.name() == name).unwrap_or_else(|| panic!("{name} isn't an error code"))
}

#[test]
fn every_wrong_file_is_refused_for_what_its_name_says_and_in_the_expected_words() {
    let update = std::env::var_os("CHARGESPLIT_UPDATE").is_some();
    let mut seen = BTreeSet::new();
    let mut differ = Vec::new();
    for path in entries(Path::new(FOLDER)) {
        if has_end(&path, "txt") || has_end(&path, "list") {
            continue;
        }
        let code = code_of(&path);
        seen.insert(code);
        let problems = read(&path).expect_err(&format!("{} is read", path.display()));
        for problem in problems.iter() {
            assert_eq!(problem.code, code, "{}: {problem}", path.display());
        }
        let drawn = problems.draw(false).replace('\\', "/");
        let mut expected = path.clone().into_os_string();
        expected.push(".txt");
        if update {
            fs::write(&expected, &drawn).unwrap();
        } else if fs::read_to_string(&expected).ok().as_deref() != Some(drawn.as_str()) {
            differ.push(format!("{}:\n{drawn}", path.display()));
        }
    }
    assert!(differ.is_empty(), "not as expected:\n{}", differ.join("\n"));
    for code in CODES {
        assert!(seen.contains(code) != MADE_HERE.contains(code), "{} has no wrong file", code.name());
    }
}

#[test]
fn every_wrong_yaml_file_says_in_its_first_line_what_is_wrong() {
    for path in entries(Path::new(FOLDER)).iter().filter(|path| has_end(path, "yaml")) {
        let bytes = fs::read(path).unwrap();
        assert!(bytes.starts_with(b"# Wrong: "), "{}", path.display());
    }
}

/// The one problem of a file, with its code; the folder is left out of its text, because it differs at each run.
fn only(result: Result<(), Problems>, folder: &Path) -> (Code, String) {
    let problems = result.expect_err("refused");
    assert_eq!(problems.count(), 1, "{problems}");
    let folder = format!("{}{}", folder.display(), std::path::MAIN_SEPARATOR);
    let problem = problems.iter().next().unwrap();
    (problem.code, problem.draw(false).replace(&folder, ""))
}

#[test]
fn a_large_file_is_refused_by_its_size_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.yaml");
    // A hole of a terabyte: whoever reads it doesn't come back.
    fs::File::create(&path).unwrap().set_len(1024 * 1024 * 1024 * 1024).unwrap();
    let (code, drawn) = only(read(&path), folder.path());
    assert_eq!(code, Code::TooLarge);
    assert_eq!(
        drawn,
        "error[too-large]: the file has 1048576.0 MB; expected at most 4 MB\n--> job.yaml\n = help: check that it is the right \
         file, or split the yard\n"
    );
}

#[cfg(unix)]
#[test]
fn a_device_is_not_read() {
    let (code, drawn) = only(read(Path::new("/dev/zero")), Path::new("/dev"));
    assert_eq!(code, Code::Unreadable);
    assert_eq!(
        drawn,
        "error[unreadable]: this is a device or a pipe, not a file\n--> zero\n = help: write it to a file first\n"
    );
}

#[test]
fn one_job_given_twice_is_not_counted_twice() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.yaml");
    let job = "job: A\nunits: lb\nsystems: [{ name: S, refrigerant: R-22, nameplate: 5 }]\nyard: yard.csv\n";
    fs::write(&path, job).unwrap();
    fs::write(folder.path().join("yard.csv"), "id,tare [lb],water_capacity [lb],gross [lb],holds\n").unwrap();
    let again = folder.path().join(".").join("job.yaml");
    let (code, _) = only(read_jobs(&[path, again]), folder.path());
    assert_eq!(code, Code::SameJob);
}

#[test]
fn rows_that_cannot_be_read_are_counted_up_to_a_number() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("yard.csv");
    let rows: String = (0..600).map(|id| format!("C-{id},27.9,47.5,0,evacuated\n")).collect();
    fs::write(&path, format!("id,tare [lb],water_capacity [lb],gross [lb],holds\n{rows}")).unwrap();
    let problems = read(&path).expect_err("refused");
    assert_eq!(problems.count(), 501);
    assert_eq!(problems.iter().last().unwrap().code, Code::TooMany);
    let skipping = read_yard(&path, TODAY, true).expect_err("too many even to be left out");
    assert_eq!(only(Err(skipping), folder.path()).0, Code::TooMany);
}

#[test]
fn no_job_at_all_is_an_error() {
    let (code, _) = only(read_jobs(&[]), Path::new("/"));
    assert_eq!(code, Code::NothingToDo);
}

/// Texts on which a parser may spend its time with the square of their length, or its stack.
#[test]
#[ignore = "over 5 s in a debug build; run in a release build"]
fn files_made_to_hurt_are_refused_in_time() {
    let folder = tempfile::tempdir().unwrap();
    let size = 1_000_000;
    let nested = |open: &str, close: &str| format!("a: {}{}", open.repeat(10_000), close.repeat(10_000));
    let wide = |item: &str| item.repeat(size / item.len());
    let texts: Vec<(&str, String)> = vec![
        ("yaml", nested("[", "]")),
        ("yaml", nested("{a: ", "}")),
        ("yaml", wide("[")),
        ("yaml", wide("{a: ")),
        ("yaml", wide("- ")),
        ("yaml", wide("? ")),
        ("yaml", wide("a: ")),
        ("yaml", (0..1_500).map(|depth| format!("{}a:\n", " ".repeat(depth))).collect()),
        ("yaml", format!("cylinders:\n{}", wide("- {a: 1}\n"))),
        ("yaml", format!("cylinders:\n{}", wide("-\n"))),
        ("yaml", (0..100_000).map(|key| format!("k{key}: 1\n")).collect()),
        ("yaml", wide("a: 1\n")),
        ("yaml", format!("a: \"{}\"", wide("x"))),
        ("yaml", format!("? {}\n: 1", wide("x"))),
        ("yaml", wide("&a ")),
        ("yaml", wide("!t ")),
        ("yaml", wide("---\n")),
        ("yaml", wide("#\n")),
        ("yaml", wide("'")),
        ("yaml", format!("a: [{}]", wide("1,"))),
        ("yaml", format!("cylinders: [{}]", wide("{id: 1},"))),
        ("yaml", format!("a: |\n{}", wide(" x\n"))),
        ("yaml", format!("{}b: 1", wide("a, "))),
        ("csv", wide("id,")),
        ("csv", wide("\"")),
        ("csv", wide("id,tare [lb]\n")),
        ("csv", format!("id,tare [lb],water_capacity [lb],gross [lb],holds\n{}", wide("1,1,1,1,1\n"))),
        ("csv", format!("id,tare [lb],water_capacity [lb],gross [lb],holds\n{}", wide(",,,1\n"))),
        ("json", wide("[")),
        ("json", format!("[{}1]", wide("1,"))),
        ("json", format!("{{\"loads\":[{}{{}}]}}", wide("{\"a\":1},"))),
    ];
    for (index, (end, text)) in texts.iter().enumerate() {
        let path = folder.path().join(format!("{index}.{end}"));
        fs::write(&path, text).unwrap();
        let started = std::time::Instant::now();
        let result = read(&path);
        let took = started.elapsed();
        let problems = result.expect_err("refused");
        assert!(took.as_secs() < 10, "{index}: {took:?}, {} problems", problems.count());
    }
}
