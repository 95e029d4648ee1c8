//! What is in a cylinder by what happened to it: the heel, and every pour since it was last empty.

use std::sync::Arc;

use super::Moment;
use super::entry::{EntryId, FactKind, Reading};
use super::state::{CylinderState, Pour};
use crate::cylinder::{Condition, Fate};
use crate::quantity::Weight;

/// What is in a cylinder, and what it weighs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Inside {
    /// In the words of a yard.
    pub state: CylinderState,
    /// What was poured into it since it was last empty, each kind once.
    pub pours: Arc<Vec<Pour>>,
    /// Two things are in it that must never be in one cylinder.
    pub mixed: bool,
    /// The least that it was ever read to weigh since its row was taken over.
    pub least: Weight,
    /// When it was last weighed.
    pub last: Option<Moment>,
    /// The reading or fact that says so; `None` where the row does.
    pub by: Option<EntryId>,
}

impl Inside {
    /// As the row says.
    pub(super) fn of_row(state: &CylinderState) -> Self {
        Self { least: state.gross, state: state.clone(), pours: Arc::default(), mixed: false, last: None, by: None }
    }

    /// After a reading.
    pub(super) fn read(&self, reading: &Reading, at: Moment, by: &EntryId) -> Self {
        let mut now = Self { last: Some(at), by: Some(by.clone()), ..self.clone() };
        now.state.gross = reading.gross;
        now.least = now.least.min(reading.gross);
        if reading.parts.iter().any(|part| part.weight.is_positive()) {
            now.pour(&reading.pour);
        }
        now
    }

    fn pour(&mut self, pour: &Pour) {
        let goes = self.takes(pour) && (!self.pours.is_empty() || self.heel_takes(pour));
        self.mixed |= !goes || self.pours.iter().any(|earlier| !earlier.goes_with(pour));
        self.state.condition = worst(pour.condition, self.stays());
        self.add(pour);
        // What was done before this filling says nothing of it.
        self.state.cleaned = false;
        if pour.kept_for.is_some() {
            (self.state.owner, self.state.kept_for) = (pour.owner.clone(), pour.kept_for.clone());
        }
        if !self.pours.contains(pour) {
            Arc::make_mut(&mut self.pours).push(pour.clone());
        }
    }

    /// The condition that what was in it before gives to what comes in: where that is out, acid alone stays behind.
    fn stays(&self) -> Condition {
        let heel_is_out = self.pours.is_empty() && self.state.holds == "evacuated";
        let acid = self.state.condition == Condition::Burnout && !self.state.cleaned;
        if heel_is_out && !acid { Condition::Clean } else { self.state.condition }
    }

    /// Whether what is in it has the name of a pour.
    fn takes(&self, pour: &Pour) -> bool {
        match self.state.holds.as_str() {
            "evacuated" => true,
            // Nitrogen under refrigerant doesn't condense: the pressure is that of both.
            "nitrogen" | "unknown" => false,
            "mixed" => pour.mixed,
            one => !pour.mixed && pour.refrigerants == [one],
        }
    }

    /// Whether what was there before the first pour may be under it, as it stays apart in every plan: by condition, fate
    /// and owner.
    fn heel_takes(&self, pour: &Pour) -> bool {
        let state = &self.state;
        let owned_alike = state.owner.is_some() && state.owner == pour.owner;
        match state.holds.as_str() {
            "evacuated" => true,
            "mixed" => pour.fate == Fate::Destroy,
            _ if pour.condition != state.condition => false,
            _ => match (&state.kept_for, pour.fate) {
                (Some(job), Fate::Reuse) => pour.kept_for.as_ref() == Some(job) && owned_alike,
                (Some(_), Fate::Reclaim | Fate::Destroy) | (None, Fate::Reuse) => false,
                (None, Fate::Reclaim) => true,
                (None, Fate::Destroy) => owned_alike,
            },
        }
    }

    fn add(&mut self, pour: &Pour) {
        let mut parts = match self.state.holds.as_str() {
            "evacuated" | "nitrogen" => Vec::new(),
            "unknown" => return,
            "mixed" => self.state.may_contain.clone(),
            one => vec![one.to_owned()],
        };
        let mixed = pour.mixed || self.state.holds == "mixed";
        for refrigerant in &pour.refrigerants {
            if !parts.contains(refrigerant) {
                parts.push(refrigerant.clone());
            }
        }
        match parts.as_slice() {
            [one] if !mixed => self.state.holds = one.clone(),
            _ => (self.state.holds, self.state.may_contain) = ("mixed".into(), parts),
        }
    }

    /// After a fact, where it is one about what is in it.
    pub(super) fn told(&self, fact: &FactKind, row: Option<&CylinderState>, at: Moment, by: &EntryId) -> Option<Self> {
        let mut now = Self { last: Some(at), by: Some(by.clone()), ..self.clone() };
        match fact {
            FactKind::Weighed { gross, holds: None, .. } => {
                now.state.gross = *gross;
                now.least = now.least.min(*gross);
            }
            FactKind::Weighed { gross, holds: Some(state), .. } => {
                now.state = CylinderState { gross: *gross, ..state.clone() };
                now.least = now.least.min(*gross);
                (now.pours, now.mixed) = (Arc::default(), false);
            }
            FactKind::Emptied { gross, .. } => {
                now.state = CylinderState {
                    gross: *gross,
                    holds: "evacuated".into(),
                    may_contain: Vec::new(),
                    owner: None,
                    kept_for: None,
                    ..self.state.clone()
                };
                now.least = now.least.min(*gross);
                (now.pours, now.mixed) = (Arc::default(), false);
            }
            FactKind::AsFile { .. } => now = Self { by: Some(by.clone()), ..Self::of_row(row?) },
            FactKind::Out { .. }
            | FactKind::Back { .. }
            | FactKind::Added { .. }
            | FactKind::ToVan { .. }
            | FactKind::GivenUp { .. } => return None,
        }
        Some(now)
    }

    /// Of two that can't both be true: the heavier weight, and whatever is in either.
    pub(super) fn either(&self, other: &Self) -> Self {
        let mut both = if other.state.gross > self.state.gross { other.clone() } else { self.clone() };
        let second = if other.state.gross > self.state.gross { self } else { other };
        both.least = both.least.min(second.least);
        both.mixed |= second.mixed;
        both.state.condition = worst(both.state.condition, second.state.condition);
        both.state.cleaned &= second.state.cleaned;
        both.belongs_to_either(&second.state);
        if both.state.holds != second.state.holds || both.state.may_contain != second.state.may_contain {
            both.unite(&second.state);
        }
        for pour in second.pours.iter() {
            both.mixed |= both.pours.iter().any(|earlier| !earlier.goes_with(pour));
            if !both.pours.contains(pour) {
                Arc::make_mut(&mut both.pours).push(pour.clone());
            }
        }
        both
    }

    /// Whose it is they have to agree on; what either keeps for a job is kept, and without an owner from everybody.
    fn belongs_to_either(&mut self, other: &CylinderState) {
        let state = &mut self.state;
        if (&state.owner, &state.kept_for) != (&other.owner, &other.kept_for) {
            state.owner = None;
            state.kept_for = state.kept_for.iter().chain(&other.kept_for).min().cloned();
        }
    }

    fn unite(&mut self, other: &CylinderState) {
        let parts = |state: &CylinderState| match state.holds.as_str() {
            "evacuated" | "nitrogen" | "unknown" => Vec::new(),
            "mixed" => state.may_contain.clone(),
            one => vec![one.to_owned()],
        };
        let unknown = self.state.holds == "unknown" || other.holds == "unknown";
        let mut all = parts(&self.state);
        for part in parts(other) {
            if !all.contains(&part) {
                all.push(part);
            }
        }
        let mixed = self.state.holds == "mixed" || other.holds == "mixed";
        self.state.may_contain = Vec::new();
        match all.as_slice() {
            _ if unknown => self.state.holds = "unknown".into(),
            [] if mixed => self.state.holds = "mixed".into(),
            // Of nothing and nitrogen the worse.
            [] if other.holds == "nitrogen" => self.state.holds = "nitrogen".into(),
            [] => {}
            [one] if !mixed => self.state.holds = one.clone(),
            _ => (self.state.holds, self.state.may_contain) = ("mixed".into(), all),
        }
    }
}

/// The state of a cylinder of which nothing is known.
pub(super) fn nobody_knows() -> CylinderState {
    CylinderState {
        gross: Weight::ZERO,
        holds: "unknown".into(),
        may_contain: Vec::new(),
        condition: Condition::Clean,
        owner: None,
        kept_for: None,
        cleaned: false,
    }
}

/// Burnout stays burnout, wet stays wet.
fn worst(one: Condition, other: Condition) -> Condition {
    let either = |condition| one == condition || other == condition;
    [Condition::Burnout, Condition::Wet].into_iter().find(|worst| either(*worst)).unwrap_or(Condition::Clean)
}
