//! The least weight, by listing sets: which cylinders a plan may have, before it is asked which lots they go to.
//!
//! Every plan's cylinders keep the `rows`, and few light sets do. The sets are divided by how many cylinders of each size
//! they have, the division with the lowest bound is walked through (`walk`), and a set that is found is split among the
//! lots by the search at hand. The first that splits is a cheaper plan; one that is refuted isn't looked at again. Once
//! none is left, the plan is the cheapest. (The literature's combinatorial Benders decomposition.)

use super::answer::{Answer, Target};
use super::cut::{Cut, Relaxed};
use super::root::search;
use super::rows::SetRow;
use super::walk::{Numbers, SetFound, Walk, Wanted};
use crate::solver::bound::generation::{Aim, Else, raise};
use crate::solver::bound::multipliers::{Bound, Multipliers};
use crate::solver::bound::relaxation::relaxed;
use crate::solver::bound::restricted::Memory;
use crate::solver::field::{Class, Field, Quota};
use crate::solver::problem::watch::{Stopped, Watch};

/// Steps of work for splitting one set, and for one bound.
const EACH: u64 = 20_000_000;
/// Sets that don't split after which branching is the better way: there may be thousands.
const MOST_REFUTED: usize = 32;
/// Cylinders with less than this part of the room of a size's roomiest are of another.
const STEP: f64 = 0.5;

/// Looks for cheaper plans than the answer's among those of its number, as far as the allowance lasts. When stopped, the
/// answer holds what is known.
pub fn by_sets(
    field: &Field,
    [weights, counts]: [&mut Memory; 2],
    target: Target,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    let until = watch.spent().saturating_add(target.allowance);
    // Rows hold for all lots alike: without what is asked of one.
    let plain = Field { quotas: Vec::new(), ..field.clone() };
    let mut rows = vec![SetRow::surrogate(field, &relaxed(field, &Multipliers::none(field), watch)?)];
    for (field, memory) in [(&plain, &mut *weights), (&plain.counting(), &mut *counts)] {
        let mut bound = Bound::default();
        let aim = Aim { enough: i64::MAX, else_to: Else::Close, most: EACH };
        raise(field, memory, aim, &mut bound, watch)?;
        rows.extend(SetRow::priced(field, &bound));
    }
    let mut relaxation = Relaxed::new(field);
    let alone: Vec<Option<Cut>> =
        rows.iter().map(|row| Relaxed::new(field).cut(std::slice::from_ref(row), watch)).collect::<Result<_, _>>()?;
    let (size_of, sizes) = sizes(field);
    let open = vec![Family { sizes, bound: answer.bound, priced: true }];
    let mut listing = Listing { field, target, rows, alone, size_of, refuted: Vec::new(), open, given_up: i64::MAX };
    while let Some(family) = listing.next(answer) {
        if watch.spent() > until || listing.refuted.len() > MOST_REFUTED {
            break;
        }
        let Some(cut) = relaxation.cut(&listing.rows_with(&family.sizes), watch)? else { break };
        let before = family.bound;
        let family = Family { bound: before.max(cut.bound(field)), ..family };
        if family.bound >= answer.least(target) {
            continue;
        }
        if family.bound > before && listing.open.iter().any(|other| other.bound < family.bound) {
            listing.open.push(family);
        } else if !family.priced {
            listing.price(family, weights, answer.least(target), watch)?;
        } else if family.sizes.iter().any(|(fewest, most)| fewest < most) {
            listing.divide(&family, &cut);
        } else {
            listing.walk(family, &cut, until.saturating_sub(watch.spent()), counts, answer, watch)?;
        }
    }
    Ok(())
}

/// The sets with given numbers of each size.
#[derive(Debug, Clone)]
struct Family {
    sizes: Vec<Numbers>,
    /// None of them costs less.
    bound: i64,
    /// Columns were priced for it.
    priced: bool,
}

/// The size of each class, numbered from the roomiest on, and that there may be any number of each.
fn sizes(field: &Field) -> (Vec<usize>, Vec<Numbers>) {
    let room = |class: usize| field.classes[class].rooms.iter().copied().max().unwrap_or(0);
    let mut order: Vec<usize> = (0..field.classes.len()).collect();
    order.sort_by_key(|&class| std::cmp::Reverse(room(class)));
    let (mut size_of, mut sizes) = (vec![0; order.len()], Vec::<Numbers>::new());
    let mut roomiest = f64::INFINITY;
    for class in order {
        if (room(class) as f64) < roomiest * STEP {
            roomiest = room(class) as f64;
            sizes.push((0, 0));
        }
        size_of[class] = sizes.len() - 1;
        sizes[size_of[class]].1 += field.classes[class].count();
    }
    (size_of, sizes)
}

struct Listing<'f> {
    field: &'f Field,
    target: Target,
    rows: Vec<SetRow>,
    /// The cuts of the first rows, each alone.
    alone: Vec<Option<Cut>>,
    size_of: Vec<usize>,
    /// Sets without a plan, or of which it isn't known.
    refuted: Vec<Vec<i64>>,
    open: Vec<Family>,
    /// No set of which it isn't known costs less.
    given_up: i64,
}

impl Listing<'_> {
    /// The family with the lowest bound, of equals one that is further divided. It is what is proved.
    fn next(&mut self, answer: &mut Answer) -> Option<Family> {
        let divided = |family: &Family| family.sizes.iter().filter(|(fewest, most)| fewest < most).count();
        let order = |&at: &usize| (self.open[at].bound, divided(&self.open[at]), at);
        let next = (0..self.open.len()).min_by_key(order);
        answer.prove(self.target, next.map_or(self.given_up, |next| self.open[next].bound.min(self.given_up)));
        next.filter(|_| !answer.settled(self.target)).map(|next| self.open.swap_remove(next))
    }

    /// The numbers of sizes as quotas, where they limit anything.
    fn quotas(&self, sizes: &[Numbers]) -> Vec<Quota> {
        let quota = |size: usize, sign: i64, number: i64| {
            let counts: Vec<bool> = self.size_of.iter().map(|of| *of == size).collect();
            let of_size = self.field.classes.iter().zip(&counts).filter(|(_, counts)| **counts);
            let all: i64 = of_size.map(|(class, _)| class.count()).sum();
            let limits = if sign > 0 { number < all } else { number > 0 };
            limits.then_some(Quota { lot: None, counts, sign, number })
        };
        let both = |(size, &(fewest, most))| [quota(size, 1, most), quota(size, -1, fewest)];
        sizes.iter().enumerate().flat_map(both).flatten().collect()
    }

    /// All rows, those of the numbers of sizes last.
    fn rows_with(&self, sizes: &[Numbers]) -> Vec<SetRow> {
        self.rows.iter().cloned().chain(self.quotas(sizes).iter().map(SetRow::quota)).collect()
    }

    /// Raises a family's bound by columns: what they are priced at is a row for all.
    fn price(&mut self, family: Family, memory: &mut Memory, least: i64, watch: &mut Watch<'_>) -> Result<(), Stopped> {
        let field = Field { quotas: self.quotas(&family.sizes), ..self.field.clone() };
        let mut bound = Bound::default();
        let aim = Aim { enough: least, else_to: Else::Close, most: EACH };
        if raise(&field, memory, aim, &mut bound, watch)?.is_some() {
            self.rows.extend(SetRow::priced(&field, &bound));
            self.open.push(Family { bound: family.bound.max(bound.cost(&field)), priced: true, ..family });
        }
        Ok(())
    }

    /// Divides at the roomiest size whose number is open: fewer than the relaxation takes, as many, or more.
    fn divide(&mut self, family: &Family, cut: &Cut) {
        let Some(size) = family.sizes.iter().position(|(fewest, most)| fewest < most) else { return };
        let (fewest, most) = family.sizes[size];
        let taken = self.field.classes.iter().zip(&cut.each).zip(&self.size_of);
        let taken = taken.filter(|((class, each), of)| **of == size && (**each > 0 || class.kept));
        let taken = taken.map(|((class, _), _)| class.count()).sum::<i64>().clamp(fewest, most);
        for numbers in [(fewest, taken - 1), (taken, taken), (taken + 1, most)] {
            if numbers.0 <= numbers.1 {
                let mut sizes = family.sizes.clone();
                sizes[size] = numbers;
                self.open.push(Family { sizes, bound: family.bound, priced: false });
            }
        }
    }

    /// Walks through the cheaper half of a family's sets, up to the first.
    fn walk(
        &mut self,
        family: Family,
        cut: &Cut,
        most_steps: u64,
        memory: &mut Memory,
        answer: &mut Answer,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        let (field, rows, refuted, size_of) = (self.field, &self.rows[..], &self.refuted[..], &self.size_of[..]);
        let at_most = family.bound + (answer.least(self.target) - 1 - family.bound) / 2;
        let wanted = Wanted { field, rows, refuted, size_of, sizes: &family.sizes, at_most };
        let cuts: Vec<&Cut> = std::iter::once(cut).chain(self.alone.iter().flatten()).collect();
        let (found, steps) = Walk::new(wanted, &cuts, most_steps).go();
        watch.work(usize::try_from(steps).unwrap_or(usize::MAX))?;
        match found {
            SetFound::None => self.open.push(Family { bound: at_most + 1, ..family }),
            SetFound::Set(set) => {
                self.open.push(family);
                self.split(set, memory, answer, watch)?;
            }
            SetFound::TooMany => self.given_up = self.given_up.min(family.bound),
        }
        Ok(())
    }

    /// Splits a set among the lots, or refutes it.
    fn split(
        &mut self,
        set: Vec<i64>,
        memory: &mut Memory,
        answer: &mut Answer,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        let small = self.field.of_set(&set);
        let number: i64 = set.iter().sum();
        let target = Target { cutoff: number + 1, enough: number, allowance: EACH };
        let mut found = Answer::default();
        search(&small, target, memory, &mut found, watch)?;
        if let Some((_, sets)) = found.plan {
            answer.offer(self.target, self.field.cost(&sets).map(|cost| (cost, sets)));
            return Ok(());
        }
        if found.bound <= number {
            let cost = |(class, number): (&Class, &i64)| class.cost * number;
            self.given_up = self.given_up.min(self.field.classes.iter().zip(&set).map(cost).sum());
        }
        self.refuted.push(set);
        Ok(())
    }
}
