//! The restricted master problem as a linear program: the columns known so far, and what is left of the supply.
//!
//! In words: give every lot a value and every contested class a multiplier, so that no known column of a lot costs less,
//! at these multipliers, than the lot's value; make the values less what the whole supply is worth as large as can be.
//!
//!   maximise Σ value_l − Σ N_c · multiplier_c − K · count_multiplier
//!   for each known column a of lot l:  value_l − Σ a_c · multiplier_c − (Σ a_c) · count_multiplier ≤ cost(a)
//!   0 ≤ multiplier_c ≤ M (−M ≤ multiplier_c where the class must be used),  0 ≤ count_multiplier ≤ M
//!
//! This is the dual of choosing columns, which `simplex` solves. Its answer is only a suggestion: multipliers are
//! rounded to whole multiples and judged by exact arithmetic (`generation`).

/// One known column: a cover of a lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Which lot.
    pub lot: usize,
    /// (contested class, how many).
    pub taken: Vec<(usize, f64)>,
    /// How many cylinders in all.
    pub number: f64,
    /// Its cost, in the program's unit.
    pub cost: f64,
}

/// The program.
#[derive(Debug, Clone, PartialEq)]
pub struct Program {
    /// Number of lots.
    pub lots: usize,
    /// For each class its supply, or `None` where it needs no multiplier; and whether it must be used.
    pub supply: Vec<Option<(f64, bool)>>,
    /// Most cylinders in all, where that binds.
    pub at_most: Option<f64>,
    /// The largest multiplier, in the program's unit.
    pub dearest: f64,
}

/// What the program suggests.
#[derive(Debug, Clone, PartialEq)]
pub struct Suggestion {
    /// The program's value.
    pub value: f64,
    /// For each class; 0 where it needs no multiplier.
    pub multipliers: Vec<f64>,
    /// For the number of cylinders.
    pub count_multiplier: f64,
}
