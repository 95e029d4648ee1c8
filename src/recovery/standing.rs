//! How every cylinder stands by the log, and which of them have to be told of first.

use super::closeout::condition;
use super::inside::Inside;
use super::rest::with;
use super::{Day, Filling, Planned};
use crate::cylinder::{Alarm, Contents, Cylinder, Fate, Level, Standing, Terms, alarms, level, overfull};
use crate::quantity::Marks;
use crate::refrigerant::Fluid;

impl Day<'_> {
    /// Every cylinder that holds more than it should or is mixed, in the order of the yard. The surplus goes where the
    /// plan has nothing else to put, or into a cylinder of the same lot that stays under its stop weight: the plan given,
    /// which is to be in force, or the one that is.
    pub fn alarms(&self, planned: Option<&Planned>) -> Vec<Alarm> {
        let planned = planned.or(self.planned());
        let yard: Vec<Standing> = self.fillings.iter().map(|filling| self.standing(filling)).collect();
        let may_take = |from: usize, into: usize, take: Marks| {
            let filling = &self.fillings[into];
            let id = &filling.start.id;
            let step = planned.and_then(|planned| planned.steps.iter().find(|step| step.cylinder == *id));
            let same = |lot: &str| {
                let lots = self.lots_in(&self.fillings[from]);
                lots.len() == 1 && lots.iter().all(|ours| self.lot(*ours).name == lot)
            };
            let fits = step.is_none_or(|step| same(&step.lot) && filling.now.saturating_add(take) <= step.stop);
            fits && !filling.without && !filling.lost
        };
        alarms(&yard, &may_take)
    }

    /// How bad it is with a cylinder, where anything is.
    pub(super) fn level(&self, filling: &Filling) -> Option<Level> {
        level(&self.standing(filling))
    }

    /// How bad it would be with so much of a lot in a cylinder.
    pub(super) fn level_at(&self, filling: &Filling, gross: Marks, lot: usize) -> Option<Level> {
        let intake = &self.lot(lot).intake;
        let filled = with(&filling.start, |facts| {
            facts.gross = self.division().weight(gross);
            facts.contents = held(intake.with(&filling.start));
            facts.tare = filling.tare(self.division());
            facts.max_gross = filling.start.label_net().map(|net| facts.tare + net);
        })?;
        overfull(&filled, &intake.terms).map(|over| over.level())
    }

    fn standing(&self, filling: &Filling) -> Standing {
        let lots = self.lots_in(filling);
        let cylinder = self.now(filling);
        let terms: Vec<Terms> = if lots.is_empty() {
            self.work.terms_for(&cylinder.contents)
        } else {
            lots.iter().map(|lot| self.lot(*lot).intake.terms).collect()
        };
        Standing { cylinder, terms, ours: filling.start.ledger.ours || !lots.is_empty(), mixed: self.is_mixed(filling) }
    }

    /// A cylinder as it stands by its last reading, with what is in it. The tare that counted when it was begun counts on.
    fn now(&self, filling: &Filling) -> Cylinder {
        let start = &filling.start;
        let lots = self.lots_in(filling);
        let now = with(start, |facts| {
            if filling.last.is_some() {
                facts.gross = self.division().weight(filling.now);
            }
            let Some(lot) = lots.first().map(|lot| self.lot(*lot)) else { return };
            facts.tare = filling.tare(self.division());
            facts.max_gross = start.label_net().map(|net| facts.tare + net);
            facts.contents = Inside::of(self, filling, None).contents;
            facts.condition = condition(self, filling, &lots);
            facts.measured = None;
            if lot.intake.fate != Fate::Reclaim {
                let job = self.job_of(lots[0]);
                (facts.owner, facts.kept_for) = (job.owner.clone(), Some(job.name.clone()));
            }
        });
        // No cylinder weighs nothing: such a reading leaves it as it was.
        now.unwrap_or_else(|| start.clone())
    }
}

fn held(fluid: Fluid) -> Contents {
    match fluid {
        Fluid::One(refrigerant) => Contents::Holds(refrigerant),
        Fluid::Mixed(parts) => Contents::Mixed(parts),
    }
}
