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

    /// The amount cut into parts that stand to each other as these weights, to the cent, and that add up to it: what the
    /// cents leave over goes to the parts that were cut most, of equal ones to the first. Where no weight is above
    /// zero, all of it is the first part.
    pub fn split(self, weights: &[Decimal]) -> Vec<Self> {
        let cents = (self.amount.abs() * Decimal::ONE_HUNDRED).trunc();
        let sign = if self.is_negative() { -Decimal::ONE } else { Decimal::ONE };
        let shares = shares(cents, weights);
        shares.into_iter().map(|cents| Self::rounded(sign * cents / Decimal::ONE_HUNDRED)).collect()
    }

    /// Less than nothing: a credit.
    pub fn is_negative(self) -> bool {
        self.amount < Decimal::ZERO
    }
}

/// A whole number cut into whole parts by weight, none below zero.
fn shares(number: Decimal, weights: &[Decimal]) -> Vec<Decimal> {
    let weights: Vec<Decimal> = weights.iter().map(|weight| (*weight).max(Decimal::ZERO)).collect();
    let all: Decimal = weights.iter().copied().sum();
    if all.is_zero() {
        return (0..weights.len()).map(|index| if index == 0 { number } else { Decimal::ZERO }).collect();
    }
    let exact: Vec<Decimal> = weights.iter().map(|weight| number * weight / all).collect();
    let mut parts: Vec<Decimal> = exact.iter().map(Decimal::floor).collect();
    let mut order: Vec<usize> = (0..parts.len()).collect();
    order.sort_by_key(|&index| std::cmp::Reverse(exact[index] - parts[index]));
    let mut left = number - parts.iter().copied().sum::<Decimal>();
    for index in order {
        let more = left.min(Decimal::ONE);
        parts[index] += more;
        left -= more;
    }
    parts
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
    fn parts_add_up_and_the_cent_left_over_goes_to_what_was_cut_most() {
        let split = |text, weights: &[i64]| {
            let weights: Vec<Decimal> = weights.iter().copied().map(Decimal::from).collect();
            money(text).split(&weights).iter().map(ToString::to_string).collect::<Vec<_>>()
        };
        assert_eq!(split("100", &[1, 1, 1]), ["33.34", "33.33", "33.33"]);
        // 25.0125, 75.0375: the second was cut by more.
        assert_eq!(split("100.05", &[1, 3]), ["25.01", "75.04"]);
        assert_eq!(split("-0.05", &[2, 1]), ["-0.03", "-0.02"]);
        assert_eq!(split("7.01", &[0, 0]), ["7.01", "0.00"]);
        assert_eq!(split("7.01", &[]), [""; 0]);
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
