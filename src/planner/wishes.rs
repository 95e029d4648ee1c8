//! What was asked for where the charge doesn't fit: followed as far as nothing more is left over, and what isn't
//! followed is said with the reason.
//!
//! With what is missing taken off the charges the rest fits, and the core is asked for that with every wish. So no wish
//! leaves more in the system.

use crate::job::Work;
use crate::plan::Reason;
use crate::quantity::Marks;
use crate::solver::{Demand, Fill, Options, Outcome, Priority, Problem, Progress, Shortage, solve};

/// The code of a wish that isn't followed.
pub const NOT_FOLLOWED: &str = "wish-not-followed";

/// Fills the cylinders of a shortage as `options` ask, and says which wishes that doesn't follow. `within` is what the
/// number asked for leaves over, where that was looked at.
pub(super) fn heed(
    work: &Work,
    problem: &Problem,
    options: &Options,
    within: Option<&Shortage>,
    shortage: &mut Shortage,
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> Vec<Reason> {
    if !options.insist() && options.priority == Priority::Fewest {
        return Vec::new();
    }
    let mut heeding = Heeding { work, rest: rest(problem, &shortage.missing), options, said: Vec::new() };
    // Of a shortage that isn't proved another plan might leave less, and a cylinder with room would stand beside it.
    let fills = if shortage.proved { heeding.fills(go_on) } else { None };
    if let Some(fills) = fills {
        shortage.fills = fills;
    } else {
        heeding.none_followed(shortage);
    }
    heeding.number(within, shortage);
    heeding.said
}

/// The problem of what does fit: the charges less what is missing.
fn rest(problem: &Problem, missing: &[Marks]) -> Problem {
    let placed = |(demand, missing): (&Demand, &Marks)| Demand { charge: demand.charge - missing };
    Problem { lots: problem.lots.iter().zip(missing).map(placed).collect(), ..problem.clone() }
}

struct Heeding<'a> {
    work: &'a Work,
    rest: Problem,
    options: &'a Options,
    said: Vec<Reason>,
}

impl Heeding<'_> {
    /// The fills that follow most: all wishes, else one cylinder after the other as far as they go together, then the
    /// number. `None` where the time runs out.
    fn fills(&mut self, go_on: &mut dyn FnMut(&Progress) -> bool) -> Option<Vec<Fill>> {
        if let Outcome::Planned(solution) = solve(&self.rest, self.options, go_on) {
            return Some(solution.fills);
        }
        let free = Options { at_most: None, must_use: Vec::new(), ..self.options.clone() };
        let Outcome::Planned(mut solution) = solve(&self.rest, &free, go_on) else { return None };
        let mut kept = Vec::new();
        for cylinder in self.options.must_use.iter().copied() {
            let must_use: Vec<usize> = kept.iter().copied().chain([cylinder]).collect();
            match solve(&self.rest, &Options { must_use: must_use.clone(), ..free.clone() }, go_on) {
                Outcome::Planned(with) => (kept, solution) = (must_use, with),
                Outcome::Short(_) => self.unused(cylinder, "no plan that leaves as little in the system uses it"),
                Outcome::Undecided => self.unused(cylinder, "the time ran out before a plan with it was found"),
            }
        }
        let within = Options { at_most: self.options.at_most, must_use: kept, ..free };
        if self.options.at_most.is_some_and(|most| solution.totals.cylinders > most)
            && let Outcome::Planned(within) = solve(&self.rest, &within, go_on)
        {
            solution = within;
        }
        Some(solution.fills)
    }

    fn none_followed(&mut self, shortage: &Shortage) {
        for cylinder in self.options.must_use.iter().copied() {
            if !shortage.fills.iter().any(|fill| fill.cylinder == cylinder) {
                self.unused(cylinder, "the time ran out before a plan with it was found");
            }
        }
        if self.options.priority == Priority::Lightest {
            self.say("the lightest lift was to come first: the time ran out before such a plan was found".into());
        }
    }

    fn unused(&mut self, cylinder: usize, why: &str) {
        let Some(id) = self.work.yard().get(cylinder).map(|cylinder| &cylinder.id) else { return };
        let slot = self.rest.cylinders.get(cylinder);
        let fit = slot.is_some_and(|slot| slot.tops.iter().any(Option::is_some));
        let why = if fit { why } else { "it may take none of the lots; why stands beside its name" };
        self.say(format!("{id} was to be used and isn't: {why}"));
    }

    /// Says where the plan takes more cylinders than were asked for, and what that number would leave.
    fn number(&mut self, within: Option<&Shortage>, shortage: &Shortage) {
        let number = shortage.fills.len();
        let Some(most) = self.options.at_most.filter(|most| number > *most) else { return };
        let division = self.work.division();
        let left: Marks = shortage.missing.iter().sum();
        let with = within.filter(|within| within.least_missing > left).map_or_else(String::new, |within| {
            let (least, left) = (division.text(within.least_missing), division.text(left));
            format!(": {most} would leave at least {least} in the system, these leave {left}")
        });
        let asked = if most == 1 { "1 cylinder was".to_owned() } else { format!("at most {most} cylinders were") };
        self.say(format!("{asked} asked for and the plan takes {number}{with}"));
    }

    fn say(&mut self, text: String) {
        self.said.push(Reason { code: NOT_FOLLOWED.into(), text });
    }
}
