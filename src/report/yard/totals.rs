//! What a yard has in all: of each size and refrigerant, and what falls due for a test.

use jiff::ToSpan;
use jiff::civil::Date;
use serde::Serialize;

use super::YardLine;
use crate::cylinder::{Cylinder, nominal_order};
use crate::plan::Reading;
use crate::quantity::{Division, Marks, Weight};

/// So many days ahead a test falls due soon.
pub(super) const SOON: i32 = 60;

/// What there is of one size that holds the same.
#[derive(Debug, Serialize)]
pub(super) struct Total {
    pub size: &'static str,
    pub holds: String,
    pub marks: Vec<&'static str>,
    pub cylinders: usize,
    /// How many may take something.
    pub fit: usize,
    /// What is in them, and how much more of it they may take; nothing where that isn't known.
    pub inside: Option<Reading>,
    pub room: Option<Reading>,
}

/// A cylinder whose test runs out soon.
#[derive(Debug, Serialize)]
pub(super) struct Due {
    pub cylinder: String,
    pub good_through: String,
}

/// Cylinders of one size that hold the same, while they are counted.
struct Group<'a> {
    first: (&'a Cylinder, &'a YardLine),
    cylinders: usize,
    fit: usize,
    inside: Weight,
    room: Marks,
}

/// What there is of each size, the smallest first, and of what it holds, in the order of the yard.
pub(super) fn of(cylinders: &[Cylinder], lines: &[YardLine], division: Division) -> Vec<Total> {
    let mut groups: Vec<Group> = Vec::new();
    for (cylinder, line) in cylinders.iter().zip(lines) {
        let same = |group: &Group| {
            let first = group.first.1;
            (first.size, &first.held, &first.marks) == (line.size, &line.held, &line.marks)
        };
        let position = groups.iter().position(same).unwrap_or_else(|| {
            groups.push(Group { first: (cylinder, line), cylinders: 0, fit: 0, inside: Weight::ZERO, room: 0 });
            groups.len() - 1
        });
        let Some(group) = groups.get_mut(position) else { continue };
        group.cylinders += 1;
        group.fit += usize::from(line.rooms.iter().any(|room| room.fit));
        group.inside = group.inside + (cylinder.gross - cylinder.working_tare());
        group.room += line.rooms.iter().map(|room| room.room.marks()).sum::<Marks>();
    }
    groups.sort_by_key(|group| nominal_order(group.first.0.water_capacity));
    groups.iter().map(|group| group.total(division)).collect()
}

impl Group<'_> {
    fn total(&self, division: Division) -> Total {
        let (cylinder, line) = self.first;
        // Of what is known to be in them: a room for several refrigerants is none in all.
        let known = cylinder.contents.fluid().is_some();
        let reading = |marks| known.then(|| Reading::new(division, marks));
        Total {
            size: line.size,
            holds: line.held.clone(),
            marks: line.marks.clone(),
            cylinders: self.cylinders,
            fit: self.fit,
            inside: reading(division.ceil(self.inside)),
            room: reading(self.room),
        }
    }
}

/// The cylinders whose test is good on this day and won't be in 60 days, the first to fall due first.
pub(super) fn due(cylinders: &[Cylinder], date: Date) -> Vec<Due> {
    let until = date.saturating_add(SOON.days());
    let mut due: Vec<(Date, &Cylinder)> = cylinders
        .iter()
        .filter_map(|cylinder| Some((cylinder.test?.good_through, cylinder)))
        .filter(|(day, _)| (date..until).contains(day))
        .collect();
    due.sort_by_key(|(day, _)| *day);
    let line =
        |(day, cylinder): (Date, &Cylinder)| Due { cylinder: cylinder.id.to_string(), good_through: day.to_string() };
    due.into_iter().map(line).collect()
}
