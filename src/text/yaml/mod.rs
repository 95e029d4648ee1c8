//! YAML into a tree.
//!
//! It is read twice: first for the kinds of its nodes, then along them for the texts as typed and their places. Only
//! serde_yaml's errors carry places, and inside a visitor an error is known by its message alone: so the second reading
//! makes every key and every value fail, catches that, and takes the place from the end of the message.
//!
//! Files come from anybody. Depth, keys and nodes are bounded here, before anything grows with them: a node costs at
//! least a byte of the file, unless aliases repeat it. The library keeps some 200 bytes of each before a visitor sees the
//! first, so they are counted in the text before.

mod kinds;
#[cfg(test)]
mod tests;
mod texts;

use std::cell::Cell;

use serde::Deserialize;
use serde::de::{DeserializeSeed, IgnoredAny};

use kinds::{Kinds, Shape};
use texts::Texts;

use super::source::{LINE_ENDS, Mark, Source};
use super::tree::{Leaf, Node, Typed};
use crate::problem::{Code, Problem, Problems};

/// Our deepest file, a plan, has six.
const MOST_DEPTH: usize = 12;
/// Our longest key has 17 characters.
const MOST_KEY: usize = 60;
/// Keys of one map: our longest table has a tenth of it.
const MOST_KEYS: usize = 300;
/// Values and lists in a file: the largest yard that is taken has fewer with every key that a cylinder can have.
const MOST_NODES: usize = 300_000;
/// Brackets open at once and list marks in front of one line. The scanner's time grows with their square.
const MOST_OPEN: usize = 200;

/// Reads the one document of a file.
pub(super) fn read(source: &Source) -> Result<Node, Problems> {
    if let Some(line) = too_many_open(&source.text) {
        return Err(too_deep(source, Some(Mark::new(line, 1))).into());
    }
    if nodes_at_least(&source.text) > MOST_NODES {
        return Err(too_large(source).into());
    }
    let stopped = Cell::new(None);
    let shape = first_reading(source, &stopped)?;
    if matches!(shape, Shape::Null) {
        return Err(source.whole(Code::Empty, "nothing is in the file but comments", "check that it was saved").into());
    }
    Texts(&shape).deserialize(serde_yaml::Deserializer::from_str(&source.text)).or_else(|error| {
        match (&shape, position(&error.to_string())) {
            // A file of one single value fails as that value is meant to.
            (Shape::Leaf(_), mark) => {
                Ok(Node::Leaf(Leaf { text: source.text.trim().into(), typed: Typed::Text, mark, unit: None }))
            }
            _ => Err(refused(source, &error, None).into()),
        }
    })
}

fn first_reading(source: &Source, stopped: &Cell<Option<Code>>) -> Result<Shape, Problems> {
    let (most, beyond) = if source.text.len() < MOST_NODES {
        (source.text.len() + 1, Code::Aliases)
    } else {
        (MOST_NODES, Code::TooLarge)
    };
    let left = Cell::new(most);
    let seed = Kinds::new(&left, beyond, stopped);
    let mut documents = serde_yaml::Deserializer::from_str(&source.text);
    let Some(first) = documents.next() else {
        return Ok(Shape::Null);
    };
    let shape = seed.deserialize(first).map_err(|error| refused(source, &error, stopped.get()))?;
    match documents.next() {
        None => Ok(shape),
        // What follows may be no document at all but an error of syntax.
        Some(second) => Err(match IgnoredAny::deserialize(second) {
            Ok(_) => source.whole(
                Code::SeveralDocuments,
                "the file holds more than one document, parted by `---`",
                "make a file of each",
            ),
            Err(error) => refused(source, &error, None),
        }
        .into()),
    }
}

fn refused(source: &Source, error: &serde_yaml::Error, stopped: Option<Code>) -> Problem {
    // Where no place is given, it is the very beginning.
    let place = source.place_or_end(error.location().map_or(Mark::START, |at| Mark::new(at.line(), at.column())));
    let message = error.to_string();
    let mut problem = if message.starts_with("repetition limit exceeded") {
        aliases(source)
    } else if message.contains("recursion limit exceeded") {
        too_deep(source, None)
    } else {
        match stopped {
            Some(Code::Aliases) => aliases(source),
            Some(Code::TooDeep) => too_deep(source, None),
            Some(Code::TooLarge) => too_large(source),
            Some(Code::TooMany) => source.whole(
                Code::TooMany,
                &format!("a map of keys begins here that has more than {MOST_KEYS}"),
                "check that it is the right file, and the indentation",
            ),
            Some(Code::UnknownKey) => source.whole(
                Code::UnknownKey,
                "a key is longer than any that is known here, or isn't a word",
                "write a key as a plain word, followed by a colon and a space",
            ),
            _ => source.whole(
                Code::Syntax,
                &format!("this can't be read: {}", in_words(&message)),
                "check the indentation, the colons and the quotes here and in the line above",
            ),
        }
    };
    problem.place = place;
    problem
}

fn too_large(source: &Source) -> Problem {
    source.whole(
        Code::TooLarge,
        &format!("the file holds more than {MOST_NODES} values"),
        "check that it is the right file, or split the yard",
    )
}

fn aliases(source: &Source) -> Problem {
    source.whole(
        Code::Aliases,
        "aliases (`*name`) in the file stand for more than the file holds",
        "write out what each of them stands for",
    )
}

fn too_deep(source: &Source, mark: Option<Mark>) -> Problem {
    let mut problem = source.whole(
        Code::TooDeep,
        &format!("lists and maps are nested here more than {MOST_DEPTH} deep"),
        "a job has at most four levels; check the brackets and the indentation",
    );
    problem.place = mark.and_then(|mark| source.place(mark));
    problem
}

/// The line in which too much is open at once. It counts in comments and quotes too, and still takes any file that a
/// person would write.
fn too_many_open(text: &str) -> Option<usize> {
    let mut open = 0_usize;
    for (index, line) in text.lines().enumerate() {
        let marks = line.bytes().take_while(|byte| matches!(byte, b' ' | b'\t' | b'-' | b'?' | b':'));
        if marks.filter(|byte| !matches!(byte, b' ' | b'\t')).count() > MOST_OPEN {
            return Some(index + 1);
        }
        for byte in line.bytes() {
            match byte {
                b'[' | b'{' => open += 1,
                b']' | b'}' => open = open.saturating_sub(1),
                _ => {}
            }
            if open > MOST_OPEN {
                return Some(index + 1);
            }
        }
    }
    None
}

/// How many values and lists the text holds at least, by what parts them: a colon with nothing right behind it or a quote
/// before it, a dash in front of a line, a comma. Marks in comments and quotes count too, and still any file that a person
/// would write is taken.
fn nodes_at_least(text: &str) -> usize {
    let (mut items, mut commas) = (0, 0);
    for line in text.split(LINE_ENDS) {
        items +=
            line.split([' ', '\t']).take_while(|part| matches!(*part, "-" | "")).filter(|part| *part == "-").count();
        for (at, byte) in line.bytes().enumerate() {
            let around = |at: Option<usize>| at.and_then(|at| line.as_bytes().get(at));
            match byte {
                b',' => commas += 1,
                b':' => {
                    let ends = around(at.checked_add(1)).is_none_or(|next| b" \t,]}[{".contains(next));
                    let quoted = around(at.checked_sub(1)).is_some_and(|before| b"\"'".contains(before));
                    items += usize::from(ends || quoted);
                }
                _ => {}
            }
        }
    }
    // In a map in braces each value has both.
    items.max(commas)
}

/// What the second reading fails with.
const KEPT: &str = "kept";

/// Line and column at the end of an error's message.
fn position(message: &str) -> Option<Mark> {
    let Some((_, at)) = message.rsplit_once(" at line ") else {
        // The very first character of a file is given no place.
        return message.ends_with(KEPT).then_some(Mark::new(1, 1));
    };
    let (line, column) = at.split_once(" column ")?;
    Some(Mark::new(line.parse().ok()?, column.parse().ok()?))
}

/// The library's message, with the place it gives at the end left out, and that of what it was reading as a line.
fn in_words(message: &str) -> String {
    let (trouble, context) = message.split_once(", while ").unwrap_or((message, ""));
    let trouble = trouble.split(" at line ").next().unwrap_or(trouble);
    let trouble = trouble.split(" at position ").next().unwrap_or(trouble);
    let (context, line) = context.split_once(" at line ").unwrap_or((context, ""));
    match (context, line.split(' ').next().unwrap_or_default()) {
        ("", _) => trouble.to_owned(),
        (context, "") => format!("{trouble}, while {context}"),
        (context, line) => format!("{trouble}, while {context} that begins in line {line}"),
    }
}
