//! How fast it went, from readings alone.

use super::{Day, Moment};
use crate::quantity::Marks;

/// What came between the first and the last reading of a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rate {
    /// What was added after the first reading.
    pub gained: Marks,
    /// Seconds between the two; at least a minute.
    pub seconds: i64,
}

impl Rate {
    /// The rate of a lot since its first reading; `None` while there is nothing to tell it from.
    pub fn of(day: &Day, lot: usize) -> Option<Self> {
        let gains = day.fillings.iter().flat_map(|filling| &filling.gains);
        let ours: Vec<_> = gains.filter(|gain| day.systems[gain.system].lot == lot).collect();
        let first = ours.iter().map(|gain| gain.at).reduce(|a, b| if b.seconds_since(a) < 0 { b } else { a })?;
        let last = ours.iter().map(|gain| gain.at).reduce(|a, b| if b.seconds_since(a) > 0 { b } else { a })?;
        // What the first reading found was added at a time that nobody knows.
        let after = |at: Moment| at.seconds_since(first) > 0;
        let gained = ours.iter().filter(|gain| after(gain.at)).map(|gain| gain.marks).sum();
        let seconds = last.seconds_since(first);
        (gained > 0 && seconds >= 60).then_some(Self { gained, seconds })
    }

    /// Divisions in an hour, rounded down.
    pub fn per_hour(self) -> Marks {
        whole(i128::from(self.gained) * 3600 / i128::from(self.seconds))
    }

    /// What comes in so many seconds, rounded up.
    pub fn in_seconds(self, seconds: i64) -> Marks {
        let come = i128::from(self.gained) * i128::from(seconds.max(0)) + i128::from(self.seconds) - 1;
        whole(come / i128::from(self.seconds))
    }

    /// Minutes for so much more at this rate, rounded up.
    pub fn minutes_for(self, left: Marks) -> i64 {
        let seconds = i128::from(left.max(0)) * i128::from(self.seconds);
        let per_minute = i128::from(self.gained) * 60;
        whole((seconds + per_minute - 1) / per_minute)
    }
}

fn whole(number: i128) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rates_round_to_the_safe_side() {
        // 100 marks in 30 min are 200 an hour; 101 more take 30.3 min.
        let rate = Rate { gained: 100, seconds: 1800 };
        assert_eq!((rate.per_hour(), rate.minutes_for(101), rate.minutes_for(0)), (200, 31, 0));
        // And 5 in 90 s, 5.6 in 100 s.
        assert_eq!((rate.in_seconds(90), rate.in_seconds(100)), (5, 6));
    }
}
