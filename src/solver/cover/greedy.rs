//! A cover by greed: where the exact search starts from, and a cover at once.

use super::task::{Item, Task};

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
