//! The forms of values in a line: ids, names, moments and weights as texts, pairs as arrays, and what has keys as the
//! tables in `shapes` say.

use std::fmt;
use std::marker::PhantomData;

use jiff::civil::Date;
use serde::de::{self, MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::line::Sum;
use crate::cylinder::{Condition, Fate, Id};
use crate::ledger::{EntryId, Moment};
use crate::quantity::{Decimal, Unit, Weight};

/// What stands in a line in a form of ours.
pub(super) trait Form: Sized {
    fn write<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error>;
    fn read<'de, D: Deserializer<'de>>(from: D) -> Result<Self, D::Error>;
}

/// A value in its form, for lists and maps.
pub(super) struct Formed<T>(pub T);

impl<T: Form> Serialize for Formed<&T> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        self.0.write(to)
    }
}

impl<'de, T: Form> Deserialize<'de> for Formed<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        T::read(from).map(Self)
    }
}

/// A kind of value that is a text.
trait Text: Sized {
    /// What it is, for messages.
    const WHAT: &'static str;
    fn show(&self) -> String;
    fn parse(text: &str) -> Option<Self>;
}

/// Reads a text without a copy of it.
struct Texts<T>(PhantomData<T>);

impl<T: Text> Visitor<'_> for Texts<T> {
    type Value = T;
    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(T::WHAT)
    }
    fn visit_str<E: de::Error>(self, text: &str) -> Result<T, E> {
        T::parse(text).ok_or_else(|| E::invalid_value(de::Unexpected::Str(text), &self))
    }
}

macro_rules! texts {
    ($($kind:ty, $what:literal, $show:expr, $parse:expr;)*) => { $(
        impl Text for $kind {
            const WHAT: &'static str = $what;
            fn show(&self) -> String {
                let show: fn(&Self) -> String = $show;
                show(self)
            }
            fn parse(text: &str) -> Option<Self> {
                let parse: fn(&str) -> Option<Self> = $parse;
                parse(text)
            }
        }
        impl Form for $kind {
            fn write<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(&self.show())
            }
            fn read<'de, D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                from.deserialize_str(Texts(PhantomData))
            }
        }
    )* };
}

texts! {
    String, "a text", Clone::clone, |text| Some(text.to_owned());
    Id, "the id of a cylinder", |id| id.as_str().to_owned(), |text| Some(Id::from(text));
    EntryId, "the name of an entry", ToString::to_string, EntryId::parse;
    Moment, "a time with its offset", ToString::to_string, Moment::parse;
    Date, "a day", ToString::to_string, |text| text.parse().ok();
    Weight, "a weight with its unit", |weight| weight_text(*weight, None), weight;
    Condition, "a condition", |one| one.name().to_owned(), |text| word(&Condition::ALL, text);
    Sum, "a check sum", ToString::to_string, |text| Sum::parse(text.as_bytes());
    Fate, "a fate", |one| one.name().to_owned(), |text| word(&Fate::ALL, text);
}

fn word<T: Copy>(all: &[(T, &str)], text: &str) -> Option<T> {
    all.iter().find(|(_, word)| *word == text).map(|(one, _)| *one)
}

/// A unit with the weight of so many of it.
type WeightIn = (&'static str, fn(Decimal) -> Weight);
/// Units that a weight is written in, and the decimals that it may be typed with in each.
const UNITS: [WeightIn; 4] =
    [("lb", Weight::pounds), ("kg", Weight::kilograms), ("oz", Weight::ounces), ("g", Weight::grams)];
const DECIMALS: u32 = 4;
/// More of any unit than anything that is weighed; sums of as many stay within what is counted exactly.
const MOST: Decimal = Decimal::from_parts(100_000_000, 0, 0, false, 0);

/// A weight without any rounding: in this unit where it is a number with four decimals, else in the first in which it is
/// one; what is in none stands in grams with all of its decimals.
pub fn weight_text(weight: Weight, unit: Option<Unit>) -> String {
    let first = unit.map(Unit::number_name);
    let mut units = UNITS;
    units.sort_by_key(|(name, _)| Some(*name) != first);
    let in_unit = |of: fn(Decimal) -> Weight| weight.ratio_to(of(Decimal::ONE)).unwrap_or_default();
    for (name, of) in units {
        let number = in_unit(of).round_dp(DECIMALS).normalize();
        if of(number) == weight {
            return format!("{number} {name}");
        }
    }
    format!("{} g", in_unit(Weight::grams).normalize())
}

fn weight(text: &str) -> Option<Weight> {
    let (number, unit) = text.split_once(' ')?;
    let number = Decimal::from_str_exact(number).ok().filter(|number| number.abs() <= MOST)?;
    UNITS.iter().find(|(name, _)| *name == unit).map(|(_, of)| of(number))
}

/// Kinds whose keys stand in a table of `shapes`.
macro_rules! shaped {
    ($($kind:ty = $shape:ty),* $(,)?) => { $(
        impl $crate::text::entry::forms::Form for $kind {
            fn write<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                <$shape>::serialize(self, to)
            }
            fn read<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                <$shape>::deserialize(from)
            }
        }
    )* };
}
pub(super) use shaped;

impl<A: Form, B: Form> Form for (A, B) {
    fn write<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        (Formed(&self.0), Formed(&self.1)).serialize(to)
    }
    fn read<'de, D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        <(Formed<A>, Formed<B>)>::deserialize(from).map(|(one, two)| (one.0, two.0))
    }
}

impl<T: Form> Form for Vec<T> {
    fn write<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_seq(self.iter().map(Formed))
    }
    fn read<'de, D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_seq(Items(PhantomData))
    }
}

struct Items<T>(PhantomData<T>);

impl<'de, T: Form> Visitor<'de> for Items<T> {
    type Value = Vec<T>;
    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a list")
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<Vec<T>, A::Error> {
        let mut all = Vec::new();
        while let Some(Formed(one)) = from.next_element()? {
            all.push(one);
        }
        Ok(all)
    }
}

impl<T: Form> Form for Option<T> {
    fn write<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self {
            Some(one) => one.write(to),
            None => to.serialize_none(),
        }
    }
    fn read<'de, D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        // A key that is there has something behind it.
        T::read(from).map(Some)
    }
}

/// What a field is written with, `#[serde(with = "formed")]`.
pub(super) mod formed {
    use super::{Deserializer, Form, Serializer};

    pub fn serialize<T: Form, S: Serializer>(what: &T, to: S) -> Result<S::Ok, S::Error> {
        what.write(to)
    }

    pub fn deserialize<'de, T: Form, D: Deserializer<'de>>(from: D) -> Result<T, D::Error> {
        T::read(from)
    }
}

/// Pairs as a map, in their order, `#[serde(with = "mapped")]`.
pub(super) mod mapped {
    use super::{Deserializer, Form, Formed, Pairs, PhantomData, Serializer};

    pub fn serialize<A: Form, B: Form, S: Serializer>(pairs: &[(A, B)], to: S) -> Result<S::Ok, S::Error> {
        to.collect_map(pairs.iter().map(|(key, value)| (Formed(key), Formed(value))))
    }

    pub fn deserialize<'de, A: Form, B: Form, D: Deserializer<'de>>(from: D) -> Result<Vec<(A, B)>, D::Error> {
        from.deserialize_map(Pairs(PhantomData))
    }
}

struct Pairs<A, B>(PhantomData<(A, B)>);

impl<'de, A: Form, B: Form> Visitor<'de> for Pairs<A, B> {
    type Value = Vec<(A, B)>;
    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a map")
    }
    fn visit_map<M: MapAccess<'de>>(self, mut from: M) -> Result<Vec<(A, B)>, M::Error> {
        let mut all = Vec::new();
        while let Some((Formed(key), Formed(value))) = from.next_entry()? {
            all.push((key, value));
        }
        Ok(all)
    }
}

/// A number that may have any of 16 bits.
impl Form for u16 {
    fn write<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_u16(*self)
    }
    fn read<'de, D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        Self::deserialize(from)
    }
}
