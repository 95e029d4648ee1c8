//! The hours of a job, piece by piece.
//!
//! A system's recovery time is rounded up to a whole minute. With the same cylinders and the same carrying, more charge
//! never takes fewer hours: systems go to the machines in the order of the file, each to the one that is free first, and
//! what hangs on cylinders is done one after the other, beside no recovery: the safe side. What doesn't fit into a working
//! day goes on the next one, with travel and set-up again.

use super::{Figure, Origin, Range, Terms, charge_of};
use crate::job::{Carrying, Job, Work};
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
    /// From leaving to coming back, of all days, machines working side by side.
    pub elapsed: Minutes,
    /// Working days; each has its travel and its set-up.
    pub days: Range<Decimal>,
    /// Minutes beyond the stated ones of each day; none where the file states no overtime.
    pub overtime: Minutes,
    /// Minutes of all people: the crew for the elapsed time, and a second person for lifts where the crew is one.
    pub crew: Minutes,
    /// People of the crew.
    pub people: u32,
    /// Ways of a cylinder, up or down, over what one person lifts.
    pub heavy: usize,
    /// Ways of a cylinder that take a hoist.
    pub hoisted: usize,
    /// What the filled cylinders weigh that leave on the fullest trip, where each day takes its share back.
    pub trip: Marks,
}

/// The hours of every job of the work; `terms` has an entry for each.
pub fn hours(work: &Work, plan: &Plan, terms: &[Terms]) -> Vec<Hours> {
    let visits = visits(work, plan);
    let jobs = work.jobs().iter().zip(&visits).zip(terms);
    jobs.map(|((job, visit), terms)| of_job(work, plan, job, visit, terms)).collect()
}

fn of_job(work: &Work, plan: &Plan, job: &Job, visit: &Visit, terms: &Terms) -> Hours {
    let labour = &terms.labour;
    let mut recovery = Vec::new();
    let mut systems = Vec::new();
    for system in &job.systems {
        let own = of_system(&system.name, charge_of(system), terms);
        systems.push((system.name.clone(), own.iter().map(|piece| piece.minutes).sum::<Minutes>()));
        recovery.extend(own);
    }
    let carried = Carried::of(work, plan, visit, job);
    // A hoist that is paid for carries in the crew's place.
    let by_hand = if terms.prices.hoist.is_some() { carried.by_hand } else { carried.ways };
    let floors = labour.floors();
    let serial = [
        times(terms, Figure::CylinderChange, "cylinder changes", visit.fills.len(), 1),
        times(terms, Figure::Carry, "carrying up", by_hand.up, floors),
        times(terms, Figure::Carry, "carrying down", by_hand.down, floors),
        times(terms, Figure::Label, "labels", carried.begun, 1),
        single(terms, Figure::Paperwork),
    ];
    let on_site = side_by_side(&systems, labour.machines()) + serial.iter().map(|piece| piece.minutes).sum::<Minutes>();
    let days = days(on_site, terms);
    let each_day = [Figure::Travel, Figure::SetUp].map(|figure| daily(terms, figure, days));
    let elapsed = on_site + each_day.iter().map(|piece| piece.minutes).sum();
    // One person can't carry it alone: where there is neither crew nor hoist, somebody else has to come for it.
    let alone = if labour.crew() == 1 { carried.heavy_by_hand(terms.prices.hoist.is_some()) } else { 0 };
    let crew = elapsed.map(|minutes| minutes * Decimal::from(labour.crew())) + carry_time(terms, alone);
    Hours {
        job: visit.job,
        name: job.name.clone(),
        pieces: each_day.into_iter().chain(recovery).chain(serial).collect(),
        systems,
        elapsed,
        days,
        overtime: overtime(elapsed, days, terms),
        crew,
        people: labour.crew(),
        heavy: carried.heavy,
        hoisted: carried.ways.up + carried.ways.down - carried.by_hand.up - carried.by_hand.down,
        trip: fullest(visit, days.likely),
    }
}

/// The days that so many minutes on site take, where each has its travel and set-up.
fn days(on_site: Minutes, terms: &Terms) -> Range<Decimal> {
    let (day, _) = terms.labour.day();
    let beside = terms.labour.figure(Figure::Travel).0 + terms.labour.figure(Figure::SetUp).0;
    on_site.with(beside, |minutes, beside| {
        // A file that leaves nothing of its day is refused; where code does it, an hour a day is worked.
        let room = (day - beside).max(Decimal::from(60));
        (minutes / room).ceil().max(Decimal::ONE)
    })
}

/// What goes beyond the hours of a day after which they cost more; every day but the last is full.
fn overtime(elapsed: Minutes, days: Range<Decimal>, terms: &Terms) -> Minutes {
    let Some(overtime) = terms.prices.overtime else { return Minutes::default() };
    let (day, _) = terms.labour.day();
    let beyond = |minutes: Decimal| (minutes - overtime.after).max(Decimal::ZERO);
    elapsed.with(days, |elapsed, days| {
        let full = days - Decimal::ONE;
        full * beyond(day) + beyond(elapsed - full * day)
    })
}

/// Ways of a cylinder, up and down.
#[derive(Debug, Clone, Copy, Default)]
struct Ways {
    up: usize,
    down: usize,
}

/// What is carried at a visit.
struct Carried {
    /// All ways of one cylinder.
    ways: Ways,
    /// Those that take no hoist.
    by_hand: Ways,
    /// Ways over what one person lifts.
    heavy: usize,
    /// Those of them that take no hoist.
    heavy_by_hand: usize,
    /// Cylinders begun here.
    begun: usize,
}

impl Carried {
    fn of(work: &Work, plan: &Plan, visit: &Visit, job: &Job) -> Self {
        let carrying = Carrying::at(job);
        let now = |load: usize| plan.loads.get(load).map(|load| load.now);
        let begun = visit.fills.iter().filter(|fill| now(fill.load) == Some(fill.before)).count();
        let count = visit.fills.len();
        let (mut by_hand, mut heavy, mut heavy_by_hand) = (Ways::default(), 0, 0);
        for fill in &visit.fills {
            for (gross, ways) in [(fill.before, &mut by_hand.up), (fill.after(), &mut by_hand.down)] {
                let gross = work.division().weight(gross);
                let (over, hand) = (carrying.is_over_one(gross), !carrying.is_hoisted(gross));
                *ways += usize::from(hand);
                heavy += usize::from(over);
                heavy_by_hand += usize::from(over && hand);
            }
        }
        Self { ways: Ways { up: count, down: count }, by_hand, heavy, heavy_by_hand, begun }
    }

    /// Ways for more than one person, where a hoist carries what takes one, or where there is none.
    fn heavy_by_hand(&self, has_hoist: bool) -> usize {
        if has_hoist { self.heavy_by_hand } else { self.heavy }
    }
}

/// What leaves on the fullest of so many trips, each cylinder on the one that is lightest so far, the heaviest first.
fn fullest(visit: &Visit, trips: Decimal) -> Marks {
    let trips = usize::try_from(trips).unwrap_or(1).clamp(1, visit.fills.len().max(1));
    let mut loads = vec![0; trips];
    let mut gross: Vec<Marks> = visit.fills.iter().map(crate::planner::VisitFill::after).collect();
    gross.sort_unstable_by_key(|gross| std::cmp::Reverse(*gross));
    for gross in gross {
        if let Some(least) = loads.iter_mut().min() {
            *least += gross;
        }
    }
    loads.into_iter().max().unwrap_or(0)
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

/// A piece of every working day.
fn daily(terms: &Terms, figure: Figure, days: Range<Decimal>) -> Piece {
    let one = single(terms, figure);
    if days == Range::exactly(Decimal::ONE) {
        return one;
    }
    let (each, (_, day_from)) = (one.minutes, terms.labour.day());
    let origin = if day_from == Origin::Assumed { Origin::Assumed } else { one.origin };
    let basis = format!("{} days x {} min", days.likely, each.likely.normalize());
    Piece { minutes: each.with(days, |each, days| each * days), basis, origin, ..one }
}

fn times(terms: &Terms, figure: Figure, what: &'static str, count: usize, floors: u32) -> Piece {
    let (each, origin) = terms.labour.figure(figure);
    let minutes = each.map(|each| each * Decimal::from(count) * Decimal::from(floors));
    let floors = if floors > 1 { format!(" x {floors} floors") } else { String::new() };
    Piece { what, system: None, minutes, basis: format!("{count} x {} min{floors}", each.likely.normalize()), origin }
}

/// Hoses, liquid, vapour, pull-down and leak check of a system. Liquid and vapour together are rounded up to a minute,
/// once, so that neither more charge nor a higher figure ever makes them shorter.
fn of_system(name: &str, charge: Range<Weight>, terms: &Terms) -> Vec<Piece> {
    let labour = &terms.labour;
    let (share, share_from) = labour.figure(Figure::VapourShare);
    let (derating, derating_from) = labour.figure(Figure::Derating);
    let hundred = Decimal::ONE_HUNDRED;
    let exact = |rate: Weight, share: Range<Decimal>| {
        let charge = charge.with(share, |charge, share| charge.times(share / hundred));
        charge.with(derating, |charge, derating| {
            let rate = rate.times((hundred - derating) / hundred);
            charge.ratio_to(rate).unwrap_or_default()
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
