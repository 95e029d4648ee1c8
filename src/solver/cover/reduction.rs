//! What is certain of a lot's cheapest covers before any table is filled.
//!
//! In words: at a price of λ for a division of room, a cylinder whose price is under λ · room is worth having and one
//! above it is not. Every cover costs at least
//!
//!   U = λ · charge + Σ N_c · min(0, price_c − λ · room_c),
//!
//! and each cylinder taken or left against that rule adds |price_c − λ · room_c| to it, for any λ ≥ 0 (at most the
//! cost of a division left over). A cover found by greed gives an upper limit; a class whose one cylinder against the
//! rule already passes it is decided. The rest, the core, goes into the table. Where the core is too large, its
//! closest part does, and what a cylinder outside it adds at least bounds all covers that the table doesn't know.

use super::task::{Item, NONE, Task};

/// What is decided before the table.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Core {
    /// Classes certainly in: (class, how many).
    pub taken: Vec<(usize, i64)>,
    /// Their price.
    pub price: i64,
    /// What is left to cover.
    pub rest: i64,
    /// A cover found by greed, with its price, by class.
    pub greedy: Option<(i64, Vec<(usize, i64)>)>,
    /// Covers that the table leaves out cost at least this.
    pub beyond: i64,
    /// The table leaves out covers that were asked for.
    pub partial: bool,
}

/// Items that a table keeps whatever its width.
const LEAST_ITEMS: usize = 40;

impl Core {
    /// Decides what can be decided; the undecided items go to `table`, in the order of their classes.
    pub fn of(mut items: Vec<Item>, task: Task, table: &mut Vec<Item>) -> Self {
        table.clear();
        let each = |item: &Item| item.price as f64 / item.room as f64;
        items.sort_by(|a, b| each(a).total_cmp(&each(b)).then(a.class.cmp(&b.class)));
        let worth = |item: &&Item| {
            task.leftover.is_none_or(|left| i128::from(item.price) < i128::from(left) * i128::from(item.room))
        };
        let mut room = 0_i64;
        let stop = items.iter().filter(worth).find(|item| {
            room = room.saturating_add(item.room.saturating_mul(item.most));
            room >= task.charge
        });
        // λ as a fraction.
        let (over, under) = match (stop, task.leftover) {
            (Some(item), _) => (item.price.max(0), item.room),
            (None, Some(left)) => (left, 1),
            (None, None) => {
                return Self { rest: task.charge, beyond: NONE, ..Self::default() };
            }
        };
        let against =
            |item: &Item| i128::from(item.price) * i128::from(under) - i128::from(over) * i128::from(item.room);
        let least: i128 = i128::from(over) * i128::from(task.charge)
            + items.iter().map(|item| i128::from(item.most) * against(item).min(0)).sum::<i128>();
        let greedy = greedy(items.iter(), task);
        let mut this = Self { greedy, beyond: NONE, ..Self::default() };
        let known = this.greedy.as_ref().map_or(NONE, |(price, _)| *price);
        let limit = i128::from(task.up_to.unwrap_or(known));
        let allowed = limit * i128::from(under) - least;
        let mut core: Vec<(i128, Item)> = items.iter().map(|item| (against(item), *item)).collect();
        // Those against the rule by more than is allowed are decided; of the rest the closest that there is room for.
        core.sort_by_key(|(against, item)| (against.abs(), item.class));
        let undecided = core.partition_point(|(against, _)| against.abs() <= allowed);
        let mut rest = task.charge;
        let mut kept = undecided;
        let inside = |against: &i128, item: &Item| {
            if *against < 0 { item.room.saturating_mul(item.most) } else { 0 }
        };
        for (against, item) in &core[undecided..] {
            rest = rest.saturating_sub(inside(against, item));
        }
        while kept > LEAST_ITEMS.min(task.cells / 64)
            && (kept as i64 + 1).saturating_mul(rest.max(0) + 1) > task.cells as i64
        {
            kept -= 1;
            let (against, item) = &core[kept];
            rest = rest.saturating_sub(inside(against, item));
        }
        if kept < undecided {
            let beyond = (least + core[kept].0.abs()).div_euclid(i128::from(under));
            this.beyond = i64::try_from(beyond).unwrap_or(NONE);
            this.partial = true;
        }
        for (against, item) in &core[kept..] {
            if *against < 0 {
                this.taken.push((item.class, item.most));
                this.price += item.price * item.most;
            }
        }
        this.rest = rest.max(0);
        table.extend(core[..kept].iter().map(|(_, item)| *item));
        table.sort_unstable_by_key(|item| item.class);
        this
    }
}

/// A cover by greed: the cheapest for their room first, then without what it can do without. `items` in that order.
pub fn greedy<'a>(items: impl Iterator<Item = &'a Item>, task: Task) -> Option<(i64, Vec<(usize, i64)>)> {
    let mut cover: Vec<(Item, i64)> = Vec::new();
    let mut rest = task.charge;
    for item in items {
        let worth = task.leftover.is_none_or(|left| item.price < left.saturating_mul(item.room.min(rest.max(0))));
        let number = if item.price < 0 { item.most } else { (rest.max(0) + item.room - 1) / item.room }.min(item.most);
        if number > 0 && worth {
            rest -= item.room.saturating_mul(number);
            cover.push((*item, number));
        }
    }
    for (item, number) in cover.iter_mut().rev() {
        while *number > 0 && item.price >= 0 && rest + item.room <= 0 {
            *number -= 1;
            rest += item.room;
        }
    }
    let missing = match task.leftover {
        Some(left) => left.saturating_mul(rest.max(0)),
        None if rest > 0 => return None,
        None => 0,
    };
    let price = cover.iter().map(|(item, number)| item.price * number).sum::<i64>() + missing;
    let mut cover: Vec<(usize, i64)> =
        cover.into_iter().filter(|(_, number)| *number > 0).map(|(item, number)| (item.class, number)).collect();
    cover.sort_unstable();
    Some((price, cover))
}
