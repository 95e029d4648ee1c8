//! The figures of a quote that a file may state, each with the values that are taken where it doesn't.

use super::Range;
use crate::quantity::Decimal;

/// What stands beside every figure of this list that no file states.
pub const NO_SOURCE: &str = "common practice, no source";

/// A figure that a job file may state under `labour`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    /// There and back.
    Travel,
    /// Unloading, gauges, scale, machine; and clearing up.
    SetUp,
    /// Hoses on and off a system.
    HookUp,
    /// Share of the charge that leaves as vapour.
    VapourShare,
    /// What heat and long hoses take off the plate's rates.
    Derating,
    /// From the last liquid to the required level.
    PullDown,
    /// Close, weigh, change, open.
    CylinderChange,
    /// One cylinder, one way, one floor.
    Carry,
    /// A system afterwards.
    LeakCheck,
    /// A cylinder's label and tag.
    Label,
    /// Records of a job.
    Paperwork,
}

/// What a figure is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FigureUnit {
    /// Minutes.
    Minutes,
    /// Per cent.
    Percent,
}

/// A line of [`FIGURES`].
#[derive(Debug, Clone, Copy)]
pub struct FigureLine {
    /// Which.
    pub figure: Figure,
    /// Its key under `labour`.
    pub key: &'static str,
    /// In words.
    pub what: &'static str,
    /// Its unit.
    pub unit: FigureUnit,
    /// Low, likely and high where the file states none: common practice, no source.
    usual: (u32, u32, u32),
    /// The most that a file may state.
    pub most: u32,
}

impl FigureLine {
    /// Low, likely and high where the file states none.
    pub fn usual(&self) -> Range<Decimal> {
        let (low, likely, high) = self.usual;
        Range { low, likely, high }.map(Decimal::from)
    }

    const fn minutes(figure: Figure, key: &'static str, what: &'static str, usual: (u32, u32, u32)) -> Self {
        // Ten days of a hundred hours are beyond any of them.
        Self { figure, key, what, unit: FigureUnit::Minutes, usual, most: 60_000 }
    }

    const fn percent(figure: Figure, key: &'static str, what: &'static str, usual: (u32, u32, u32)) -> Self {
        Self { figure, key, what, unit: FigureUnit::Percent, usual, most: 90 }
    }
}

/// Every figure, in the order in which it comes in the day.
pub const FIGURES: &[FigureLine] = &[
    FigureLine::minutes(Figure::Travel, "travel", "travel there and back", (45, 60, 90)),
    FigureLine::minutes(Figure::SetUp, "set_up", "set-up and clearing up", (20, 30, 45)),
    FigureLine::minutes(Figure::HookUp, "hook_up", "hooking up", (10, 15, 25)),
    FigureLine::percent(Figure::VapourShare, "vapour_share", "share that leaves as vapour", (5, 10, 15)),
    FigureLine::percent(Figure::Derating, "derating", "off the plate's rates for heat and long hoses", (20, 30, 40)),
    FigureLine::minutes(Figure::PullDown, "pull_down", "pull-down to the required level", (15, 20, 30)),
    FigureLine::minutes(Figure::CylinderChange, "cylinder_change", "one cylinder change", (5, 6, 10)),
    FigureLine::minutes(Figure::Carry, "carry", "one cylinder, one way, one floor", (2, 3, 5)),
    FigureLine::minutes(Figure::LeakCheck, "leak_check", "leak check", (10, 15, 20)),
    FigureLine::minutes(Figure::Label, "label", "label of a cylinder", (3, 4, 5)),
    FigureLine::minutes(Figure::Paperwork, "paperwork", "paperwork of a job", (15, 20, 30)),
];

impl Figure {
    /// Its line in [`FIGURES`].
    pub fn line(self) -> FigureLine {
        FIGURES[self as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_stands_at_its_place_and_rises() {
        for (index, line) in FIGURES.iter().enumerate() {
            assert_eq!(line.figure as usize, index, "{}", line.key);
            let (low, likely, high) = line.usual;
            assert!(low <= likely && likely <= high && high <= line.most, "{}", line.key);
        }
        assert_eq!(FIGURES.len(), Figure::Paperwork as usize + 1);
    }
}
