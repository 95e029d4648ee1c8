//! What the reader of YAML rests on, and what it bounds.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::path::Path;

use serde::Deserialize;
use serde::de::{DeserializeSeed, Deserializer};

use super::texts::Text;
use super::*;
use crate::text::row;
use crate::text::yard::MOST_CYLINDERS;

/// Fails at every value, as the second reading does.
#[derive(Debug)]
struct Fails;

impl<'de> Deserialize<'de> for Fails {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Text(&Cell::new(None)).deserialize(deserializer).map(|()| Self)
    }
}

#[derive(Debug, Deserialize)]
struct Map {
    #[serde(rename = "a")]
    _a: Fails,
}

/// The library gives places in the words of its errors alone. With other words every message would lose its line, and a
/// yard could no longer be written: that is why Cargo.toml names one version.
#[test]
fn the_words_of_errors_are_those_that_places_are_read_from() {
    fn error<T: for<'de> Deserialize<'de> + std::fmt::Debug>(text: &str) -> String {
        serde_yaml::from_str::<T>(text).expect_err(text).to_string()
    }
    for (found, words, mark) in [
        (error::<Fails>("x\n"), "kept", Some((1, 1))),
        (error::<Fails>("# why\nx\n"), "kept at line 2 column 1", Some((2, 1))),
        (error::<Vec<Fails>>("- x\n"), ".[0]: kept at line 1 column 3", Some((1, 3))),
        (error::<Map>("a: x\n"), "a: kept at line 1 column 4", Some((1, 4))),
        (error::<Map>("\n{ a: \"x\" }\n"), "a: kept at line 2 column 6", Some((2, 6))),
    ] {
        assert_eq!(found, words, "serde_yaml says it in other words: change `position` with them");
        assert_eq!(position(&found), mark.map(|(line, column)| Mark::new(line, column)), "{found}");
    }
    let syntax = error::<IgnoredAny>("a: 1\nunits\nb: 1\n");
    let words = "could not find expected ':' at line 3 column 1, while scanning a simple key at line 2 column 1";
    assert_eq!(syntax, words, "serde_yaml says it in other words: change `in_words` with them");
}

fn source(text: String) -> Source {
    Source::from_bytes(Path::new("job.yaml"), text.into_bytes()).unwrap()
}

fn refused(text: String) -> Problem {
    let problems = read(&source(text)).expect_err("refused");
    assert_eq!(problems.count(), 1, "{problems}");
    problems.iter().next().unwrap().clone()
}

/// What the library would keep of each key before anybody sees it is more than the file has: it never gets such a text.
#[test]
fn a_file_of_half_a_million_keys_is_refused_before_it_is_read() {
    let problem = refused("a:\n".repeat(480_000));
    assert_eq!((problem.code, problem.message.as_str()), (Code::TooLarge, "the file holds more than 300000 values"));
    assert_eq!(problem.place, None, "the first reading would give a place");
    for part in
        ["k: 1\n", "k:\n", "k:\r", "k:\r\n", "{k: 1},", "\"k\":1,", "k,", "- 1\n", "  - k: \n", "- - 1\n", "[],"]
    {
        assert!(nodes_at_least(&part.repeat(40)) >= 40, "{part:?}");
    }
}

#[test]
fn a_map_of_more_keys_than_any_table_has_is_refused_at_its_beginning() {
    let keys = |count: usize| (0..count).map(|key| format!("  k{key}: 1\n")).collect::<String>();
    assert!(read(&source(format!("limit:\n{}", keys(MOST_KEYS)))).is_ok());
    let problem = refused(format!("limit:\n{}", keys(MOST_KEYS + 1)));
    let place = problem.place.expect("a place");
    assert_eq!((problem.code, place.line, place.column), (Code::TooMany, 2, 3));
    assert!(row::SHAPE.keys.len() * 10 < MOST_KEYS);
}

#[test]
fn the_largest_yard_is_taken_with_every_key() {
    assert!(MOST_CYLINDERS * (row::SHAPE.keys.len() + 1) < MOST_NODES);
    let values = |text: &str| nodes_at_least(text);
    assert_eq!(values("units: lb\ncylinders:\n  - { id: C-1, tare: 27.9, remark: \"a, b\" }\n"), 6);
    assert_eq!(values("units: lb\ncylinders:\n  - id: C-1\n    tare: 27.9\n    tested: 2024-06\n"), 6);
    assert_eq!(values("# at 10:30\nholds: R-22\n"), 1);
}
