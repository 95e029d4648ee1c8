//! The problems of the benchmark: which there are, and how one is made from its seed.
//!
//! It draws numbers and writes files; it must neither plan nor know how a plan is found.

use std::error::Error;
use std::fmt::Write;
use std::fs;
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use chargesplit::cylinder::Terms;
use chargesplit::planner::{Problem, in_divisions};
use chargesplit::refrigerant::Refrigerant;
use chargesplit::text::{Request, Today, read_work};
use jiff::civil::date;
use serde::Serialize;

/// Seeds and shares of a row that names none.
const SEEDS: RangeInclusive<u64> = 1..=10;
const SHARES: [i64; 4] = [30, 50, 70, 90];

/// Trade sizes in tenths of a pound: water capacity, lowest and highest tare. Common practice, no source.
const SIZES: [(i64, i64, i64); 5] =
    [(262, 150, 180), (380, 200, 240), (477, 260, 300), (1230, 550, 700), (2390, 750, 1100)];
/// How often each size comes in ten cylinders: our guess, no source.
const TEN: [usize; 10] = [0, 0, 0, 1, 2, 2, 2, 3, 3, 4];
/// A water capacity lies up to so many tenths of a pound from its size.
const SCATTER: i64 = 5;
/// Cylinders in a hundred that hold a heel.
const HEELS: i64 = 40;

/// Not flammable, and under 5/4 of 400 psig at 131 °F, so that the marks below fit each.
const REFRIGERANTS: [&str; 24] = [
    "R-22", "R-134a", "R-404A", "R-407C", "R-410A", "R-448A", "R-449A", "R-507A", "R-407A", "R-407F", "R-438A",
    "R-422D", "R-427A", "R-417A", "R-513A", "R-450A", "R-452A", "R-12", "R-124", "R-502", "R-408A", "R-409A", "R-401A",
    "R-227ea",
];

/// Beyond as many lots as there are refrigerants, more of them are kept apart for reuse, system by system.
const MOST_LOTS: usize = 100;

/// Seconds that the planner has for a problem of a row that names none.
const TIME_LIMIT: f64 = 10.0;

/// The division of a row that names none, in pounds.
const DIVISION: &str = "0.1lb";

/// Per cent of the room that the charges may need: more than there is falls short.
const MOST_SHARE: i64 = 200;

/// A row of the table: `CYLINDERSxLOTS`, or with seeds, shares, the planner's time limit in seconds, the scale's division
/// and `any` for cylinders of any size: `24x4:1-3`, `80x4:1-2:50`, `12x2:1:30,50`, `500x60:1:50:20`,
/// `80x4:1-3:90:10:0.001kg`, `80x4:1-3:50:10:0.1lb:any`.
#[derive(Debug, Clone)]
pub struct Row {
    cylinders: usize,
    lots: usize,
    seeds: RangeInclusive<u64>,
    shares: Vec<i64>,
    time_limit: f64,
    division: Division,
    any_size: bool,
}

/// What the scale shows.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Division {
    /// The smallest step, in whole parts of ten thousand ...
    parts: i64,
    /// ... of a kilogram, else of a pound.
    metric: bool,
}

impl FromStr for Division {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let said = || format!("`{text}`: expected a division such as 0.1lb or 0.001kg");
        let (step, metric) = match (text.strip_suffix("kg"), text.strip_suffix("lb")) {
            (Some(step), _) => (step, true),
            (None, Some(step)) => (step, false),
            (None, None) => return Err(said()),
        };
        let parts = step.parse::<f64>().map_err(|_| said())? * PARTS;
        if parts.round() < 1.0 || (parts - parts.round()).abs() > 1e-6 {
            return Err(said());
        }
        Ok(Self { parts: parts.round() as i64, metric })
    }
}

/// Parts of a pound or kilogram.
const PARTS: f64 = 1e4;

impl Division {
    /// The name of its unit.
    fn unit(self) -> &'static str {
        if self.metric { "kg" } else { "lb" }
    }

    /// So many divisions as a weight.
    pub fn text(self, divisions: i64) -> String {
        format!("{} {}", (self.parts * divisions) as f64 / PARTS, self.unit())
    }
}

impl FromStr for Row {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let said = || {
            format!(
                "`{text}`: expected CYLINDERSxLOTS[:SEEDS[:SHARES[:SECONDS[:DIVISION[:any]]]]], for example 80x4:1-2:50"
            )
        };
        let mut parts = text.split(':');
        let (cylinders, lots) = parts.next().and_then(|size| size.split_once('x')).ok_or_else(said)?;
        let (cylinders, lots) = (cylinders.parse().map_err(|_| said())?, lots.parse().map_err(|_| said())?);
        if cylinders == 0 || lots == 0 || lots > MOST_LOTS {
            return Err(format!("`{text}`: expected at least 1 cylinder and 1 to {MOST_LOTS} lots"));
        }
        let seeds = match parts.next() {
            None => SEEDS,
            Some(seeds) => {
                let (first, last) = seeds.split_once('-').unwrap_or((seeds, seeds));
                first.parse().map_err(|_| said())?..=last.parse().map_err(|_| said())?
            }
        };
        let shares = match parts.next() {
            None => SHARES.to_vec(),
            Some(shares) => shares.split(',').map(str::parse).collect::<Result<_, _>>().map_err(|_| said())?,
        };
        let time_limit = parts.next().map_or(Ok(TIME_LIMIT), str::parse).map_err(|_| said())?;
        let division = parts.next().unwrap_or(DIVISION).parse()?;
        let any_size = parts.next().map(|word| if word == "any" { Ok(true) } else { Err(said()) });
        let any_size = any_size.unwrap_or(Ok(false))?;
        if seeds.is_empty() || shares.iter().any(|share| !(1..=MOST_SHARE).contains(share)) || parts.next().is_some() {
            return Err(said());
        }
        Ok(Self { cylinders, lots, seeds, shares, time_limit, division, any_size })
    }
}

impl Row {
    /// Its problems, share after share.
    pub fn cases(&self) -> Vec<Case> {
        let case = |share: i64, seed: u64| {
            let Self { cylinders, lots, time_limit, division, any_size, .. } = *self;
            Case { cylinders, lots, share, seed, time_limit, division, any_size }
        };
        self.shares.iter().flat_map(|share| self.seeds.clone().map(move |seed| case(*share, seed))).collect()
    }
}

/// One problem.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct Case {
    pub cylinders: usize,
    pub lots: usize,
    /// Per cent of the room that the charges need.
    pub share: i64,
    pub seed: u64,
    /// Seconds that the planner has.
    #[serde(skip)]
    pub time_limit: f64,
    pub division: Division,
    /// Cylinders of any size in place of the trade's.
    pub any_size: bool,
}

/// The problem in whole divisions, for another solver.
#[derive(Serialize)]
struct Whole {
    /// By lot.
    charges: Vec<i64>,
    /// By cylinder, in yard order.
    bases: Vec<i64>,
    /// By cylinder and lot; null where it may not take the lot.
    tops: Vec<Vec<Option<i64>>>,
}

impl Case {
    /// Its name, and that of its files.
    pub fn name(&self) -> String {
        let mut name = format!("{}x{}-{}-{}", self.cylinders, self.lots, self.share, self.seed);
        if self.division.text(1) != "0.1 lb" {
            name += &format!("-{}", self.division.text(1).replace(' ', ""));
        }
        name + if self.any_size { "-any" } else { "" }
    }

    /// Where its job file stands.
    pub fn job(&self, folder: &Path) -> PathBuf {
        folder.join(format!("{}.yaml", self.name()))
    }

    /// Writes job, yard and the problem in whole divisions.
    pub fn write(&self, folder: &Path) -> Result<(), Box<dyn Error>> {
        let mut dice = Dice::new(self.seed);
        let names = refrigerants(self.lots, &mut dice);
        let yard = self.yard(&names, &mut dice)?;
        let weights: Vec<i64> = names.iter().map(|_| 50 + dice.below(100)).collect();
        fs::create_dir_all(folder)?;
        fs::write(folder.join(format!("{}-yard.yaml", self.name())), yard)?;
        // What there is room for is known once the planner's own rules have read the yard.
        let coarse = Self { division: DIVISION.parse()?, ..*self };
        let some = coarse.problem(self, folder, &names, &weights)?;
        let room = room(&some);
        let all: i64 = weights.iter().sum();
        let charges: Vec<i64> =
            weights.iter().map(|weight| (room * self.share * weight / (100 * all)).max(1)).collect();
        let problem = self.problem(self, folder, &names, &charges)?;
        let whole = Whole {
            charges: problem.lots.iter().map(|lot| lot.charge).collect(),
            bases: problem.cylinders.iter().map(|slot| slot.base).collect(),
            tops: problem.cylinders.into_iter().map(|slot| slot.tops).collect(),
        };
        fs::write(folder.join(format!("{}.json", self.name())), serde_json::to_string(&whole)?)?;
        Ok(())
    }

    fn yard(&self, names: &[&str], dice: &mut Dice) -> Result<String, Box<dyn Error>> {
        let mut text = String::from("units: lb\ncylinders:\n");
        for number in 1..=self.cylinders {
            let (water, tare) = if self.any_size {
                // A water capacity anywhere from the smallest to the largest size, a tare of four to seven tenths of it.
                let water = SIZES[0].0 + dice.below(SIZES[4].0 - SIZES[0].0);
                (water, water * (40 + dice.below(31)) / 100)
            } else {
                let (size, low, high) = SIZES[TEN[dice.below(10) as usize]];
                (size + dice.below(2 * SCATTER + 1) - SCATTER, low + dice.below(high - low + 1))
            };
            let held = (dice.below(100) < HEELS).then(|| names[dice.below(names.len() as i64) as usize]);
            let heel = match held {
                None => 0,
                Some(name) => {
                    // From nothing to nine tenths of 80 % at 130 °F.
                    let density = Refrigerant::find(name)?.safe_density(Terms::DEFAULT_TEMPERATURE)?;
                    (water as f64 * density.relative_to_water() * 0.8) as i64 * dice.below(91) / 100
                }
            };
            writeln!(
                text,
                "  - {{ id: C-{number:05}, tare: {}, water_capacity: {}, gross: {}, holds: {}, mark: DOT-4BA400, \
                 tested: {}, confirmed: true }}",
                pounds(tare),
                pounds(water),
                pounds(tare + heel),
                held.unwrap_or("evacuated"),
                format_args!("{}-{:02}", 2022 + dice.below(4), 1 + dice.below(12)),
            )?;
        }
        Ok(text)
    }

    /// Writes the job of a case with these charges, in tenths of a pound, and reads it as the planner does at this
    /// case's division.
    fn problem(&self, of: &Self, folder: &Path, names: &[&str], charges: &[i64]) -> Result<Problem, Box<dyn Error>> {
        let mut text = format!(
            "job: {}\ndate: 2026-12-01\nunits: {}\nscale_division: {}\nyard: {0}-yard.yaml\nsystems:\n",
            of.name(),
            self.division.unit(),
            self.division.text(1),
        );
        for (at, (name, charge)) in names.iter().zip(charges).enumerate() {
            let (system, fate) =
                if at < REFRIGERANTS.len() { ((*name).to_owned(), "") } else { (at.to_string(), ", fate: reuse") };
            let charge = pounds(*charge);
            writeln!(text, "  - {{ name: System {system}, refrigerant: {name}, nameplate: {charge} lb{fate} }}")?;
        }
        let job = of.job(folder);
        fs::write(&job, text)?;
        let request = Request { jobs: &[job], today: &Today::new(|| date(2026, 12, 1)), skip_bad_rows: false };
        let problem = in_divisions(&read_work(&request)?.work);
        if problem.cylinders.iter().any(|slot| slot.tops.iter().all(Option::is_none)) {
            return Err(format!("{}: a cylinder isn't fit for anything", self.name()).into());
        }
        Ok(problem)
    }
}

/// The room of a yard in divisions: of a cylinder that may take several lots, the mean.
fn room(problem: &Problem) -> i64 {
    let of = |base: i64, tops: &[Option<i64>]| {
        let rooms: Vec<i64> = tops.iter().flatten().map(|top| (top - base).max(0)).collect();
        rooms.iter().sum::<i64>() / rooms.len().max(1) as i64
    };
    problem.cylinders.iter().map(|slot| of(slot.base, &slot.tops)).sum()
}

/// So many refrigerants, drawn without putting back; once all are drawn, the same again.
fn refrigerants(number: usize, dice: &mut Dice) -> Vec<&'static str> {
    let mut left = REFRIGERANTS.to_vec();
    let drawn: Vec<&str> =
        (0..number.min(left.len())).map(|_| left.remove(dice.below(left.len() as i64) as usize)).collect();
    drawn.iter().copied().cycle().take(number).collect()
}

fn pounds(tenths: i64) -> String {
    format!("{}.{}", tenths / 10, tenths % 10)
}

/// Random numbers of a few lines (SplitMix64), so that a seed gives the same files for ever.
struct Dice(u64);

impl Dice {
    fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// A whole number from 0 to `end` − 1.
    fn below(&mut self, end: i64) -> i64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) % end as u64) as i64
    }
}
