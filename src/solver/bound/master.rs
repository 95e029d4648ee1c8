//! The linear program that finds supply prices: the only place that knows the solver.
//!
//! In words: give every lot a value and every contested class a price, so that no known cover of a lot costs less, at
//! these prices, than the lot's value; make the values less what the whole supply is worth as large as can be.
//!
//!   maximise Σ value_l − Σ N_c · price_c − K · count_price
//!   for each known cover a of lot l:  value_l − Σ a_c · price_c − (Σ a_c) · count_price ≤ cost(a)
//!   0 ≤ price_c ≤ M (−M ≤ price_c where the class must be used),  0 ≤ count_price ≤ M
//!
//! This is the dual of choosing covers, stated as a program of its own because the layer gives no dual values. Its
//! answer is only a suggestion: prices are rounded to whole multiples and judged by exact arithmetic (`prices`).

use good_lp::{Expression, ResolutionError, Solution as _, SolverModel as _, Variable, microlp, variable, variables};

/// One known cover of a lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
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
pub struct Master {
    /// Number of lots.
    pub lots: usize,
    /// For each class its supply, or `None` where it needs no price; and whether it must be used.
    pub supply: Vec<Option<(f64, bool)>>,
    /// Most cylinders in all, where that binds.
    pub at_most: Option<f64>,
    /// The largest price, in the program's unit.
    pub dearest: f64,
    /// The known covers.
    pub rows: Vec<Row>,
}

/// What the program suggests.
#[derive(Debug, Clone, PartialEq)]
pub struct Suggestion {
    /// The program's value.
    pub value: f64,
    /// For each class; 0 where it needs no price.
    pub prices: Vec<f64>,
    /// For the number of cylinders.
    pub count_price: f64,
}

/// Why there is no suggestion. The planner then goes on with the prices it has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Failure {
    /// Reported as having no solution, which prices of 0 and low values contradict.
    Infeasible,
    /// Reported as unbounded, which the bounds on every variable contradict.
    Unbounded,
    /// Anything else the solver reports.
    Other,
    /// A value that isn't a number came back.
    NotANumber,
}

impl From<ResolutionError> for Failure {
    fn from(error: ResolutionError) -> Self {
        match error {
            ResolutionError::Infeasible => Self::Infeasible,
            ResolutionError::Unbounded => Self::Unbounded,
            ResolutionError::Other(_) | ResolutionError::Str(_) => Self::Other,
        }
    }
}

impl Master {
    /// What solving costs, in steps of a nanosecond or so: measured at 20 to 200 rows.
    pub fn work(&self) -> usize {
        256 * self.rows.len() * (self.supply.len() + self.lots)
    }

    /// Solves the program.
    pub fn suggest(&self) -> Result<Suggestion, Failure> {
        let mut all = variables!();
        let highest = self.dearest * (self.rows.iter().map(|row| row.number).fold(1.0, f64::max) + 1.0) * 4.0;
        let values: Vec<Variable> = (0..self.lots).map(|_| all.add(variable().min(-highest).max(highest))).collect();
        let prices: Vec<Option<Variable>> = self
            .supply
            .iter()
            .map(|supply| {
                supply
                    .map(|(_, kept)| all.add(variable().min(if kept { -self.dearest } else { 0.0 }).max(self.dearest)))
            })
            .collect();
        let count_price = self.at_most.map(|_| all.add(variable().min(0.0).max(self.dearest)));
        let mut aim = Expression::from(0.0);
        for &value in &values {
            aim += value;
        }
        for (price, supply) in prices.iter().zip(&self.supply) {
            if let (Some(price), Some((number, _))) = (price, supply) {
                aim += -*number * *price;
            }
        }
        if let (Some(price), Some(most)) = (count_price, self.at_most) {
            aim += -most * price;
        }
        let mut model = all.maximise(aim).using(microlp);
        for row in &self.rows {
            let mut left = Expression::from(values[row.lot]);
            for &(class, number) in &row.taken {
                if let Some(price) = prices[class] {
                    left += -number * price;
                }
            }
            if let Some(price) = count_price {
                left += -row.number * price;
            }
            model = model.with(left.leq(row.cost));
        }
        let found = model.solve().map_err(Failure::from)?;
        let read = |variable: Variable| found.value(variable);
        let suggestion = Suggestion {
            value: self.value(&values, &prices, count_price, read),
            prices: prices.iter().map(|price| price.map_or(0.0, read)).collect(),
            count_price: count_price.map_or(0.0, &read),
        };
        if suggestion.value.is_finite() { Ok(suggestion) } else { Err(Failure::NotANumber) }
    }

    /// The program's objective at a solution.
    fn value(
        &self,
        values: &[Variable],
        prices: &[Option<Variable>],
        count_price: Option<Variable>,
        read: impl Fn(Variable) -> f64,
    ) -> f64 {
        let supply: f64 =
            prices.iter().zip(&self.supply).filter_map(|(price, supply)| Some(read((*price)?) * (*supply)?.0)).sum();
        let number = count_price.map_or(0.0, &read) * self.at_most.unwrap_or(0.0);
        values.iter().map(|&value| read(value)).sum::<f64>() - supply - number
    }
}
