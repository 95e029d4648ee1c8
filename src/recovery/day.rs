//! The log gone through: where every cylinder stands, and what came from which system.

use thiserror::Error;

use super::{Action, LogEntry, LogReading, Moment, Planned, Start, Step};
use crate::cylinder::{Condition, Contents, Cylinder, Facts, Id, Limit, Room, limit};
use crate::job::{Lot, Work};
use crate::quantity::{Division, Marks, Weight};
use crate::refrigerant::{Fluid, Refrigerant};

/// A system with the lot that its refrigerant belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SystemRef {
    /// Its name.
    pub name: String,
    /// Its lot, by the position in the work.
    pub lot: usize,
    /// Its part of the lot's charge as the job file gives it.
    pub planned: Marks,
    /// What it is believed to have held, by the plan in force.
    pub believed: Marks,
}

/// What a reading added to a cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gain {
    /// The system that it came from, by its position in [`Day::systems`].
    pub system: usize,
    /// How much; negative where a lower reading corrects an earlier one.
    pub marks: Marks,
    /// When it was read.
    pub at: Moment,
}

/// One cylinder over the day.
#[derive(Debug, Clone)]
pub struct Filling {
    /// As it stood before the first reading.
    pub start: Cylinder,
    /// Its gross weight then, rounded up to a mark.
    pub base: Marks,
    /// Its gross weight by the last reading.
    pub now: Marks,
    /// The least that it weighed by any reading, or before the first.
    pub least: Marks,
    /// What was taken out of it again.
    pub taken_out: Marks,
    /// What its readings added, in the order of the log.
    pub gains: Vec<Gain>,
    /// When it was last read.
    pub last: Option<Moment>,
    /// The gross weight at which a scale that was zeroed with it shows nothing.
    pub zero: Marks,
    /// Taken out of the plan as missing or bad.
    pub without: bool,
}

impl Filling {
    /// What went into it: what it weighs more than before, and what was taken out in between.
    pub fn gained(&self) -> Marks {
        self.now - self.base + self.taken_out
    }

    /// The tare that counts: as from the start, or the least that it weighed since where that is less.
    pub fn tare(&self, division: Division) -> Weight {
        self.start.working_tare().min(division.weight(self.least))
    }

    /// Whether anything has gone into it.
    pub fn begun(&self) -> bool {
        self.now > self.base || self.gains.iter().any(|gain| gain.marks > 0)
    }

    /// The system of its last reading, by its position in [`Day::systems`].
    pub fn last_system(&self) -> Option<usize> {
        self.gains.last().map(|gain| gain.system)
    }
}

/// Why a log and its files don't belong together.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LogFault {
    /// A system that the job doesn't have.
    #[error("entry {number} of the log is of the system \"{system}\", which the job file doesn't have any more")]
    UnknownSystem {
        /// The entry.
        number: usize,
        /// The system.
        system: String,
    },
    /// A cylinder that the yard doesn't have.
    #[error("entry {number} of the log is of the cylinder {cylinder}, which the yard doesn't have any more")]
    UnknownCylinder {
        /// The entry.
        number: usize,
        /// The cylinder.
        cylinder: Id,
    },
    /// A cylinder whose contents before the first reading can't be understood.
    #[error("the log says that {cylinder} held \"{holds}\", which neither the table nor the job file knows")]
    UnknownContents {
        /// The cylinder.
        cylinder: Id,
        /// As the log says.
        holds: String,
    },
    /// A correction of what isn't there.
    #[error("entry {number} of the log takes back entry {takes_back}, which isn't one that it could take back")]
    Undo {
        /// The entry.
        number: usize,
        /// What it takes back.
        takes_back: usize,
    },
    /// A reading before any plan.
    #[error("entry {number} of the log is a reading, and no plan stands before it")]
    NoPlan {
        /// The entry.
        number: usize,
    },
}

/// A job's work with its log gone through.
#[derive(Debug, Clone)]
pub struct Day<'a> {
    /// The job and its cylinders.
    pub work: &'a Work,
    /// Every cylinder, in the order of the yard.
    pub fillings: Vec<Filling>,
    /// Every system, in the order of the lots.
    pub systems: Vec<SystemRef>,
    /// The plan in force, with the number of its entry.
    pub plan: Option<(usize, &'a Planned)>,
    /// Yard files that plans added, in their order.
    pub with: Vec<String>,
    /// The entries that count, without corrections and what they take back.
    pub standing: Vec<&'a LogEntry>,
}

impl<'a> Day<'a> {
    /// Goes through the log.
    ///
    /// # Errors
    /// The first entry that doesn't belong to this work.
    pub fn replay(work: &'a Work, entries: &'a [LogEntry]) -> Result<Self, LogFault> {
        let mut day = Self::before(work);
        day.standing = standing(entries)?;
        for entry in day.standing.clone() {
            match &entry.action {
                Action::Plan(planned) => day.take_plan(entry.number, planned)?,
                Action::Reading(reading) => day.take_reading(entry, reading)?,
                Action::Undo { .. } => {}
            }
        }
        Ok(day)
    }

    fn before(work: &'a Work) -> Self {
        let systems = work.lots().iter().enumerate().flat_map(|(lot, line)| {
            line.parts.iter().map(move |part| SystemRef {
                name: part.system.clone(),
                lot,
                planned: part.charge,
                believed: part.charge,
            })
        });
        Self {
            work,
            fillings: work.yard().iter().map(|cylinder| filling(cylinder.clone(), work.division())).collect(),
            systems: systems.collect(),
            plan: None,
            with: Vec::new(),
            standing: Vec::new(),
        }
    }

    fn take_plan(&mut self, number: usize, planned: &'a Planned) -> Result<(), LogFault> {
        for start in &planned.starts {
            let Some(index) = self.position(&start.cylinder) else { continue };
            if self.fillings[index].last.is_none() {
                let cylinder = as_it_stood(&self.fillings[index].start, start, self.work)?;
                self.fillings[index] = filling(cylinder, self.work.division());
            }
        }
        for charge in &planned.systems {
            let unknown = || LogFault::UnknownSystem { number, system: charge.system.clone() };
            let system = self.system(&charge.system).ok_or_else(unknown)?;
            self.systems[system].believed = charge.charge;
        }
        for filling in &mut self.fillings {
            filling.without |= planned.without.contains(&filling.start.id);
        }
        self.with.extend(planned.with.iter().cloned());
        self.plan = Some((number, planned));
        Ok(())
    }

    fn take_reading(&mut self, entry: &LogEntry, reading: &LogReading) -> Result<(), LogFault> {
        let number = entry.number;
        if self.plan.is_none() {
            return Err(LogFault::NoPlan { number });
        }
        let unknown = || LogFault::UnknownSystem { number, system: reading.system.clone() };
        let system = self.system(&reading.system).ok_or_else(unknown)?;
        let unknown = || LogFault::UnknownCylinder { number, cylinder: reading.cylinder.clone() };
        let index = self.position(&reading.cylinder).ok_or_else(unknown)?;
        let filling = &mut self.fillings[index];
        let change = reading.gross.saturating_sub(filling.now);
        // What an emptied cylinder lost has been recovered all the same; it only isn't in it any more.
        let gain = if reading.emptied && change < 0 { 0 } else { change };
        filling.taken_out = filling.taken_out.saturating_add(gain - change);
        filling.gains.push(Gain { system, marks: gain, at: entry.at });
        filling.now = reading.gross;
        filling.least = filling.least.min(reading.gross);
        filling.last = Some(entry.at);
        if reading.net.is_none() {
            filling.zero = reading.gross;
        }
        Ok(())
    }

    /// The division of the scale.
    pub fn division(&self) -> Division {
        self.work.division()
    }

    /// A cylinder by its id.
    pub fn position(&self, id: &Id) -> Option<usize> {
        self.fillings.iter().position(|filling| filling.start.id == *id)
    }

    /// A system by its name.
    pub fn system(&self, name: &str) -> Option<usize> {
        self.systems.iter().position(|system| system.name == name)
    }

    /// The lots whose refrigerant has gone into a cylinder, by their positions; more than one is a mixture.
    pub fn lots_in(&self, filling: &Filling) -> Vec<usize> {
        let mut lots = Vec::new();
        for gain in filling.gains.iter().filter(|gain| gain.marks > 0) {
            let lot = self.systems[gain.system].lot;
            if !lots.contains(&lot) {
                lots.push(lot);
            }
        }
        lots
    }

    /// Whether more than one lot has gone into a cylinder, or one that isn't what was in it before.
    pub fn is_mixed(&self, filling: &Filling) -> bool {
        let lots = self.lots_in(filling);
        let strange = |lot: &usize| {
            let fluid = &self.lot(*lot).intake.fluid;
            match &filling.start.contents {
                Contents::Evacuated | Contents::Nitrogen => false,
                Contents::Holds(held) => *fluid != Fluid::One(held.clone()),
                Contents::Unknown => true,
                Contents::Mixed(_) => matches!(fluid, Fluid::One(_)),
            }
        };
        lots.len() > 1 || lots.iter().any(strange)
    }

    /// The lot at this position.
    pub fn lot(&self, lot: usize) -> &'a Lot {
        &self.work.lots()[lot]
    }

    /// How far a cylinder may be filled with a lot: the same limit from first to last, unless it turns out lighter.
    pub fn room(&self, filling: &Filling, lot: usize) -> Option<Room> {
        let intake = &self.lot(lot).intake;
        let limit = limit(&filling.start, &intake.with(&filling.start), &intake.terms).ok()?;
        let gross = filling.tare(self.division()) + limit.ceiling.net;
        Some(Limit { gross, ..limit }.room(&filling.start, &intake.terms))
    }

    /// The plan's stop weight, and never more than the cylinder may go up to by now.
    pub fn stop(&self, step: &Step, room: Option<Room>) -> Marks {
        room.map_or(step.stop, |room| room.top.min(step.stop))
    }

    /// The step of the plan in force for a cylinder.
    pub fn step(&self, id: &Id) -> Option<&'a Step> {
        self.plan.and_then(|(_, planned)| planned.steps.iter().find(|step| step.cylinder == *id))
    }

    /// What has come from a system.
    pub fn recovered(&self, system: usize) -> Marks {
        let gains = self.fillings.iter().flat_map(|filling| &filling.gains);
        gains.filter(|gain| gain.system == system).map(|gain| gain.marks).sum()
    }

    /// What has come from the systems of a lot.
    pub fn recovered_of_lot(&self, lot: usize) -> Marks {
        self.of_lot(lot).map(|system| self.recovered(system)).sum()
    }

    /// What is believed to be left in a system; never less than nothing.
    pub fn left(&self, system: usize) -> Marks {
        (self.systems[system].believed - self.recovered(system)).max(0)
    }

    /// What is believed to be left of a lot.
    pub fn left_of_lot(&self, lot: usize) -> Marks {
        self.of_lot(lot).map(|system| self.left(system)).sum()
    }

    /// The systems of a lot, by their positions.
    pub fn of_lot(&self, lot: usize) -> impl Iterator<Item = usize> {
        (0..self.systems.len()).filter(move |system| self.systems[*system].lot == lot)
    }
}

/// The entries that count. An entry is taken back at most once, and a correction isn't itself taken back.
fn standing(entries: &[LogEntry]) -> Result<Vec<&LogEntry>, LogFault> {
    let mut standing: Vec<&LogEntry> = Vec::new();
    for entry in entries {
        match entry.action {
            Action::Plan(_) | Action::Reading(_) => standing.push(entry),
            Action::Undo { takes_back } => {
                let place = standing.iter().position(|earlier| earlier.number == takes_back);
                // Without the first plan there is nothing to hold readings against.
                let place = place.filter(|place| *place > 0);
                let fault = LogFault::Undo { number: entry.number, takes_back };
                standing.remove(place.ok_or(fault)?);
            }
        }
    }
    Ok(standing)
}

fn filling(start: Cylinder, division: Division) -> Filling {
    let base = division.ceil(start.gross);
    Filling {
        start,
        base,
        now: base,
        least: base,
        taken_out: 0,
        gains: Vec::new(),
        last: None,
        zero: base,
        without: false,
    }
}

/// The cylinder with what the log says of it before the first reading, whatever the yard says by now.
fn as_it_stood(cylinder: &Cylinder, start: &Start, work: &Work) -> Result<Cylinder, LogFault> {
    let unknown = || LogFault::UnknownContents { cylinder: start.cylinder.clone(), holds: start.holds.clone() };
    let find = |name: &String| refrigerant(name, work).ok_or_else(unknown);
    let contents = match start.holds.as_str() {
        "evacuated" => Contents::Evacuated,
        "nitrogen" => Contents::Nitrogen,
        "unknown" => Contents::Unknown,
        "mixed" => Contents::Mixed(start.may_contain.iter().map(find).collect::<Result<_, _>>()?),
        _ => Contents::Holds(find(&start.holds)?),
    };
    let condition = Condition::ALL.iter().find(|(_, name)| *name == start.condition);
    let facts = Facts {
        gross: start.gross,
        contents,
        condition: condition.map_or(cylinder.condition, |(condition, _)| *condition),
        owner: start.owner.clone(),
        kept_for: start.kept_for.clone(),
        ..Facts::clone(cylinder)
    };
    Cylinder::new(facts).map_err(|_| unknown())
}

/// A refrigerant by the name that the log wrote: one that the job brings, or of the table.
fn refrigerant(name: &str, work: &Work) -> Option<Refrigerant> {
    let of_lots = work.lots().iter().flat_map(|lot| lot.intake.fluid.contents());
    let of_yard = work.yard().iter().flat_map(|cylinder| match &cylinder.contents {
        Contents::Holds(refrigerant) => std::slice::from_ref(refrigerant),
        Contents::Mixed(parts) => parts.as_slice(),
        Contents::Evacuated | Contents::Nitrogen | Contents::Unknown => &[],
    });
    let known = of_lots.chain(of_yard).find(|refrigerant| refrigerant.name() == name);
    known.cloned().or_else(|| Refrigerant::find(name).ok())
}
