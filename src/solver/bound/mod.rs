//! What no plan undercuts, and the multipliers that prove it: column generation, judged in whole numbers.
//!
//! `generation` is the loop of pricing and solving. Columns known so far (`restricted`) make a linear program
//! (`program`), kept solved from column to column (`simplex`), which suggests `multipliers`. Large fields begin at those
//! of the plain `relaxation`.

pub mod generation;
pub mod multipliers;
pub mod program;
pub mod relaxation;
pub mod restricted;
pub mod simplex;
