//! The reference of the files in `scenarios/README.md`, drawn from the tables of keys and compared with what stands there.
//!
//! `cargo test reference -- --ignored` writes it anew.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::path::Path;

use super::shape::{Holds, Key, Shape};
use super::{job, rates, truck, yard};

const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/README.md");
const MARK: &str = "<!-- keys -->\n";

/// Every map that a file of ours may hold, each once, a file's own map before what stands in it.
fn shapes() -> Vec<(String, &'static Shape)> {
    let mut found: Vec<(String, &'static Shape)> = Vec::new();
    let mut seen = BTreeSet::new();
    for (name, shape) in
        [("A job", &job::SHAPE), ("A yard", &yard::SHAPE), ("A truck", &truck::SHAPE), ("Rates", &rates::SHAPE)]
    {
        below(name.to_owned(), shape, &mut seen, &mut found);
    }
    found
}

fn below(
    name: String,
    shape: &'static Shape,
    seen: &mut BTreeSet<*const Shape>,
    found: &mut Vec<(String, &'static Shape)>,
) {
    if !seen.insert(std::ptr::from_ref(shape)) {
        return;
    }
    found.push((name, shape));
    for key in shape.keys {
        if let Holds::Map(inner) | Holds::List(inner, _) = key.holds {
            below(format!("`{}`", key.name), inner, seen, found);
        }
    }
}

/// What may stand behind a key, in a word or two.
fn kind(holds: Holds) -> String {
    let one_of = |words: &[&str]| words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ");
    match holds {
        Holds::Text => "text".into(),
        Holds::OneOf(words) => one_of(&words()),
        Holds::NameOr(words) => format!("{}, or a name", one_of(words)),
        Holds::Flag => "`true`, `false`".into(),
        Holds::Day => "day".into(),
        Holds::Month => "month or day".into(),
        Holds::Count(least, most) => format!("{least} to {most}"),
        Holds::Weight => "weight".into(),
        Holds::Pressure => "pressure".into(),
        Holds::Quantity(expected) | Holds::Number(expected) => expected.into(),
        Holds::Per(words) => format!("an amount per {}", words().join(", ")),
        Holds::Texts(_) => "list of texts".into(),
        Holds::Names(_) => "list of names".into(),
        Holds::Map(_) => "map, below".into(),
        Holds::List(..) => "list of maps, below".into(),
    }
}

fn drawn() -> String {
    let mut text = String::new();
    for (name, shape) in shapes() {
        let _ = write!(text, "\n### {name}\n\n| key | holds | meaning |\n|---|---|---|\n");
        for Key { name, holds, required, about } in shape.keys {
            let star = if *required { " *" } else { "" };
            let _ =
                writeln!(text, "| `{name}`{star} | {} | {} |", kind(*holds).replace('|', "/"), about.replace('|', "/"));
        }
    }
    text
}

/// What stands before the reference, and the reference as it stands.
fn stands() -> (String, String) {
    let text = std::fs::read_to_string(FILE).unwrap_or_default();
    let (before, reference) = text.split_once(MARK).unwrap_or((&text, ""));
    (before.to_owned(), reference.to_owned())
}

#[test]
fn the_reference_of_the_files_is_what_the_reader_goes_by() {
    let drawn = drawn();
    assert!(drawn.lines().count() > 100 && drawn.contains("| `water_capacity` * |"), "every key is drawn");
    assert!(stands().1 == drawn, "write it anew: cargo test reference -- --ignored");
}

#[test]
#[ignore = "writes the reference anew"]
fn the_reference_is_written() {
    let written = std::fs::write(Path::new(FILE), format!("{}{MARK}{}", stands().0, drawn()));
    assert!(written.is_ok(), "{written:?}");
}
