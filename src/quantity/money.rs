//! Money: exact amounts of whole cents, in whatever currency a file states.

use std::iter::Sum;
use std::ops::{Add, Sub};

use rust_decimal::{Decimal, RoundingStrategy};

/// An amount in hundredths of a currency's unit. It knows no currency: the file that states the prices does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Money {
    amount: Decimal,
}

impl Money {
    /// Nothing.
    pub const ZERO: Self = Self { amount: Decimal::ZERO };

    /// An amount rounded to the cent, half a cent away from zero: the only place that rounds money.
    pub fn rounded(amount: Decimal) -> Self {
        let mut amount = amount.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero);
        amount.rescale(2);
        Self { amount }
    }

    /// The amount, with two decimals.
    pub const fn amount(self) -> Decimal {
        self.amount
    }

    /// Less than nothing: a credit.
    pub fn is_negative(self) -> bool {
        self.amount < Decimal::ZERO
    }
}

impl Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { amount: self.amount + other.amount }
    }
}

impl Sub for Money {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { amount: self.amount - other.amount }
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::ZERO, Add::add)
    }
}

impl std::fmt::Display for Money {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:.2}", self.amount)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn money(text: &str) -> Money {
        Money::rounded(text.parse().unwrap())
    }

    #[test]
    fn halves_of_a_cent_go_away_from_zero_and_sums_are_exact() {
        let printed = |text| money(text).to_string();
        assert_eq!(printed("1.005"), "1.01");
        assert_eq!(printed("-1.005"), "-1.01");
        assert_eq!(printed("1.0049999"), "1.00");
        assert_eq!(printed("7"), "7.00");
        let tenth: Money = std::iter::repeat_n(money("0.1"), 1_000).sum();
        assert_eq!(tenth, money("100"));
        assert!((money("1") - money("1.01")).is_negative());
    }
}
