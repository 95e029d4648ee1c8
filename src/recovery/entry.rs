//! What goes into the ledger and comes out of it, counted in divisions of the job's scale.

use super::{Credit, Day, Moment};
use crate::cylinder::{Contents, Fate, Id};
use crate::job::{Lot, Work};
use crate::ledger::{self, CylinderState, EntryId, Gained, JobId, Pour};
use crate::plan::{self, Share};
use crate::quantity::{Division, Marks, Weight};
use crate::refrigerant::Refrigerant;

/// A plan: what to fill, and what was believed when it was made.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Planned {
    /// What each system is believed to have held before the first reading.
    pub systems: Vec<SystemCharge>,
    /// The cylinders to fill, in order.
    pub steps: Vec<Step>,
    /// What has no place, by lot.
    pub short: Vec<(String, Marks)>,
    /// Systems that were found empty.
    pub dry: Vec<String>,
    /// Systems that had pressure at their last stop: how much is left of them isn't known.
    pub more: Vec<String>,
}

/// A plan that binds, with who says so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InForce {
    /// Its entry in the ledger.
    pub bind: EntryId,
    /// Who bound it.
    pub by: String,
    /// When.
    pub at: Moment,
    /// The jobs that it is for, in the order of the work's.
    pub jobs: Vec<JobId>,
    /// Plans of the same jobs that were made apart and are in force, too.
    pub beside: Vec<EntryId>,
    /// What it says.
    pub planned: Planned,
}

/// What a system holds, or held.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SystemCharge {
    /// The system.
    pub system: String,
    /// Its charge.
    pub charge: Marks,
}

/// A cylinder to fill by a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The cylinder.
    pub cylinder: Id,
    /// The lot that goes in.
    pub lot: String,
    /// Where it comes from.
    pub from: Vec<Share>,
    /// The gross weight when the plan was made.
    pub now: Marks,
    /// What is to be added.
    pub add: Marks,
    /// The scale reading to stop at.
    pub stop: Marks,
    /// The reading never to pass.
    pub limit: Marks,
}

/// A reading of the scale that has been judged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judged {
    /// The cylinder on the scale.
    pub cylinder: Id,
    /// What it weighed with its contents.
    pub gross: Marks,
    /// What the scale showed, where it had been zeroed with the cylinder on it.
    pub net: Option<Marks>,
    /// What was gained since the last reading, by system; at least one, the last the one that is connected now.
    pub credits: Vec<Credit>,
    /// The cylinder was emptied, or partly, since the last reading, into nothing that this job weighs.
    pub emptied: bool,
    /// What it lost went into another cylinder of this job, or back into the system: it isn't counted here any more.
    pub moved: bool,
    /// The first reading after a break: the new start.
    pub morning: bool,
    /// Codes of what spoke against it, where it was kept all the same.
    pub forced: Vec<String>,
    /// A remark.
    pub note: Option<String>,
}

impl Step {
    /// Its pours by the readings that they lead from and to, as planned.
    pub fn pours(&self) -> Vec<plan::Pour> {
        let mut from = self.now;
        let mut pour = |share: &Share| {
            let to = from + share.add;
            let system = share.system.clone();
            plan::Pour { system, from: std::mem::replace(&mut from, to), to, add: share.add, vapour_last: false }
        };
        self.from.iter().map(&mut pour).collect()
    }

    /// What is to come of its pours from one reading to another; beyond the last of them its system goes on.
    pub fn pours_between(&self, now: Marks, stop: Marks) -> Vec<plan::Pour> {
        let mut pours = self.pours();
        if let Some(last) = pours.last_mut() {
            last.to = last.to.max(stop);
        }
        let clipped = pours.into_iter().map(|pour| {
            let (from, to) = (pour.from.max(now), pour.to.min(stop));
            plan::Pour { from, to, add: to - from, ..pour }
        });
        clipped.filter(|pour| pour.add > 0).collect()
    }
}

impl Planned {
    /// A plan of the ledger. Weights that are no whole divisions of this scale fall to the safe side: stops and limits down,
    /// what was there up.
    pub fn of(bind: &ledger::Bind, division: Division) -> Self {
        let signed = |weight: Weight| {
            if weight.is_negative() { -division.ceil(Weight::ZERO - weight) } else { division.ceil(weight) }
        };
        let step = |step: &ledger::Step| Step {
            cylinder: step.cylinder.clone(),
            lot: step.lot.clone(),
            from: step
                .from
                .iter()
                .map(|(system, add)| Share { system: system.clone(), add: division.ceil(*add) })
                .collect(),
            now: division.ceil(step.now),
            add: division.ceil(step.add),
            stop: division.floor(step.stop),
            limit: division.floor(step.limit),
        };
        let charge = |(system, held): &(String, Weight)| SystemCharge { system: system.clone(), charge: signed(*held) };
        Self {
            systems: bind.systems.iter().map(charge).collect(),
            steps: bind.steps.iter().map(step).collect(),
            short: bind.short.iter().map(|(lot, missing)| (lot.clone(), division.ceil(*missing))).collect(),
            dry: bind.dry.clone(),
            more: bind.more.clone(),
        }
    }

    /// Writes it into a bind.
    pub fn fill(&self, bind: &mut ledger::Bind, division: Division) {
        let step = |step: &Step| ledger::Step {
            cylinder: step.cylinder.clone(),
            lot: step.lot.clone(),
            from: step.from.iter().map(|share| (share.system.clone(), division.weight(share.add))).collect(),
            now: division.weight(step.now),
            add: division.weight(step.add),
            stop: division.weight(step.stop),
            limit: division.weight(step.limit),
        };
        bind.systems = self.systems.iter().map(|one| (one.system.clone(), division.weight(one.charge))).collect();
        bind.steps = self.steps.iter().map(step).collect();
        bind.short = self.short.iter().map(|(lot, missing)| (lot.clone(), division.weight(*missing))).collect();
        (bind.dry, bind.more) = (self.dry.clone(), self.more.clone());
    }
}

impl Judged {
    /// The system that is connected now, by its position in [`Day::systems`].
    pub fn system(&self) -> usize {
        self.credits.last().map_or(0, |credit| credit.system)
    }

    /// The reading as the ledger keeps it, by this plan in force; `via` is its name where it came from.
    pub fn entry(&self, day: &Day, bind: &EntryId, via: Option<String>) -> ledger::Reading {
        let division = day.division();
        let gained = |credit: &Credit| Gained {
            system: day.systems[credit.system].name.clone(),
            weight: division.weight(credit.marks),
            assumed: credit.assumed,
        };
        ledger::Reading {
            cylinder: self.cylinder.clone(),
            bind: bind.clone(),
            gross: division.weight(self.gross),
            net: self.net.map(|net| division.weight(net)),
            parts: self.credits.iter().map(gained).collect(),
            pour: pour(day.work, day.lot(day.systems[self.system()].lot)),
            emptied: self.emptied,
            moved: self.moved,
            morning: self.morning,
            forced: self.forced.clone(),
            note: self.note.clone(),
            via,
        }
    }
}

/// What goes into a cylinder with a lot.
pub fn pour(work: &Work, lot: &Lot) -> Pour {
    let intake = &lot.intake;
    let job = lot.parts.first().and_then(|part| work.jobs().get(part.job));
    let apart = intake.fate != Fate::Reclaim;
    Pour {
        lot: lot.name.clone(),
        refrigerants: intake.fluid.contents().iter().map(|one| one.name().to_owned()).collect(),
        mixed: matches!(intake.fluid, crate::refrigerant::Fluid::Mixed(_)),
        condition: intake.condition,
        fate: intake.fate,
        owner: job.and_then(|job| job.owner.clone()),
        kept_for: job.filter(|_| apart).map(|job| job.name.clone()),
    }
}

/// What a state says is in a cylinder; `find` knows refrigerants by their names. What nobody knows is unknown.
pub fn contents_of(state: &CylinderState, find: &dyn Fn(&str) -> Option<Refrigerant>) -> Contents {
    match state.holds.as_str() {
        "evacuated" => Contents::Evacuated,
        "nitrogen" => Contents::Nitrogen,
        "unknown" => Contents::Unknown,
        "mixed" => {
            let parts: Option<Vec<Refrigerant>> = state.may_contain.iter().map(|name| find(name)).collect();
            parts.map_or(Contents::Unknown, Contents::Mixed)
        }
        name => find(name).map_or(Contents::Unknown, Contents::Holds),
    }
}
