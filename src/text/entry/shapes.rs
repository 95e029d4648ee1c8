//! The keys of an entry and of everything in it, one table for each: what is written and what is read are drawn from the
//! same one, and the compiler holds each against the type that it stands for. A key that isn't known is refused.

use jiff::civil::Date;
use serde::de::{self, Error as _, MapAccess, Visitor};
use serde::ser::SerializeMap;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::forms::{Form, Formed, formed, shaped};
use crate::cylinder::{Condition, Fate, Id};
use crate::ledger::{
    Bind, BoundJob, Change, Closed, CylinderState, EntryId, Fact, FactKind, Gained, JobId, Pour, Reading, Row, Step,
    What,
};
use crate::quantity::Weight;
use crate::text::row;

shaped! {
    JobId = JobIdShape, BoundJob = BoundJobShape, Step = StepShape, Gained = GainedShape, Pour = PourShape,
    Change = ChangeShape, CylinderState = StateShape, Bind = BindShape, Reading = ReadingShape, Fact = FactShape,
    FactKind = FactKindShape, Closed = ClosedShape, What = WhatShape,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde passes a reference
const fn is_false(flag: &bool) -> bool {
    !*flag
}

#[derive(Serialize, Deserialize)]
#[serde(remote = "JobId", deny_unknown_fields)]
struct JobIdShape {
    name: String,
    #[serde(with = "formed")]
    first: EntryId,
}

#[derive(Serialize, Deserialize)]
#[serde(remote = "What", rename_all = "snake_case", deny_unknown_fields)]
enum WhatShape {
    Bind(#[serde(with = "formed")] Bind),
    Release {
        #[serde(with = "formed")]
        of: EntryId,
    },
    Reading(#[serde(with = "formed")] Reading),
    Undo {
        #[serde(with = "formed")]
        of: EntryId,
    },
    Cylinder(#[serde(with = "formed")] Fact),
    Settling {
        #[serde(with = "formed")]
        changes: Vec<Change>,
    },
    Settled {
        #[serde(with = "formed")]
        of: EntryId,
    },
    Closed(#[serde(with = "formed")] Closed),
}

#[derive(Serialize, Deserialize)]
#[serde(remote = "Bind", deny_unknown_fields)]
struct BindShape {
    #[serde(with = "formed")]
    jobs: Vec<BoundJob>,
    #[serde(with = "formed", default, skip_serializing_if = "Vec::is_empty")]
    follows: Vec<EntryId>,
    #[serde(with = "formed")]
    day: Date,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    van: Option<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    options: Vec<String>,
    #[serde(with = "formed")]
    cylinders: Vec<Id>,
    #[serde(with = "formed")]
    systems: Vec<(String, Weight)>,
    #[serde(with = "formed")]
    steps: Vec<Step>,
    #[serde(with = "formed", default, skip_serializing_if = "Vec::is_empty")]
    short: Vec<(String, Weight)>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    dry: Vec<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    more: Vec<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(remote = "BoundJob", deny_unknown_fields)]
struct BoundJobShape {
    name: String,
    #[serde(with = "formed")]
    first: EntryId,
    text: String,
}

#[derive(Serialize, Deserialize)]
#[serde(remote = "Step", deny_unknown_fields)]
struct StepShape {
    #[serde(with = "formed")]
    cylinder: Id,
    lot: String,
    #[serde(with = "formed")]
    from: Vec<(String, Weight)>,
    #[serde(with = "formed")]
    now: Weight,
    #[serde(with = "formed")]
    add: Weight,
    #[serde(with = "formed")]
    stop: Weight,
    #[serde(with = "formed")]
    limit: Weight,
}

#[derive(Serialize, Deserialize)]
#[serde(remote = "Reading", deny_unknown_fields)]
struct ReadingShape {
    #[serde(with = "formed")]
    cylinder: Id,
    #[serde(with = "formed")]
    bind: EntryId,
    #[serde(with = "formed")]
    gross: Weight,
    #[serde(with = "formed", default, skip_serializing_if = "Option::is_none")]
    net: Option<Weight>,
    #[serde(with = "formed")]
    parts: Vec<Gained>,
    #[serde(with = "formed")]
    pour: Pour,
    #[serde(default, skip_serializing_if = "is_false")]
    emptied: bool,
    #[serde(default, skip_serializing_if = "is_false")]
    moved: bool,
    #[serde(default, skip_serializing_if = "is_false")]
    morning: bool,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    forced: Vec<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    note: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    via: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(remote = "Gained", deny_unknown_fields)]
struct GainedShape {
    system: String,
    #[serde(with = "formed")]
    weight: Weight,
    #[serde(default, skip_serializing_if = "is_false")]
    assumed: bool,
}

#[derive(Serialize, Deserialize)]
#[serde(remote = "Pour", deny_unknown_fields)]
struct PourShape {
    lot: String,
    refrigerants: Vec<String>,
    #[serde(default, skip_serializing_if = "is_false")]
    mixed: bool,
    #[serde(with = "formed")]
    condition: Condition,
    #[serde(with = "formed")]
    fate: Fate,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    owner: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    kept_for: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(remote = "Fact", deny_unknown_fields)]
struct FactShape {
    #[serde(with = "formed")]
    what: FactKind,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    why: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(remote = "FactKind", rename_all = "snake_case", deny_unknown_fields)]
enum FactKindShape {
    Weighed {
        #[serde(with = "formed")]
        cylinder: Id,
        #[serde(with = "formed")]
        gross: Weight,
        #[serde(with = "formed", default, skip_serializing_if = "Option::is_none")]
        holds: Option<CylinderState>,
    },
    Emptied {
        #[serde(with = "formed")]
        cylinder: Id,
        #[serde(with = "formed")]
        gross: Weight,
    },
    Out {
        #[serde(with = "formed")]
        cylinder: Id,
    },
    Back {
        #[serde(with = "formed")]
        cylinder: Id,
    },
    AsFile {
        #[serde(with = "formed")]
        cylinder: Id,
    },
    Added {
        #[serde(with = "formed")]
        cylinder: Id,
    },
    ToVan {
        #[serde(with = "formed")]
        cylinder: Id,
        van: String,
    },
    GivenUp {
        #[serde(with = "formed")]
        entry: EntryId,
    },
}

#[derive(Serialize, Deserialize)]
#[serde(remote = "Change", deny_unknown_fields)]
struct ChangeShape {
    #[serde(with = "formed")]
    cylinder: Id,
    #[serde(with = "formed")]
    before: CylinderState,
    #[serde(with = "formed")]
    after: CylinderState,
}

#[derive(Serialize, Deserialize)]
#[serde(remote = "Closed", deny_unknown_fields)]
struct ClosedShape {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    place: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    certificate: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    company: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    recipient: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    transferred: Option<String>,
}

/// The state of a cylinder, in the keys of a yard.
#[derive(Serialize, Deserialize)]
#[serde(remote = "CylinderState", deny_unknown_fields)]
struct StateShape {
    #[serde(with = "formed")]
    gross: Weight,
    holds: String,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    may_contain: Vec<String>,
    #[serde(with = "formed")]
    condition: Condition,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    owner: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    kept_for: Option<String>,
    #[serde(default, skip_serializing_if = "is_false")]
    cleaned: bool,
}

/// A row is one map with the keys of a yard: the id, what is stamped, the state.
impl Form for Row {
    fn write<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let state = &self.state;
        let mut map = to.serialize_map(None)?;
        map.serialize_entry("id", self.id.as_str())?;
        for (key, value) in &self.stamped {
            map.serialize_entry(key, value)?;
        }
        map.serialize_entry("gross", &Formed(&state.gross))?;
        map.serialize_entry("holds", &state.holds)?;
        if !state.may_contain.is_empty() {
            map.serialize_entry("may_contain", &state.may_contain)?;
        }
        map.serialize_entry("condition", &Formed(&state.condition))?;
        for (key, value) in [("owner", &state.owner), ("kept_for", &state.kept_for)] {
            if let Some(value) = value {
                map.serialize_entry(key, value)?;
            }
        }
        if state.cleaned {
            map.serialize_entry("cleaned", &true)?;
        }
        map.end()
    }

    fn read<'de, D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_map(RowKeys)
    }
}

struct RowKeys;

impl<'de> Visitor<'de> for RowKeys {
    type Value = Row;
    fn expecting(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        f.write_str("a row of a yard")
    }
    fn visit_map<M: MapAccess<'de>>(self, mut from: M) -> Result<Row, M::Error> {
        let (mut id, mut gross, mut holds, mut condition) = (None, None, None, None);
        let (mut may_contain, mut owner, mut kept_for, mut cleaned) = (Vec::new(), None, None, false);
        let mut stamped = Vec::new();
        while let Some(key) = from.next_key::<String>()? {
            match key.as_str() {
                "id" => id = Some(from.next_value::<Formed<Id>>()?.0),
                "gross" => gross = Some(from.next_value::<Formed<Weight>>()?.0),
                "holds" => holds = Some(from.next_value()?),
                "condition" => condition = Some(from.next_value::<Formed<Condition>>()?.0),
                "may_contain" => may_contain = from.next_value()?,
                "owner" => owner = Some(from.next_value()?),
                "kept_for" => kept_for = Some(from.next_value()?),
                "cleaned" => cleaned = from.next_value()?,
                other if row::SHAPE.key(other).is_some() => stamped.push((key, from.next_value()?)),
                other => return Err(M::Error::custom(format_args!("unknown key `{other}` of a row"))),
            }
        }
        let lacks = <M::Error as de::Error>::missing_field;
        let state = CylinderState {
            gross: gross.ok_or_else(|| lacks("gross"))?,
            holds: holds.ok_or_else(|| lacks("holds"))?,
            may_contain,
            condition: condition.ok_or_else(|| lacks("condition"))?,
            owner,
            kept_for,
            cleaned,
        };
        Ok(Row { id: id.ok_or_else(|| lacks("id"))?, stamped, state })
    }
}
