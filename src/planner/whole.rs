//! Plans that leave systems whole: as few pours as can be right after the fewest cylinders, before heaviest and carried.
//!
//! Systems that share cylinders are a group, and to the solver each group is a lot of its own. So every way of dividing the
//! lots' systems into groups is a problem of the solver's, and of all that take no more cylinders than the best plan the ones
//! with most groups are looked at, the lightest of them taken. What nearly always rules a division out is cheap: its groups
//! need too many cylinders, even if each had the first choice.

use std::collections::BTreeSet;

use super::assemble::{apart_plan, in_divisions};
use super::pours::Sharing;
use super::visits::{Visit, VisitFill, visits};
use crate::job::{Carrying, LIFTS, Work};
use crate::plan::{Plan, Reason, Status, Totals};
use crate::quantity::Marks;
use crate::solver::{
    Demand, Fill, Objectives, Options, Outcome, Priority, Problem, Progress, Proved, Slot, Solution, held_back, solve,
};

/// The most divisions that are listed for one number of groups.
const MOST_LISTED: usize = 2_000;

/// How often the solver may ask whether to go on in a look aside: about a millisecond each.
const MOST_ASKED: usize = 2;

/// A plan with its systems in groups.
#[derive(Debug, Clone)]
pub(super) struct Apart {
    /// What goes where, by the lots of the work; what is proved is so of all plans with as many groups.
    pub solution: Solution,
    /// For each lot its groups, by their systems' positions among those that have a charge.
    pub groups: Vec<Vec<Sharing>>,
    /// No plan with as few cylinders has more groups.
    pub most: bool,
}

/// What came of looking for more groups.
#[derive(Debug, Clone)]
pub(super) enum Looked {
    /// More of them.
    Found(Box<Apart>),
    /// No plan with as few cylinders has more: proved.
    None,
    /// None were found in the work allowed.
    Unknown,
}

/// Work that may be done before the best so far is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Allowed {
    /// Divisions that may be solved.
    runs: usize,
    /// Steps of listing those into one number of groups.
    steps: usize,
}

impl Allowed {
    /// For somebody who asks for it.
    pub(super) const FULL: Self = Self { runs: 400, steps: 200_000 };
    /// For a look aside: a millisecond or a few.
    pub(super) const FEW: Self = Self { runs: 4, steps: 1_000 };
}

/// Looks for a plan with more groups than that of `plan`, which is whole, and no worse in what comes before pours: the number
/// of cylinders, and the heaviest lift where that comes first.
pub(super) fn more_groups(
    work: &Work,
    plan: &Plan,
    options: &Options,
    allowed: Allowed,
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> Looked {
    let (base, bound) = (plan.totals, plan.bounds);
    let charged = work.lots().iter().flat_map(|lot| &lot.parts).filter(|part| part.charge > 0).count();
    let groups = charged + base.cylinders - base.pours;
    let most = charged.min(base.cylinders);
    if groups == most {
        return Looked::None;
    }
    let problem = held_back(&in_divisions(work), options, go_on);
    let mut looking = Looking::new(work, &problem, base, options);
    let mut left = allowed.runs;
    let mut sure = true;
    for number in (groups + 1..=most).rev() {
        let (listed, complete) = looking.divisions(number, allowed.steps);
        sure &= complete;
        // Half of what is left, so that smaller numbers get their turn.
        let runs = if listed.len() <= left { listed.len() } else { left.div_ceil(2) };
        left -= runs;
        let mut best: Option<(Divided, Solution)> = None;
        let mut bounds = Bounds::default();
        let mut all = complete && runs == listed.len();
        for division in listed.into_iter().take(runs) {
            match looking.solved(&division, go_on) {
                Solved::Worse => {}
                Solved::Unknown(least) => {
                    all = false;
                    bounds.add(&least);
                }
                Solved::Plan(solution) => {
                    bounds.add(&solution);
                    let order = |one: &Solution| (one.totals.heaviest, one.totals.carried);
                    if best.as_ref().is_none_or(|(_, best)| order(&solution) < order(best)) {
                        best = Some((division, solution));
                    }
                }
            }
        }
        if let Some((division, solution)) = best {
            return Looked::Found(Box::new(looking.apart(&division, bounds.on(solution, bound.cylinders, all), sure)));
        }
        sure &= all;
    }
    if sure { Looked::None } else { Looked::Unknown }
}

/// The code of the line that says what leaving systems whole would save.
pub const WHOLE: &str = "whole";

/// What leaving systems whole would save and cost, where it saves a hose change and no lift comes into a heavier class;
/// nothing where that isn't known after a look aside.
pub fn whole_instead(
    work: &Work,
    options: &Options,
    plan: &Plan,
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> Option<Reason> {
    if !matches!(plan.status, Status::Proved | Status::Bounded) {
        return None;
    }
    let mut asked = 0;
    let mut little = |progress: &Progress| {
        asked += 1;
        asked <= MOST_ASKED && go_on(progress)
    };
    let Looked::Found(apart) = more_groups(work, plan, options, Allowed::FEW, &mut little) else { return None };
    // What is asked for with the option is looked for longer: only what is proved is what comes then.
    let sure = apart.most && apart.solution.proved.all();
    let whole = apart_plan(work, options, *apart, plan.bounds);
    let lighter = classes(work, plan);
    let no_heavier = classes(work, &whole).iter().zip(&lighter).all(|(whole, now)| {
        let now = now.iter().copied().chain(std::iter::repeat(0));
        whole.iter().zip(now).all(|(whole, now)| *whole <= now)
    });
    (sure && no_heavier).then(|| {
        let division = work.division();
        let figure = |what: &str, whole: Marks, now: Marks| {
            let differs = match whole - now {
                0 => "as now".to_owned(),
                more if more > 0 => format!("{} more", division.text(more)),
                less => format!("{} less", division.text(-less)),
            };
            format!("{what} {}, {differs}", division.text(whole))
        };
        let (whole, now) = (whole.totals, plan.totals);
        let saved = now.pours - whole.pours;
        let changes = if saved == 1 { "1 hose change".to_owned() } else { format!("{saved} hose changes") };
        let heaviest = figure("heaviest lift", whole.heaviest, now.heaviest);
        let carried = figure("all lifts together", whole.carried, now.carried);
        let text = format!("--whole would save {changes}, with no lift of a heavier class: {heaviest}; {carried}");
        Reason { code: WHOLE.into(), text }
    })
}

/// For each job the classes of the lifts out, the heaviest first.
fn classes(work: &Work, plan: &Plan) -> Vec<Vec<usize>> {
    let of_visit = |visit: Visit| {
        let carrying = work.jobs().get(visit.job).map(Carrying::at);
        let class = |fill: &VisitFill| {
            let lift = carrying?.lift(work.division().weight(fill.after()));
            LIFTS.iter().position(|other| other == lift)
        };
        let mut classes: Vec<usize> = visit.fills.iter().filter_map(class).collect();
        classes.sort_unstable_by(|a, b| b.cmp(a));
        classes
    };
    visits(work, plan).into_iter().map(of_visit).collect()
}

/// A system that holds something: its lot, its position among those of the lot, its charge.
type Holding = (usize, usize, Marks);

/// Systems in groups: of each group its lot, its charge, and its systems by their positions among all.
type Divided = Vec<(usize, Marks, Vec<usize>)>;

enum Solved {
    Plan(Solution),
    Worse,
    Unknown(Solution),
}

/// What is proved of several divisions: of each the heaviest lift, and what is carried.
#[derive(Default)]
struct Bounds(Vec<(Marks, Marks)>);

struct Looking<'a> {
    problem: &'a Problem,
    base: Totals,
    options: &'a Options,
    systems: Vec<Holding>,
    /// For each lot what its largest rooms hold together, from none on.
    held: Vec<Vec<Marks>>,
    lots: usize,
}

impl<'a> Looking<'a> {
    fn new(work: &Work, problem: &'a Problem, base: Totals, options: &'a Options) -> Self {
        let mut systems: Vec<Holding> = Vec::new();
        for (index, lot) in work.lots().iter().enumerate() {
            let with_charge = lot.parts.iter().filter(|part| part.charge > 0).enumerate();
            systems.extend(with_charge.map(|(place, part)| (index, place, part.charge)));
        }
        // The largest first: the cheap bound bites sooner.
        systems.sort_by_key(|(lot, place, charge)| (*lot, std::cmp::Reverse(*charge), *place));
        let lift = if lift_first(options) { base.heaviest } else { Marks::MAX };
        let held = |lot: usize| {
            let room = |slot: &Slot| slot.tops.get(lot).copied().flatten().map_or(0, |top| top.min(lift) - slot.base);
            let mut rooms: Vec<Marks> = problem.cylinders.iter().map(room).filter(|room| *room > 0).collect();
            rooms.sort_unstable_by(|a, b| b.cmp(a));
            let mut sum = 0;
            std::iter::once(0)
                .chain(rooms.into_iter().map(|room| {
                    sum += room;
                    sum
                }))
                .collect()
        };
        Self {
            problem,
            base,
            options,
            systems,
            held: (0..work.lots().len()).map(held).collect(),
            lots: work.lots().len(),
        }
    }

    /// The fewest cylinders that hold so much of a lot; more than any plan has where none do.
    fn fewest(&self, lot: usize, charge: Marks) -> usize {
        let held = &self.held[lot];
        let number = held.partition_point(|held| *held < charge);
        if number < held.len() { number } else { self.base.cylinders + 1 }
    }

    /// The divisions into so many groups that the cheap bound leaves, each once by what its groups hold; and whether these
    /// are all.
    fn divisions(&mut self, number: usize, most: usize) -> (Vec<Divided>, bool) {
        let mut listing = Listing { number, seen: BTreeSet::new(), listed: Vec::new(), steps: most };
        self.list(&mut listing, &mut Vec::new(), 0);
        let complete = listing.steps > 0 && listing.listed.len() < MOST_LISTED;
        // Those that need the fewest first.
        let mut listed: Vec<(usize, Divided)> =
            listing.listed.into_iter().map(|division| (self.needed(&division), division)).collect();
        listed.sort_by_key(|(needed, _)| *needed);
        (listed.into_iter().map(|(_, division)| division).collect(), complete)
    }

    fn needed(&self, division: &Divided) -> usize {
        division.iter().map(|(lot, charge, _)| self.fewest(*lot, *charge)).sum()
    }

    fn list(&self, listing: &mut Listing, groups: &mut Divided, next: usize) {
        listing.steps = listing.steps.saturating_sub(1);
        let left = self.systems.len() - next;
        if listing.steps == 0
            || listing.listed.len() >= MOST_LISTED
            || groups.len() + left < listing.number
            || self.needed(groups) > self.base.cylinders
        {
            return;
        }
        let Some(&(lot, _, charge)) = self.systems.get(next) else {
            let mut key: Vec<(usize, Marks)> = groups.iter().map(|(lot, charge, _)| (*lot, *charge)).collect();
            key.sort_unstable();
            if listing.seen.insert(key) {
                listing.listed.push(groups.clone());
            }
            return;
        };
        for group in 0..groups.len() {
            if groups[group].0 == lot {
                groups[group].1 += charge;
                groups[group].2.push(next);
                self.list(listing, groups, next + 1);
                groups[group].1 -= charge;
                groups[group].2.pop();
            }
        }
        if groups.len() < listing.number {
            groups.push((lot, charge, vec![next]));
            self.list(listing, groups, next + 1);
            groups.pop();
        }
    }

    /// The best plan with these groups, where it is no worse than the base in what comes before pours.
    fn solved(&self, division: &Divided, go_on: &mut dyn FnMut(&Progress) -> bool) -> Solved {
        let slot = |slot: &Slot| Slot {
            tops: division.iter().map(|(lot, ..)| slot.tops.get(*lot).copied().flatten()).collect(),
            reserved: Vec::new(),
            ..slot.clone()
        };
        let problem = Problem {
            lots: division.iter().map(|(_, charge, _)| Demand { charge: *charge }).collect(),
            cylinders: self.problem.cylinders.iter().map(slot).collect(),
        };
        let totals = self.base;
        let lift_first = lift_first(self.options);
        match solve(&problem, self.options, go_on) {
            Outcome::Short(_) => Solved::Worse,
            Outcome::Undecided => Solved::Unknown(Solution::default()),
            Outcome::Planned(found) => {
                let worse =
                    |of: Objectives| of.cylinders > totals.cylinders || lift_first && of.heaviest > totals.heaviest;
                if worse(found.bounds) {
                    Solved::Worse
                } else if worse(found.totals) {
                    Solved::Unknown(found)
                } else {
                    Solved::Plan(found)
                }
            }
        }
    }

    /// A division's plan by the lots of the work.
    fn apart(&self, division: &Divided, mut solution: Solution, most: bool) -> Apart {
        let mut groups: Vec<Vec<Sharing>> = vec![Vec::new(); self.lots];
        for fill in &mut solution.fills {
            fill.lot += self.lots;
        }
        for (index, (lot, _, systems)) in division.iter().enumerate() {
            let mine = |fill: &&mut Fill| fill.lot == index + self.lots;
            let mut cylinders = Vec::new();
            for fill in solution.fills.iter_mut().filter(mine) {
                fill.lot = *lot;
                cylinders.push(fill.cylinder);
            }
            groups[*lot]
                .push(Sharing { systems: systems.iter().map(|&system| self.systems[system].1).collect(), cylinders });
        }
        solution.fills.sort_by_key(|fill| (fill.lot, fill.cylinder));
        for (lot, groups) in groups.iter_mut().enumerate() {
            let fills: Vec<&Fill> = solution.fills.iter().filter(|fill| fill.lot == lot).collect();
            let place = |cylinder: &usize| fills.iter().position(|fill| fill.cylinder == *cylinder);
            for group in groups.iter_mut() {
                group.systems.sort_unstable();
                group.cylinders = group.cylinders.iter().filter_map(place).collect();
            }
            groups.sort_by_key(|group| group.systems.first().copied());
        }
        Apart { solution, groups, most }
    }
}

fn lift_first(options: &Options) -> bool {
    options.priority == Priority::Lightest || options.at_most.is_some()
}

/// Divisions being listed.
struct Listing {
    number: usize,
    seen: BTreeSet<Vec<(usize, Marks)>>,
    listed: Vec<Divided>,
    /// Steps that are left.
    steps: usize,
}

impl Bounds {
    fn add(&mut self, one: &Solution) {
        self.0.push((one.bounds.heaviest, one.bounds.carried));
    }

    /// The best solution with these bounds; where not every division was solved, with what holds for any plan.
    fn on(&self, mut solution: Solution, cylinders: usize, all: bool) -> Solution {
        let totals = solution.totals;
        let heaviest = self.0.iter().map(|(heaviest, _)| *heaviest).min().filter(|_| all);
        // What is carried at a heavier lift is compared with nothing.
        let as_light = self.0.iter().filter(|(heaviest, _)| *heaviest <= totals.heaviest);
        let carried = as_light.map(|(_, carried)| *carried).min().filter(|_| all);
        let placed = solution.fills.iter().map(|fill| fill.add).sum();
        solution.bounds = Objectives {
            cylinders,
            heaviest: heaviest.unwrap_or(0).min(totals.heaviest),
            carried: carried.unwrap_or(placed).min(totals.carried),
        };
        solution.proved = Proved {
            cylinders: totals.cylinders == cylinders,
            heaviest: totals.heaviest == solution.bounds.heaviest,
            carried: totals.carried == solution.bounds.carried,
        };
        solution
    }
}
