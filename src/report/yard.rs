//! The yard as a report: each cylinder's limit and room, or the reasons why it isn't filled.

use serde::Serialize;

use super::number::{Number, Reading};
use super::plan::Reason;
use super::{Block, Report, ShownIn, Table, marked, marks, name, number, words};
use crate::cylinder::{Condition, Contents, Cylinder, Fate, Intake, Tag, Terms, ceilings, limit, reasons};
use crate::files::SkippedRow;
use crate::job::unusual_capacities;
use crate::quantity::Division;
use crate::refrigerant::{Fluid, Refrigerant};

/// What each cylinder of a yard could take.
#[derive(Debug, Serialize)]
pub struct YardReport {
    format: &'static str,
    unit: &'static str,
    division: Number,
    date: String,
    cylinders: Vec<Line>,
    notices: Vec<String>,
    skipped: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Line {
    cylinder: String,
    holds: String,
    marks: Vec<&'static str>,
    #[serde(skip)]
    held: String,
    now: Reading,
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
        let line = |cylinder: &Cylinder| Line {
            cylinder: cylinder.id.to_string(),
            holds: holds(cylinder),
            marks: marks::words(&Tag::inside(cylinder, &[])),
            held: cylinder.contents.name(),
            now: Reading::new(division, division.ceil(cylinder.gross)),
            rooms: intakes(cylinder, terms, wanted).iter().map(|intake| room_for(cylinder, intake)).collect(),
        };
        Self {
            format: "chargesplit-yard/1",
            unit: division.unit().number_name(),
            division: Number(division.number(1)),
            date: terms.date.to_string(),
            cylinders: cylinders.iter().map(line).collect(),
            notices: unusual_capacities(cylinders, division.unit()),
            skipped: super::skipped(skipped),
        }
    }

    fn reasons(&self) -> impl Iterator<Item = (&str, &Reason)> {
        self.cylinders.iter().flat_map(|line| {
            let mut said: Vec<(&str, &Reason)> = Vec::new();
            for reason in line.rooms.iter().flat_map(|room| &room.reasons) {
                if !said.iter().any(|(_, earlier)| earlier.text == reason.text) {
                    said.push((line.cylinder.as_str(), reason));
                }
            }
            said
        })
    }
}

fn holds(cylinder: &Cylinder) -> String {
    match (&cylinder.contents, cylinder.condition) {
        (contents, Condition::Clean | Condition::Mixed) => contents.name(),
        (contents, condition) => format!("{} {}", contents.name(), condition.name()),
    }
}

/// What a cylinder is asked: more of what it holds, or any of `wanted` where it holds nothing that is known.
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
            .map(|refrigerant| intake(Fluid::One(refrigerant.clone()), cylinder.condition, Fate::Reclaim))
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
        reasons: found
            .into_iter()
            .map(|found| Reason {
                code: found.rule.code.into(),
                text: format!("{}; {}", found.text, found.rule.remedy),
            })
            .collect(),
    }
}

impl Report for YardReport {
    fn blocks(&self) -> Vec<Block> {
        let mut blocks = vec![Block::Heading(format!("Yard on {}", self.date))];
        blocks.extend(super::skipped_blocks(&self.skipped));
        let weights = ["limit", "room"].map(number);
        let columns = [name("cylinder"), marked("holds"), number("now"), name("for")];
        let columns = columns.into_iter().chain(weights).chain([words("bound by")]).collect();
        let rows = self.cylinders.iter().flat_map(|line| {
            line.rooms.iter().map(|room| {
                let limit = room.limit.map_or_else(|| "none".to_owned(), Reading::bare);
                let bound = if room.fit {
                    room.ceiling.unwrap_or("").to_owned()
                } else {
                    let codes: Vec<&str> = room.reasons.iter().map(|reason| reason.code.as_str()).collect();
                    format!("not filled: {}", codes.join(", "))
                };
                vec![
                    line.cylinder.clone(),
                    marks::marked(&line.held, &line.marks),
                    line.now.bare(),
                    room.refrigerant.clone(),
                    limit,
                    room.room.bare(),
                    bound,
                ]
            })
        });
        blocks.push(Block::Table(Table { columns, rows: rows.collect() }));
        let silent: Vec<&str> =
            self.cylinders.iter().filter(|line| line.rooms.is_empty()).map(|line| line.cylinder.as_str()).collect();
        if !silent.is_empty() {
            blocks.push(Block::Note(format!(
                "Empty, and no refrigerant to figure them for: {}. Name some with --for R-22,R-410A.",
                silent.join(", ")
            )));
        }
        let rows: Vec<Vec<String>> =
            self.reasons().map(|(cylinder, reason)| vec![cylinder.to_owned(), reason.text.clone()]).collect();
        if !rows.is_empty() {
            let columns = vec![name("cylinder"), words("why it isn't filled, and what to do")];
            blocks.push(Block::Table(Table { columns, rows }));
        }
        if !self.notices.is_empty() {
            blocks.push(Block::List(self.notices.clone()));
        }
        blocks
    }
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
    }
}
