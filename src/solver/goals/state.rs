//! What is known of one part of a problem, and how its cylinders come to weigh less together.

use crate::solver::bound::generation::Memory;
use crate::solver::bound::worth::Worth;
use crate::solver::field::{Field, Part, Sets};
use crate::solver::problem::watch::{Stopped, Watch};
use crate::solver::search::answer::{Answer, FULL, Quest};
use crate::solver::search::balance::cheapen;
use crate::solver::search::listing::SMALL;
use crate::solver::search::pairs::improve;
use crate::solver::search::quest::search;
use crate::solver::search::ration::ration;
use crate::solver::search::rough::{bound_roughly, plan_roughly};

/// The part of the work that is done on the weight carried before covers are rationed.
const BEFORE_RATION: u64 = 8;

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

    /// Looks for less gross weight in a field, from the answer's plan on: at first without a ration, which is sooner done.
    /// In large problems the plan is improved before, and there is no ration: too much work for what it brings.
    /// When stopped, the answer holds what is known.
    pub fn relieve(
        &mut self,
        mut field: Field,
        allowance: u64,
        answer: &mut Answer,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        let large = field.is_large();
        let quest = Quest { below: i64::MAX, enough: 0, allowance };
        let Some((_, sets)) = &answer.plan else { return Ok(()) };
        let worth = if large {
            let worth = bound_roughly(&field, quest, &mut self.weights, answer, watch)?;
            plan_roughly(&field, &worth, field.at_most.unwrap_or(0), quest, answer, watch)?;
            worth
        } else {
            Worth::mean(&field, sets)
        };
        if let Some(plan) = &mut answer.plan {
            cheapen(&field, plan, &worth, watch)?;
            if large {
                improve(&field, plan, answer.bound, SMALL, allowance, watch)?;
            }
        }
        let quest = Quest { below: answer.least(quest), ..quest };
        if allowance < FULL {
            let quest = Quest { allowance: allowance / BEFORE_RATION, ..quest };
            search(&field, quest, &mut self.weights, answer, watch)?;
        }
        if answer.settled(quest) {
            return Ok(());
        }
        if !large {
            field.ration = ration(&field, &mut self.memory, watch)?;
        }
        search(&field, quest, &mut self.weights, answer, watch)
    }
}
