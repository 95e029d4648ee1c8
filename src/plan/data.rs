//! What a plan is in data, where that isn't its field as it stands.

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use super::{Number, Pour, Reading, Share, Status};
use crate::cylinder::{Id, Tag};
use crate::quantity::Division;

/// A weight that may stand in data: one that somebody can read. Bare divisions are none.
pub trait Shown: Serialize {}

impl Shown for Reading {}

impl Serialize for Status {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}

/// A cylinder's id as it was typed.
pub(super) fn id<S: Serializer>(id: &Id, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(id.as_str())
}

/// Several of them.
pub(super) fn ids<S: Serializer>(ids: &[Id], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(ids.iter().map(Id::as_str))
}

/// The words of marks.
pub(super) fn words<S: Serializer>(tags: &[Tag], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(tags.iter().map(|tag| tag.word()))
}

/// `from`, what comes from each system, and `pours`, how it is done.
pub(super) fn pours<W: Shown + Copy, S: Serializer>(pours: &[Pour<W>], serializer: S) -> Result<S::Ok, S::Error> {
    let mut fields = serializer.serialize_map(Some(2))?;
    fields.serialize_entry("from", &pours.iter().map(Pour::share).collect::<Vec<Share<W>>>())?;
    fields.serialize_entry("pours", pours)?;
    fields.end()
}

/// `job` where it is one, `jobs` where there are several.
pub(super) fn jobs<S: Serializer>(jobs: &[String], serializer: S) -> Result<S::Ok, S::Error> {
    let mut fields = serializer.serialize_map(Some(1))?;
    match jobs {
        [] => {}
        [one] => fields.serialize_entry("job", one)?,
        several => fields.serialize_entry("jobs", several)?,
    }
    fields.end()
}

/// `unit` and `division`: what a number in data counts, and the steps that it comes in.
pub(super) fn division<S: Serializer>(division: &Division, serializer: S) -> Result<S::Ok, S::Error> {
    let mut fields = serializer.serialize_map(Some(2))?;
    fields.serialize_entry("unit", division.unit().number_name())?;
    fields.serialize_entry("division", &Number(division.number(1)))?;
    fields.end()
}
