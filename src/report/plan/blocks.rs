//! The loading plan as it is read: is it enough, what to do, what bounds it, what is spare, what was left out.

use super::{PlanReport, remedy};
use crate::cylinder::{CeilingKind, Id};
use crate::plan::{Load, Reading, Status};
use crate::planner::NOT_FOLLOWED;
use crate::quantity::Unit;
use crate::report::beside::beside;
use crate::report::{Block, Report, Table, and, cautions, counted, marked, marks, name, number, skipped_blocks, words};
use crate::report::{left_out, pours};

impl Report for PlanReport {
    fn blocks(&self) -> Vec<Block> {
        let cautions = [Block::Heading("Cautions".into()), Block::List(cautions(&self.drawn.hazards))];
        self.answer_blocks().into_iter().chain(self.detail_blocks()).chain(cautions).collect()
    }
}

impl PlanReport {
    /// What comes first: what couldn't be read, and whether it is enough.
    pub fn answer_blocks(&self) -> Vec<Block> {
        let title = Block::Heading(self.title());
        let in_force = self.in_force.iter().map(|line| Block::Note(line.text()));
        std::iter::once(title).chain(skipped_blocks(&self.skipped)).chain(in_force).chain(self.answer()).collect()
    }

    /// Its table alone, for somebody who asked for something else.
    pub fn table(&self) -> Vec<Block> {
        [Block::Note(self.answer_in_short())].into_iter().chain(self.loading()).collect()
    }

    fn answer_in_short(&self) -> String {
        match self.plan.status {
            Status::Proved | Status::Bounded => format!("The plan from here on: {}", self.placed()),
            Status::Short => format!("The plan from here on is NOT ENOUGH. {}", self.missing()),
            Status::Undecided => "The plan from here on: none was found in the time; `replan` looks again.".into(),
        }
    }

    /// What follows: what to do, what is spare, why where that was asked, what was left out, what to know.
    pub fn detail_blocks(&self) -> Vec<Block> {
        let parts =
            [Self::loading, Self::hoses, Self::spare, Self::bounding, Self::why, Self::left_out_blocks, Self::to_know];
        parts.iter().flat_map(|part| part(self)).collect()
    }

    fn title(&self) -> String {
        self.plan.jobs.join(" + ")
    }

    /// Is it enough, and how sure is that?
    fn answer(&self) -> Vec<Block> {
        let mut sentence = match self.plan.status {
            Status::Proved | Status::Bounded => format!("Enough. {}", self.placed()),
            Status::Short => format!("NOT ENOUGH. {}", self.missing()),
            Status::Undecided => {
                "UNDECIDED. No plan was found in the time, and none was disproved: give it more with --time-limit."
                    .into()
            }
        };
        if let Some(sureness) = self.sureness() {
            sentence = format!("{sentence} {sureness}");
        }
        let not_followed = self.plan.warnings.iter().filter(|warning| warning.code == NOT_FOLLOWED);
        let not_followed: Vec<String> = not_followed.map(|warning| warning.text.clone()).collect();
        let not_followed = (!not_followed.is_empty()).then_some(Block::List(not_followed));
        let remedy = self.plan.remedy.iter().flat_map(remedy::blocks);
        std::iter::once(Block::Note(sentence)).chain(not_followed).chain(remedy).collect()
    }

    fn placed(&self) -> String {
        let lots: Vec<String> = self.plan.lots.iter().map(|lot| format!("{} of {}", lot.charge, lot.lot)).collect();
        let totals = &self.plan.totals;
        format!(
            "{} into {}; heaviest lift {}, all lifts together {}.",
            lots.join("; "),
            counted(totals.cylinders, "cylinder"),
            totals.heaviest,
            totals.carried
        )
    }

    fn missing(&self) -> String {
        let lots: Vec<String> =
            self.plan.short.iter().map(|short| format!("{} of {}", short.missing, short.lot)).collect();
        format!("With these cylinders {} would be left in the system.", and(&lots))
    }

    /// What is proved of the totals, each by name.
    fn sureness(&self) -> Option<String> {
        match self.plan.status {
            Status::Proved => Some("Proved: no plan that does what was asked is better.".into()),
            Status::Bounded => {
                let weight = |what: &str, total: Reading, bound: Reading| {
                    if total == bound { format!("{what} proved") } else { format!("{what} at least {bound}") }
                };
                let count = match self.plan.totals.cylinders.saturating_sub(self.plan.bounds.cylinders) {
                    0 => "count proved".to_owned(),
                    over => format!("count within {} of the best possible", counted(over, "cylinder")),
                };
                let pours = (self.plan.totals.pours > self.plan.bounds.pours)
                    .then(|| format!(", at least {}", counted(self.plan.bounds.pours, "hose connection")));
                Some(format!(
                    "Not all of it is proved the best: {count}, {}, {}{}.",
                    weight("heaviest", self.plan.totals.heaviest, self.plan.bounds.heaviest),
                    weight("all lifts together", self.plan.totals.carried, self.plan.bounds.carried),
                    pours.unwrap_or_default()
                ))
            }
            Status::Short => {
                let least = self.plan.bounds.missing?;
                Some(format!("Proved: at least {least} stay, whichever of them are filled."))
            }
            Status::Undecided => None,
        }
    }

    /// The table to work from: one line for each cylinder.
    fn loading(&self) -> Vec<Block> {
        if self.plan.loads.is_empty() {
            return Vec::new();
        }
        let heading = match self.plan.division.unit() {
            Unit::LbOz => "Loading plan".to_owned(),
            unit @ (Unit::Lb | Unit::Kg) => format!("Loading plan, in {}", unit.name()),
        };
        let weights = ["now", "add", "STOP AT", "limit"].map(number);
        // The usual bound goes without saying; a column of another is worth its width.
        let bounds: Vec<&str> = self.bounds().into_iter().filter(|bound| *bound != CeilingKind::Fill.name()).collect();
        let bound = (!bounds.is_empty()).then(|| name("limited by"));
        let columns = [number("#"), name("cylinder"), marked("refrigerant")].into_iter().chain(weights).chain(bound);
        let row = |load: &Load<Reading>| {
            let weights = [load.now, load.add, load.stop, load.limit].map(Reading::bare);
            let held = marks::marked(&load.refrigerant, &marks::words(&load.tags));
            let names = [load.order.to_string(), load.cylinder.to_string(), held];
            let said = if bounds.contains(&load.ceiling.as_str()) { load.ceiling.clone() } else { String::new() };
            names.into_iter().chain(weights).chain(bound.map(|_| said)).collect()
        };
        let table = Table { columns: columns.collect(), rows: self.plan.loads.iter().map(row).collect() };
        let mut blocks = vec![Block::Heading(heading), Block::Table(table)];
        if !bounds.is_empty() && !self.drawn.explained {
            blocks.push(Block::List(self.meanings(&bounds)));
        }
        if let Some(to) = self.drawn.beside {
            let lines = self
                .plan
                .loads
                .iter()
                .map(|load| (load.cylinder.as_str(), [load.now, load.add, load.stop, load.limit]));
            blocks.extend(beside(lines, self.plan.division.unit(), to));
        }
        blocks
    }

    /// What bounds the cylinders of the plan, each by name and once.
    fn bounds(&self) -> Vec<&str> {
        let mut bounds: Vec<&str> = Vec::new();
        for load in &self.plan.loads {
            if !bounds.contains(&load.ceiling.as_str()) {
                bounds.push(&load.ceiling);
            }
        }
        bounds
    }

    /// What these bounds stand for, a line each.
    fn meanings(&self, bounds: &[&str]) -> Vec<String> {
        let meanings = self.drawn.meanings.iter().filter(|(bound, _)| bounds.contains(bound));
        meanings.map(|(_, line)| line.clone()).collect()
    }

    /// Which hose goes where, for lots of several systems: cylinders that go alike in a line.
    fn hoses(&self) -> Vec<Block> {
        let mut lines: Vec<String> = Vec::new();
        for lot in self.plan.lots.iter().filter(|lot| lot.systems.len() > 1) {
            let loads: Vec<&Load<Reading>> = self.plan.loads.iter().filter(|load| load.lot == lot.lot).collect();
            let told = |load: &Load<Reading>| {
                let first = load.pours.first().map(|pour| pour.system.clone());
                first
                    .into_iter()
                    .chain(pours::changes(&load.pours, &|at| at.to_string()))
                    .collect::<Vec<_>>()
                    .join("; ")
            };
            for alike in loads.chunk_by(|one, next| told(one) == told(next)) {
                let (Some(first), Some(last)) = (alike.first(), alike.last()) else { continue };
                let ids = match alike.len() {
                    1 => first.cylinder.to_string(),
                    2 => format!("{}, {}", first.cylinder, last.cylinder),
                    _ => format!("{} to {}", first.cylinder, last.cylinder),
                };
                let vapour = pours::vapour(last, &loads).map_or(String::new(), |vapour| format!("; {vapour}"));
                lines.push(format!("{ids}: {}{vapour}", told(first)));
            }
        }
        if lines.is_empty() { Vec::new() } else { vec![Block::Heading(self.pours()), Block::List(lines)] }
    }

    /// How many pours, and whether fewer would do.
    fn pours(&self) -> String {
        let (count, least) = (counted(self.plan.totals.pours, "hose connection"), self.plan.bounds.pours);
        if self.plan.totals.pours == least {
            format!("{count}, the fewest with these cylinders")
        } else {
            format!("{count}, the best found (at least {least})")
        }
    }

    /// What bounds each cylinder and who says so, where somebody asked for reasons.
    fn bounding(&self) -> Vec<Block> {
        if self.plan.loads.is_empty() || !self.drawn.explained {
            return Vec::new();
        }
        let columns = vec![name("cylinder"), name("limited by"), words("full of liquid at")];
        let row =
            |load: &Load<Reading>| vec![load.cylinder.to_string(), load.ceiling.clone(), load.liquid_full.clone()];
        let table = Table { columns, rows: self.plan.loads.iter().map(row).collect() };
        vec![Block::Heading("What limits each".into()), Block::Table(table), Block::List(self.meanings(&self.bounds()))]
    }

    fn spare(&self) -> Vec<Block> {
        let weights = ["charge", "room", "spare"].map(number);
        let columns = std::iter::once(name("refrigerant")).chain(weights).chain([words("systems")]).collect();
        let rows = self.plan.lots.iter().map(|lot| {
            let weights = [lot.charge, lot.room, lot.spare].map(Reading::bare);
            std::iter::once(lot.lot.clone()).chain(weights).chain([lot.systems.join(", ")]).collect()
        });
        vec![
            Block::Heading("Room in the chosen cylinders".into()),
            Block::Table(Table { columns, rows: rows.collect() }),
        ]
    }

    fn why(&self) -> Vec<Block> {
        if self.explanation.is_empty() {
            return Vec::new();
        }
        vec![Block::Heading("Why".into()), Block::List(self.explanation.clone())]
    }

    fn left_out_blocks(&self) -> Vec<Block> {
        let mut blocks = left_out::blocks(&left_out::of(&self.plan));
        if !self.plan.not_needed.is_empty() {
            let ids: Vec<&str> = self.plan.not_needed.iter().map(Id::as_str).collect();
            blocks.push(Block::Note(format!("Fit and not needed: {}.", ids.join(", "))));
        }
        blocks
    }

    fn to_know(&self) -> Vec<Block> {
        // What wasn't followed stands beside the answer.
        let others = self.plan.warnings.iter().filter(|warning| warning.code != NOT_FOLLOWED);
        let texts: Vec<String> = others.map(|warning| warning.text.clone()).collect();
        if texts.is_empty() {
            return Vec::new();
        }
        vec![Block::Heading("To know".into()), Block::List(texts)]
    }
}
