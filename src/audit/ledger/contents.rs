//! Everything in a cylinder since it was last empty, and whether that may be together.

use std::collections::BTreeSet;

use crate::cylinder::{Condition, Fate};
use crate::ledger::{CylinderState, Pour, Reading};
use crate::quantity::Weight;

/// What is in a cylinder.
#[derive(Debug, Clone)]
pub(in crate::audit) struct Filled<'a> {
    /// What it weighs with that.
    pub gross: Weight,
    /// The refrigerants, by name.
    pub names: BTreeSet<&'a str>,
    /// Something that nobody has identified.
    pub unknown: bool,
    /// A holding charge of nitrogen, as long as nothing else is in it.
    pub nitrogen: bool,
    /// Mixed when it came in.
    pub mixture: bool,
    pub condition: Condition,
    pub cleaned: bool,
    pub owner: Option<&'a str>,
    pub kept_for: Option<&'a str>,
    /// What was poured in since it was last empty.
    pub pours: Vec<&'a Pour>,
    /// Things came together that may not.
    pub danger: bool,
}

impl<'a> Filled<'a> {
    /// As somebody says that it is.
    pub fn as_said(state: &'a CylinderState) -> Self {
        let mut names = BTreeSet::new();
        match state.holds.as_str() {
            "evacuated" | "nitrogen" | "unknown" => {}
            "mixed" => names.extend(state.may_contain.iter().map(String::as_str)),
            name => drop(names.insert(name)),
        }
        Self {
            gross: state.gross,
            names,
            unknown: state.holds == "unknown",
            nitrogen: state.holds == "nitrogen",
            mixture: state.holds == "mixed",
            condition: state.condition,
            cleaned: state.cleaned,
            owner: state.owner.as_deref(),
            kept_for: state.kept_for.as_deref(),
            pours: Vec::new(),
            danger: false,
        }
    }

    /// As nobody ever said.
    pub fn never_said() -> Self {
        Self {
            gross: Weight::ZERO,
            names: BTreeSet::new(),
            unknown: true,
            nitrogen: false,
            mixture: false,
            condition: Condition::Clean,
            cleaned: false,
            owner: None,
            kept_for: None,
            pours: Vec::new(),
            danger: false,
        }
    }

    /// Emptied and evacuated: acid and water stay where they were.
    pub fn emptied(&self, gross: Weight) -> Self {
        Self { gross, unknown: false, condition: self.condition, cleaned: self.cleaned, ..Self::never_said() }
    }

    /// Weighed.
    pub fn weighing(&self, gross: Weight) -> Self {
        Self { gross, ..self.clone() }
    }

    /// After a reading.
    pub fn read(&self, reading: &'a Reading) -> Self {
        let mut now = self.weighing(reading.gross);
        if gains(reading) {
            now.pour(&reading.pour);
        }
        now
    }

    /// Nothing is in it.
    pub fn is_empty(&self) -> bool {
        self.names.is_empty() && !self.unknown && !self.nitrogen && !self.mixture
    }

    /// More than one refrigerant is in it.
    pub fn is_mixed(&self) -> bool {
        self.mixture || self.names.len() > 1
    }

    fn pour(&mut self, pour: &'a Pour) {
        let heel = self.pours.is_empty() && !self.is_empty();
        let apart = self.is_another(pour)
            || (heel && self.stays_apart(pour))
            || self.pours.iter().any(|earlier| !may_meet(earlier, pour));
        self.danger |= apart;
        // Of what is out nothing stays behind but acid.
        let acid = self.condition == Condition::Burnout && !self.cleaned;
        if self.pours.is_empty() && self.is_empty() && !acid {
            self.condition = Condition::Clean;
        }
        self.condition = worse(self.condition, pour.condition);
        self.cleaned = false;
        self.names.extend(pour.refrigerants.iter().map(String::as_str));
        self.mixture |= pour.mixed;
        self.nitrogen = false;
        if pour.kept_for.is_some() {
            (self.owner, self.kept_for) = (pour.owner.as_deref(), pour.kept_for.as_deref());
        }
        if !self.pours.contains(&pour) {
            self.pours.push(pour);
        }
    }

    /// Another refrigerant than what is in it, nitrogen and what nobody knows among that.
    fn is_another(&self, pour: &Pour) -> bool {
        if self.is_empty() {
            return false;
        }
        let nitrogen = self.nitrogen && self.names.is_empty();
        let same = match pour.refrigerants.as_slice() {
            [one] => self.names.contains(one.as_str()),
            _ => false,
        };
        let fits = if self.is_mixed() { pour.mixed } else { !pour.mixed && same };
        self.unknown || nitrogen || !fits
    }

    /// Stays apart from what was there before the first pour: by condition, by the job that it is kept for, by its fate.
    fn stays_apart(&self, pour: &Pour) -> bool {
        if self.is_mixed() {
            return pour.fate != Fate::Destroy;
        }
        let alike = self.owner.is_some() && self.owner == pour.owner.as_deref();
        let kept = match (self.kept_for, pour.fate) {
            (None, Fate::Reclaim) => true,
            (None, Fate::Destroy) => alike,
            (Some(job), Fate::Reuse) => alike && pour.kept_for.as_deref() == Some(job),
            (None, Fate::Reuse) | (Some(_), Fate::Reclaim | Fate::Destroy) => false,
        };
        pour.condition != self.condition || !kept
    }

    /// Of several that can't all be true: the heaviest, and whatever is in any.
    pub fn any_of(all: &[&Self]) -> Option<Self> {
        let (first, rest) = all.split_first()?;
        let mut any = Self::clone(first);
        for other in rest {
            any.gross = any.gross.max(other.gross);
            any.names.extend(&other.names);
            any.unknown |= other.unknown;
            any.nitrogen |= other.nitrogen;
            any.mixture |= other.mixture;
            any.condition = worse(any.condition, other.condition);
            any.cleaned &= other.cleaned;
            let meets = |pour: &&&Pour| any.pours.iter().all(|ours| may_meet(ours, pour));
            any.danger |= other.danger || !other.pours.iter().all(|pour| meets(&pour));
            any.pours.extend(other.pours.iter().filter(|pour| !first.pours.contains(pour)));
        }
        // Whose it is they have to agree on.
        if all.iter().any(|one| (one.owner, one.kept_for) != (first.owner, first.kept_for)) {
            any.owner = None;
            any.kept_for = all.iter().filter_map(|one| one.kept_for).min();
        }
        Some(any)
    }
}

/// Whether something came in.
pub(super) fn gains(reading: &Reading) -> bool {
    reading.parts.iter().any(|part| part.weight > Weight::ZERO)
}

/// The same lot; or the same refrigerant in the same condition for the same end, where it goes back into no system.
fn may_meet(one: &Pour, other: &Pour) -> bool {
    let free = |pour: &Pour| !pour.mixed && pour.fate != Fate::Reuse;
    let alike = || (&one.refrigerants, one.condition, one.fate) == (&other.refrigerants, other.condition, other.fate);
    one == other || (free(one) && free(other) && alike())
}

/// Burnout over wet over clean.
fn worse(one: Condition, other: Condition) -> Condition {
    let bad = |condition: Condition| match condition {
        Condition::Burnout => 2,
        Condition::Wet => 1,
        Condition::Clean | Condition::Mixed => 0,
    };
    match (bad(one), bad(other)) {
        (0, 0) => Condition::Clean,
        (one_bad, other_bad) if one_bad >= other_bad => one,
        _ => other,
    }
}
