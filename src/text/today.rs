//! The day it is: asked of whoever reads the clock, only where the files don't say enough, and once at most.
//!
//! Which day it is where the user is takes all of the system's time zones to know, and that takes longer than a small plan.

use std::cell::LazyCell;

use jiff::civil::Date;

/// The day it is where the user is: not asked for before it is needed, and once at most.
pub type Today = LazyCell<Date>;

/// The latest day on which a cylinder can have been tested: that of the jobs, or today where that is later.
#[derive(Debug, Clone, Copy)]
pub struct Latest<'a> {
    stated: Date,
    today: Option<&'a Today>,
}

impl<'a> Latest<'a> {
    /// The later one of the latest day that the jobs state, and today.
    pub fn of(stated: Date, today: &'a Today) -> Self {
        Self { stated, today: Some(today) }
    }

    /// The day itself, for which today has to be known.
    pub(super) fn day(self) -> Date {
        self.today.map_or(self.stated, |today| self.stated.max(**today))
    }

    /// Whether this is true of the day, where what is true of a day is true of every later one: where it is true of the
    /// day that is stated, nobody has to know which day it is.
    pub(super) fn allows(self, test: impl Fn(Date) -> bool) -> bool {
        test(self.stated) || self.today.is_some() && test(self.day())
    }
}

impl From<Date> for Latest<'_> {
    fn from(day: Date) -> Self {
        Self { stated: day, today: None }
    }
}
