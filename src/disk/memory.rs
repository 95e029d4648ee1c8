//! What this machine remembers of the files that it wrote: the last line of each, so that nothing of it can go unseen.

use std::fs;
use std::path::{Path, PathBuf};

use super::folder::{LedgerBytes, read};
use super::machine::{Machine, WriterName, whole_path};

/// The last line that this machine wrote into a folder under one name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remembered {
    /// The folder of the ledger.
    pub folder: PathBuf,
    /// The ledger, by its id.
    pub ledger: String,
    /// The file in the folder.
    pub file: String,
    /// The line, without its end.
    pub line: String,
}

impl Remembered {
    const KIND: &str = "last";

    fn path(kept: &Path, name: &WriterName) -> PathBuf {
        // `nul.last` would be a device on Windows.
        kept.join(format!("of-{name}.{}", Self::KIND))
    }

    fn read(path: &Path) -> Option<Self> {
        let text = String::from_utf8(read(path).ok()?).ok()?;
        let mut parts = text.splitn(4, '\n');
        let mut next = || parts.next().map(str::to_owned);
        let (folder, ledger, file, line) = (next()?, next()?, next()?, next()?);
        Some(Self { folder: folder.into(), ledger, file, line: line.trim_end_matches('\n').to_owned() })
    }

    /// What is remembered of what was written under a name, where something is.
    pub(super) fn of(kept: &Path, name: &WriterName) -> Option<Self> {
        Self::read(&Self::path(kept, name))
    }

    /// Remembers this in place of what was before.
    pub(super) fn keep(&self, machine: &Machine, kept: &Path, name: &WriterName) -> std::io::Result<()> {
        let folder = self.folder.to_string_lossy().replace('\n', " ");
        let text = format!("{folder}\n{}\n{}\n{}\n", self.ledger, self.file, self.line);
        machine.keep(&Self::path(kept, name), &text)
    }

    /// Whether the line stands in one of these files.
    pub(super) fn is_in(&self, files: &[LedgerBytes]) -> bool {
        // Its own file first: there it is the last line, as a rule.
        let (ours, others): (Vec<_>, Vec<_>) = files.iter().partition(|file| file.name == self.file);
        ours.iter().chain(&others).any(|file| self.ends_in(&file.bytes).is_some())
    }

    /// Where the line ends in these bytes, its own end included, where it stands in them.
    pub(super) fn ends_in(&self, bytes: &[u8]) -> Option<usize> {
        let mut end = bytes.len();
        loop {
            let start = bytes[..end].iter().rposition(|byte| *byte == b'\n').map_or(0, |before| before + 1);
            if bytes[start..end].trim_ascii_end() == self.line.as_bytes() {
                return Some((end + 1).min(bytes.len()));
            }
            end = start.checked_sub(1)?;
        }
    }
}

/// What this machine remembers, held against a folder.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Memory {
    /// The ledger that it wrote here, by its id.
    pub ledger: Option<String>,
    /// Lines that it wrote here and that are in no file here any more.
    pub lost: Vec<Remembered>,
    /// What it wrote into folders that aren't there any more and that is in no file here: of another ledger, or of this
    /// one where somebody has moved it away.
    pub elsewhere: Vec<Remembered>,
}

impl Machine {
    /// What this machine remembers, held against the files of a folder. Nothing where it remembers nothing.
    pub fn remembers(&self, folder: &Path, files: &[LedgerBytes]) -> Memory {
        let (here, whole) = (self.kept(folder), whole_path(folder));
        let mut memory = Memory::default();
        for kept in paths_in(&self.all_kept()) {
            let all = paths_in(&kept)
                .into_iter()
                .filter(|path| path.extension().is_some_and(|kind| kind == Remembered::KIND));
            for remembered in all.filter_map(|path| Remembered::read(&path)) {
                let is_here = kept == here;
                if is_here {
                    memory.ledger.get_or_insert_with(|| remembered.ledger.clone());
                }
                let is_gone = || remembered.folder != whole && !remembered.folder.exists();
                if (is_here || is_gone()) && !remembered.is_in(files) {
                    if is_here { memory.lost.push(remembered) } else { memory.elsewhere.push(remembered) }
                }
            }
        }
        memory
    }
}

fn paths_in(folder: &Path) -> Vec<PathBuf> {
    let listed = fs::read_dir(folder).into_iter().flatten();
    let mut paths: Vec<PathBuf> = listed.filter_map(Result::ok).map(|entry| entry.path()).collect();
    paths.sort();
    paths
}
