//! Makes sets of cylinders a plan, or a cheaper one, by exchanges: where some lots lack a little because a heaviest lift falls or
//! the sets come of a coarser field, or where a plan isn't the cheapest yet.
//!
//! A lot gives one of its cylinders for one that isn't used, or for one of another lot, which takes the one given or an unused
//! one; or it takes one more and another lot gives one up; in the end, two for two (`trades`). The number of cylinders stays.
//! What lacks is charged more than divisions are worth, and room beyond the charge is worth a part of that: less and less of it,
//! so that lots gather room at first and share it out in the end. It proves nothing.

use super::exchange::{Balance, OTHERS, OWN};
use super::trades::trade;
use crate::solver::bound::worth::Worth;
use crate::solver::field::{Field, Sets};
use crate::solver::problem::watch::{Stopped, Watch};

/// What a division that lacks is charged, in what it is worth: where a plan is to become cheaper, the less the more is tried,
/// until something lacks in the end.
const LACKING: [f64; 5] = [4096.0, 1024.0, 256.0, 64.0, 16.0];
/// A division beyond the charge is mostly worth so much of that at first, ...
pub const SURPLUS: f64 = 0.25;
/// ... and half of it round after round, and nothing in the end.
const ROUNDS: i32 = 12;
/// Exchanges at most, for each lot.
const EXCHANGES: usize = 200;
/// A lot that looks at a part of the cylinders each time gives up after so many times.
const TIMES: usize = 4;

/// What exchanges make of sets of cylinders.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Balanced {
    /// The sets with their cost, where they are a plan.
    pub plan: Option<(i64, Sets)>,
    /// What each lot still lacks.
    pub lacks: Vec<i64>,
}

/// Makes exchanges until nothing lacks, or none helps any more. A division beyond the charge is worth the part `surplus` of one
/// that lacks at first: 1 brings the most room in all, less shares it out sooner.
pub fn balance(
    field: &Field,
    sets: &Sets,
    worth: &Worth,
    surplus: f64,
    watch: &mut Watch<'_>,
) -> Result<Balanced, Stopped> {
    let mut balance = Balance::new(field, sets, worth, LACKING[0]);
    exchange(&mut balance, Balance::lacks_nothing, surplus, watch)?;
    let lacks = balance.spare.iter().map(|spare| (-spare).max(0)).collect();
    Ok(Balanced { plan: balance.plan(field), lacks })
}

/// Makes exchanges until none makes a plan cheaper.
pub fn cheapen(field: &Field, plan: &mut (i64, Sets), worth: &Worth, watch: &mut Watch<'_>) -> Result<(), Stopped> {
    let from = plan.1.clone();
    for lacking in LACKING {
        let mut balance = Balance::new(field, &from, worth, lacking);
        exchange(&mut balance, |_| false, SURPLUS, watch)?;
        if let Some(found) = balance.plan(field).filter(|(cost, _)| *cost < plan.0) {
            *plan = found;
        }
    }
    Ok(())
}

/// Makes exchanges until it is enough, or none helps any more.
fn exchange(
    balance: &mut Balance,
    enough: fn(&Balance) -> bool,
    surplus: f64,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    let lots = balance.sets.len();
    let mut left = EXCHANGES * lots + 2 * balance.used;
    let vain = if balance.used > OTHERS { TIMES * lots } else { lots };
    for round in 0..=ROUNDS {
        balance.surplus = if round < ROUNDS { surplus * 0.5_f64.powi(round) } else { 0.0 };
        let mut failed = 0;
        for lot in (0..lots).cycle() {
            if failed == vain || left == 0 || enough(balance) {
                break;
            }
            balance.find_unused();
            watch.work((balance.sets[lot].len().min(OWN) + balance.unused[lot].len()) * balance.used.min(OTHERS))?;
            failed += 1;
            balance.visit += 1;
            let mut found = balance.best(lot);
            if found.is_none() && round == ROUNDS {
                found = trade(balance, lot, watch)?;
            }
            if let Some(exchange) = found {
                balance.make(exchange);
                failed = 0;
                left -= 1;
            }
        }
    }
    Ok(())
}
