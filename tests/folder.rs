//! A folder of its own for a test, in which the real program runs: the files there, the commands, what they answer.
//!
//! Every run is told by the environment where the program keeps what belongs to the machine (a folder beside the test's
//! own), who is at work (the office), and that the time zone is UTC. A test that runs the program itself begins with
//! `Folder::command`, which sets the same.

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::Mutex;

use serde::de::DeserializeOwned;
use serde_json::Value;
use tempfile::TempDir;

/// The program under test.
pub const PROGRAM: &str = env!("CARGO_BIN_EXE_chargesplit");

/// A folder with files in which the program runs. It goes when this goes.
pub struct Folder {
    _home: TempDir,
    inside: PathBuf,
    variables: Mutex<BTreeMap<&'static str, String>>,
}

impl Folder {
    /// A folder with nothing in it.
    pub fn empty() -> Self {
        Self::named("files")
    }

    /// A folder of this name with nothing in it.
    pub fn named(name: &str) -> Self {
        let home = tempfile::tempdir().unwrap();
        let inside = home.path().join(name);
        fs::create_dir(&inside).unwrap();
        Self::over(home, inside)
    }

    /// A folder with these files: name and text.
    pub fn of(files: &[(&str, &str)]) -> Self {
        let folder = Self::empty();
        for (name, text) in files {
            folder.write(name, text);
        }
        folder
    }

    /// A folder with copies of these files and folders of `scenarios/`.
    pub fn of_scenarios(names: &[&str]) -> Self {
        let folder = Self::empty();
        for name in names {
            let from = Path::new("scenarios").join(name);
            if from.is_dir() {
                fs::create_dir(folder.at(name)).unwrap();
                for entry in fs::read_dir(from).unwrap() {
                    let entry = entry.unwrap();
                    fs::copy(entry.path(), folder.at(name).join(entry.file_name())).unwrap();
                }
            } else {
                fs::copy(from, folder.at(name)).unwrap();
            }
        }
        folder
    }

    /// The bytes of every file of the ledger beside this file, by name, one after the other; nothing where there is none.
    pub fn ledger(&self, beside: &str) -> String {
        let Ok(entries) = fs::read_dir(self.at(&format!("{beside}.ledger"))) else { return String::new() };
        let mut files: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
        files.retain(|file| file.extension().is_some_and(|kind| kind == "jsonl"));
        files.sort();
        files.iter().map(|file| fs::read_to_string(file).unwrap()).collect()
    }

    /// How many entries the ledger beside this file has.
    pub fn entries(&self, beside: &str) -> usize {
        self.ledger(beside).lines().filter(|line| line.starts_with("{\"id\"")).count()
    }

    /// With a copy of these files of the project, at the same place in this folder.
    pub fn with(self, files: &[&str]) -> Self {
        for file in files {
            fs::create_dir_all(self.at(file).parent().unwrap()).unwrap();
            fs::copy(file, self.at(file)).unwrap();
        }
        self
    }

    /// The project's own folder, with its `scenarios/`. Nothing may be written there.
    pub fn of_project() -> Self {
        Self::over(tempfile::tempdir().unwrap(), PathBuf::from(env!("CARGO_MANIFEST_DIR")))
    }

    fn over(home: TempDir, inside: PathBuf) -> Self {
        let state = home.path().join("state").to_str().unwrap().to_owned();
        let variables = [("CHARGESPLIT_STATE", state), ("CHARGESPLIT_AS", "office".into()), ("TZ", "UTC".into())];
        Self { _home: home, inside, variables: Mutex::new(variables.into()) }
    }

    pub fn path(&self) -> &Path {
        &self.inside
    }

    pub fn at(&self, name: &str) -> PathBuf {
        self.inside.join(name)
    }

    pub fn write(&self, name: &str, text: impl AsRef<[u8]>) {
        fs::write(self.at(name), text).unwrap();
    }

    pub fn read(&self, name: &str) -> String {
        fs::read_to_string(self.at(name)).unwrap()
    }

    pub fn bytes(&self, name: &str) -> Vec<u8> {
        fs::read(self.at(name)).unwrap()
    }

    /// From here on every run has this variable; `CHARGESPLIT_NOW` is the moment, such as `2026-12-01T08:00:00-05:00`.
    pub fn set(&self, variable: &'static str, value: &str) {
        self.variables.lock().unwrap().insert(variable, value.to_owned());
    }

    /// The program in this folder, to be run as the test likes.
    pub fn command<A: AsRef<OsStr>>(&self, arguments: impl IntoIterator<Item = A>) -> Command {
        self.command_of(PROGRAM, arguments)
    }

    /// Another program that runs ours, in the same folder and with the same variables.
    pub fn command_of<A: AsRef<OsStr>>(&self, program: &str, arguments: impl IntoIterator<Item = A>) -> Command {
        let mut command = Command::new(program);
        command.args(arguments).current_dir(&self.inside).envs(self.variables.lock().unwrap().iter());
        command
    }

    #[track_caller]
    pub fn run<A: AsRef<OsStr>>(&self, arguments: impl IntoIterator<Item = A>) -> Answer {
        Answer::to(&mut self.command(arguments))
    }

    /// Runs a command that ends with this status; what it says on standard output.
    #[track_caller]
    pub fn said(&self, status: i32, arguments: &[&str]) -> String {
        self.run(arguments).is(status).out
    }

    /// Runs a command that has to do what it is asked.
    #[track_caller]
    pub fn done(&self, arguments: &[&str]) -> String {
        self.said(0, arguments)
    }

    /// Runs a command that is refused and gives no data; what it says on standard error.
    #[track_caller]
    pub fn refused(&self, arguments: &[&str]) -> String {
        let answer = self.run(arguments).is(2);
        assert_eq!(answer.out, "", "{arguments:?}: {}", answer.err);
        answer.err
    }

    /// The answer as data, whatever its status.
    #[track_caller]
    pub fn json(&self, arguments: &[&str]) -> Value {
        self.data(arguments)
    }

    /// The answer as data of exactly this shape, whatever its status.
    #[track_caller]
    pub fn data<T: DeserializeOwned>(&self, arguments: &[&str]) -> T {
        self.run([arguments, &["--json"]].concat()).data()
    }
}

/// How a run ended and what it said.
#[derive(Debug)]
pub struct Answer {
    /// What was run, for whoever reads of its failure.
    line: String,
    /// -1 where a signal ended it.
    pub status: i32,
    pub out: String,
    pub err: String,
}

impl Answer {
    /// Runs this.
    pub fn to(command: &mut Command) -> Self {
        let output = command.output().expect("it runs");
        Self { line: format!("{command:?}"), ..Self::read(output) }
    }

    /// Runs this with so much on standard input.
    pub fn to_input(command: &mut Command, input: &[u8]) -> Self {
        let command = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("it runs");
        // One that refuses its arguments ends without reading.
        let _ = std::io::Write::write_all(&mut child.stdin.take().unwrap(), input);
        Self::read(child.wait_with_output().unwrap())
    }

    pub fn read(output: Output) -> Self {
        let text = |bytes| String::from_utf8(bytes).expect("what is said is text");
        let status = output.status.code().unwrap_or(-1);
        Self { line: String::new(), status, out: text(output.stdout), err: text(output.stderr) }
    }

    /// It has to end with this status.
    #[track_caller]
    pub fn is(self, status: i32) -> Self {
        assert_eq!(self.status, status, "{}: {}{}", self.line, self.out, self.err);
        self
    }

    /// What stands on standard output, as data of exactly this shape.
    #[track_caller]
    pub fn data<T: DeserializeOwned>(&self) -> T {
        serde_json::from_str(&self.out)
            .unwrap_or_else(|error| panic!("{}: {error}: {}{}", self.line, self.out, self.err))
    }

    #[track_caller]
    pub fn json(&self) -> Value {
        self.data()
    }
}

/// The text on one line, as lines are broken anywhere.
pub fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Runs the program in the project's folder.
pub fn run<A: AsRef<OsStr>>(arguments: impl IntoIterator<Item = A>) -> Answer {
    Folder::of_project().run(arguments)
}
