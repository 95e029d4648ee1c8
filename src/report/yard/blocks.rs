//! The yard as it is read: a line for each cylinder, totals, what falls due; with every limit where that was asked.

use super::totals::{SOON, Total};
use super::{Reason, RoomFor, YardLine, YardReport};
use crate::plan::{Against, Reading};
use crate::report::as_drawn;
use crate::report::left_out::{Unfilled, lines};
use crate::report::{Block, Report, Table, marked, marks, name, number, skipped_blocks, words};

/// So many rooms stand in a line; of more the least and the most.
const ROOMS: usize = 2;

impl Report for YardReport {
    fn blocks(&self) -> Vec<Block> {
        let mut blocks = vec![Block::Heading(format!("Yard on {}, in {}", self.date, as_drawn(self.unit)))];
        blocks.extend(skipped_blocks(&self.skipped));
        blocks.push(Block::Table(self.cylinders()));
        blocks.extend(self.silent());
        if self.all && self.cylinders.iter().any(|line| !line.rooms.is_empty()) {
            blocks.extend([Block::Heading("Every limit".into()), Block::Table(self.limits())]);
        }
        blocks.extend(self.not_filled());
        blocks.extend([Block::Heading("Totals".into()), Block::Table(self.totals_table())]);
        blocks.extend(self.due());
        if !self.notices.is_empty() {
            blocks.push(Block::List(self.notices.clone()));
        }
        blocks
    }
}

impl YardReport {
    /// A line for each cylinder.
    fn cylinders(&self) -> Table {
        let row = |line: &YardLine| {
            let held = marks::marked(&line.held, &line.marks);
            vec![line.cylinder.clone(), line.size.to_owned(), held, line.now.bare(), line.takes()]
        };
        let columns = vec![name("cylinder"), name("size"), marked("holds"), number("now"), words("room")];
        Table { columns, rows: self.cylinders.iter().map(row).collect() }
    }

    /// Cylinders that are fit, and nothing says for what.
    fn silent(&self) -> Option<Block> {
        let silent = self.cylinders.iter().filter(|line| line.rooms.is_empty() && line.reasons.is_empty());
        let silent: Vec<&str> = silent.map(|line| line.cylinder.as_str()).collect();
        (!silent.is_empty()).then(|| {
            Block::Note(format!(
                "Empty, and no refrigerant is named to figure them for: {}. Name some with --for R-22,R-410A.",
                silent.join(", ")
            ))
        })
    }

    /// Each cylinder with each refrigerant.
    fn limits(&self) -> Table {
        let weights = ["limit", "room"].map(number);
        let columns = [name("cylinder"), name("for")].into_iter().chain(weights).chain([words("limited by")]).collect();
        let row = |line: &YardLine, room: &RoomFor| {
            let limit = room.limit.map_or_else(|| "none".to_owned(), Reading::bare);
            let codes: Vec<&str> = room.reasons.iter().map(|reason| reason.code.as_str()).collect();
            let bound = match codes.as_slice() {
                [] => room.ceiling.unwrap_or("").to_owned(),
                codes => format!("not filled: {}", codes.join(", ")),
            };
            vec![line.cylinder.clone(), room.refrigerant.clone(), limit, room.room.bare(), bound]
        };
        let rows = self.cylinders.iter().flat_map(|line| line.rooms.iter().map(|room| row(line, room)));
        Table { columns, rows: rows.collect() }
    }

    /// Why those that take nothing don't; with every limit, those that don't take something, too.
    fn not_filled(&self) -> Vec<Block> {
        let out = self.cylinders.iter().filter(|line| {
            let unfit = line.rooms.iter().filter(|room| !room.fit).count();
            !line.reasons.is_empty() || (unfit > 0 && (self.all || unfit == line.rooms.len()))
        });
        let out: Vec<Unfilled> = out.map(YardLine::left_out).collect();
        if out.is_empty() {
            return Vec::new();
        }
        vec![Block::Heading("Not filled".into()), Block::List(lines(&out))]
    }

    fn totals_table(&self) -> Table {
        let columns =
            vec![name("size"), marked("holds"), number("cylinders"), number("fit"), number("inside"), number("room")];
        let row = |total: &Total| {
            let weight = |reading: Option<Reading>| reading.map_or_else(String::new, Reading::bare);
            vec![
                total.size.to_owned(),
                marks::marked(&total.holds, &total.marks),
                total.cylinders.to_string(),
                total.fit.to_string(),
                weight(total.inside),
                weight(total.room),
            ]
        };
        Table { columns, rows: self.totals.iter().map(row).collect() }
    }

    fn due(&self) -> Option<Block> {
        let due: Vec<String> = self.due.iter().map(|due| format!("{} ({})", due.cylinder, due.good_through)).collect();
        (!due.is_empty()).then(|| Block::Note(format!("Due for a test within {SOON} days: {}.", due.join(", "))))
    }
}

impl YardLine {
    /// What it may take, in a cell.
    fn takes(&self) -> String {
        let fit: Vec<&RoomFor> = self.rooms.iter().filter(|room| room.fit).collect();
        match fit.as_slice() {
            [] if self.rooms.is_empty() && self.reasons.is_empty() => String::new(),
            [] => "not filled".into(),
            // More of what is in it.
            [room] if room.refrigerant == self.held => room.room.bare(),
            rooms if rooms.len() <= ROOMS => {
                let rooms: Vec<String> =
                    rooms.iter().map(|room| format!("{} {}", room.room.bare(), room.refrigerant)).collect();
                rooms.join(", ")
            }
            rooms => {
                let marks = |room: &&&RoomFor| room.room.marks();
                let least = rooms.iter().min_by_key(marks).map_or_else(String::new, |room| room.room.bare());
                let most = rooms.iter().max_by_key(marks).map_or_else(String::new, |room| room.room.bare());
                format!("{least} to {most}, {} refrigerants", rooms.len())
            }
        }
    }

    /// Everything that keeps it from being filled, each reason once with what it stands against.
    fn left_out(&self) -> Unfilled {
        if self.rooms.is_empty() {
            let own =
                |reason: &Reason| Against { code: reason.code.clone(), text: reason.text.clone(), lots: Vec::new() };
            return Unfilled::new(&self.cylinder, self.reasons.iter().map(own).collect(), 0);
        }
        let mut reasons: Vec<Against> = Vec::new();
        for room in &self.rooms {
            for reason in &room.reasons {
                match reasons.iter_mut().find(|known| known.code == reason.code && known.text == reason.text) {
                    Some(known) => known.lots.push(room.refrigerant.clone()),
                    None => reasons.push(Against {
                        code: reason.code.clone(),
                        text: reason.text.clone(),
                        lots: vec![room.refrigerant.clone()],
                    }),
                }
            }
        }
        Unfilled::new(&self.cylinder, reasons, self.rooms.len())
    }
}
