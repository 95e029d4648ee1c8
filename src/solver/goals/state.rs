//! What is known of one part of a problem, and how its cylinders come to weigh less together.

use crate::solver::bound::restricted::Memory;
use crate::solver::field::{Field, Part, Sets};
use crate::solver::problem::watch::{Stopped, Watch};
use crate::solver::search::answer::{Answer, FULL, Target};
use crate::solver::search::neighbourhood::improve;
use crate::solver::search::root::search;
use crate::solver::search::sets::by_sets;

/// What is known of a part.
pub struct State {
    pub part: Part,
    /// The best plan.
    pub sets: Option<Sets>,
    /// No plan (at the lift in force) uses fewer cylinders.
    pub fewest: usize,
    /// No plan within this lift and number has cylinders of less gross weight together.
    pub gross: i64,
    pub within: (i64, usize),
    pub memory: Memory,
    /// The same for the weights.
    pub weights: Memory,
}

impl State {
    pub fn new(part: Part) -> Self {
        let (memory, weights) = (Memory::default(), Memory::default());
        Self { part, sets: None, fewest: 0, gross: 0, within: (0, 0), memory, weights }
    }

    /// Cylinders that the plan uses.
    pub fn number(&self) -> usize {
        self.sets.iter().flatten().map(Vec::len).sum()
    }

    /// Whether the bound of the gross weight speaks of plans with this lift and number.
    pub fn holds(&self, lift: i64, number: usize) -> bool {
        lift <= self.within.0 && number <= self.within.1
    }

    /// Looks for less gross weight in a field, from the answer's plan on: by listing sets, then by branching. When stopped,
    /// the answer holds what is known.
    pub fn relieve(
        &mut self,
        field: &Field,
        allowance: u64,
        answer: &mut Answer,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        let cutoff = answer.plan.as_ref().map_or(i64::MAX, |(cost, _)| *cost);
        let target = Target { cutoff, enough: 0, allowance };
        if allowance < FULL {
            search(field, Target { allowance: 0, ..target }, &mut self.weights, answer, watch)?;
            improve(field, allowance, answer, watch)?;
        }
        if !answer.settled(target) {
            by_sets(field, [&mut self.weights, &mut self.memory], target, answer, watch)?;
        }
        if answer.settled(target) {
            return Ok(());
        }
        search(field, target, &mut self.weights, answer, watch)
    }
}
