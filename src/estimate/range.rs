//! A figure that isn't known exactly: its low, its likely and its high value.

/// From low over likely to high.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Range<T> {
    /// The lowest.
    pub low: T,
    /// The likely one.
    pub likely: T,
    /// The highest.
    pub high: T,
}

impl<T: Copy> Range<T> {
    /// One value for all three.
    pub fn exactly(value: T) -> Self {
        Self { low: value, likely: value, high: value }
    }

    /// The three, each turned into something else.
    pub fn map<U>(self, turn: impl Fn(T) -> U) -> Range<U> {
        Range { low: turn(self.low), likely: turn(self.likely), high: turn(self.high) }
    }

    /// The lows of both together, the likely ones, the highs.
    pub fn with<U: Copy, V>(self, other: Range<U>, both: impl Fn(T, U) -> V) -> Range<V> {
        Range {
            low: both(self.low, other.low),
            likely: both(self.likely, other.likely),
            high: both(self.high, other.high),
        }
    }

    /// High for low and low for high: for a figure of which more costs less.
    pub fn turned(self) -> Self {
        Self { low: self.high, likely: self.likely, high: self.low }
    }
}

impl<T: Copy + std::ops::Add<Output = T>> std::ops::Add for Range<T> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        self.with(other, |a, b| a + b)
    }
}

impl<T: Copy + Default + std::ops::Add<Output = T>> std::iter::Sum for Range<T> {
    fn sum<I: Iterator<Item = Self>>(ranges: I) -> Self {
        ranges.fold(Self::exactly(T::default()), std::ops::Add::add)
    }
}
