//! What the fuzzers have found worth keeping, and whatever once broke a target, through the same functions.
//!
//! It makes up no bytes of its own: `tests/fuzz/run` does.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "fuzz/targets/bodies/mod.rs"]
mod bodies;

use std::collections::BTreeSet;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// The longest that one input may take here, in a build that isn't optimised and on a machine that does other work.
const PATIENCE: Duration = Duration::from_secs(20);
/// A corpus stays small: what it reaches is what counts.
const MOST_BYTES: u64 = 1024 * 1024;

fn files(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

#[test]
fn nothing_that_was_found_breaks_a_target() {
    let (mut bytes, mut broken) = (0, Vec::new());
    for (name, body) in bodies::TARGETS {
        let root = Path::new("tests/fuzz");
        let kept = ["seeds", "corpus", "found"].map(|kind| files(&root.join(kind).join(name)));
        assert!(kept[0].len() >= 3 && kept[1].len() >= 10, "{name} has no seeds, or no corpus");
        for path in kept.into_iter().flatten() {
            let input = fs::read(&path).unwrap();
            bytes += input.len() as u64;
            let folder = tempfile::tempdir().unwrap();
            let started = Instant::now();
            // All of them are tried, and each is named.
            if catch_unwind(AssertUnwindSafe(|| body(folder.path(), &input))).is_err() {
                broken.push(path.clone());
            }
            assert!(started.elapsed() < PATIENCE, "{}: {:?}", path.display(), started.elapsed());
        }
    }
    assert!(broken.is_empty(), "{broken:?}");
    assert!(bytes < MOST_BYTES, "{bytes} bytes");
}

#[test]
fn every_target_has_its_body_its_file_and_its_corpus() {
    let ours: BTreeSet<String> = bodies::TARGETS.iter().map(|(name, _)| (*name).to_owned()).collect();
    let stem = |path: PathBuf| path.file_stem().unwrap().to_string_lossy().into_owned();
    for folder in ["tests/fuzz/targets", "tests/fuzz/seeds", "tests/fuzz/corpus"] {
        let mut there: BTreeSet<String> = files(Path::new(folder)).into_iter().map(stem).collect();
        there.remove("bodies");
        assert_eq!(there, ours, "{folder}");
    }
    let manifest = fs::read_to_string("tests/fuzz/Cargo.toml").unwrap();
    for name in ours {
        assert!(manifest.contains(&format!("path = \"targets/{name}.rs\"")), "{name}");
        let target = fs::read_to_string(format!("tests/fuzz/targets/{name}.rs")).unwrap();
        assert!(target.contains(&format!("bodies::{name},")), "{name}");
    }
}
