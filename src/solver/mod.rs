//! Chooses cylinders: fewest, lightest, least carried, each proved or honestly bounded.
//!
//! ```
//! use chargesplit::solver::{Demand, Options, Outcome, Problem, Slot, solve};
//!
//! // Tenths of a pound: the gross weight now, and for each lot the mark never to pass; `None`: it may not take that lot.
//! let cylinder = |base: i64, tops: [Option<i64>; 2]| Slot {
//!     base,
//!     tops: tops.to_vec(),
//!     keeps_evacuated: true,
//!     reserved: Vec::new(),
//! };
//! let problem = Problem {
//!     lots: vec![Demand { charge: 300 }, Demand { charge: 200 }],
//!     cylinders: vec![
//!         cylinder(280, [Some(620), Some(600)]),
//!         cylinder(270, [Some(590), None]),
//!         cylinder(165, [Some(360), Some(350)]),
//!     ],
//! };
//! // The closure is asked now and then whether to go on; here there is no limit.
//! let Outcome::Planned(plan) = solve(&problem, &Options::default(), &mut |_| true) else { panic!("it fits") };
//! let fills: Vec<_> = plan.fills.iter().map(|fill| (fill.lot, fill.cylinder, fill.add)).collect();
//! assert_eq!(fills, [(0, 1, 300), (1, 0, 200)]);
//! assert_eq!((plan.totals.cylinders, plan.totals.heaviest, plan.totals.carried), (2, 570, 1050));
//! assert!(plan.proved.all());
//! ```
//!
//! It sees whole divisions of the scale and nothing else. It must never know a unit, a refrigerant, a file or a clock, nor
//! any other room of the house. Its own rooms, each using only those below it:
//!
//! ```text
//! goals     the objectives one after another, each held while the next is improved
//! search    plans of one field, and the proof that there is none cheaper: branch and price
//! bound     column generation: the dual bound, exact in whole numbers
//! cover     the cheapest cover of one lot: a bounded knapsack
//! field     the covering problem at one heaviest lift, in classes of alike cylinders
//! problem   what is asked and answered; the count of work
//! ```
//!
//! Beside them stands [`direct`], which sees `problem` alone: the whole problem as a model of good_lp, a second opinion.
//!
//! # The algorithm
//!
//! **A covering problem at one lift.** With the heaviest lift Z a cylinder's room for a lot is max(0, min(top, Z) − base):
//! the lift is in the coefficients, not a row of the model. What is left is a generalised assignment problem of covering
//! kind: give each cylinder to at most one lot, so that every lot's rooms reach its charge, at the least cost. The cost is
//! 1 for each cylinder while the number is asked, its gross weight while the weight carried is. The lowest lift is found
//! by bisection (`goals/heaviest`): at most K cylinders cover all charges at Z, or none do. Cylinders alike in every room
//! and in cost are one class with a count, which takes away the symmetry.
//!
//! **Dantzig–Wolfe decomposition.** A column is one whole cover of one lot. The restricted master problem chooses columns
//! from those known, one for each lot, within the supply of each class (`bound/restricted`, `bound/program`). It is solved
//! as a linear program by a revised simplex of our own (`bound/simplex`), whose duals are multipliers for the classes.
//! Pricing finds for each lot the column of least reduced cost: a bounded knapsack (`cover/knapsack`). The multipliers are
//! smoothed between the best known and the program's (Wentges' rule), because the program's jump about.
//!
//! **The dual bound is exact.** For any multipliers μ ≥ 0, Σ cheapest cover at cost + μ, less Σ N μ, is below every plan
//! (a Lagrangian bound). Multipliers are rounded to whole multiples of 2⁻²⁰ and columns priced in integers, so that no
//! tolerance is involved. The linear program only suggests multipliers and proves nothing; where it fails or would be too
//! large, the bound stays where it is, and the plan is bounded instead of proved.
//!
//! **Branch and price.** Where a gap stays, the field is divided at a number of cylinders that the relaxed choice breaks:
//! how many of the roomiest all lots, or one of them, take (a quota, with a multiplier of its own). Best-first. At every
//! fourth level it dives (`search/dive`): lots whose column is decided are fixed, the rest is priced again. Another
//! heuristic, cheaper and worse, takes the lots one after another at the bound's multipliers (`search/sequence`). A plan
//! whose weight stays open is improved in large neighbourhoods, two lots at a time (`search/neighbourhood`).
//!
//! **Sets, for the weight** (`search/sets`). With the number K and the lift given, which cylinders a plan has is nearly
//! decided before it is asked which lots they go to. Two kinds of rows hold for the cylinders of every plan, both exact:
//!
//!   Σ_i max_l π_l · room_il ≥ Σ_l π_l · charge_l        for all π ≥ 0: a surrogate of the lots' rows
//!   Σ_i v_i ≥ Σ_l cheapest cover of l at the prices v   for all v: what pricing columns proves
//!
//! The weight under these rows and K is a knapsack of few rows. It is divided by the numbers of cylinders of each size
//! (columns priced under those numbers are one more row), and where they are all decided the sets of a weight below the
//! plan's are walked through, lightest half first (`search/walk`). What is left out there: rows summed at multipliers say
//! what each cylinder taken or left against them costs, and a way ends where it has cost more than is open. A set that is
//! found is split among the lots by branch and price on the number, or refuted. Mostly none or a few are found. Where more
//! than some dozens don't split, branch and price on the weight goes on.
//!
//! **What doesn't fit** (`goals/shortage`): a division left over costs more than all cylinders. Columns bound it at once and
//! mostly meet it; a plan comes from one lot after another, from two lots sharing anew, then from branching. It ends where no
//! less can stay, and after some tenths of a second where a division is open. For which lots wait, and for fewer cylinders,
//! there is a fraction of a second and no proof.
//!
//! **Large fields** begin at the multipliers of the plain relaxation, in which cylinders can be cut, by Kelley's cutting
//! planes over as many rows as lots (`bound/relaxation`). They go no other way than small ones: there is a plan by greed
//! at once, and what the work allowed doesn't settle is bounded.
//!
//! # Words
//!
//! | here | in the literature |
//! |---|---|
//! | lot, charge | a row to be covered, its demand |
//! | cylinder, room | an item, its coefficient in a row |
//! | cover, column | a feasible subset of items for one row |
//! | multiplier | a dual value of the supply rows, a Lagrange multiplier |
//! | price | the cost of an item with multipliers; of a column less its lot's value: the reduced cost |
//! | quota | a branching constraint on sums of items |
//! | set | the items of a solution, whichever rows they cover: the master of a Benders decomposition |
//! | row, cut | a surrogate constraint; rows, number and cost summed at multipliers |
//! | refuted | a combinatorial Benders cut, kept as the set itself |
//! | kept | items that must be used |
//! | cutoff, answer | the upper bound asked for; incumbent and dual bound |
//!
//! # Constants
//!
//! What is exact never hangs on one: they decide how much work goes where. All work is counted in steps of a nanosecond or
//! so, so that a plan is the same on every machine that isn't stopped. Beside each stands what it is; the reasons:
//!
//! - 2⁻²⁰ (`PRICE_BITS`) is finer than any difference that decided a bound in the benchmark; 44 bits of cost and 2⁴⁵ of a
//!   multiplier keep sums of a million cylinders below 2⁶³; 2⁶¹ stands for no cover.
//! - Rounds over all objectives: the first with a fraction of a second for each (`QUICK`), so that each has a plan and a bound
//!   before one takes all the time; then a second or two of branching (`FULL`), and twice as much in each round after that, so
//!   that what was done before costs no more than the last. An eighth while bisecting. `problem/effort` says when it ends.
//! - Rounding: 10⁻⁹ and 10⁻⁸ are what a pivot loses in double precision at our sizes, 10⁻⁷ what is let pass before the basis
//!   is inverted anew; supplies are perturbed by that much. In the knapsack 10⁻¹⁴ of what is summed, and 4.
//! - 700 rows: beyond, a pivot over the dense inverse takes longer than pricing. 80 contested classes: below, the plain
//!   relaxation takes longer than it saves.
//! - A thousandth of the weight carried may stay open from 1,000 cylinders times lots on: not worth seconds.
//! - An eighth of the open gap is how exactly columns are priced on the way; a quarter of the way to the program's
//!   multipliers: measured at 80 × 4 and 200 × 6, flat around these values.
//! - Sizes of cylinders differ by more than a tenth in room (`STEP`), in all trade sizes.
//! - Sizes for sets end at half the room of their largest (`STEP` in `search/sets`): measured between 0.5 and 0.95.
//! - 20 million steps for splitting one set, 32 sets that don't split: where it isn't done by then, there are thousands.
//! - 2²⁰ states of a knapsack are 24 MB and under a second; beyond, its bound is what the states left can still come to.
//!
//! # What was tried
//!
//! | tried | gain |
//! |---|---|
//! | growing states from the break item in place of a table over divisions | 80 × 4: 50 % 28 → 5 ms, 70 % 118 → 31 ms |
//! | a simplex that keeps its basis while columns come | 80 × 4: 50 % 47 → 28 ms, 70 % 267 → 118 ms |
//! | smoothed multipliers | 10 to 18 % |
//! | branching on numbers in place of one cylinder and one lot | 80 × 4: 31 → 35 of 40 proved |
//! | multipliers of the plain relaxation first | 200 × 6 at 90 %, carried after 1 s: 17–26 % → 2–3.4 % open |
//! | diving that fixes every decided lot, not one | 500 × 60 at 30 %: a thousandth open after 1.9 s → proved in 0.5 s |
//! | no number of cylinders asked while a shortage is | 80 × 4 and 200 × 6, 101 to 115 %: 1–2 → mostly under 0.5 thousand million steps |
//! | two lots sharing anew, where the weight stays open | 200 × 6 at 90 %, in 13 ms of work: 0.9 → 0.1 % over |
//! | sets in place of a resource in pricing | 80 × 4, 30 to 90 %: proved 65 → 70 of 70, the slowest 7.2 → 0.8 s |
//! | rows each alone besides their sum, in a walk | those at 60 to 90 %: 19 → 10 s |
//! | the surrogate row besides those of columns | the same: 26 → 10 s |
//! | sizes by halves of the room, not by tenths | 80 cylinders of any size: 20 → 9 s |
//! | quotas alone, no exact number of cylinders in a knapsack | the same as before: 10 → 6 s |
//! | prices that refute a set as one more row | 7 % of the same, removed |
//! | listing all columns within the gap; exchanges of cylinders; coarser fields; bids by worth | none to 500 × 60 beside these, removed |
//! | several columns a round; dividing where costs differ most; annealing; subgradient steps | none or slower, removed |

mod bound;
mod cover;
pub mod direct;
mod field;
mod goals;
mod problem;
mod search;
#[cfg(test)]
mod tests;

pub use goals::amounts::spread;
pub use goals::solve::{held_back, solve};
pub use problem::effort::Effort;
pub use problem::{
    Amounts, Demand, Fill, Objectives, Options, Outcome, Priority, Problem, Progress, Proved, Shortage, Slot, Solution,
    Stage,
};
