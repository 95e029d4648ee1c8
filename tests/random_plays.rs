//! Random days at the scale, through the library: readings, corrections and replans against a plain ledger of what the
//! cylinders weigh.
//!
//! After every step the weight is conserved to the division, and no plan for what is left passes a limit or mixes.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use chargesplit::audit;
use chargesplit::cylinder::{
    Condition, Contents, Cylinder, Facts, Fate, Mark, Rules, Scale, Terms, TestPeriod, limit, reasons,
};
use chargesplit::files::Log;
use chargesplit::job::{Allowance, Charge, Job, JobFacts, System, SystemFacts, Work};
use chargesplit::planner::{self, Options};
use chargesplit::quantity::{Decimal, Division, Percent, Unit, Weight};
use chargesplit::recovery::{
    Action, Asked, Changes, Day, Entry, Moment, NoReplan, Replanned, Shown, closeout, first_plan, replan, status, weigh,
};
use chargesplit::refrigerant::{Fluid, Refrigerant};
use fastrand::Rng;
use jiff::Timestamp;
use jiff::civil::{Date, date};
use jiff::tz::Offset;

const PLAYS: u64 = 1_000;
const DAY: Date = date(2026, 12, 1);

fn tenths(tenths: i64) -> Weight {
    Weight::pounds(Decimal::new(tenths, 1))
}

fn refrigerant(name: &str) -> Refrigerant {
    Refrigerant::find(name).unwrap()
}

fn cylinder(rng: &mut Rng, number: usize) -> Cylinder {
    let (water, tare) = [(262, 165), (380, 215), (476, 280)][rng.usize(..3)];
    let (water, tare) = (water + rng.i64(-3..=3), tare + rng.i64(-5..=5));
    let held = (rng.u8(..4) == 0).then(|| ["R-22", "R-134a", "R-410A"][rng.usize(..3)]);
    let heel = if held.is_some() { rng.i64(0..water * 6 / 10) } else { -rng.i64(0..=2) };
    Cylinder::new(Facts {
        id: format!("C-{number}").into(),
        tare: tenths(tare),
        water_capacity: tenths(water),
        gross: tenths(tare + heel),
        contents: held.map_or(Contents::Evacuated, |held| Contents::Holds(refrigerant(held))),
        condition: Condition::Clean,
        owner: rng.bool().then(|| "The owner".into()),
        kept_for: (rng.u8(..6) == 0).then(|| "Random".into()),
        mark: Some(Mark::parse("DOT-4BA400").unwrap()),
        service_pressure: None,
        test_pressure: None,
        measured: None,
        test: Some(TestPeriod { since: None, good_through: date(2029, 6, 30) }),
        max_gross: (rng.u8(..4) == 0).then(|| tenths(tare + water * 6 / 10)),
        flammable: false,
        damage: None,
        remark: None,
        remark_settled: false,
        confirmed: false,
        cleaned: false,
    })
    .unwrap()
}

/// One to four systems of three refrigerants, of any fate and condition: several of one refrigerant must stay apart.
fn work(rng: &mut Rng) -> Work {
    let division = Division::new(Unit::Lb, tenths([1, 2, 5][rng.usize(..3)])).unwrap();
    let terms = Terms {
        fill: Percent::new(Decimal::from(80)),
        at: Terms::DEFAULT_TEMPERATURE,
        rules: Rules::Us,
        hottest: None,
        lift_limit: (rng.u8(..3) == 0).then(|| tenths(rng.i64(450..700))),
        scale: Scale { accuracy: tenths(rng.i64(0..=2)), division, capacity: None },
        date: DAY,
    };
    let system = |number: usize, rng: &mut Rng| {
        let condition = if rng.u8(..5) == 0 { Condition::Burnout } else { Condition::Clean };
        let fates = [Fate::Reclaim, Fate::Reclaim, Fate::Destroy, Fate::Reuse];
        let fate = if condition == Condition::Burnout { Fate::Reclaim } else { fates[rng.usize(..4)] };
        System::new(SystemFacts {
            name: format!("System {number}"),
            fluid: Fluid::One(refrigerant(["R-22", "R-134a", "R-410A"][rng.usize(..3)])),
            charge: Charge::Recorded { nameplate: tenths(rng.i64(20..500)), added: Weight::ZERO },
            allowance: Allowance::Share(Percent::new(Decimal::from(rng.i64(0..10)))),
            fill: (rng.u8(..4) == 0).then(|| Percent::new(Decimal::from(70))),
            condition,
            fate,
        })
        .unwrap()
    };
    let systems = (0..rng.usize(1..=4)).map(|number| system(number, rng)).collect();
    let facts = JobFacts {
        name: "Random".into(),
        owner: rng.bool().then(|| "The owner".into()),
        terms,
        one_person: None,
        access: None,
        crew: None,
        reuse_together: rng.bool(),
        systems,
        stock: Vec::new(),
    };
    let yard = (0..rng.usize(3..=8)).map(|number| cylinder(rng, number)).collect();
    Work::new(vec![Job::new(facts).unwrap()], yard).unwrap()
}

/// A line of the plain ledger: what the scale showed for which cylinder, and whether the loss left for good.
struct Line {
    number: usize,
    cylinder: usize,
    gross: i64,
    emptied: bool,
}

/// What each cylinder gained by the ledger: what it weighs more than before, and what left it for good.
fn gained(ledger: &[Line], bases: &[i64]) -> Vec<i64> {
    let of_one = |cylinder: usize| {
        let (mut now, mut left) = (bases[cylinder], 0);
        for line in ledger.iter().filter(|line| line.cylinder == cylinder) {
            if line.emptied && line.gross < now {
                left += now - line.gross;
            }
            now = line.gross;
        }
        now - bases[cylinder] + left
    };
    (0..bases.len()).map(of_one).collect()
}

fn moment(minute: i64) -> Moment {
    Moment::new(Timestamp::from_second(1_796_112_000 + 60 * minute).unwrap(), Offset::UTC)
}

#[derive(Default)]
struct Counts {
    readings: usize,
    forced: usize,
    refused: usize,
    undone: usize,
    replans: usize,
    begun_steps: usize,
    mixed: usize,
    short: usize,
}

struct Play {
    work: Work,
    entries: Vec<Entry>,
    ledger: Vec<Line>,
    bases: Vec<i64>,
}

impl Play {
    fn add(&mut self, action: Action) -> usize {
        let number = self.entries.len() + 1;
        self.entries.push(Entry { number, at: moment(number as i64), action });
        number
    }

    fn day(&self) -> Day<'_> {
        Day::replay(&self.work, &self.entries).unwrap()
    }

    /// A reading that may be anything, mostly something that a scale could show.
    fn read(&mut self, rng: &mut Rng, counts: &mut Counts) {
        let day = self.day();
        let cylinder = rng.usize(..day.fillings.len());
        let filling = &day.fillings[cylinder];
        let to = filling.now + if rng.u8(..8) == 0 { rng.i64(-60..400) } else { rng.i64(-2..120) };
        let lower = to < filling.now;
        let emptied = lower && rng.bool();
        let net = (to >= filling.zero && !lower && rng.u8(..6) == 0).then(|| to - filling.zero);
        let weight = |marks: i64| day.division().weight(marks.max(0));
        let asked = Asked {
            cylinder: filling.start.id.clone(),
            shown: net.map_or_else(|| Shown::Gross(weight(to)), |net| Shown::Net(weight(net))),
            system: (rng.u8(..3) > 0).then(|| day.systems[rng.usize(..day.systems.len())].name.clone()),
            emptied,
            moved: lower && !emptied && rng.bool(),
            force: rng.u8(..12) == 0,
            note: None,
            at: None,
        };
        match weigh(&day, &asked) {
            Ok(reading) => {
                assert_eq!(reading.gross, to.max(0), "what the scale showed is what is kept");
                counts.readings += 1;
                counts.forced += usize::from(!reading.forced.is_empty());
                let gross = reading.gross;
                let number = self.add(Action::Reading(reading));
                self.ledger.push(Line { number, cylinder, gross, emptied });
            }
            Err(refusal) => {
                assert!(!refusal.whys.is_empty());
                counts.refused += 1;
            }
        }
    }

    fn undo(&mut self, rng: &mut Rng, counts: &mut Counts) {
        let day = self.day();
        let numbers: Vec<usize> = day.standing.iter().skip(1).map(|entry| entry.number).collect();
        if numbers.is_empty() {
            return;
        }
        let takes_back = numbers[rng.usize(..numbers.len())];
        self.add(Action::Undo { takes_back });
        self.ledger.retain(|line| line.number != takes_back);
        counts.undone += 1;
    }

    fn replan(&mut self, rng: &mut Rng, counts: &mut Counts, seed: u64) {
        let day = self.day();
        let mut left = Vec::new();
        for system in 0..day.systems.len() {
            if rng.u8(..5) == 0 {
                left.push((system, rng.i64(0..400)));
            }
        }
        let ids = day.fillings.iter().map(|filling| filling.start.id.clone());
        let without = ids.filter(|_| rng.u8(..10) == 0).collect();
        let changes = Changes { left, without, ..Changes::default() };
        let replanned = match replan(&day, &changes, Vec::new(), &mut |_| true) {
            Ok(replanned) => replanned,
            Err(NoReplan::NoPlan(no)) => panic!("seed {seed}: {no}"),
            Err(NoReplan::Faults(faults)) => panic!("seed {seed}: {faults:?}"),
        };
        check_plan(&day, &changes, &replanned, counts, seed);
        counts.replans += 1;
        let planned = replanned.planned;
        self.add(Action::Plan(planned));
    }

    /// A log reads as it was written.
    fn check_log(&self, seed: u64) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("play.log.jsonl");
        let mut log = Log::open(&path, self.work.division()).unwrap();
        for entry in &self.entries {
            log.append(vec![(entry.at, entry.action.clone())]).unwrap();
        }
        drop(log);
        let read = Log::read(&path, self.work.division()).unwrap();
        assert_eq!((read.entries, read.torn), (self.entries.clone(), None), "seed {seed}");
    }

    /// What went into the cylinders is what was recovered, by cylinder, lot, system, status and record.
    fn check_weights(&self, seed: u64) {
        let day = self.day();
        let gained = gained(&self.ledger, &self.bases);
        let total: i64 = gained.iter().sum();
        for (filling, gained) in day.fillings.iter().zip(&gained) {
            assert_eq!(filling.gained(), *gained, "seed {seed}, {}", filling.start.id);
        }
        let systems: i64 = (0..day.systems.len()).map(|system| day.recovered(system)).sum();
        let lots: i64 = status(&day).lots.iter().map(|lot| lot.recovered).sum();
        let accounts = closeout(&day);
        let closed: i64 = accounts.lots.iter().map(|lot| lot.recovered).sum();
        let rows: i64 = accounts.rows.iter().map(|row| row.amount).sum();
        assert_eq!((systems, lots, closed, rows), (total, total, total, total), "seed {seed}");
        for after in &accounts.cylinders {
            let last = self.ledger.iter().rfind(|line| day.fillings[line.cylinder].start.id == after.cylinder);
            assert_eq!(Some(after.gross), last.map(|line| line.gross), "seed {seed}, {}", after.cylinder);
        }
    }
}

/// No plan for what is left passes a limit, mixes, or loses a part of what is left.
fn check_plan(day: &Day, changes: &Changes, replanned: &Replanned, counts: &mut Counts, seed: u64) {
    let division = day.division();
    let mut used: Vec<&str> = Vec::new();
    for step in &replanned.planned.steps {
        let what = format!("seed {seed}, {}", step.cylinder);
        assert!(!used.contains(&step.cylinder.as_str()), "{what}: filled once");
        used.push(step.cylinder.as_str());
        assert!(!changes.without.contains(&step.cylinder), "{what}: taken out");
        let filling = &day.fillings[day.position(&step.cylinder).unwrap()];
        let lot = (0..day.work.lots().len()).find(|lot| day.lot(*lot).name == step.lot).unwrap();
        let intake = &day.lot(lot).intake;
        assert!(step.from.iter().all(|share| day.systems[day.system(&share.system).unwrap()].lot == lot), "{what}");
        // The limit as it was before anything went in; with what the cylinder held then.
        let gross = limit(&filling.start, &intake.with(&filling.start), &intake.terms).unwrap().gross;
        assert!(division.weight(step.stop) + intake.terms.scale.accuracy <= gross, "{what}: over its limit");
        assert!(intake.terms.lift_limit.is_none_or(|lift| division.weight(step.stop) <= lift), "{what}: too heavy");
        assert!(step.add > 0 && step.stop == step.now + step.add && step.now == filling.now, "{what}");
        if filling.begun() {
            counts.begun_steps += 1;
            assert_eq!(day.lots_in(filling), [lot], "{what}: stays with its lot");
            assert!(!day.is_mixed(filling), "{what}: mixed");
        } else {
            let found = reasons(&filling.start, intake);
            let only_room = found.iter().all(|finding| matches!(finding.rule.code, "full" | "too-heavy"));
            assert!(only_room, "{what}: {found:?}");
        }
    }
    for lot in 0..day.work.lots().len() {
        let left: i64 = day
            .of_lot(lot)
            .map(|system| {
                let told = changes.left.iter().find(|(told, _)| *told == system);
                told.map_or_else(|| day.left(system), |(_, left)| *left)
            })
            .sum();
        let name = &day.lot(lot).name;
        let placed: i64 = replanned.planned.steps.iter().filter(|step| step.lot == *name).map(|step| step.add).sum();
        let short: i64 = replanned.planned.short.iter().filter(|(lot, _)| lot == name).map(|(_, short)| short).sum();
        assert_eq!(placed + short, left, "seed {seed}, {name}: nothing of what is left is lost");
        counts.short += usize::from(short > 0);
    }
    counts.mixed += day.fillings.iter().filter(|filling| day.is_mixed(filling)).count();
}

#[test]
fn every_random_day_conserves_weight_and_no_replan_passes_a_limit_or_mixes() {
    let mut counts = Counts::default();
    for seed in 0..PLAYS {
        let mut rng = Rng::with_seed(seed);
        let work = work(&mut rng);
        let plan = planner::plan(&work, &Options::default(), &mut |_| true).unwrap();
        let plan = audit::check(&work, plan).unwrap_or_else(|faults| panic!("seed {seed}: {faults:?}"));
        let bases = work.yard().iter().map(|cylinder| work.division().ceil(cylinder.gross)).collect();
        let planned = first_plan(&work, &plan, Vec::new());
        let mut play = Play { work, entries: Vec::new(), ledger: Vec::new(), bases };
        play.add(Action::Plan(planned));
        for _ in 0..rng.usize(5..30) {
            match rng.u8(..10) {
                0 => play.undo(&mut rng, &mut counts),
                1 => play.replan(&mut rng, &mut counts, seed),
                _ => play.read(&mut rng, &mut counts),
            }
            play.check_weights(seed);
        }
        play.replan(&mut rng, &mut counts, seed);
        if seed % 10 == 0 {
            play.check_log(seed);
        }
    }
    let Counts { readings, forced, refused, undone, replans, begun_steps, mixed, short } = counts;
    println!(
        "{PLAYS} plays: {readings} readings kept, {forced} of them forced, {refused} refused, {undone} taken back; \
         {replans} replans with {begun_steps} begun cylinders filled further; {mixed} mixed by force, {short} short"
    );
    assert!(readings > 5_000 && refused > 1_000 && forced > 200 && undone > 500, "all of it was met");
    assert!(replans > 1_500 && begun_steps > 200 && mixed > 50 && short > 200, "all of it was met");
}
