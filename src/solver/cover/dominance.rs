//! Dominance among the states of the search for a cheapest cover.

/// The states that none before them beats, of those that leave as much uncovered or less.
#[derive(Debug, Default)]
pub struct Front {
    /// Whether the resource is limited.
    limited: bool,
    /// For each number of cylinders, where that is limited, the lowest price.
    least: Vec<i64>,
    /// The same where it is: (price, uses), the dearer the less used.
    stairs: Vec<Vec<(i64, i64)>>,
    /// The numbers met, from the first to before the second.
    met: (usize, usize),
}

impl Front {
    /// Numbers of cylinders below `numbers` are told apart; 1 where their number isn't limited.
    pub fn begin(&mut self, numbers: usize, limited: bool) {
        self.clear();
        self.limited = limited;
        if limited {
            self.stairs.resize_with(numbers, Vec::new);
        } else {
            self.least.resize(numbers, i64::MAX);
        }
    }

    /// Forgets the states met.
    pub fn clear(&mut self) {
        let (from, to) = std::mem::take(&mut self.met);
        if self.limited {
            self.stairs[from..to].iter_mut().for_each(Vec::clear);
        } else {
            self.least[from..to].fill(i64::MAX);
        }
    }

    /// Takes a state in unless one before is as good: as cheap, using as little, with as many cylinders.
    pub fn takes(&mut self, number: usize, price: i64, uses: i64) -> bool {
        let (from, to) = self.met;
        self.met = if from == to { (number, number + 1) } else { (from.min(number), to.max(number + 1)) };
        if !self.limited {
            let better = price < self.least[number];
            self.least[number] = self.least[number].min(price);
            return better;
        }
        let stairs = &mut self.stairs[number];
        let dearer = stairs.partition_point(|(other, _)| *other <= price);
        if dearer > 0 && stairs[dearer - 1].1 <= uses {
            return false;
        }
        let from = dearer - usize::from(dearer > 0 && stairs[dearer - 1].0 == price);
        let to = dearer + stairs[dearer..].iter().take_while(|(_, other)| *other >= uses).count();
        stairs.splice(from..to, [(price, uses)]);
        true
    }
}
