//! Which systems of a lot go into which of its cylinders, so that as few hoses as can be are connected.
//!
//! Connect each system with each cylinder that it is poured into. Where m systems and k cylinders fall into g groups
//! that are connected, each takes at least one pour fewer than it has systems and cylinders, and filling one cylinder after
//! the other from one system after the other takes no more. So the fewest pours are m + k − g with g as large as can be,
//! where a group's cylinders have the room for its systems. That is a packing problem on both sides; it is searched depth
//! first, group after group, below a bound over all subsets of the systems.

use std::collections::HashMap;

use crate::quantity::Marks;

/// The most systems of a lot that all subsets are looked at of.
const MOST_SYSTEMS: usize = 12;

/// Steps of the search in all, half of what is left for each number of groups: under a millisecond, with 80 cylinders under two.
const STEPS: u64 = 90_000;

/// The most ways of filling one group that are followed; beyond them nothing is proved.
const MOST_WAYS: usize = 64;

/// The most steps for the table of sums of rooms; without it every subset of systems may be a group.
const MOST_WORDS: usize = 1 << 19;

/// Systems that share cylinders with one another and with no others, by their positions.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(in crate::planner) struct Sharing {
    pub systems: Vec<usize>,
    pub cylinders: Vec<usize>,
}

/// A lot in groups.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Grouping {
    /// By their first systems; systems and cylinders of each in order.
    pub groups: Vec<Sharing>,
    /// There are no more groups in any way.
    pub most: usize,
}

/// Puts systems with these charges and cylinders with these rooms into as many groups as are found. Charges and rooms are
/// above 0, the rooms hold the charges, and there is a division for each cylinder.
pub(super) fn grouped(charges: &[Marks], rooms: &[Marks]) -> Grouping {
    let mut grouping = if charges.len() <= MOST_SYSTEMS { exact(charges, rooms) } else { one_by_one(charges, rooms) };
    for group in &mut grouping.groups {
        group.systems.sort_unstable();
        group.cylinders.sort_unstable();
    }
    grouping.groups.sort_by_key(|group| group.systems.first().copied());
    grouping
}

/// As many groups as there are: proved, unless the work runs out.
fn exact(charges: &[Marks], rooms: &[Marks]) -> Grouping {
    let mut search = Splitting::new(charges, rooms);
    let all = (1 << charges.len()) - 1;
    let mut most = usize::from(search.bounds[all]).min(rooms.len());
    let mut proved = true;
    search.begin(STEPS / 4);
    let known = search.one_each();
    for number in (known.len() + 1..=most).rev() {
        search.begin(search.budget - search.budget / 2);
        match search.split(all as u32, number) {
            Split::Found => return Grouping { groups: search.groups(), most },
            Split::None if proved => most = number - 1,
            Split::None => {}
            Split::Unknown => proved = false,
        }
    }
    Grouping { groups: known, most }
}

/// Many systems: one after the other, the largest first, gets cylinders of its own where some nearly fit. The rest are one
/// group, or as many as there are where they are few enough.
fn one_by_one(charges: &[Marks], rooms: &[Marks]) -> Grouping {
    let mut order: Vec<usize> = (0..charges.len()).collect();
    order.sort_by_key(|&system| std::cmp::Reverse(charges[system]));
    let mut cylinders: Vec<usize> = (0..rooms.len()).collect();
    let mut groups: Vec<Sharing> = Vec::new();
    let mut rest = Vec::new();
    for (place, &system) in order.iter().enumerate() {
        let left: Vec<Marks> = cylinders.iter().map(|&cylinder| rooms[cylinder]).collect();
        let open: Marks = order[place..].iter().chain(&rest).map(|&system| charges[system]).sum();
        let mut search = Splitting::new(&[charges[system]], &left);
        search.begin(STEPS);
        let slack = left.iter().sum::<Marks>() - open;
        let taken = search.tightest(charges[system], slack, 0).map(|way| search.own(&way));
        match taken {
            Some(own) => {
                groups.push(Sharing {
                    systems: vec![system],
                    cylinders: own.iter().map(|&place| cylinders[place]).collect(),
                });
                let kept = cylinders.iter().enumerate().filter(|(place, _)| !own.contains(place));
                cylinders = kept.map(|(_, cylinder)| *cylinder).collect();
            }
            None => rest.push(system),
        }
    }
    if rest.is_empty() {
        groups.last_mut().into_iter().for_each(|last| last.cylinders.append(&mut cylinders));
    } else if rest.len() <= MOST_SYSTEMS {
        let few = |all: &[Marks], some: &[usize]| some.iter().map(|&place| all[place]).collect::<Vec<Marks>>();
        for group in exact(&few(charges, &rest), &few(rooms, &cylinders)).groups {
            groups.push(Sharing {
                systems: group.systems.iter().map(|&place| rest[place]).collect(),
                cylinders: group.cylinders.iter().map(|&place| cylinders[place]).collect(),
            });
        }
    } else {
        groups.push(Sharing { systems: rest, cylinders });
    }
    Grouping { groups, most: charges.len().min(rooms.len()) }
}

/// Whether a set was split.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Split {
    Found,
    None,
    Unknown,
}

/// How many cylinders of each class.
type Way = Vec<u8>;

/// Ways of filling a group, the tightest first.
struct Ways {
    ways: Vec<Way>,
    complete: bool,
}

struct Splitting {
    /// The systems, the largest first, by their positions.
    systems: Vec<usize>,
    /// What each set of systems holds together.
    sums: Vec<Marks>,
    /// The most groups that each set of systems may fall into.
    bounds: Vec<u8>,
    /// Cylinders of the same room, by their positions; the roomiest first.
    classes: Vec<(Marks, Vec<usize>)>,
    /// How many of each class are left.
    left: Way,
    /// Sets with cylinders that don't fall into so many groups.
    dead: HashMap<(u32, Way), usize>,
    /// The groups so far.
    found: Vec<(u32, Way)>,
    /// Steps that this number of groups may still take, and those that are kept for others.
    steps: u64,
    budget: u64,
}

impl Splitting {
    fn new(charges: &[Marks], rooms: &[Marks]) -> Self {
        let mut systems: Vec<usize> = (0..charges.len()).collect();
        systems.sort_by_key(|&system| std::cmp::Reverse(charges[system]));
        let mut sums = vec![0; 1 << charges.len()];
        for set in 1..sums.len() {
            let first = set.trailing_zeros() as usize;
            sums[set] = sums[set & (set - 1)] + charges[systems[first]];
        }
        let mut classes: Vec<(Marks, Vec<usize>)> = Vec::new();
        for (cylinder, room) in rooms.iter().enumerate() {
            match classes.iter_mut().find(|(other, _)| other == room) {
                // A count is a byte.
                Some((_, alike)) if alike.len() < usize::from(u8::MAX) => alike.push(cylinder),
                Some(_) | None => classes.push((*room, vec![cylinder])),
            }
        }
        classes.sort_by_key(|(room, _)| std::cmp::Reverse(*room));
        let slack = rooms.iter().sum::<Marks>() - sums[sums.len() - 1];
        let bounds = bounds(&sums, &Reached::by(rooms), slack);
        Self {
            systems,
            sums,
            bounds,
            classes,
            left: Vec::new(),
            dead: HashMap::new(),
            found: Vec::new(),
            steps: 0,
            budget: STEPS,
        }
    }

    /// Takes every cylinder back, with so many steps of what is left.
    fn begin(&mut self, steps: u64) {
        self.budget += self.steps;
        self.budget -= steps.min(self.budget);
        self.steps = steps;
        self.left = self.classes.iter().map(|(_, alike)| alike.len() as u8).collect();
        self.found.clear();
    }

    /// Groups at once: one system after the other, the largest first, gets cylinders of its own where some nearly fit; the rest
    /// are one group.
    fn one_each(&mut self) -> Vec<Sharing> {
        let mut open = self.sums[self.sums.len() - 1];
        let mut rest = 0u32;
        for bit in 0..self.systems.len() {
            let charge = self.sums[1 << bit];
            // The last takes whatever is left.
            let others = usize::from(rest > 0 || bit + 1 < self.systems.len());
            let slack = self.room(&self.left) - open;
            match self.tightest(charge, slack, others).filter(|_| others > 0) {
                Some(way) => {
                    self.left.iter_mut().zip(&way).for_each(|(left, taken)| *left -= taken);
                    self.found.push((1 << bit, way));
                    open -= charge;
                }
                None => rest |= 1 << bit,
            }
        }
        self.found.push((rest, self.left.clone()));
        self.groups()
    }

    /// The room of so many cylinders of each class.
    fn room(&self, way: &Way) -> Marks {
        way.iter().zip(&self.classes).map(|(count, (room, _))| Marks::from(*count) * room).sum()
    }

    /// Splits a set of systems and the cylinders that are left into so many groups. The first is that of the largest system.
    fn split(&mut self, set: u32, number: usize) -> Split {
        if number == 1 {
            self.found.push((set, self.left.clone()));
            return Split::Found;
        }
        let state = (set, self.left.clone());
        if self.dead.get(&state).is_some_and(|dead| *dead <= number) {
            return Split::None;
        }
        let slack = self.room(&self.left) - self.sums[set as usize];
        let first = set & set.wrapping_neg();
        let others = set ^ first;
        let mut result = Split::None;
        // The smallest groups first: they leave most systems to be groups of their own.
        for size in 0..=(others.count_ones() as usize + 1).saturating_sub(number) {
            let mut more = others;
            loop {
                if more.count_ones() as usize == size
                    && usize::from(self.bounds[(others ^ more) as usize]) + 1 >= number
                {
                    match self.with(first | more, others ^ more, slack, number) {
                        Split::Found => return Split::Found,
                        Split::Unknown => result = Split::Unknown,
                        Split::None => {}
                    }
                    if self.steps == 0 {
                        return Split::Unknown;
                    }
                }
                if more == 0 {
                    break;
                }
                more = (more - 1) & others;
            }
        }
        if result == Split::None {
            self.dead.insert(state, number);
        }
        result
    }

    /// As [`Self::split`], with this group the first.
    fn with(&mut self, group: u32, rest: u32, slack: Marks, number: usize) -> Split {
        let Ways { ways, complete } = self.ways(self.sums[group as usize], slack, number - 1);
        let mut result = if complete { Split::None } else { Split::Unknown };
        for way in ways {
            self.left.iter_mut().zip(&way).for_each(|(left, taken)| *left -= taken);
            self.found.push((group, way.clone()));
            match self.split(rest, number - 1) {
                Split::Found => return Split::Found,
                Split::Unknown => result = Split::Unknown,
                Split::None => {}
            }
            self.found.pop();
            self.left.iter_mut().zip(&way).for_each(|(left, taken)| *left += taken);
            if self.steps == 0 {
                return Split::Unknown;
            }
        }
        result
    }

    /// The way of choosing cylinders that hold `charge` with the least to spare, as [`Self::ways`] has them; where sums are too
    /// many to go through, the best of those ways.
    fn tightest(&mut self, charge: Marks, slack: Marks, others: usize) -> Option<Way> {
        let number: usize = self.left.iter().map(|count| usize::from(*count)).sum();
        let words = usize::try_from(charge + slack).map_or(usize::MAX, |most| most / 64 + 1);
        let work = words.saturating_mul(number);
        if work > MOST_WORDS {
            return self.ways(charge, slack, others).ways.into_iter().next();
        }
        self.steps = self.steps.saturating_sub(work as u64 / 8);
        let each: Vec<usize> =
            (0..self.left.len()).flat_map(|class| std::iter::repeat_n(class, usize::from(self.left[class]))).collect();
        // Which sums the first cylinders come to, one more in each row.
        let mut rows = vec![vec![0u64; words]];
        rows[0][0] = 1;
        for class in &each {
            let mut row = rows[rows.len() - 1].clone();
            or_shifted(&mut row, usize::try_from(self.classes[*class].0).ok()?);
            rows.push(row);
        }
        let has = |row: &[u64], sum: usize| row.get(sum / 64).is_some_and(|word| word >> (sum % 64) & 1 == 1);
        let (low, high) = (usize::try_from(charge).ok()?, usize::try_from(charge + slack).ok()?);
        let mut sum = (low..=high).find(|sum| has(&rows[each.len()], *sum))?;
        let mut way = vec![0; self.left.len()];
        for (at, class) in each.iter().enumerate().rev() {
            if !has(&rows[at], sum) {
                way[*class] += 1;
                sum -= usize::try_from(self.classes[*class].0).ok()?;
            }
        }
        let taken: usize = way.iter().map(|count| usize::from(*count)).sum();
        let fits = taken + others <= number && Marks::try_from(taken).is_ok_and(|taken| taken <= charge);
        if fits { Some(way) } else { self.ways(charge, slack, others).ways.into_iter().next() }
    }

    /// The ways of choosing cylinders that hold `charge` with no more than `slack` to spare, and leave at least `others`.
    /// None has a cylinder more than it needs: another group may have that as well.
    fn ways(&mut self, charge: Marks, slack: Marks, others: usize) -> Ways {
        let mut behind = vec![0; self.left.len() + 1];
        for class in (0..self.left.len()).rev() {
            behind[class] = behind[class + 1] + Marks::from(self.left[class]) * self.classes[class].0;
        }
        let number: usize = self.left.iter().map(|count| usize::from(*count)).sum();
        let most = Marks::try_from(number.saturating_sub(others)).unwrap_or(Marks::MAX).min(charge);
        self.steps = self.steps.saturating_sub(self.left.len() as u64);
        let mut choice = Choice { way: vec![0; self.left.len()], ways: Vec::new(), complete: true, behind };
        self.choose(&mut choice, 0, (charge, charge + slack), most);
        let Choice { mut ways, complete, .. } = choice;
        ways.sort_by_key(|way| self.room(way));
        Ways { ways, complete }
    }

    /// Chooses cylinders from this class on, whose room is at least the one and at most the other, at most so many.
    fn choose(&mut self, choice: &mut Choice, from: usize, (low, high): (Marks, Marks), most: Marks) {
        for class in from..self.left.len() {
            if choice.behind[class] < low {
                return;
            }
            self.steps = self.steps.saturating_sub(1);
            if self.steps == 0 || choice.ways.len() >= MOST_WAYS {
                choice.complete = false;
                return;
            }
            let room = self.classes[class].0;
            for count in (1..=(high / room).min(Marks::from(self.left[class])).min(most)).rev() {
                let (low, high) = (low - count * room, high - count * room);
                if low + room <= 0 {
                    continue;
                }
                choice.way[class] = count as u8;
                if low <= 0 {
                    self.steps = self.steps.saturating_sub(self.left.len() as u64 / 4);
                    choice.ways.push(choice.way.clone());
                } else {
                    self.choose(choice, class + 1, (low, high), most - count);
                }
            }
            choice.way[class] = 0;
        }
    }

    /// The cylinders of a way, by their positions: of those alike the first that no group before has.
    fn own(&self, way: &Way) -> Vec<usize> {
        let alike =
            way.iter().zip(&self.classes).flat_map(|(count, (_, alike))| alike.iter().take(usize::from(*count)));
        alike.copied().collect()
    }

    /// The groups that were found, by positions.
    fn groups(&self) -> Vec<Sharing> {
        let mut taken = vec![0; self.classes.len()];
        let mut groups = Vec::new();
        for (set, way) in &self.found {
            let mut cylinders = Vec::new();
            for ((count, (_, alike)), taken) in way.iter().zip(&self.classes).zip(&mut taken) {
                cylinders.extend(alike.iter().skip(*taken).take(usize::from(*count)));
                *taken += usize::from(*count);
            }
            let systems = self.systems.iter().enumerate().filter(|(bit, _)| set >> bit & 1 == 1);
            groups.push(Sharing { systems: systems.map(|(_, system)| *system).collect(), cylinders });
        }
        groups
    }
}

/// Ways being chosen.
struct Choice {
    way: Way,
    ways: Vec<Way>,
    complete: bool,
    /// The room of all that is left from each class on.
    behind: Vec<Marks>,
}

/// Which sums some of the rooms come to.
enum Reached {
    Sums(Vec<u64>),
    /// There are too many to say: any, for all we know.
    Any,
}

impl Reached {
    fn by(rooms: &[Marks]) -> Self {
        let total = rooms.iter().try_fold(0usize, |sum, room| sum.checked_add(usize::try_from(*room).ok()?));
        let words = total.map_or(usize::MAX, |total| total / 64 + 1);
        if words.saturating_mul(rooms.len()) > MOST_WORDS {
            return Self::Any;
        }
        let mut sums = vec![0u64; words];
        sums[0] = 1;
        rooms.iter().filter_map(|room| usize::try_from(*room).ok()).for_each(|room| or_shifted(&mut sums, room));
        Self::Sums(sums)
    }

    /// Whether one of them lies between these two.
    fn between(&self, low: Marks, high: Marks) -> bool {
        let Self::Sums(sums) = self else { return true };
        let (Ok(low), Ok(high)) = (usize::try_from(low), usize::try_from(high)) else { return true };
        let (first, last) = (low / 64, (high / 64).min(sums.len() - 1));
        (first..=last).any(|word| {
            let from = if word == first { u64::MAX << (low % 64) } else { u64::MAX };
            let to = if word == high / 64 { u64::MAX >> (63 - high % 64) } else { u64::MAX };
            sums[word] & from & to != 0
        })
    }
}

/// Adds to sums, a bit for each, those with one more room; what goes beyond them is left out.
fn or_shifted(sums: &mut [u64], room: usize) {
    let (by, bits) = (room / 64, room % 64);
    for word in (by..sums.len()).rev() {
        let low = if bits > 0 && word > by { sums[word - by - 1] >> (64 - bits) } else { 0 };
        sums[word] |= sums[word - by] << bits | low;
    }
}

/// For each set of systems, into how many groups it may fall at most. Put together one after the other, groups come to sets
/// that some cylinders hold with no more than all the slack: so there are no more of them than such sets on a way from none
/// to all.
fn bounds(sums: &[Marks], reached: &Reached, slack: Marks) -> Vec<u8> {
    let mut bounds = vec![0u8; sums.len()];
    for set in 1..sums.len() {
        let mut best = 0;
        let mut rest = set;
        while rest > 0 {
            let one = rest & rest.wrapping_neg();
            best = best.max(bounds[set ^ one]);
            rest ^= one;
        }
        bounds[set] = best + u8::from(reached.between(sums[set], sums[set] + slack));
    }
    bounds
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests;
