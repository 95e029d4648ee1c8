//! What has to be marked on a cylinder for what is in it: a word on every line that names its refrigerant, and full words
//! on its label.
//!
//! Called tags here, because a [`super::Mark`] is what is stamped; files and reports say `marks`.

use super::{Condition, Contents, Cylinder, Fate, Intake};
use crate::refrigerant::Fluid;

/// A mark, in the order in which marks stand behind a refrigerant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Tag {
    /// It may burn.
    Flammable,
    /// More than one refrigerant.
    Mixed,
    /// From a burnt-out compressor: acid.
    Burnout,
    /// Water in it.
    Wet,
    /// Goes back into a system of its owner.
    Reuse,
}

impl Tag {
    /// Every mark with its word in files and reports.
    pub const ALL: [(Self, &'static str); 5] = [
        (Self::Flammable, "FLAM"),
        (Self::Mixed, "MIX"),
        (Self::Burnout, "BURN"),
        (Self::Wet, "WET"),
        (Self::Reuse, "REUSE"),
    ];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Flammable => "FLAM",
            Self::Mixed => "MIX",
            Self::Burnout => "BURN",
            Self::Wet => "WET",
            Self::Reuse => "REUSE",
        }
    }

    /// The marks of a cylinder with its heel and all that goes in besides, in their order.
    pub fn inside(cylinder: &Cylinder, intakes: &[&Intake]) -> Vec<Self> {
        let all = Self::ALL.into_iter().map(|(tag, _)| tag);
        all.filter(|tag| tag.is_of_heel(cylinder) || intakes.iter().any(|intake| tag.is_of_intake(intake))).collect()
    }

    fn is_of_heel(self, cylinder: &Cylinder) -> bool {
        let burnt = cylinder.condition == Condition::Burnout;
        match &cylinder.contents {
            // The acid stays behind, until it is cleaned.
            Contents::Evacuated | Contents::Nitrogen => self == Self::Burnout && burnt && !cylinder.cleaned,
            Contents::Unknown | Contents::Mixed(_) | Contents::Holds(_) => match self {
                // What nobody knows may burn.
                Self::Flammable => cylinder.contents.fluid().is_none_or(|fluid| fluid.is_flammable()),
                Self::Mixed => matches!(cylinder.contents, Contents::Mixed(_)),
                Self::Burnout => burnt,
                Self::Wet => cylinder.condition == Condition::Wet,
                Self::Reuse => cylinder.kept_for.is_some(),
            },
        }
    }

    fn is_of_intake(self, intake: &Intake) -> bool {
        match self {
            Self::Flammable => intake.fluid.is_flammable(),
            Self::Mixed => matches!(intake.fluid, Fluid::Mixed(_)),
            Self::Burnout => intake.condition == Condition::Burnout,
            Self::Wet => intake.condition == Condition::Wet,
            Self::Reuse => intake.fate == Fate::Reuse,
        }
    }
}

/// What is written on a cylinder's label: its refrigerant and its marks in full words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label<'a> {
    /// The refrigerant; of a mixture whatever name it has.
    pub refrigerant: &'a str,
    /// The marks.
    pub tags: &'a [Tag],
    /// What may be in a mixture, where that is known.
    pub may_hold: &'a [String],
    /// Whose it is, or the job that it is kept for.
    pub whose: Option<&'a str>,
}

impl Label<'_> {
    /// `R-407C - BURNOUT, ACID: RECLAIMER ONLY`; without marks the refrigerant alone. Several marks are parted by
    /// semicolons, in their order.
    pub fn text(&self) -> String {
        let words: Vec<String> = self.tags.iter().map(|tag| self.in_full(*tag)).collect();
        // The list of a mixture stands behind its mark.
        let named = (!self.tags.contains(&Tag::Mixed)).then(|| self.refrigerant.to_owned());
        named.into_iter().chain((!words.is_empty()).then(|| words.join("; "))).collect::<Vec<_>>().join(" - ")
    }

    fn in_full(&self, tag: Tag) -> String {
        match tag {
            Tag::Flammable => "FLAMMABLE".into(),
            Tag::Mixed if self.may_hold.is_empty() => "MIXED: NOBODY KNOWS WITH WHAT".into(),
            Tag::Mixed => format!("MIXED: MAY HOLD {}", self.may_hold.join(", ")),
            Tag::Burnout => "BURNOUT, ACID: RECLAIMER ONLY".into(),
            Tag::Wet => "WATER IN IT".into(),
            Tag::Reuse => {
                self.whose.map_or_else(|| "REUSE".into(), |whose| format!("REUSE: {} ONLY", whose.to_uppercase()))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_mark_stands_on_the_label_in_full() {
        let label =
            |refrigerant, tags: &[Tag], may_hold: &[String], whose| Label { refrigerant, tags, may_hold, whose }.text();
        assert_eq!(label("R-22", &[], &[], Some("Hollis Dairy")), "R-22");
        assert_eq!(label("R-407C", &[Tag::Burnout], &[], None), "R-407C - BURNOUT, ACID: RECLAIMER ONLY");
        assert_eq!(label("R-22", &[Tag::Wet], &[], None), "R-22 - WATER IN IT");
        let reuse = label("R-32", &[Tag::Flammable, Tag::Reuse], &[], Some("Hollis Dairy"));
        assert_eq!(reuse, "R-32 - FLAMMABLE; REUSE: HOLLIS DAIRY ONLY");
        let parts = ["R-22".to_owned(), "R-407C".to_owned()];
        let mixed = label("mixed R-22 + R-407C", &[Tag::Mixed], &parts, None);
        assert_eq!(mixed, "MIXED: MAY HOLD R-22, R-407C");
        assert_eq!(label("mixed", &[Tag::Mixed], &[], None), "MIXED: NOBODY KNOWS WITH WHAT");
        for (tag, word) in Tag::ALL {
            assert_eq!(tag.word(), word);
        }
    }
}
