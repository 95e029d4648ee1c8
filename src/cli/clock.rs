//! The clock of the place, and times as typed. Tests set it with CHARGESPLIT_NOW.

use jiff::ZonedDateTime;
use jiff::civil::{DateTime, Time};
use jiff::tz::TimeZone;

use crate::recovery::Moment;
use crate::text::Today;

/// The variable that stands in for the clock: `2026-12-01T08:15:00-05:00`.
const NOW: &str = "CHARGESPLIT_NOW";

/// Now, on the clock of the place.
pub(super) fn now() -> Moment {
    set().unwrap_or_else(|| of(&ZonedDateTime::now()))
}

/// The day it is where the user is. Only where somebody asks for it the clock is read and the time zone looked up.
pub(super) fn today() -> Today {
    Today::new(|| set().map_or_else(|| ZonedDateTime::now().date(), Moment::date))
}

fn set() -> Option<Moment> {
    std::env::var(NOW).ok().as_deref().and_then(Moment::parse)
}

fn of(zoned: &ZonedDateTime) -> Moment {
    Moment::new(zoned.timestamp(), zoned.offset())
}

/// A time as typed: a date and a time, with an offset or by the clock of the place; or a time of today.
pub(super) fn at(text: &str) -> Result<Moment, String> {
    if let Some(moment) = Moment::parse(text) {
        return Ok(moment);
    }
    let expected = || format!("`{text}` isn't a time; expected HH:MM of today, or YYYY-MM-DDTHH:MM");
    let parts: Vec<&str> = text.split(['T', ' ']).collect();
    let time = |text: &str| text.parse::<Time>().ok().filter(|_| text.contains(':'));
    let local: DateTime = match parts.as_slice() {
        [clock] => now().date().to_datetime(time(clock).ok_or_else(expected)?),
        [day, clock] => {
            let day = day.parse::<jiff::civil::Date>().map_err(|_| expected())?;
            day.to_datetime(time(clock).ok_or_else(expected)?)
        }
        _ => return Err(expected()),
    };
    if let Some(set) = set() {
        let timestamp = set.offset().to_timestamp(local).map_err(|_| expected())?;
        return Ok(Moment::new(timestamp, set.offset()));
    }
    local.to_zoned_datetime(TimeZone::system()).map(|zoned| of(&zoned)).map_err(|_| expected())
}

/// When a page is made.
pub(super) fn made() -> String {
    let local = now().local();
    format!("{} {:02}:{:02}", local.date(), local.time().hour(), local.time().minute())
}
