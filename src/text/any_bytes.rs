//! Any bytes at all, and good files with a few of them changed: whatever comes of them, no panic, and nothing drawn
//! that a terminal would obey.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fs;

use proptest::prelude::*;

use super::read_plan;
use super::tests::{JOB, PLAN, VAN, folder, work};

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_bytes_make_a_panic(bytes in proptest::collection::vec(any::<u8>(), 0..200), end in 0..3_usize) {
        read_any(&bytes, end);
    }

    #[test]
    fn no_text_of_yaml_signs_makes_a_panic(text in "[-?:,\\[\\]{}#&*!|>'\"%@ \na1~.]{0,60}") {
        read_any(text.as_bytes(), 0);
    }

    #[test]
    fn no_change_of_a_good_file_makes_a_panic(
        end in 0..3_usize,
        at in any::<prop::sample::Index>(),
        length in 0..12_usize,
        put in prop_oneof![
            "[-?:,\\[\\]{}#&*!|>'\"%@ \n0-9a-z~.]{0,6}",
            Just("99999999999999999999".to_owned()),
            Just(".nan".to_owned()),
            Just("\u{202e}\0\u{1b}[31m".to_owned()),
            Just("79228162514264337593543950335".to_owned()),
        ],
    ) {
        let mut bytes = [JOB, VAN, PLAN][end].as_bytes().to_vec();
        let from = at.index(bytes.len());
        let to = (from + length).min(bytes.len());
        bytes.splice(from..to, put.into_bytes());
        read_any(&bytes, end);
    }
}

/// Reads bytes as a job with a good yard, as a yard of a good job, or as a plan; whatever comes is drawn.
fn read_any(bytes: &[u8], end: usize) {
    let folder = folder(&[("job.yaml", JOB), ("van.csv", VAN), ("plan.json", PLAN)]);
    let name = ["job.yaml", "van.csv", "plan.json"][end];
    fs::write(folder.path().join(name), bytes).unwrap();
    let problems = if end == 2 {
        read_plan(&folder.path().join(name)).err()
    } else {
        work(folder.path(), &["job.yaml"], bytes.len().is_multiple_of(2)).err()
    };
    if let Some(problems) = problems {
        assert!(problems.count() > 0);
        let drawn = problems.draw(false) + &problems.to_string();
        assert!(!drawn.contains(['\u{1b}', '\u{202e}', '\0']), "{drawn:?}");
    }
}
