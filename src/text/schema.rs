//! JSON Schemas for editors, drawn from the tables of keys that the reader goes by.
//!
//! A schema says less than the reader: nothing of ranges, dates that there aren't, or how two files fit together. It must
//! refuse nothing that the reader takes, but for one thing: it wants its words in lower case, as they are written here.

use serde_json::{Map, Value, json};

use super::dates::A_MONTH;
use super::shape::{Holds, Key, KeyRule, Shape};
use super::{job, rates, truck, yard};
use crate::quantity::{A_PRESSURE, A_WEIGHT};

/// Which kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileKind {
    /// A job.
    Job,
    /// A yard.
    Yard,
    /// A truck.
    Truck,
    /// Rates that jobs share.
    Rates,
}

/// The JSON Schema (draft 2020-12) of a kind of file.
pub fn schema(kind: FileKind) -> Value {
    let (shape, title) = match kind {
        FileKind::Job => (&job::SHAPE, "A job of chargesplit"),
        FileKind::Yard => (&yard::SHAPE, "A yard of chargesplit"),
        FileKind::Truck => (&truck::SHAPE, "A truck of chargesplit"),
        FileKind::Rates => (&rates::SHAPE, "Rates of chargesplit"),
    };
    let mut schema = map_of(shape);
    schema.insert("$schema".into(), "https://json-schema.org/draft/2020-12/schema".into());
    schema.insert("title".into(), title.into());
    Value::Object(schema)
}

fn map_of(shape: &Shape) -> Map<String, Value> {
    let properties: Map<String, Value> =
        shape.keys.iter().map(|key| (key.name.to_owned(), Value::Object(property(key)))).collect();
    let required: Vec<&str> = shape.keys.iter().filter(|key| key.required).map(|key| key.name).collect();
    let mut map = Map::new();
    map.insert("type".into(), "object".into());
    map.insert("additionalProperties".into(), false.into());
    map.insert("properties".into(), properties.into());
    map.insert("required".into(), required.into());
    if !shape.rules.is_empty() {
        map.insert("allOf".into(), shape.rules.iter().map(rule).collect());
    }
    map
}

fn property(key: &Key) -> Map<String, Value> {
    let (mut property, expected) = value_of(key.holds);
    let about = if expected.is_empty() { key.about.to_owned() } else { format!("{} Expected: {expected}.", key.about) };
    property.insert("description".into(), about.into());
    if !key.required {
        or_nothing(&mut property);
    }
    property
}

/// A key with nothing behind it is as if it weren't there.
fn or_nothing(property: &mut Map<String, Value>) {
    for (name, nothing) in [("type", json!("null")), ("enum", Value::Null), ("anyOf", json!({ "type": "null" }))] {
        match property.get_mut(name) {
            Some(Value::Array(all)) => all.push(nothing),
            Some(one) => *one = json!([one.clone(), nothing]),
            None => {}
        }
    }
}

/// What the reader takes as a value of this kind, and the same in words where the schema can't say it.
fn value_of(holds: Holds) -> (Map<String, Value>, String) {
    let (value, expected) = match holds {
        Holds::Text => (any_leaf(), String::new()),
        Holds::OneOf(words) => (json!({ "enum": words() }), String::new()),
        Holds::NameOr(words) => (json!({ "anyOf": [{ "enum": words }, any_leaf()] }), String::new()),
        Holds::Flag => (json!({ "enum": [true, false, "true", "false"] }), String::new()),
        Holds::Day => (json!({ "type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$" }), "YYYY-MM-DD".into()),
        // A spreadsheet's number of a day, and `06.2024`, are numbers to YAML.
        Holds::Month => (json!({ "type": ["string", "number"], "pattern": "[0-9]" }), A_MONTH.into()),
        Holds::Count(least, most) => (
            json!({ "type": ["integer", "string"], "minimum": least, "maximum": most, "pattern": "^[0-9]+$" }),
            String::new(),
        ),
        Holds::Weight => (
            json!({ "type": ["string", "number"], "minimum": 0, "pattern": "[0-9]" }),
            format!("{A_WEIGHT}; a bare number counts in the file's `units`, but not in lb-oz"),
        ),
        Holds::Pressure => (json!({ "type": "string", "pattern": "[0-9]" }), A_PRESSURE.into()),
        Holds::Quantity(expected) => (json!({ "type": "string", "pattern": "[0-9]" }), expected.into()),
        Holds::Number(expected) => {
            (json!({ "type": ["string", "number"], "minimum": 0, "pattern": "[0-9]" }), expected.into())
        }
        Holds::Per(words) => {
            let words = words();
            let pattern = format!("[0-9].* per ({})$", words.join("|"));
            let expected = format!("an amount or low..likely..high, per {}", words.join(" or per "));
            (json!({ "type": "string", "pattern": pattern }), expected)
        }
        Holds::Texts(most) => (json!({ "type": "array", "maxItems": most, "items": any_leaf() }), String::new()),
        Holds::Names(most) => {
            let list = json!({ "type": "array", "maxItems": most, "items": any_leaf() });
            (json!({ "anyOf": [list, any_leaf()] }), "a list of names".into())
        }
        Holds::Map(shape) => (Value::Object(map_of(shape)), String::new()),
        Holds::List(shape, most) => {
            (json!({ "type": "array", "maxItems": most, "items": map_of(shape) }), String::new())
        }
    };
    let Value::Object(value) = value else { return (Map::new(), expected) };
    (value, expected)
}

/// A text is read as it was typed, so that YAML may take it for a number or for true.
fn any_leaf() -> Value {
    json!({ "type": ["string", "number", "boolean"] })
}

fn rule(rule: &KeyRule) -> Value {
    // A key with nothing behind it isn't there.
    let has = |key: &str| json!({ "required": [key], "properties": { key: { "not": { "type": "null" } } } });
    let hasnt = |key: &str| json!({ "properties": { key: { "type": "null" } } });
    let is = |key: &str, word: &str| json!({ "required": [key], "properties": { key: { "const": word } } });
    match rule {
        KeyRule::Either(one, other) => json!({ "oneOf": [has(one), has(other)] }),
        KeyRule::Apart(one, other) => json!({ "anyOf": [hasnt(one), hasnt(other)] }),
        KeyRule::Needs(one, other) => json!({ "anyOf": [hasnt(one), has(other)] }),
        KeyRule::Filled(key) => {
            json!({ "required": [key], "properties": { *key: { "type": "array", "minItems": 1 } } })
        }
        KeyRule::Unless(key, of, word) => json!({ "anyOf": [has(key), is(of, word)] }),
        KeyRule::Only(key, of, word) => {
            let empty = json!({ "properties": { *key: { "type": ["array", "null"], "maxItems": 0 } } });
            json!({ "anyOf": [empty, is(of, word)] })
        }
    }
}
