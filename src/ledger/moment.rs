//! When something happened, as the clock on the spot showed it.

use std::fmt;

use jiff::Timestamp;
use jiff::civil::{Date, DateTime};
use jiff::fmt::temporal::Pieces;
use jiff::tz::Offset;

/// A moment with the offset of the place's clock from UTC, to the second.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    timestamp: Timestamp,
    offset: Offset,
}

impl Moment {
    /// This moment, seen with this offset. Parts of a second are dropped.
    pub fn new(timestamp: Timestamp, offset: Offset) -> Self {
        let whole = Timestamp::from_second(timestamp.as_second()).unwrap_or(timestamp);
        Self { timestamp: whole, offset }
    }

    /// What the clock on the spot showed.
    pub fn local(self) -> DateTime {
        self.offset.to_datetime(self.timestamp)
    }

    /// The day on the spot.
    pub fn date(self) -> Date {
        self.local().date()
    }

    /// Seconds from an earlier moment to this one; negative where it isn't earlier.
    pub fn seconds_since(self, earlier: Self) -> i64 {
        self.timestamp.as_second() - earlier.timestamp.as_second()
    }

    /// The offset of the place's clock from UTC.
    pub const fn offset(self) -> Offset {
        self.offset
    }

    /// Which of two comes first.
    pub fn order(&self, other: &Self) -> std::cmp::Ordering {
        self.timestamp.cmp(&other.timestamp)
    }

    /// Reads a moment with its offset, as the log writes it: `2026-12-01T08:15:00-05:00`.
    pub fn parse(text: &str) -> Option<Self> {
        let pieces = Pieces::parse(text).ok()?;
        let offset = pieces.to_numeric_offset()?;
        let local = pieces.date().to_datetime(pieces.time()?);
        Some(Self::new(offset.to_timestamp(local).ok()?, offset))
    }

    /// Hours and minutes on the spot.
    pub fn clock(self) -> String {
        let time = self.local().time();
        format!("{:02}:{:02}", time.hour(), time.minute())
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.timestamp.display_with_offset(self.offset))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_is_written_as_it_is_read() {
        for text in ["2026-12-01T08:15:00-05:00", "2026-12-01T08:15:30+00:00", "2026-02-28T23:59:59+05:30"] {
            let moment = Moment::parse(text).unwrap();
            assert_eq!(moment.to_string(), text);
            assert_eq!(moment.date().to_string(), text[..10]);
        }
        let (early, late) = ("2026-12-01T23:30:00-05:00", "2026-12-02T05:00:00+00:00");
        let (early, late) = (Moment::parse(early).unwrap(), Moment::parse(late).unwrap());
        assert_eq!(late.seconds_since(early), 1800);
        assert_eq!((early.clock(), early.date().day()), ("23:30".into(), 1));
    }

    #[test]
    fn what_has_no_offset_or_is_no_time_is_none() {
        for text in ["2026-12-01T08:15:00", "2026-12-01", "08:15", "", "2026-13-01T08:15:00Z"] {
            assert_eq!(Moment::parse(text), None, "{text}");
        }
    }
}
