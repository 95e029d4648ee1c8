//! The truck's day as text: danger and no first, then what goes on, what each stop fills, weights, back, spare, rules.

use super::super::{Block, Report, Table, counted, marked, marks, name, number, skipped_blocks, words};
use super::{Fill, LeftBehind, PackReport, Stop};
use crate::plan::Status;
use crate::quantity::Unit;
use crate::transport::Over;

/// The words that are true of something.
fn true_of<'w>(notes: &[(bool, &'w str)]) -> impl Iterator<Item = &'w str> {
    notes.iter().filter(|(is_so, _)| *is_so).map(|(_, word)| *word)
}

impl Report for PackReport {
    fn blocks(&self) -> Vec<Block> {
        let parts =
            [Self::answer_blocks, Self::loading_blocks, Self::stop_blocks, Self::back_blocks, Self::further_blocks];
        parts.iter().flat_map(|part| part(self)).collect()
    }
}

impl PackReport {
    /// The name of the report.
    pub(in crate::report) fn title(&self) -> String {
        format!("{}: {}", self.truck, self.jobs.join(", then "))
    }

    /// What comes first: whether it is enough, what is different without some cylinders.
    pub(in crate::report) fn answer_blocks(&self) -> Vec<Block> {
        let mut blocks: Vec<Block> = skipped_blocks(&self.skipped).chain(self.over()).collect();
        blocks.push(Block::Heading(self.title()));
        blocks.extend(self.answer());
        blocks.extend(self.stays());
        blocks.extend(self.changed());
        blocks
    }

    /// Each stop, and the gross weights on leaving it.
    pub(in crate::report) fn stop_blocks(&self) -> Vec<Block> {
        let stops = self.stops.iter().enumerate().flat_map(|(index, stop)| self.stop(index, stop));
        stops.chain(self.weights()).collect()
    }

    /// What is known besides: what is spare, what to know, rules of the road.
    pub(in crate::report) fn further_blocks(&self) -> Vec<Block> {
        let to_know = [Block::Heading("To know".into()), Block::List(self.to_know.clone())];
        let to_know = to_know.into_iter().filter(|_| !self.to_know.is_empty());
        self.spare().into_iter().chain(to_know).chain(self.road()).collect()
    }

    fn answer(&self) -> Vec<Block> {
        let mut blocks = Vec::new();
        let filled = self.back.iter().filter(|back| back.lot.is_some()).count();
        match self.drawn.status {
            Status::Proved | Status::Bounded => {
                let back =
                    self.weights.last().map_or_else(String::new, |last| format!(", {} come back", last.cylinders));
                let out = self.weights.first().map_or_else(String::new, |first| first.cylinders.to_string());
                blocks.push(Block::Note(format!(
                    "Enough: {} to fill. {out} of cylinders go out{back}.",
                    counted(filled, "cylinder")
                )));
            }
            Status::Short => {
                blocks.push(Block::Note("NOT ENOUGH cylinders.".into()));
                blocks.push(Block::List(self.missing.clone()));
            }
            Status::Undecided => {
                blocks.push(Block::Note("UNDECIDED: no plan in the time; give it more with --time-limit.".into()));
            }
        }
        blocks
    }

    /// Over the payload: by which weights, and what helps.
    fn over(&self) -> Option<Block> {
        let (over, payload) = (self.drawn.over?, self.payload?);
        let help = match over {
            Over::Besides => {
                let tools = self.tools_stated.then_some("people and tools");
                let other = self.drawn.other.then_some("other hazardous material");
                let what: Vec<&str> = tools.into_iter().chain(other).collect();
                return Some(Block::Danger(format!(
                    "OVER THE PAYLOAD of {payload} before a cylinder is on the truck: {} weigh {}. More runs don't help: \
                     take some of that off, or another truck.",
                    what.join(" and "),
                    self.besides
                )));
            }
            Over::OneCylinder => "The heaviest cylinder alone is too much: use smaller ones, or another truck.",
            Over::Together => "Take it in two runs, or off the truck.",
        };
        let heavy = self.weights.iter().filter(|leaving| leaving.load > payload);
        let places: Vec<String> =
            heavy.map(|leaving| format!("{} leaving {}", leaving.load, leaving.leaving)).collect();
        Some(Block::Danger(format!("OVER THE PAYLOAD of {payload}: {}. {help}", places.join("; "))))
    }

    /// What was asked for and stays in the yard.
    fn stays(&self) -> Vec<Block> {
        if self.left.is_empty() {
            return Vec::new();
        }
        let line = |left: &LeftBehind| {
            let reasons: Vec<&str> = left.reasons.iter().map(|reason| reason.text.as_str()).collect();
            format!("{}: {}", left.cylinder, reasons.join("; "))
        };
        let heading = "Asked for with --take and left in the yard, because no job of the day can use it";
        vec![Block::Heading(heading.into()), Block::List(self.left.iter().map(line).collect())]
    }

    fn changed(&self) -> Vec<Block> {
        if self.without.is_empty() {
            return Vec::new();
        }
        let lines =
            if self.changes.is_empty() { vec!["nothing: the plan is the same".into()] } else { self.changes.clone() };
        vec![Block::Heading(format!("Without {}", self.without.join(", "))), Block::List(lines)]
    }

    /// What goes onto the truck.
    pub(in crate::report) fn loading_blocks(&self) -> Vec<Block> {
        let columns = vec![number("#"), name("cylinder"), number("gross"), marked("holds"), words("first used at")];
        let row = |one: &super::Aboard| {
            let first = one.first_used_at.clone().unwrap_or_else(|| "a spare".into());
            let notes = [(one.flammable, "flammable"), (!one.brief.is_empty(), one.brief)];
            let first = std::iter::once(first.as_str()).chain(true_of(&notes)).collect::<Vec<_>>().join(", ");
            vec![
                one.order.to_string(),
                one.cylinder.clone(),
                one.gross.bare(),
                marks::marked(&one.holds, &one.marks),
                first,
            ]
        };
        let table = Table { columns, rows: self.aboard.iter().map(row).collect() };
        let mut also = vec![
            "recovery machine, hoses, gauges".to_owned(),
            format!("scale, to at least {}", self.drawn.scale),
            "labels and tags".to_owned(),
        ];
        also.extend(self.bring.iter().cloned());
        vec![
            Block::Heading(format!("Onto the truck{}, in this order: what is used last goes in first", self.in_unit())),
            Block::Table(table),
            Block::List(also),
        ]
    }

    fn in_unit(&self) -> String {
        match self.drawn.unit {
            Unit::LbOz => String::new(),
            unit @ (Unit::Lb | Unit::Kg) => format!(" (weights in {})", unit.name()),
        }
    }

    fn stop(&self, index: usize, stop: &Stop) -> Vec<Block> {
        let reads =
            self.drawn.scale_unit.map_or_else(String::new, |unit| format!(", in {} as the scale reads", unit.name()));
        let heading = format!("Stop {}: {}, {} recovered{reads}", index + 1, stop.job, stop.recovered);
        let heading = Block::Heading(heading);
        if stop.fills.is_empty() {
            return vec![heading, Block::Note("Nothing is planned here.".into())];
        }
        let weights = ["now", "add", "STOP AT", "limit"].map(number);
        let columns = [name("cylinder"), marked("refrigerant")].into_iter().chain(weights).chain([words("")]).collect();
        let row = |fill: &Fill| {
            let notes =
                [(fill.begun, "begun before"), (fill.goes_on, "goes on later"), (!fill.brief.is_empty(), fill.brief)];
            let note = true_of(&notes).collect::<Vec<_>>().join(", ");
            let weights = [fill.now, fill.add, fill.stop, fill.limit].map(super::Reading::bare);
            [fill.cylinder.clone(), marks::marked(&fill.refrigerant, &fill.marks)]
                .into_iter()
                .chain(weights)
                .chain([note])
                .collect()
        };
        vec![heading, Block::Table(Table { columns, rows: stop.fills.iter().map(row).collect() })]
    }

    fn weights(&self) -> Vec<Block> {
        let weights = ["recovered", "cylinders", "hazardous", "heaviest", "all counted"].map(number);
        let columns = std::iter::once(words("leaving")).chain(weights).collect();
        let row = |leaving: &super::Leaving| {
            let heaviest = leaving.heaviest.as_ref().map_or_else(|| "-".into(), |heaviest| heaviest.gross.bare());
            vec![
                leaving.leaving.clone(),
                leaving.recovered.bare(),
                leaving.cylinders.bare(),
                leaving.hazardous.bare(),
                heaviest,
                leaving.load.bare(),
            ]
        };
        let rows = self.weights.iter().map(row).collect();
        let payload = match self.payload {
            Some(payload) if self.tools_stated => {
                format!("Payload {payload}; all counted are cylinders, tools and other hazardous material.")
            }
            Some(payload) => {
                format!("Payload {payload}; the truck file states no `tools`: people and tools come on top.")
            }
            None => "The payload isn't known: no truck file states it.".into(),
        };
        vec![
            Block::Heading("Gross weights".into()),
            Block::Table(Table { columns, rows }),
            Block::Note(format!(
                "An evacuated cylinder isn't hazardous material; one with a heel counts in full. {payload}"
            )),
        ]
    }

    /// What comes off it again.
    pub(in crate::report) fn back_blocks(&self) -> Vec<Block> {
        let columns = vec![name("cylinder"), number("gross"), marked("holds"), words("goes to")];
        let row = |back: &super::Back| {
            let notes = [(true, back.goes.as_str()), (!back.brief.is_empty(), back.brief)];
            let goes = true_of(&notes).collect::<Vec<_>>().join("; ");
            vec![back.cylinder.clone(), back.gross.bare(), marks::marked(&back.holds, &back.marks), goes]
        };
        let rows = self.back.iter().map(row).collect();
        vec![Block::Heading("What comes back".into()), Block::Table(Table { columns, rows })]
    }

    fn spare(&self) -> Vec<Block> {
        let columns = vec![words("stop"), words("refrigerant"), number("charge"), number("spare")];
        let row = |one: &super::Spare| vec![one.job.clone(), one.lot.clone(), one.charge.bare(), one.spare.bare()];
        let mut blocks = vec![
            Block::Heading("How much more each stop could bring, the others as planned".into()),
            Block::Table(Table { columns, rows: self.spare.iter().map(row).collect() }),
        ];
        if let Some(help) = &self.help {
            let from = if help.in_yard { "from the yard" } else { "to be got" };
            blocks.push(Block::Note(format!(
                "One more cylinder helps most: {} {from}, {} more of {}.",
                help.cylinder, help.adds, help.lot
            )));
        }
        blocks
    }

    fn road(&self) -> Vec<Block> {
        let mut blocks = vec![Block::Heading("Rules of the road".into())];
        if self.reminders.is_empty() {
            blocks.push(Block::Note("None are looked at: the truck file says `rules: none`.".into()));
        } else {
            let line = |one: &super::Reminder| format!("{} [{}]", one.text, one.source);
            blocks.push(Block::List(self.reminders.iter().map(line).collect()));
        }
        blocks.push(Block::Note(self.confirm.into()));
        blocks
    }
}
