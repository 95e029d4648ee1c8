//! Rows over sets: what every plan's cylinders come to at least, whichever lots they go to. Exact in whole numbers.

use crate::solver::bound::multipliers::Bound;
use crate::solver::bound::relaxation::Worth;
use crate::solver::field::{Field, Quota};

/// A surrogate row's entries have so many binary places.
const PLACES: i64 = 1 << 40;

/// Σ over a plan's cylinders of `each` ≥ `least`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetRow {
    /// For one cylinder of each class.
    pub each: Vec<i64>,
    pub least: i128,
}

impl SetRow {
    /// The lots' rows summed, each at what a division of it is worth: a cylinder counts for the lot that it is worth most
    /// to (the literature's surrogate constraint).
    pub fn surrogate(field: &Field, worth: &Worth) -> Self {
        let whole = |(worth, &charge): (&f64, &i64)| (worth * charge as f64, charge);
        let largest = worth.lots.iter().zip(&field.charges).map(|pair| whole(pair).0).fold(f64::MIN_POSITIVE, f64::max);
        let scaled = |worth: &f64| (worth / largest * PLACES as f64).round().max(0.0) as i64;
        let worth: Vec<i64> = worth.lots.iter().map(scaled).collect();
        let most = |rooms: &[i64]| rooms.iter().zip(&worth).map(|(room, worth)| room * worth).max().unwrap_or(0);
        Self {
            each: field.classes.iter().map(|class| most(&class.rooms)).collect(),
            least: field
                .charges
                .iter()
                .zip(&worth)
                .map(|(&charge, &worth)| i128::from(charge) * i128::from(worth))
                .sum(),
        }
    }

    /// The prices of a bound's multipliers: the covers of a plan together cost no less than the cheapest cover of each lot.
    /// `None` where the bound says nothing of the covers.
    pub fn priced(field: &Field, bound: &Bound) -> Option<Self> {
        let price = |class: usize| (field.classes[class].cost << field.bits) + bound.multipliers.of(field, 0, class);
        let least = bound.leasts.iter().map(|&least| i128::from(least)).sum();
        let each = (0..field.classes.len()).map(price).collect();
        (!bound.leasts.is_empty()).then_some(Self { each, least })
    }

    /// What a quota of all lots together asks.
    pub fn quota(quota: &Quota) -> Self {
        let takes = |&counts: &bool| if counts { -quota.sign } else { 0 };
        Self { each: quota.counts.iter().map(takes).collect(), least: -i128::from(quota.supply()) }
    }

    /// Whether numbers of each class keep it.
    pub fn holds(&self, numbers: &[i64]) -> bool {
        let sum = self.each.iter().zip(numbers).map(|(&each, &number)| i128::from(each) * i128::from(number));
        sum.sum::<i128>() >= self.least
    }

    /// What it is measured by.
    pub fn scale(&self) -> f64 {
        let largest = self.each.iter().map(|each| each.abs()).max().unwrap_or(0);
        (largest as f64).max(self.least.abs() as f64).max(1.0)
    }
}
