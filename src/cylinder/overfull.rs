//! How a cylinder stands that holds more than it should, whatever is planned with it.

use super::ceiling::net;
use super::{Ceiling, CeilingKind, Cylinder, Limit, Terms};
use crate::quantity::{Division, Marks};

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Over our fill and under every rule: nothing more goes in.
    OverFill,
    /// Over a rule: somebody may get hurt.
    Danger,
}

/// A cylinder over at least one of its ceilings, for what it holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Overfull {
    /// Every ceiling that is passed with the gross weight that it allows, in the order of [`CeilingKind::ALL`].
    pub passed: Vec<Limit>,
    /// The smallest of all: as far as it has to come down.
    pub limit: Limit,
}

/// Whether a cylinder holds more than it should under these terms, as it stands. Every ceiling counts that can be
/// figured: the label also where nobody knows what is in it. One that holds nothing is over no rule, whatever its label says.
pub fn overfull(cylinder: &Cylinder, terms: &Terms) -> Option<Overfull> {
    if cylinder.gross <= cylinder.working_tare() {
        return None;
    }
    let fluid = cylinder.contents.fluid();
    let label = cylinder.label_net();
    let figured = CeilingKind::ALL.into_iter().filter_map(|kind| {
        let most = match &fluid {
            Some(fluid) => net(kind, cylinder.water_capacity, label, fluid, terms).ok().flatten(),
            None => label.filter(|_| kind == CeilingKind::Label),
        };
        most.map(|net| Limit { gross: cylinder.working_tare() + net, ceiling: Ceiling { kind, net } })
    });
    let passed: Vec<Limit> = figured.filter(|limit| cylinder.gross > limit.gross).collect();
    let limit = passed.iter().min_by_key(|limit| limit.gross).copied()?;
    Some(Overfull { passed, limit })
}

impl Overfull {
    /// How bad it is.
    pub fn level(&self) -> Level {
        if self.broken().next().is_some() { Level::Danger } else { Level::OverFill }
    }

    /// The rules that make it danger, each with the gross weight that it allows.
    pub fn broken(&self) -> impl Iterator<Item = &Limit> {
        self.passed.iter().filter(|limit| limit.ceiling.kind.is_danger())
    }

    /// The rules that make it danger, and no other, in words.
    pub fn broken_rules(&self, division: Division) -> String {
        let rules = self.broken().map(|limit| (limit.ceiling.kind, division.floor(limit.gross)));
        let words =
            |(kind, most): (CeilingKind, Marks)| format!("over {} ({} at most)", kind.rule(), division.text(most));
        rules.map(words).collect::<Vec<_>>().join(" and ")
    }
}
