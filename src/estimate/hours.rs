//! The hours of a job, piece by piece.
//!
//! A system's recovery time is rounded up to a whole minute. With the same cylinders and the same carrying, more charge
//! never takes fewer hours: systems go to the machines in the order of the file, each to the one that is free first, and
//! what hangs on cylinders is done one after the other, beside no recovery: the safe side.

use super::{Figure, Origin, Range, Terms};
use crate::job::usual_one_person;
use crate::job::{Job, Work};
use crate::plan::Plan;
use crate::planner::{Visit, visits};
use crate::quantity::{Decimal, Marks, Weight};

/// Minutes from low over likely to high.
type Minutes = Range<Decimal>;

/// A piece of a job's time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece {
    /// What is done.
    pub what: &'static str,
    /// The system, where it is of one.
    pub system: Option<String>,
    /// How long that takes.
    pub minutes: Minutes,
    /// How that was figured, at the likely value.
    pub basis: String,
    /// Where the figures come from.
    pub origin: Origin,
}

/// The hours of one job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hours {
    /// The job, by its position in the work.
    pub job: usize,
    /// Its name.
    pub name: String,
    /// Every piece, in the order of the day.
    pub pieces: Vec<Piece>,
    /// The recovery of each system, hoses to leak check.
    pub systems: Vec<(String, Minutes)>,
    /// From leaving to coming back, machines working side by side.
    pub elapsed: Minutes,
    /// Minutes of all people: the crew for the elapsed time, and a second person for lifts where the crew is one.
    pub crew: Minutes,
    /// People of the crew.
    pub people: u32,
    /// Lifts for two people or the hoist.
    pub heavy: usize,
}

/// The hours of every job of the work; `terms` has an entry for each.
pub fn hours(work: &Work, plan: &Plan, terms: &[Terms]) -> Vec<Hours> {
    let visits = visits(work, plan);
    let jobs = work.jobs().iter().zip(&visits).zip(terms);
    jobs.map(|((job, visit), terms)| of_job(work, plan, job, visit, terms)).collect()
}

fn of_job(work: &Work, plan: &Plan, job: &Job, visit: &Visit, terms: &Terms) -> Hours {
    let labour = &terms.labour;
    let mut pieces = vec![single(terms, Figure::Travel), single(terms, Figure::SetUp)];
    let mut systems = Vec::new();
    // Parts stand by lots; the day goes in the order of the file.
    let parts: Vec<_> = work.lots().iter().flat_map(|lot| &lot.parts).filter(|part| part.job == visit.job).collect();
    for system in &job.systems {
        let label = |part: &&&crate::job::Part| is_of(&part.system, &job.name, &system.name, work.jobs().len() > 1);
        let Some(part) = parts.iter().find(label) else { continue };
        let own = of_system(&system.name, work.division().weight(part.charge), terms);
        systems.push((system.name.clone(), own.iter().map(|piece| piece.minutes).sum::<Minutes>()));
        pieces.extend(own);
    }
    let one_person = job.one_person.unwrap_or_else(usual_one_person);
    let carried = Carried::of(work, plan, visit, one_person);
    let serial = [
        times(terms, Figure::CylinderChange, "cylinder changes", visit.fills.len(), 1),
        times(terms, Figure::Carry, "carrying up", carried.ways, labour.floors()),
        times(terms, Figure::Carry, "carrying down", carried.ways, labour.floors()),
        times(terms, Figure::Label, "labels", carried.begun, 1),
        single(terms, Figure::Paperwork),
    ];
    let both_ends = pieces[0].minutes + pieces[1].minutes;
    let machines = side_by_side(&systems, labour.machines());
    let elapsed = both_ends + machines + serial.iter().map(|piece| piece.minutes).sum();
    // One person can't carry it alone: where there is neither crew nor hoist, somebody else has to come for it.
    let helped = labour.crew() == 1 && terms.prices.hoist.is_none();
    let helper = if helped { carry_time(terms, carried.heavy) } else { Range::default() };
    pieces.extend(serial);
    let crew = elapsed.map(|minutes| minutes * Decimal::from(labour.crew())) + helper;
    Hours {
        job: visit.job,
        name: job.name.clone(),
        pieces,
        systems,
        elapsed,
        crew,
        people: labour.crew(),
        heavy: carried.heavy,
    }
}

/// Whether a part's label is this system's: its name, behind its job's where several jobs are planned together.
fn is_of(label: &str, job: &str, system: &str, several: bool) -> bool {
    if several { *label == format!("{job} / {system}") } else { label == system }
}

/// What is carried at a visit.
struct Carried {
    /// Ways of one cylinder: up, and as many down.
    ways: usize,
    /// Ways over what one person lifts, up or down.
    heavy: usize,
    /// Cylinders begun here.
    begun: usize,
}

impl Carried {
    fn of(work: &Work, plan: &Plan, visit: &Visit, one_person: Weight) -> Self {
        let heavy = |marks: Marks| usize::from(work.division().weight(marks) > one_person);
        let now = |load: usize| plan.loads.get(load).map(|load| load.now);
        Self {
            ways: visit.fills.len(),
            heavy: visit.fills.iter().map(|fill| heavy(fill.before) + heavy(fill.after())).sum(),
            begun: visit.fills.iter().filter(|fill| now(fill.load) == Some(fill.before)).count(),
        }
    }
}

fn carry_time(terms: &Terms, ways: usize) -> Minutes {
    let (each, _) = terms.labour.figure(Figure::Carry);
    each.map(|each| each * Decimal::from(ways) * Decimal::from(terms.labour.floors()))
}

fn single(terms: &Terms, figure: Figure) -> Piece {
    let (minutes, origin) = terms.labour.figure(figure);
    let what = figure.line().what;
    Piece { what, system: None, minutes, basis: "once".into(), origin }
}

fn times(terms: &Terms, figure: Figure, what: &'static str, count: usize, floors: u32) -> Piece {
    let (each, origin) = terms.labour.figure(figure);
    let minutes = each.map(|each| each * Decimal::from(count) * Decimal::from(floors));
    let floors = if floors > 1 { format!(" x {floors} floors") } else { String::new() };
    Piece { what, system: None, minutes, basis: format!("{count} x {} min{floors}", each.likely.normalize()), origin }
}

/// Hoses, liquid, vapour, pull-down and leak check of a system. Liquid and vapour together are rounded up to a minute,
/// once, so that neither more charge nor a higher figure ever makes them shorter.
fn of_system(name: &str, charge: Weight, terms: &Terms) -> Vec<Piece> {
    let labour = &terms.labour;
    let (share, share_from) = labour.figure(Figure::VapourShare);
    let (derating, derating_from) = labour.figure(Figure::Derating);
    let hundred = Decimal::ONE_HUNDRED;
    let exact = |rate: Weight, share: Range<Decimal>| {
        share.with(derating, |share, derating| {
            let rate = rate.times((hundred - derating) / hundred);
            charge.times(share / hundred).ratio_to(rate).unwrap_or_default()
        })
    };
    let (liquid_rate, liquid_from) = labour.liquid_rate();
    let (vapour_rate, vapour_from) = labour.vapour_rate();
    let liquid_share = share.map(|share| hundred - share);
    let liquid = exact(liquid_rate, liquid_share);
    let both = liquid + exact(vapour_rate, share);
    let vapour = both.with(liquid, |both, liquid| both.ceil() - liquid.ceil());
    let recovery = |what, minutes, share: Range<Decimal>, rate_from| Piece {
        what,
        system: Some(name.to_owned()),
        minutes,
        basis: format!("{} % at the plate's rate less {} %", share.likely.normalize(), derating.likely.normalize()),
        origin: if [rate_from, share_from, derating_from].iter().all(|from| *from == Origin::File) {
            Origin::File
        } else {
            Origin::Assumed
        },
    };
    let of = |figure| Piece { system: Some(name.to_owned()), ..single(terms, figure) };
    vec![
        of(Figure::HookUp),
        recovery("liquid recovery", liquid.map(|minutes| minutes.ceil()), liquid_share, liquid_from),
        recovery("vapour recovery", vapour, share, vapour_from),
        of(Figure::PullDown),
        of(Figure::LeakCheck),
    ]
}

/// The time that so many machines take for the systems, in the order of the file, each to the machine that is free
/// first. A longer system never makes it shorter.
fn side_by_side(systems: &[(String, Minutes)], machines: u32) -> Minutes {
    let end = |pick: fn(&Minutes) -> Decimal| {
        let machines = usize::try_from(machines).unwrap_or(1).min(systems.len()).max(1);
        let mut busy = vec![Decimal::ZERO; machines];
        for (_, minutes) in systems {
            if let Some(free) = busy.iter_mut().min() {
                *free += pick(minutes);
            }
        }
        busy.into_iter().max().unwrap_or_default()
    };
    Range { low: end(|one| one.low), likely: end(|one| one.likely), high: end(|one| one.high) }
}
