//! What no plan undercuts, and the prices that prove it: column generation, judged in whole numbers.
//!
//! `raise` is the loop. Covers known so far (`generation`) make a linear program (`master`), kept solved from cover to
//! cover (`simplex`), which suggests `prices`. The plain relaxation, in which cylinders can be cut, bounds large fields
//! by what a division of each lot is worth (`worth`, `relaxed`).

pub mod generation;
pub mod master;
pub mod prices;
pub mod raise;
pub mod relaxed;
pub mod simplex;
pub mod worth;
