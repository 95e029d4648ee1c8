//! The plan for what is left, in parts: one for each lot, in the cylinders that it has already and in further ones.

use super::NoReplan;
use super::keep::{GoOn, Placed, keep};
use super::rest::{Left, OfLot, Own, Rest};
use crate::audit::{self, Audited};
use crate::cylinder::Cylinder;
use crate::job::Work;
use crate::plan::{Plan, Status};
use crate::planner::{self, Decided, Options, Priority, Progress};
use crate::quantity::Marks;
use crate::solver::Fill;

/// A plan for what is left.
#[derive(Debug, Default)]
pub(super) struct Parts {
    /// One for each lot that something goes into a cylinder of.
    pub plans: Vec<Audited>,
    /// What goes into cylinders that nothing has gone into, planned afresh: how few of them it takes, what is short, and why
    /// others are left out. `None` where begun ones take everything.
    pub fresh: Option<Audited>,
}

impl Parts {
    /// Places everything that is left.
    pub fn of(rest: &Rest, options: &Options, go_on: &mut GoOn) -> Result<Self, NoReplan> {
        let mut fresh = Fresh::with(rest, &|_| true);
        if let Some(with) = &mut fresh {
            with.plan(options, go_on)?;
        }
        let is_short = |fresh: &Fresh| fresh.plan.as_ref().is_some_and(|plan| plan.status == Status::Short);
        if fresh.as_ref().is_some_and(is_short) {
            // Where not everything finds a place, a little more in a finished cylinder saves none.
            fresh = Fresh::with(rest, &|own| !own.is_finished() || own.top - own.now >= own.least);
            if let Some(with) = &mut fresh {
                with.plan(options, go_on)?;
            }
        }
        let placed = match &fresh {
            None => keep(rest, 0, options, go_on),
            Some(fresh) => match fresh.fewest() {
                Some(most) => keep(rest, most, options, go_on).or_else(|| fresh.placed(rest)),
                None => fresh.placed(rest),
            },
        };
        let plans = placed.map_or(Ok(Vec::new()), |placed| audited(rest, placed))?;
        let fresh = fresh.and_then(|fresh| Some((fresh.work, fresh.plan?)));
        let fresh = fresh.map(|(work, plan)| audit::check(&work, plan)).transpose()?;
        Ok(Self { plans, fresh })
    }
}

/// Everything into begun cylinders that goes there, and a plan for the rest that keeps nothing.
struct Fresh {
    work: Work,
    /// For each lot of the rest, what goes into each of its own cylinders.
    own: Vec<Vec<Marks>>,
    plan: Option<Plan>,
}

impl Fresh {
    /// With these begun cylinders filled as far as they go. `None` where nothing is left then.
    fn with(rest: &Rest, may: &dyn Fn(&Own) -> bool) -> Option<Self> {
        let mut left = rest.left.clone();
        let mut own = Vec::new();
        for lot in &rest.lots {
            let room = |own: &Own| if own.begun && may(own) { own.top - own.now } else { 0 };
            let mut open = lot.left;
            let mut take = |room: Marks| {
                let add = room.min(open);
                open -= add;
                add
            };
            let adds: Vec<Marks> = lot.own.iter().map(|own| take(room(own))).collect();
            take_off(rest, lot, adds.iter().sum(), &mut left);
            own.push(adds);
        }
        Some(Self { work: rest.with_left(&left)?, own, plan: None })
    }

    fn plan(&mut self, options: &Options, go_on: &mut GoOn) -> Result<(), NoReplan> {
        // How few it takes is all that is asked of it.
        let mut few = |progress: &Progress| {
            let settled = progress.best.is_some_and(|best| best.cylinders <= progress.bounds.cylinders);
            (options.priority == Priority::Lightest || !settled) && go_on(progress)
        };
        self.plan = Some(planner::plan_as_it_stands(&self.work, options, &mut few)?);
        Ok(())
    }

    /// How many cylinders take everything.
    fn fewest(&self) -> Option<usize> {
        let plan = self.plan.as_ref()?;
        matches!(plan.status, Status::Proved | Status::Bounded).then_some(plan.totals.cylinders)
    }

    fn placed(&self, rest: &Rest) -> Option<Placed> {
        let fill = |load: &crate::plan::Load| {
            let cylinder = rest.together.yard().iter().position(|one| one.id == load.cylinder)?;
            let system = &load.pours.first()?.system;
            let lot =
                rest.together.lots().iter().position(|lot| lot.parts.iter().any(|part| part.system == *system))?;
            Some(Fill { cylinder, lot, add: load.add })
        };
        let fills = self.plan.as_ref()?.loads.iter().map(fill).collect::<Option<Vec<Fill>>>()?;
        Some(Placed { own: self.own.clone(), fills })
    }
}

/// Takes so much of a lot off what is left, one system after the other.
fn take_off(rest: &Rest, lot: &OfLot, mut marks: Marks, left: &mut Left) {
    for system in rest.day.of_lot(lot.lot) {
        let taken = left[system].min(marks);
        left[system] -= taken;
        marks -= taken;
    }
}

/// A plan for each lot, from what goes where: first the cylinders of the plan in force in its order, then further ones.
fn audited(rest: &Rest, placed: Placed) -> Result<Vec<Audited>, NoReplan> {
    let mut plans = Vec::new();
    for (lot, mut own) in rest.lots.iter().zip(placed.own) {
        let mut further: Vec<(Cylinder, Marks)> = Vec::new();
        for fill in placed.fills.iter().filter(|fill| fill.lot == lot.row) {
            match lot.own.iter().position(|own| own.slot == Some(fill.cylinder)) {
                Some(at) => own[at] += fill.add,
                None => further.push((rest.together.yard()[fill.cylinder].clone(), fill.add)),
            }
        }
        let mut after = rest.left.clone();
        let placed = own.iter().chain(further.iter().map(|(_, add)| add)).sum();
        take_off(rest, lot, placed, &mut after);
        let takes: Left = rest.with_pins().iter().zip(&after).map(|(before, after)| before - after).collect();
        further.extend(rest.pinned(lot));
        let decided = |(own, add): (&Own, Marks)| {
            let (planned, connected) = (own.pours.clone(), own.connected.clone());
            (own.cylinder.clone(), Decided { add: add + own.pinned, planned, connected })
        };
        let own = lot.own.iter().zip(own).map(decided);
        let further = further.into_iter().map(|(cylinder, add)| (cylinder, Decided { add, ..Decided::default() }));
        let all = own.chain(further).filter(|(_, decided)| decided.add > 0);
        let (yard, decided): (Vec<Cylinder>, Vec<Decided>) = all.unzip();
        if let Some(work) = rest.alone(lot.lot, &takes, yard) {
            let plan = planner::laid_out(&work, &decided);
            plans.push(audit::check(&work, plan)?);
        }
    }
    Ok(plans)
}
