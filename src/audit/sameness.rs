//! Which systems may share cylinders, on which terms, and how much has to be placed: figured again from the jobs.

use jiff::civil::Date;

use crate::cylinder::{Condition, Fate, Terms};
use crate::job::{Allowance, Charge, Job, System};
use crate::quantity::{Division, Marks, Percent, Temperature, Weight};
use crate::refrigerant::Fluid;

/// Systems that may share cylinders.
pub(super) struct Group<'a> {
    pub fluid: &'a Fluid,
    pub condition: Condition,
    pub fate: Fate,
    /// The owner of all its systems, where that is one.
    pub owner: Option<&'a str>,
    /// The job for which it is kept, where it is for reuse.
    pub kept_for: Option<&'a str>,
    pub strictest: Strictest,
    /// What has to be placed.
    pub charge: Marks,
    pub parts: Vec<SystemPart>,
}

impl Group<'_> {
    /// Its systems, as one.
    pub fn label(&self) -> String {
        let labels: Vec<&str> = self.parts.iter().map(|part| part.label.as_str()).collect();
        labels.join(", ")
    }
}

/// A system's part of a group.
pub(super) struct SystemPart {
    /// Its name, after that of its job where there are several.
    pub label: String,
    pub charge: Marks,
}

/// The strictest of the terms of every system in a group.
pub(super) struct Strictest {
    pub fill: Percent,
    /// The hottest of the limit temperatures and places of storage.
    pub fill_at: Temperature,
    /// The hottest of 131 °F and the places of storage.
    pub pressure_at: Temperature,
    /// The rules of the United States apply.
    pub us: bool,
    /// The UN Model Regulations apply, with their test pressure.
    pub un: bool,
    /// The filling ratio of P200 applies, be it without the rest of the UN rules.
    pub p200: bool,
    pub lift_limit: Option<Weight>,
    pub capacity: Option<Weight>,
    pub accuracy: Weight,
    pub division: Division,
    pub date: Date,
}

/// A system and where it stands.
#[derive(Clone, Copy)]
struct Member<'a> {
    job_index: usize,
    job: &'a Job,
    system: &'a System,
}

/// Every group, in the order in which their first systems stand; `several`: systems are named with their jobs.
pub(super) fn groups(jobs: &[Job], division: Division, several: bool) -> Vec<Group<'_>> {
    let mut together: Vec<Vec<Member>> = Vec::new();
    for (job_index, job) in jobs.iter().enumerate() {
        for system in &job.systems {
            let member = Member { job_index, job, system };
            match together.iter_mut().find(|group| may_share(group[0], member)) {
                Some(group) => group.push(member),
                None => together.push(vec![member]),
            }
        }
    }
    let mut groups: Vec<Group> = together.iter().map(|members| group(members, division, several)).collect();
    // Of two lots for reuse that a heel kept for their job may come from, it is neither's.
    let alike = |one: &Group, other: &Group| {
        one.kept_for.is_some()
            && one.kept_for == other.kept_for
            && one.fluid == other.fluid
            && one.condition == other.condition
    };
    let doubtful: Vec<bool> =
        groups.iter().map(|one| groups.iter().filter(|other| alike(one, other)).count() > 1).collect();
    for (group, _) in groups.iter_mut().zip(doubtful).filter(|(_, doubtful)| *doubtful) {
        group.kept_for = None;
    }
    groups
}

/// Whether two systems may share a cylinder: same refrigerant, condition and fate; for reuse also the same job and
/// owner, and the same system unless the job joins them. A mixed charge shares with nothing.
fn may_share(one: Member, other: Member) -> bool {
    let mixed = |of: Member| of.system.condition == Condition::Mixed || matches!(of.system.fluid, Fluid::Mixed(_));
    let reuse = one.system.fate == Fate::Reuse;
    !mixed(one)
        && !mixed(other)
        && one.system.fluid == other.system.fluid
        && one.system.condition == other.system.condition
        && one.system.fate == other.system.fate
        && (!reuse || (one.job_index == other.job_index && one.job.owner == other.job.owner && one.job.reuse_together))
}

fn group<'a>(members: &[Member<'a>], division: Division, several_jobs: bool) -> Group<'a> {
    let first = members[0];
    let owner = first.job.owner.as_deref();
    let one_owner = members.iter().all(|member| member.job.owner.as_deref() == owner);
    let mut parts = Vec::new();
    let mut exact = Weight::ZERO;
    let mut charge = 0;
    for member in members {
        // Rounded up once for the lot; a system's part is what it adds to the rounded sum.
        exact = exact + planned(member.system);
        let so_far = division.ceil(exact);
        parts.push(SystemPart { label: label(member, several_jobs), charge: so_far - charge });
        charge = so_far;
    }
    Group {
        fluid: &first.system.fluid,
        condition: first.system.condition,
        fate: first.system.fate,
        owner: owner.filter(|_| one_owner),
        kept_for: (first.system.fate == Fate::Reuse).then_some(first.job.name.as_str()),
        strictest: strictest(members, division),
        charge,
        parts,
    }
}

fn label(member: &Member, several_jobs: bool) -> String {
    if several_jobs { format!("{} / {}", member.job.name, member.system.name) } else { member.system.name.clone() }
}

/// (nameplate + added, or the high estimate) + allowance: a share of that sum, or a weight.
fn planned(system: &System) -> Weight {
    let recorded = match system.charge {
        Charge::Recorded { nameplate, added } => nameplate + added,
        Charge::Estimated { span, .. } => span.high,
    };
    let allowance = match system.allowance {
        Allowance::Share(share) => recorded.times(share.fraction()),
        Allowance::Weight(weight) => weight,
    };
    recorded + allowance
}

fn strictest(members: &[Member], division: Division) -> Strictest {
    let all: Vec<&Terms> = members.iter().map(|member| &member.job.terms).collect();
    let first = all[0];
    let fills = members.iter().filter_map(|member| member.system.fill);
    let fills = fills.chain(all.iter().map(|terms| terms.fill));
    let hottest = all.iter().filter_map(|terms| terms.hottest);
    let low = all.iter().any(|terms| terms.at.is_below(Temperature::from_fahrenheit(130.0)));
    let same_temperature = all.iter().all(|terms| terms.at == first.at);
    let un = all.iter().any(|terms| terms.rules.un());
    Strictest {
        fill: fills.fold(first.fill, |lowest, fill| lowest.min(fill)),
        fill_at: hottest.clone().chain(all.iter().map(|terms| terms.at)).fold(first.at, Temperature::max),
        pressure_at: hottest.fold(Temperature::from_celsius(55.0), Temperature::max),
        us: all.iter().any(|terms| terms.rules.us()),
        // Jobs with different limit temperatures, one of them under 130 °F, are held to the UN rules together.
        un: un || (low && !same_temperature),
        p200: un || low,
        lift_limit: all.iter().filter_map(|terms| terms.lift_limit).min(),
        capacity: all.iter().filter_map(|terms| terms.scale.capacity).min(),
        accuracy: all.iter().map(|terms| terms.scale.accuracy).max().unwrap_or(Weight::ZERO),
        division,
        date: all.iter().map(|terms| terms.date).max().unwrap_or(first.date),
    }
}
