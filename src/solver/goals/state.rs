//! What is known of one part of a problem, and how its cylinders come to weigh less together.

use crate::solver::bound::restricted::Memory;
use crate::solver::field::{Field, Part, Sets};
use crate::solver::problem::watch::{Stopped, Watch};
use crate::solver::search::answer::{Answer, FULL, Target};
use crate::solver::search::neighbourhood::improve;
use crate::solver::search::resource::resource;
use crate::solver::search::root::search;

/// The part of the work that is done on the weight carried before the number limits what columns use.
const BEFORE_RESOURCE: u64 = 8;

/// What is known of a part.
pub struct State {
    pub part: Part,
    /// The best plan.
    pub sets: Option<Sets>,
    /// No plan (at the lift in force) uses fewer cylinders.
    pub fewest: usize,
    /// No plan (at the lift in force) has cylinders of less gross weight together.
    pub gross: i64,
    pub memory: Memory,
    /// The same for the weights.
    pub weights: Memory,
}

impl State {
    pub fn new(part: Part) -> Self {
        Self { part, sets: None, fewest: 0, gross: 0, memory: Memory::default(), weights: Memory::default() }
    }

    /// Cylinders that the plan uses.
    pub fn number(&self) -> usize {
        self.sets.iter().flatten().map(Vec::len).sum()
    }

    /// Looks for less gross weight in a field, from the answer's plan on: at first without a resource, which is sooner
    /// done. When stopped, the answer holds what is known.
    pub fn relieve(
        &mut self,
        mut field: Field,
        allowance: u64,
        answer: &mut Answer,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        let target = |answer: &Answer, allowance| {
            let cutoff = answer.plan.as_ref().map_or(i64::MAX, |(cost, _)| *cost);
            Target { cutoff, enough: 0, allowance }
        };
        if allowance < FULL {
            search(&field, target(answer, allowance / BEFORE_RESOURCE), &mut self.weights, answer, watch)?;
            improve(&field, allowance, answer, watch)?;
        }
        if answer.settled(target(answer, allowance)) {
            return Ok(());
        }
        field.resource = resource(&field, &mut self.memory, watch)?;
        search(&field, target(answer, allowance), &mut self.weights, answer, watch)
    }
}
