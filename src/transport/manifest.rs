//! The truck through the day: aboard, leaving each stop, back in the yard.

use super::spare::{Help, Spare};
use super::{Reminder, Truck, rules, spare};
use crate::audit::Audited;
use crate::cylinder::{Contents, Cylinder, Fate, Id, Tag};
use crate::job::Work;
use crate::plan::{LeftOut, Load, Plan, Reason};
use crate::planner::{THIN_SPARE, Visit, thin, visits};
use crate::quantity::{Marks, Weight};

/// A cylinder on the truck, in the order in which they are loaded: what is used last goes in first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Aboard {
    /// The cylinder.
    pub cylinder: Id,
    /// Gross on leaving the yard.
    pub gross: Marks,
    /// What is in it, in a word.
    pub holds: String,
    /// The marks of that.
    pub tags: Vec<Tag>,
    /// Whether that is hazardous material: anything but an evacuated cylinder.
    pub hazardous: bool,
    /// The job that it is first used at; `None` for one that rides along as a spare.
    pub first: Option<usize>,
    /// Whether what is in it, or comes into it, may burn.
    pub flammable: bool,
}

/// The truck as it leaves the yard or a stop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Departure {
    /// The job that it leaves; `None` for the yard.
    pub job: Option<usize>,
    /// What was recovered there.
    pub recovered: Marks,
    /// Gross of all cylinders aboard.
    pub cylinders: Marks,
    /// Gross of the hazardous material aboard: cylinders that aren't evacuated, and what the truck file states.
    pub hazardous: Marks,
    /// The cylinders that hold something, each with its gross: the heaviest first, then in the order of the plan.
    pub holding: Vec<(Id, Marks)>,
    /// Everything that the payload counts: cylinders, tools, other hazardous material.
    pub load: Marks,
}

/// A cylinder that comes back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Returned {
    /// The cylinder.
    pub cylinder: Id,
    /// The lot in it; `None` where nothing went in.
    pub lot: Option<String>,
    /// What is in it by then, in a word.
    pub holds: String,
    /// The marks of that.
    pub tags: Vec<Tag>,
    /// Its gross.
    pub gross: Marks,
    /// What becomes of what went in.
    pub fate: Option<Fate>,
    /// Whose that is, where something went in.
    pub whose: Option<String>,
}

/// The truck's day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Manifest {
    /// What is loaded, in order.
    pub aboard: Vec<Aboard>,
    /// What each stop fills.
    pub visits: Vec<Visit>,
    /// Leaving the yard, then each stop.
    pub departures: Vec<Departure>,
    /// What comes back, in the order of the plan.
    pub back: Vec<Returned>,
    /// What more could be recovered at each stop.
    pub spare: Vec<Spare>,
    /// The one cylinder that would help most.
    pub help: Option<Help>,
    /// Cylinders that were to ride along and stay, because no lot can use them, each with every reason.
    pub left: Vec<LeftOut>,
    /// What is on the truck beside its cylinders: people and tools, other hazardous material.
    pub besides: Marks,
    /// What to know of the plan; what is spare counts the cylinders that ride along.
    pub warnings: Vec<Reason>,
    /// The most that the truck may carry.
    pub payload: Option<Marks>,
    /// Rules of the road; empty where no country's are asked for.
    pub reminders: Vec<Reminder>,
}

/// What of a day is over the payload, which decides what helps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// People, tools and other hazardous material, before a cylinder is on the truck.
    Besides,
    /// These with the heaviest cylinder alone.
    OneCylinder,
    /// All together.
    Together,
}

impl Over {
    /// The word for it in data.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Besides => "besides",
            Self::OneCylinder => "one-cylinder",
            Self::Together => "together",
        }
    }
}

impl Manifest {
    /// What is over the payload; nothing also where it isn't known.
    pub fn over(&self) -> Option<Over> {
        let most = self.payload.filter(|_| !self.is_within_payload())?;
        if self.besides > most {
            return Some(Over::Besides);
        }
        Some(if self.besides + self.heaviest() > most { Over::OneCylinder } else { Over::Together })
    }

    /// The gross weight of the heaviest cylinder of the day.
    pub fn heaviest(&self) -> Marks {
        let out = self.aboard.iter().map(|one| one.gross);
        out.chain(self.back.iter().map(|one| one.gross)).max().unwrap_or(0)
    }

    /// Whether the payload is kept all day; also where it isn't known.
    pub fn is_within_payload(&self) -> bool {
        self.payload.is_none_or(|most| self.departures.iter().all(|departure| departure.load <= most))
    }

    /// The largest gross weight of hazardous material of the day.
    pub fn most_hazardous(&self) -> Marks {
        self.departures.iter().map(|departure| departure.hazardous).max().unwrap_or(0)
    }
}

/// The day of this plan on this truck; `taken` are cylinders of the yard that are to ride along beside those of the plan.
/// One that no lot can use stays.
pub fn manifest(work: &Work, audited: &Audited, truck: &Truck, taken: &[Id]) -> Manifest {
    let plan = audited.plan();
    let visits = visits(work, plan);
    let left: Vec<LeftOut> = plan.left_out.iter().filter(|left| taken.contains(&left.cylinder)).cloned().collect();
    let taken: Vec<Id> = taken.iter().filter(|id| !left.iter().any(|left| left.cylinder == **id)).cloned().collect();
    let aboard = aboard(work, plan, &visits, &taken);
    let departures = departures(work, plan, truck, &visits, &aboard);
    let (spare, help) = spare::spare(work, plan, &taken);
    let mut manifest = Manifest {
        back: back(work, plan, &aboard),
        aboard,
        visits,
        departures,
        spare,
        help,
        left,
        besides: rounded(work, truck.tools) + rounded(work, truck.other_hazmat),
        warnings: warnings(work, plan, &taken),
        payload: truck.payload.map(|payload| work.division().floor(payload)),
        reminders: Vec::new(),
    };
    manifest.reminders = rules::reminders(work, plan, truck, &manifest);
    manifest
}

fn warnings(work: &Work, plan: &Plan, taken: &[Id]) -> Vec<Reason> {
    let others = plan.warnings.iter().filter(|warning| warning.code != THIN_SPARE);
    others.cloned().chain(thin(work, plan, taken)).collect()
}

fn cylinder<'w>(work: &'w Work, id: &Id) -> Option<&'w Cylinder> {
    work.yard().iter().find(|cylinder| cylinder.id == *id)
}

fn aboard(work: &Work, plan: &Plan, visits: &[Visit], taken: &[Id]) -> Vec<Aboard> {
    let one = |id: &Id, load: Option<usize>| {
        let cylinder = cylinder(work, id)?;
        let lot = load.and_then(|load| plan.loads.get(load));
        let lot = lot.and_then(|load| work.lots().iter().find(|lot| lot.name == load.lot));
        let used = |visit: &&Visit| load.is_some() && visit.fills.iter().any(|fill| Some(fill.load) == load);
        // What nobody knows may burn.
        let burns = match &cylinder.contents {
            Contents::Evacuated | Contents::Nitrogen => false,
            Contents::Unknown | Contents::Mixed(_) | Contents::Holds(_) => {
                cylinder.contents.fluid().is_none_or(|fluid| fluid.is_flammable())
            }
        };
        Some(Aboard {
            cylinder: id.to_owned(),
            gross: work.division().ceil(cylinder.gross),
            holds: cylinder.contents.name(),
            tags: Tag::inside(cylinder, &[]),
            hazardous: cylinder.contents != Contents::Evacuated,
            first: visits.iter().find(used).map(|visit| visit.job),
            flammable: burns || lot.is_some_and(|lot| lot.intake.fluid.is_flammable()),
        })
    };
    let planned = plan.loads.iter().enumerate().filter_map(|(index, load)| one(&load.cylinder, Some(index)));
    let mut aboard: Vec<Aboard> = planned.collect();
    for id in taken {
        if !aboard.iter().any(|other| other.cylinder == *id) {
            aboard.extend(one(id, None));
        }
    }
    // The sort is stable: within a stop the plan's order is turned round, and the first to be filled stands outermost.
    aboard.reverse();
    aboard.sort_by_key(|one| std::cmp::Reverse(one.first.map_or(usize::MAX, |job| job)));
    aboard
}

/// A weight of the truck file, rounded up; one that isn't stated is nothing.
fn rounded(work: &Work, weight: Option<Weight>) -> Marks {
    weight.map_or(0, |weight| work.division().ceil(weight))
}

fn departures(work: &Work, plan: &Plan, truck: &Truck, visits: &[Visit], aboard: &[Aboard]) -> Vec<Departure> {
    let (tools, other) = (rounded(work, truck.tools), rounded(work, truck.other_hazmat));
    // Cylinder, gross, hazardous.
    let mut state: Vec<(&Id, Marks, bool)> =
        aboard.iter().map(|one| (&one.cylinder, one.gross, one.hazardous)).collect();
    let leave = |state: &[(&Id, Marks, bool)], job: Option<usize>, recovered: Marks| {
        let cylinders = state.iter().map(|(_, gross, _)| gross).sum();
        let holding = state.iter().rev().filter(|(.., hazardous)| *hazardous);
        let mut holding: Vec<(Id, Marks)> = holding.map(|(id, gross, _)| ((*id).clone(), *gross)).collect();
        holding.sort_by_key(|(_, gross)| std::cmp::Reverse(*gross));
        Departure {
            job,
            recovered,
            cylinders,
            hazardous: other + holding.iter().map(|(_, gross)| gross).sum::<Marks>(),
            holding,
            load: cylinders + tools + other,
        }
    };
    let mut departures = vec![leave(&state, None, 0)];
    for visit in visits {
        for fill in &visit.fills {
            let Some(load) = plan.loads.get(fill.load) else { continue };
            for (id, gross, hazardous) in &mut state {
                if **id == load.cylinder {
                    *gross += fill.add;
                    *hazardous = true;
                }
            }
        }
        departures.push(leave(&state, Some(visit.job), visit.recovered()));
    }
    departures
}

fn back(work: &Work, plan: &Plan, aboard: &[Aboard]) -> Vec<Returned> {
    let lot = |load: &Load| work.lots().iter().find(|lot| lot.name == load.lot);
    let filled = plan.loads.iter().map(|load| Returned {
        cylinder: load.cylinder.clone(),
        lot: Some(load.lot.clone()),
        holds: load.refrigerant.clone(),
        tags: load.tags.clone(),
        gross: load.stop,
        fate: lot(load).map(|lot| lot.intake.fate),
        whose: lot(load).map(|lot| work.whose(lot).to_owned()),
    });
    let idle = aboard.iter().filter(|one| one.first.is_none());
    let idle = idle.map(|one| Returned {
        cylinder: one.cylinder.clone(),
        lot: None,
        holds: one.holds.clone(),
        tags: one.tags.clone(),
        gross: one.gross,
        fate: None,
        whose: None,
    });
    filled.chain(idle).collect()
}

/// What is different in the second of two plans for the same jobs, a cylinder to a line.
pub fn changes(before: &Plan, after: &Plan) -> Vec<String> {
    let find = |plan: &Plan, id: &Id| plan.loads.iter().find(|load| load.cylinder == *id).cloned();
    let mut lines = Vec::new();
    for load in &before.loads {
        match find(after, &load.cylinder) {
            None => lines.push(format!(
                "{} is out: it was to take {} of {}",
                load.cylinder,
                before.division.text(load.add),
                load.lot
            )),
            Some(now) if now.lot != load.lot => lines.push(format!(
                "{} takes {} in place of {}: stop at {}",
                load.cylinder,
                now.lot,
                load.lot,
                after.division.text(now.stop)
            )),
            Some(now) if now.stop != load.stop => lines.push(format!(
                "{} stops at {}, not at {}",
                load.cylinder,
                after.division.text(now.stop),
                before.division.text(load.stop)
            )),
            Some(_) => {}
        }
    }
    let new = after.loads.iter().filter(|load| find(before, &load.cylinder).is_none());
    lines.extend(new.map(|load| {
        format!("{} comes along for {}: stop at {}", load.cylinder, load.lot, after.division.text(load.stop))
    }));
    lines
}
