//! A loading plan in another unit, beside the one that is filled by.

use super::{Block, Table, name, number};
use crate::plan::Reading;
use crate::quantity::{Division, Unit};

/// A cylinder with what it weighs now, what is added, where to stop, and its limit.
pub(super) type LoadReadings<'a> = (&'a str, [Reading; 4]);

/// The same weights on a scale of another division, to the safe side; nobody fills by them.
pub(super) fn beside<'a>(lines: impl Iterator<Item = LoadReadings<'a>>, scale: Unit, to: Division) -> Vec<Block> {
    let row = |(cylinder, [now, add, stop, limit]): LoadReadings| {
        let weights = [now.up(to), add.up(to), stop.down(to), limit.down(to)].map(|weight| weight.to_string());
        std::iter::once(cylinder.to_owned()).chain(weights).collect()
    };
    let rows: Vec<Vec<String>> = lines.map(row).collect();
    if rows.is_empty() {
        return Vec::new();
    }
    let columns = vec![name("cylinder"), number("now"), number("add"), number("stop"), number("limit")];
    let (shown, reads) = (to.unit().name(), scale.name());
    vec![
        Block::Heading(format!("For comparison, shown in {shown}: the scale reads {reads}, fill by the table above")),
        Block::Table(Table { columns, rows }),
        Block::Note(format!(
            "Stops and limits are rounded down, all else up, so that sums may differ by a division. For a scale that \
             reads {shown} write `units: {shown}` in the job."
        )),
    ]
}
