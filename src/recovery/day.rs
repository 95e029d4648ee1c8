//! The day of jobs that are planned together: where every cylinder stands, and what came from which system.

use super::entry::contents_of;
use super::{InForce, Moment, Planned, Rate, Step};
use crate::cylinder::{Contents, Cylinder, Facts, Id, Limit, Room, Tag, limit};
use crate::job::{Lot, Work};
use crate::ledger::{self, CylinderState, Inside, JobId, Track, Weighing};
use crate::plan::Load;
use crate::planner::{ease_off, liquid_full, mark_the_last};
use crate::quantity::{Division, Marks, Weight};
use crate::refrigerant::{Fluid, Refrigerant};

/// A system with the lot that its refrigerant belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SystemRef {
    /// Its name.
    pub name: String,
    /// Its lot, by the position in the work.
    pub lot: usize,
    /// Its job, by the position in the work.
    pub job: usize,
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
    /// Nobody read the scale when the hose moved: the plan's order was taken.
    pub assumed: bool,
}

/// One cylinder over the day.
#[derive(Debug, Clone)]
pub struct Filling {
    /// As it stood before the first reading, with its stamp as it was when it was bound.
    pub start: Cylinder,
    /// The same with its stamp as the yard file has it now, where that is another.
    pub edited: Option<Cylinder>,
    /// Its gross weight then, rounded up to a mark.
    pub base: Marks,
    /// Its gross weight by the last reading.
    pub now: Marks,
    /// The least that it weighed by any reading, or before the first.
    pub least: Marks,
    /// What was taken out of it again, or less than nothing where somebody else put something in.
    pub taken_out: Marks,
    /// What its readings added, in their order.
    pub gains: Vec<Gain>,
    /// When it was last read.
    pub last: Option<Moment>,
    /// The gross weight at which a scale that was zeroed with it shows nothing.
    pub zero: Marks,
    /// Taken out as missing or bad.
    pub without: bool,
    /// It isn't ours any more: somebody else has begun it.
    pub lost: bool,
    /// How many readings of these jobs count.
    pub readings: usize,
    /// How many of them were kept though something spoke against them.
    pub forced: usize,
}

impl Filling {
    fn of(start: Cylinder, division: Division) -> Self {
        let base = division.ceil(start.gross);
        Self {
            without: start.ledger.out.is_some(),
            lost: false,
            start,
            edited: None,
            base,
            now: base,
            least: base,
            taken_out: 0,
            gains: Vec::new(),
            last: None,
            zero: base,
            readings: 0,
            forced: 0,
        }
    }

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

/// What the ledger says of these jobs.
#[derive(Debug, Clone, Default)]
pub struct Known<'a> {
    /// The plan in force.
    pub plan: Option<InForce>,
    /// The cylinders that they have read.
    pub tracks: Vec<Track<'a>>,
    /// The cylinders of the plan with the stamps that they had when it was bound.
    pub stamped: Vec<Cylinder>,
    /// Cylinders of the plan that somebody else has begun.
    pub lost: Vec<Id>,
}

/// Jobs with what the ledger says of them.
#[derive(Debug, Clone)]
pub struct Day<'a> {
    /// The jobs and the yard now.
    pub work: &'a Work,
    /// Every cylinder, in the order of the yard.
    pub fillings: Vec<Filling>,
    /// Every system, in the order of the lots.
    pub systems: Vec<SystemRef>,
    /// The plan in force.
    pub plan: Option<InForce>,
}

impl<'a> Day<'a> {
    /// The day of this work, by what the ledger says of it. Readings of systems that the jobs don't have count for none.
    pub fn of(work: &'a Work, known: &Known) -> Self {
        let mut day = Self::before(work);
        for track in &known.tracks {
            day.follow(track);
        }
        for stamped in &known.stamped {
            let Some(index) = day.position(&stamped.id) else { continue };
            day.fillings[index].keep_stamp(stamped);
        }
        for id in &known.lost {
            if let Some(index) = day.position(id) {
                day.fillings[index].lost = true;
            }
        }
        for charge in known.plan.iter().flat_map(|plan| &plan.planned.systems) {
            if let Some(system) = day.system(&charge.system) {
                day.systems[system].believed = charge.charge;
            }
        }
        day.plan.clone_from(&known.plan);
        day
    }

    fn before(work: &'a Work) -> Self {
        let systems = work.lots().iter().enumerate().flat_map(|(lot, line)| {
            line.parts.iter().map(move |part| SystemRef {
                name: part.system.clone(),
                lot,
                job: part.job,
                planned: part.charge,
                believed: part.charge,
            })
        });
        let filling = |cylinder: &Cylinder| Filling::of(cylinder.clone(), work.division());
        Self { work, fillings: work.yard().iter().map(filling).collect(), systems: systems.collect(), plan: None }
    }

    fn follow(&mut self, track: &Track) {
        let Some(index) = self.position(track.cylinder) else { return };
        let division = self.division();
        let cylinder = as_it_stood(&self.fillings[index].start, &track.start, self.work);
        let mut filling = Filling::of(cylinder, division);
        for weighing in &track.weighings {
            match weighing {
                Weighing::Ours(entry, reading) => self.read(&mut filling, entry.at, reading),
                Weighing::Others { gross, at } => {
                    let gross = division.ceil(*gross);
                    filling.taken_out = filling.taken_out.saturating_add(filling.now - gross);
                    filling.passes(gross, *at);
                    filling.zero = gross;
                }
            }
        }
        self.fillings[index] = filling;
    }

    fn read(&self, filling: &mut Filling, at: Moment, reading: &ledger::Reading) {
        let division = self.division();
        let gross = division.ceil(reading.gross);
        let change = gross.saturating_sub(filling.now);
        // What an emptied cylinder lost has been recovered all the same; it only isn't in it any more. What a scale shows
        // otherwise after a night has come from nowhere.
        let gain = if reading.morning || (reading.emptied && change < 0) { 0 } else { change };
        filling.taken_out = filling.taken_out.saturating_add(gain - change);
        let mut rest = gain;
        for (index, part) in reading.parts.iter().enumerate() {
            let Some(system) = self.system(&part.system) else { continue };
            let last = index + 1 == reading.parts.len();
            let marks = if last { rest } else { division.floor(part.weight).clamp(rest.min(0), rest.max(0)) };
            rest -= marks;
            filling.gains.push(Gain { system, marks, at, assumed: part.assumed });
        }
        filling.passes(gross, at);
        if reading.net.is_none() {
            filling.zero = gross;
        }
        filling.readings += 1;
        filling.forced += usize::from(!reading.forced.is_empty());
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
        filling.start.ledger.mixed || lots.len() > 1 || lots.iter().any(strange)
    }

    /// The lot at this position.
    pub fn lot(&self, lot: usize) -> &'a Lot {
        &self.work.lots()[lot]
    }

    /// The job that a lot belongs to, or the first of several.
    pub fn job_of(&self, lot: usize) -> &'a crate::job::Job {
        let job = self.lot(lot).parts.first().map_or(0, |part| part.job);
        &self.work.jobs()[job]
    }

    /// A system by the name that its own job file gives it.
    pub fn plain_name(&self, system: usize) -> &str {
        let line = &self.systems[system];
        let job = self.work.jobs().get(line.job).map_or("", |job| job.name.as_str());
        let rest = line.name.strip_prefix(job).and_then(|rest| rest.strip_prefix(" / "));
        rest.filter(|_| self.work.names_jobs()).unwrap_or(&line.name)
    }

    /// How far a cylinder may be filled with a lot: the same limit from first to last, unless it turns out lighter, or its
    /// stamp is read anew and allows less.
    pub fn room(&self, filling: &Filling, lot: usize) -> Option<Room> {
        let intake = &self.lot(lot).intake;
        let room = |cylinder: &Cylinder| {
            let limit = limit(cylinder, &intake.with(cylinder), &intake.terms).ok()?;
            let gross = cylinder.working_tare().min(self.division().weight(filling.least)) + limit.ceiling.net;
            Some(Limit { gross, ..limit }.room(cylinder, &intake.terms))
        };
        let first = room(&filling.start)?;
        match &filling.edited {
            None => Some(first),
            Some(edited) => room(edited).map(|now| if now.limit < first.limit { now } else { first }),
        }
    }

    /// The plan's stop weight, and never more than the cylinder may go up to by now.
    pub fn stop(&self, step: &Step, room: Option<Room>) -> Marks {
        room.map_or(step.stop, |room| room.top.min(step.stop))
    }

    /// The plan in force.
    pub fn planned(&self) -> Option<&Planned> {
        self.plan.as_ref().map(|plan| &plan.planned)
    }

    /// The step of the plan in force for a cylinder that is still there for it.
    pub fn step(&self, id: &Id) -> Option<&Step> {
        let step = self.planned()?.steps.iter().find(|step| step.cylinder == *id)?;
        let gone = self.position(id).is_some_and(|at| self.fillings[at].without || self.fillings[at].lost);
        (!gone).then_some(step)
    }

    /// The job of the work that the ledger calls so, by its position.
    pub fn job(&self, id: &JobId) -> Option<usize> {
        self.plan.as_ref()?.jobs.iter().position(|known| known == id)
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

    /// What is believed to be left in a system; never less than nothing, and in all what is left of its lot.
    pub fn left(&self, system: usize) -> Marks {
        let lot: Vec<usize> = self.of_lot(self.systems[system].lot).collect();
        let left = |system: &usize| self.held(*system) - self.recovered(*system);
        // What was credited to one beyond what it held has come from others.
        let mut over: Marks = lot.iter().map(|system| (-left(system)).max(0)).sum();
        for other in &lot {
            let open = left(other).max(0);
            let taken = open.min(over);
            if *other == system {
                return open - taken;
            }
            over -= taken;
        }
        0
    }

    /// What is believed to be left of a lot.
    pub fn left_of_lot(&self, lot: usize) -> Marks {
        self.of_lot(lot).map(|system| self.held(system) - self.recovered(system)).sum::<Marks>().max(0)
    }

    /// What a system held: what is believed of it, and no less than what it gave for certain.
    fn held(&self, system: usize) -> Marks {
        let gains = self.fillings.iter().flat_map(|filling| &filling.gains);
        let certain = gains.filter(|gain| gain.system == system && !gain.assumed).map(|gain| gain.marks).sum();
        self.systems[system].believed.max(certain)
    }

    /// The systems of a lot, by their positions.
    pub fn of_lot(&self, lot: usize) -> impl Iterator<Item = usize> {
        (0..self.systems.len()).filter(move |system| self.systems[*system].lot == lot)
    }

    /// The steps of the plan in force that have some way to go, as loads of a plan; one that is at its stop isn't filled.
    pub fn loads(&self) -> Vec<Load> {
        let steps = self.planned().map(|planned| planned.steps.as_slice()).unwrap_or_default();
        let mut loads = Vec::new();
        for step in steps {
            let at = self.position(&step.cylinder).filter(|_| self.step(&step.cylinder).is_some());
            let lot = self.work.lots().iter().position(|lot| lot.name == step.lot);
            let Some((filling, lot)) = at.map(|at| &self.fillings[at]).zip(lot) else { continue };
            let Some(room) = self.room(filling, lot) else { continue };
            let (stop, line) = (self.stop(step, Some(room)), self.lot(lot));
            if stop <= filling.now {
                continue;
            }
            loads.push(Load {
                order: loads.len() + 1,
                cylinder: step.cylinder.clone(),
                lot: line.name.clone(),
                refrigerant: line.intake.fluid.name(),
                tags: Tag::inside(&filling.start, &[&line.intake]),
                pours: step.pours_between(filling.now, stop),
                now: filling.now,
                add: stop - filling.now,
                ease_off: self.ease_off(lot, filling.now, stop),
                stop,
                limit: room.limit,
                ceiling: room.bound.name().into(),
                liquid_full: liquid_full(self.division(), &filling.start, line, stop),
            });
        }
        mark_the_last(&mut loads);
        loads
    }

    /// The reading from which on a cylinder with a lot is filled slowly, by the rate so far.
    pub fn ease_off(&self, lot: usize, now: Marks, stop: Marks) -> Marks {
        ease_off(self.division(), now, stop, Rate::of(self, lot).map(|rate| rate.in_seconds(90)))
    }

    /// How many readings count.
    pub fn readings(&self) -> usize {
        self.fillings.iter().map(|filling| filling.readings).sum()
    }
}

impl Filling {
    fn passes(&mut self, gross: Marks, at: Moment) {
        self.now = gross;
        self.least = self.least.min(gross);
        self.last = Some(at);
    }

    /// Takes the stamp that counted when it was bound; what the file says now stays beside it where it is another.
    fn keep_stamp(&mut self, stamped: &Cylinder) {
        let state = Facts::clone(&self.start);
        let with = |stamp: &Cylinder| {
            Cylinder::new(Facts {
                gross: state.gross,
                contents: state.contents.clone(),
                condition: state.condition,
                owner: state.owner.clone(),
                kept_for: state.kept_for.clone(),
                cleaned: state.cleaned,
                measured: state.measured,
                ledger: state.ledger.clone(),
                ..Facts::clone(stamp)
            })
            .ok()
        };
        if let Some(kept) = with(stamped).filter(|kept| *kept != self.start) {
            self.edited = Some(std::mem::replace(&mut self.start, kept));
        }
    }
}

/// The cylinder with what the ledger says of it before the first reading.
fn as_it_stood(cylinder: &Cylinder, inside: &Inside, work: &Work) -> Cylinder {
    let with = |state: &CylinderState| {
        let mut facts = Facts::clone(cylinder);
        facts.gross = state.gross;
        facts.contents = contents_of(state, &|name| refrigerant(name, work));
        facts.condition = state.condition;
        facts.owner.clone_from(&state.owner);
        facts.kept_for.clone_from(&state.kept_for);
        facts.cleaned = state.cleaned;
        facts.ledger.ours = !inside.pours.is_empty();
        Cylinder::new(facts).ok()
    };
    with(&inside.state).unwrap_or_else(|| cylinder.clone())
}

/// A refrigerant by the name that the ledger wrote: one that the job brings, or of the table.
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
