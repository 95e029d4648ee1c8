//! The second reading: the texts of the values as typed, and their places.

use std::cell::Cell;
use std::fmt;

use serde::Deserialize;
use serde::de::{DeserializeSeed, Deserializer, Error as _, IgnoredAny, MapAccess, SeqAccess, Visitor};

use super::kinds::Shape;
use super::{KEPT, position};
use crate::text::tree::{Entry, Leaf, Node, Typed};

/// The second reading, along the shape that the first one found.
pub(super) struct Texts<'a>(pub &'a Shape);

impl<'de> DeserializeSeed<'de> for Texts<'_> {
    type Value = Node;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Node, D::Error> {
        match self.0 {
            Shape::Null => IgnoredAny::deserialize(deserializer).map(|_| Node::Null),
            Shape::Leaf(_) => Err(D::Error::custom(KEPT)),
            Shape::List(_) => deserializer.deserialize_seq(self),
            Shape::Map(_) => deserializer.deserialize_map(self),
        }
    }
}

impl<'de> Visitor<'de> for Texts<'_> {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("the same as in the first reading")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Node, A::Error> {
        let Shape::List(shapes) = self.0 else {
            return Err(A::Error::custom("no list"));
        };
        let mut nodes = Vec::with_capacity(shapes.len());
        for shape in shapes {
            let node = match shape {
                Shape::Leaf(typed) => leaf(*typed, |seed| list.next_element_seed(seed).map(|_| ()))?,
                _ => list.next_element_seed(Texts(shape))?.unwrap_or(Node::Null),
            };
            nodes.push(node);
        }
        Ok(Node::List(nodes))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Node, A::Error> {
        let Shape::Map(shapes) = self.0 else {
            return Err(A::Error::custom("no map"));
        };
        let mut entries = Vec::with_capacity(shapes.len());
        for shape in shapes {
            let Node::Leaf(key) = leaf(Typed::Text, |seed| map.next_key_seed(seed).map(|_| ()))? else {
                return Err(A::Error::custom("no key"));
            };
            let value = match shape {
                Shape::Leaf(typed) => leaf(*typed, |seed| map.next_value_seed(seed))?,
                _ => map.next_value_seed(Texts(shape))?,
            };
            entries.push(Entry { key: key.text, mark: key.mark, value });
        }
        Ok(Node::Map(entries))
    }
}

/// A single value: lets it fail, and keeps what the failing showed.
fn leaf<E: serde::de::Error>(typed: Typed, read: impl FnOnce(Text<'_>) -> Result<(), E>) -> Result<Node, E> {
    let kept = Cell::new(None);
    let failed = read(Text(&kept));
    match (failed, kept.into_inner()) {
        (Err(error), Some(text)) => {
            let mark = position(&error.to_string()).map(|mark| mark.of(&text));
            Ok(Node::Leaf(Leaf { text, typed, mark, unit: None }))
        }
        (Err(error), None) => Err(error),
        (Ok(()), _) => Err(E::custom("no value")),
    }
}

/// Keeps the text of a value, and fails.
pub(super) struct Text<'a>(pub &'a Cell<Option<String>>);

impl<'de> DeserializeSeed<'de> for Text<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_str(self)
    }
}

impl Visitor<'_> for Text<'_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a single value")
    }
    fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<(), E> {
        self.0.set(Some(text.to_owned()));
        Err(E::custom(KEPT))
    }
}
