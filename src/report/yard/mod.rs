//! The yard as a report: each cylinder's limit and room, or the reasons why it isn't filled; what there is of each size.

mod blocks;
mod totals;

use serde::Serialize;

use super::{ShownIn, marks};
use crate::cylinder::{
    Condition, Contents, Cylinder, Fate, Finding, Intake, Tag, Terms, ceilings, limit, nominal, own_reasons, reasons,
};
use crate::job::unusual_capacities;
use crate::plan::{Number, Reading, Reason};
use crate::problem::SkippedRow;
use crate::quantity::Division;
use crate::refrigerant::{Fluid, Refrigerant};
use totals::{Due, Total};

/// What each cylinder of a yard could take.
#[derive(Debug, Serialize)]
pub struct YardReport {
    format: &'static str,
    unit: &'static str,
    division: Number,
    date: String,
    cylinders: Vec<YardLine>,
    totals: Vec<Total>,
    due: Vec<Due>,
    notices: Vec<String>,
    skipped: Vec<String>,
    /// Whether text has every limit.
    #[serde(skip)]
    all: bool,
}

#[derive(Debug, Serialize)]
struct YardLine {
    cylinder: String,
    holds: String,
    marks: Vec<&'static str>,
    /// Its nominal size, by its water capacity.
    size: &'static str,
    #[serde(skip)]
    held: String,
    now: Reading,
    /// What keeps it from being filled, whatever is to go in.
    reasons: Vec<Reason>,
    rooms: Vec<RoomFor>,
}

#[derive(Debug, Serialize)]
struct RoomFor {
    refrigerant: String,
    fit: bool,
    limit: Option<Reading>,
    room: Reading,
    ceiling: Option<&'static str>,
    ceilings: Vec<Net>,
    reasons: Vec<Reason>,
}

#[derive(Debug, Serialize)]
struct Net {
    ceiling: &'static str,
    net: Reading,
}

impl YardReport {
    /// A report of these cylinders under these terms, for what each holds and, where it is empty, for `wanted`.
    pub fn new(cylinders: &[Cylinder], skipped: &[SkippedRow], terms: &Terms, wanted: &[Refrigerant]) -> Self {
        let division = terms.scale.division;
        let line = |cylinder: &Cylinder| YardLine {
            cylinder: cylinder.id.to_string(),
            holds: holds(cylinder),
            marks: marks::words(&Tag::inside(cylinder, &[])),
            size: nominal(cylinder.water_capacity),
            held: cylinder.contents.name(),
            now: Reading::new(division, division.ceil(cylinder.gross)),
            reasons: told(own_reasons(cylinder, terms)),
            rooms: intakes(cylinder, terms, wanted).iter().map(|intake| room_for(cylinder, intake)).collect(),
        };
        let lines: Vec<YardLine> = cylinders.iter().map(line).collect();
        Self {
            format: "chargesplit-yard/1",
            unit: division.unit().number_name(),
            division: Number(division.number(1)),
            date: terms.date.to_string(),
            totals: totals::of(cylinders, &lines, division),
            cylinders: lines,
            due: totals::due(cylinders, terms.date),
            notices: unusual_capacities(cylinders, division.unit()),
            skipped: super::skipped(skipped),
            all: false,
        }
    }

    /// The report with every limit in its text, not in its data alone.
    #[must_use]
    pub fn with_every_limit(self, all: bool) -> Self {
        Self { all, ..self }
    }
}

fn holds(cylinder: &Cylinder) -> String {
    match (&cylinder.contents, cylinder.condition) {
        (contents, Condition::Clean | Condition::Mixed) => contents.name(),
        (contents, condition) => format!("{} {}", contents.name(), condition.name()),
    }
}

/// What a cylinder is asked: more of what it holds, or any of `wanted`, clean, where it holds nothing that is known: acid
/// that was left in it isn't asked for.
fn intakes(cylinder: &Cylinder, terms: &Terms, wanted: &[Refrigerant]) -> Vec<Intake> {
    let intake = |fluid, condition, fate| Intake {
        fluid,
        condition,
        fate,
        owner: cylinder.owner.clone(),
        kept_for: cylinder.kept_for.clone(),
        terms: *terms,
    };
    match (&cylinder.contents, cylinder.contents.fluid()) {
        (Contents::Mixed(_), Some(fluid)) => vec![intake(fluid, Condition::Mixed, Fate::Destroy)],
        (_, Some(fluid)) => {
            let fate = if cylinder.kept_for.is_some() { Fate::Reuse } else { Fate::Reclaim };
            vec![intake(fluid, cylinder.condition, fate)]
        }
        (_, None) => wanted
            .iter()
            .map(|refrigerant| intake(Fluid::One(refrigerant.clone()), Condition::Clean, Fate::Reclaim))
            .collect(),
    }
}

fn room_for(cylinder: &Cylinder, intake: &Intake) -> RoomFor {
    let terms = &intake.terms;
    let division = terms.scale.division;
    let fluid = intake.with(cylinder);
    let found = reasons(cylinder, intake);
    // For a gas that these cylinders don't take there is no limit to tell.
    let taken = fluid.refused().next().is_none();
    let room = limit(cylinder, &fluid, terms).ok().filter(|_| taken).map(|limit| limit.room(cylinder, terms));
    let fit = found.is_empty();
    let reading = |marks| Reading::new(division, marks);
    RoomFor {
        refrigerant: fluid.name(),
        fit,
        limit: room.map(|room| reading(room.limit)),
        room: reading(room.filter(|_| fit).map_or(0, |room| room.size())),
        ceiling: room.map(|room| room.bound.name()),
        ceilings: ceilings(cylinder.water_capacity, cylinder.label_net(), &fluid, terms)
            .ok()
            .filter(|_| taken)
            .unwrap_or_default()
            .into_iter()
            .map(|ceiling| Net { ceiling: ceiling.kind.name(), net: reading(division.floor(ceiling.net)) })
            .collect(),
        reasons: told(found),
    }
}

/// What is found, with what to do about it.
fn told(found: Vec<Finding>) -> Vec<Reason> {
    let reason = |found: Finding| Reason {
        code: found.rule.code.into(),
        text: format!("{}; {}", found.text, found.rule.remedy),
    };
    found.into_iter().map(reason).collect()
}

impl ShownIn for YardReport {
    fn show_in(&mut self, to: Division) {
        (self.unit, self.division) = (to.unit().number_name(), Number(to.number(1)));
        for line in &mut self.cylinders {
            line.now = line.now.up(to);
            for room in &mut line.rooms {
                room.limit = room.limit.map(|limit| limit.down(to));
                room.room = room.room.down(to);
                for ceiling in &mut room.ceilings {
                    ceiling.net = ceiling.net.down(to);
                }
            }
        }
        for total in &mut self.totals {
            total.inside = total.inside.map(|inside| inside.up(to));
            total.room = total.room.map(|room| room.down(to));
        }
    }
}
