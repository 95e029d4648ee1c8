//! The yard now as cylinders: the rows of its file with what the ledger says of each.

use jiff::civil::Date;

use crate::cylinder::{ByLedger, Cylinder, Facts, Id};
use crate::ledger::{Binding, CylinderNow, Doubt, Entry, EntryId, JobId, Jobs, Ledger, What, YardNow, bind_of};
use crate::quantity::Unit;
use crate::recovery::contents_of;
use crate::refrigerant::Refrigerant;
use crate::text::{Known, Latest, cylinder_of, state_of};

/// A yard with its ledger gone through.
#[derive(Debug, Clone, Default)]
pub struct YardRead {
    /// Its cylinders as they are now: those of the file in its order, then those that only the ledger knows.
    pub cylinders: Vec<Cylinder>,
    /// What the ledger says of each that it speaks of.
    pub now: YardNow,
    /// What every report has to say of the ledger.
    pub said: Vec<String>,
}

/// What the rows of a yard file and a ledger come to, on this day.
pub(super) fn yard_now(see: &Seen, rows: &[Cylinder], today: Date) -> YardRead {
    let states: Vec<(Id, _)> = rows.iter().map(|row| (row.id.clone(), state_of(row))).collect();
    let now = see.ledger.now_with(see.jobs, &states, today);
    let mut cylinders = Vec::with_capacity(rows.len());
    let mut said: Vec<String> = now.damage.iter().map(|damage| damage.why.clone()).collect();
    for row in rows {
        match now.get(&row.id) {
            Some(one) => cylinders.push(see.cylinder(row, one)),
            None => cylinders.push(row.clone()),
        }
    }
    for one in &now.cylinders {
        if one.missing {
            said.push(see.missing(one));
        } else if one.put_back && one.changed.is_none() {
            said.push(format!(
                "{}: its row stands as it did before the last settling; the ledger counts: {}. Where the row is right, \
                 say `cylinder YARD {} --as-file`",
                one.id,
                see.words(&one.inside.state),
                one.id
            ));
        }
        if let Some(file) = &one.changed {
            said.push(format!(
                "{}: its row was changed by hand: it says {}, and the ledger {}. Until `cylinder YARD {} --as-file` takes the \
                 row's word, or the row is put back, it is in no plan",
                one.id,
                see.words(file),
                see.words(&one.inside.state),
                one.id
            ));
        }
        if let Some(doubt) = &one.doubt {
            said.push(format!(
                "{}: in doubt: {}. Until somebody weighs it and says what it holds, it is in no plan",
                one.id,
                see.doubt(doubt)
            ));
        }
        let here = rows.iter().any(|row| row.id == one.id);
        let added = one.row.as_ref().filter(|_| !here && !one.missing);
        if let Some(row) = added.and_then(|row| cylinder_of(row, see.known, Latest::from(today)).ok()) {
            cylinders.push(see.cylinder(&row, one));
        }
        said.extend(see.beside(one));
    }
    YardRead { cylinders, now, said }
}

/// What is looked through.
pub(super) struct Seen<'a> {
    pub ledger: &'a Ledger,
    /// Those of the ledger.
    pub jobs: &'a Jobs<'a>,
    /// The jobs that it is looked at for: what is bound for them isn't bound elsewhere.
    pub ours: &'a [JobId],
    pub unit: Unit,
    pub known: &'a Known,
    /// Finds refrigerants that only other jobs describe.
    pub others: &'a dyn Fn(&str) -> Option<Refrigerant>,
}

impl Seen<'_> {
    /// A cylinder with its stamp as the file has it, and everything else as the ledger says.
    fn cylinder(&self, row: &Cylinder, now: &CylinderNow) -> Cylinder {
        let state = &now.inside.state;
        let mut facts = Facts::clone(row);
        facts.gross = state.gross;
        facts.contents = contents_of(state, &|name| self.find(name));
        facts.condition = state.condition;
        facts.owner.clone_from(&state.owner);
        facts.kept_for.clone_from(&state.kept_for);
        facts.cleaned = state.cleaned;
        if now.inside.by.is_some() {
            // What was measured before says nothing of what is in it now.
            facts.measured = None;
        }
        if now.inside.least < facts.tare {
            let label = row.label_net();
            facts.tare = now.inside.least;
            facts.max_gross = label.map(|net| facts.tare + net);
        }
        facts.ledger = ByLedger {
            bound: now.bound.as_ref().and_then(|bound| self.bound(bound)),
            doubt: now.doubt.as_ref().map(|doubt| self.doubt(doubt)),
            out: now.out.as_ref().map(|why| if why.is_empty() { "no reason was given".into() } else { why.clone() }),
            changed: now
                .changed
                .as_ref()
                .map(|file| format!("the file says {}, the ledger {}", self.words(file), self.words(state))),
            ours: !now.inside.pours.is_empty(),
            mixed: now.inside.mixed,
        };
        // A weight that no cylinder can have leaves the row, in doubt.
        Cylinder::new(facts.clone()).unwrap_or_else(|_| {
            let doubt = Some("the ledger has a weight of it that no cylinder can have".to_owned());
            let ledger = ByLedger { doubt, ..facts.ledger };
            Cylinder::new(Facts { ledger, ..Facts::clone(row) }).unwrap_or_else(|_| row.clone())
        })
    }

    fn find(&self, name: &str) -> Option<Refrigerant> {
        self.known.named(name).or_else(|| Refrigerant::find(name).ok()).or_else(|| (self.others)(name))
    }

    /// Who has it, where that is somebody else.
    fn bound(&self, bound: &Binding) -> Option<String> {
        let Some(bind) = self.ledger.entry(&bound.bind).and_then(bind_of) else {
            return self.bound_by_lost(&bound.bind);
        };
        let open = |id: &JobId| self.jobs.get(id).is_none_or(|job| !job.is_closed());
        if bind.jobs.iter().any(|job| self.ours.contains(&job.id())) {
            return None;
        }
        let names: Vec<&str> = bind.jobs.iter().filter(|job| open(&job.id())).map(|job| job.name.as_str()).collect();
        let van = bound.van.as_deref().map(|van| format!(" on {van}")).unwrap_or_default();
        Some(format!("{}{van}", names.join(", ")))
    }

    /// Who has it by a plan that isn't there: whoever has read it by that plan.
    fn bound_by_lost(&self, bind: &EntryId) -> Option<String> {
        let by_it = |entry: &&Entry| matches!(&entry.what, What::Reading(reading) if reading.bind == *bind);
        let job = self.ledger.entries.iter().find(by_it).and_then(|entry| entry.job.as_ref());
        let name = job.map_or_else(String::new, |job| format!("{}, ", job.name));
        job.is_none_or(|job| !self.ours.contains(job)).then(|| format!("{name}by a plan that isn't there ({bind})"))
    }

    fn doubt(&self, doubt: &Doubt) -> String {
        let who = |ids: &[EntryId]| {
            let one = |id: &EntryId| match self.ledger.entry(id) {
                Some(entry) => format!("{} at {} ({id})", entry.by, entry.at),
                None => id.to_string(),
            };
            ids.iter().map(one).collect::<Vec<_>>().join(" and ")
        };
        match doubt {
            Doubt::Apart(ids) => format!("{} didn't know of each other", who(ids)),
            Doubt::Contested(ids) => format!("{} both plan with it; one of them has to plan again", who(ids)),
            Doubt::Lost(ids) if ids.is_empty() => "a line of the ledger that speaks of it can't be read".into(),
            Doubt::Lost(ids) => {
                format!("entries of the ledger that speak of it aren't there or can't be read: {}", who(ids))
            }
        }
    }

    fn missing(&self, now: &CylinderNow) -> String {
        let bound = now.bound.as_ref().and_then(|bound| self.bound(bound));
        let bound = bound.map(|who| format!("; it stays bound for {who}")).unwrap_or_default();
        format!(
            "row-missing: {}: no row of the yard has it any more; by the ledger it is there: {}{bound}",
            now.id,
            self.words(&now.inside.state)
        )
    }

    /// A plan of ours that has a cylinder which somebody else has begun.
    fn beside(&self, now: &CylinderNow) -> Vec<String> {
        let names = |id: &EntryId| {
            let bind = self.ledger.entry(id).and_then(bind_of)?;
            let ours = bind.jobs.iter().any(|job| self.ours.contains(&job.id()));
            ours.then(|| bind.jobs.iter().map(|job| job.name.clone()).collect::<Vec<_>>().join(", "))
        };
        let lost = now.lost_by.iter().filter_map(names);
        lost.map(|job| format!("{}: another job has begun it; the plan of {job} has to be made anew: `replan`", now.id))
            .collect()
    }

    /// A state in a few words.
    fn words(&self, state: &crate::ledger::CylinderState) -> String {
        let mixed = || format!("mixed {}", state.may_contain.join(" + "));
        let contents = if state.holds == "mixed" { mixed() } else { state.holds.clone() };
        format!("{} with {contents}", self.unit.text(state.gross))
    }
}
