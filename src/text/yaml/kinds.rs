//! The first reading: which nodes are values, lists and maps, and how many and how deep.

use std::cell::Cell;
use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, MapAccess, SeqAccess, Visitor};

use super::{MOST_DEPTH, MOST_KEY, MOST_KEYS};
use crate::problem::Code;
use crate::text::tree::Typed;

/// The kinds of the nodes, without their texts.
pub(super) enum Shape {
    Null,
    Leaf(Typed),
    List(Vec<Shape>),
    Map(Vec<Shape>),
}

/// The first reading.
#[derive(Clone, Copy)]
pub(super) struct Kinds<'a> {
    depth: usize,
    left: &'a Cell<usize>,
    /// What a file with more nodes than that has: values, or aliases.
    beyond: Code,
    stopped: &'a Cell<Option<Code>>,
}

impl<'a> Kinds<'a> {
    /// At most `left` nodes; with more, the file is refused for what `beyond` says. Why it stopped stands in `stopped`.
    pub fn new(left: &'a Cell<usize>, beyond: Code, stopped: &'a Cell<Option<Code>>) -> Self {
        Self { depth: 0, left, beyond, stopped }
    }

    fn stop<E: serde::de::Error>(self, code: Code) -> E {
        self.stopped.set(Some(code));
        E::custom(code.name())
    }

    fn deeper<E: serde::de::Error>(self) -> Result<Self, E> {
        if self.depth == MOST_DEPTH {
            return Err(self.stop(Code::TooDeep));
        }
        Ok(Self { depth: self.depth + 1, ..self })
    }

    fn count<E: serde::de::Error>(self) -> Result<(), E> {
        match self.left.get().checked_sub(1) {
            Some(left) => {
                self.left.set(left);
                Ok(())
            }
            None => Err(self.stop(self.beyond)),
        }
    }
}

impl<'de> DeserializeSeed<'de> for Kinds<'_> {
    type Value = Shape;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Shape, D::Error> {
        self.count()?;
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Kinds<'_> {
    type Value = Shape;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a value without a tag")
    }
    fn visit_unit<E>(self) -> Result<Shape, E> {
        Ok(Shape::Null)
    }
    fn visit_none<E>(self) -> Result<Shape, E> {
        Ok(Shape::Null)
    }
    fn visit_bool<E>(self, _: bool) -> Result<Shape, E> {
        Ok(Shape::Leaf(Typed::Bool))
    }
    fn visit_i64<E>(self, _: i64) -> Result<Shape, E> {
        Ok(Shape::Leaf(Typed::Number))
    }
    fn visit_u64<E>(self, _: u64) -> Result<Shape, E> {
        Ok(Shape::Leaf(Typed::Number))
    }
    fn visit_i128<E>(self, _: i128) -> Result<Shape, E> {
        Ok(Shape::Leaf(Typed::Number))
    }
    fn visit_u128<E>(self, _: u128) -> Result<Shape, E> {
        Ok(Shape::Leaf(Typed::Number))
    }
    fn visit_f64<E>(self, _: f64) -> Result<Shape, E> {
        Ok(Shape::Leaf(Typed::Number))
    }
    fn visit_str<E>(self, _: &str) -> Result<Shape, E> {
        Ok(Shape::Leaf(Typed::Text))
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Shape, A::Error> {
        let deeper = self.deeper()?;
        let mut shapes = Vec::new();
        while let Some(shape) = list.next_element_seed(deeper)? {
            shapes.push(shape);
        }
        Ok(Shape::List(shapes))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Shape, A::Error> {
        let deeper = self.deeper()?;
        let mut shapes = Vec::new();
        while map.next_key_seed(FirstKey(deeper))?.is_some() {
            if shapes.len() == MOST_KEYS {
                return Err(self.stop(Code::TooMany));
            }
            shapes.push(map.next_value_seed(deeper)?);
        }
        Ok(Shape::Map(shapes))
    }
}

/// A key in the first reading: a single value, not too long.
struct FirstKey<'a>(Kinds<'a>);

impl<'de> DeserializeSeed<'de> for FirstKey<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        let stopped = self.0;
        // Anything but a single value fails in the library; the name of the trouble has to be there before.
        let before = stopped.stopped.replace(Some(Code::UnknownKey));
        deserializer.deserialize_str(self)?;
        stopped.stopped.set(before);
        Ok(())
    }
}

impl Visitor<'_> for FirstKey<'_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a key")
    }
    fn visit_str<E: serde::de::Error>(self, key: &str) -> Result<(), E> {
        if key.chars().count() > MOST_KEY {
            return Err(self.0.stop(Code::UnknownKey));
        }
        Ok(())
    }
}
