//! What was measured, as tables in Markdown.

use comfy_table::presets::ASCII_MARKDOWN;
use comfy_table::{CellAlignment, Table};

use crate::measure::{Answer, Objectives, median};

/// One line for each problem, weights in pounds (the division is 0.1 lb).
pub fn problems(answers: &[Answer]) -> String {
    let mut table = Table::new();
    table.load_style(ASCII_MARKDOWN).set_header([
        "N × L",
        "share",
        "seed",
        "status",
        "cylinders",
        "bound",
        "heaviest",
        "bound",
        "carried",
        "bound",
        "ms",
        "ms of CPU",
        "runs",
        "MB",
    ]);
    for answer in answers {
        let (case, totals, bounds) = (answer.case, answer.totals, answer.bounds);
        table.add_row([
            size(answer),
            format!("{} %", case.share),
            case.seed.to_string(),
            answer.status.clone(),
            totals.cylinders.to_string(),
            bounds.cylinders.to_string(),
            pounds(totals.heaviest),
            pounds(bounds.heaviest),
            pounds(totals.carried),
            pounds(bounds.carried),
            milliseconds(answer.seconds),
            milliseconds(answer.cpu_seconds),
            answer.runs.to_string(),
            megabytes(answer.peak_bytes),
        ]);
    }
    drawn(table)
}

/// One line for each size.
pub fn sizes(answers: &[Answer]) -> String {
    let mut table = Table::new();
    table.load_style(ASCII_MARKDOWN).set_header([
        "N × L",
        "problems",
        "proved",
        "short",
        "undecided",
        "cylinders proved",
        "over the bound",
        "heaviest proved",
        "over the bound",
        "carried proved",
        "over the bound",
        "ms median",
        "ms largest",
        "ms of CPU, median",
        "ms of CPU, largest",
        "MB largest",
    ]);
    let mut sizes: Vec<(usize, usize)> =
        answers.iter().map(|answer| (answer.case.cylinders, answer.case.lots)).collect();
    sizes.sort_unstable();
    sizes.dedup();
    for size in sizes {
        let of = |answer: &&Answer| (answer.case.cylinders, answer.case.lots) == size;
        table.add_row(of_size(&answers.iter().filter(of).collect::<Vec<_>>()));
    }
    drawn(table)
}

fn of_size(these: &[&Answer]) -> Vec<String> {
    let with = |status: &str| these.iter().filter(|answer| answer.status == status).count().to_string();
    let planned: Vec<&Answer> =
        these.iter().copied().filter(|answer| ["proved", "bounded"].contains(&answer.status.as_str())).collect();
    let one = |of: fn(&Objectives) -> i64, share: bool| {
        let exact = planned.iter().filter(|answer| of(&answer.totals) == of(&answer.bounds)).count();
        let over = planned.iter().map(|answer| (of(&answer.totals) - of(&answer.bounds)) as f64);
        let over = if share {
            let shares = over.zip(&planned).map(|(over, answer)| over / of(&answer.bounds).max(1) as f64 * 100.0);
            format!("{:.2} %", shares.fold(0.0, f64::max))
        } else {
            format!("{}", over.fold(0.0, f64::max))
        };
        [format!("{exact} of {}", planned.len()), over]
    };
    let times = |of: fn(&Answer) -> f64| {
        let mut seconds: Vec<f64> = these.iter().map(|answer| of(answer)).collect();
        let largest = seconds.iter().copied().fold(0.0, f64::max);
        [milliseconds(median(&mut seconds)), milliseconds(largest)]
    };
    let peak = these.iter().map(|answer| answer.peak_bytes).max().unwrap_or(0);
    let mut row = vec![
        these.first().map_or_else(String::new, |answer| size(answer)),
        these.len().to_string(),
        with("proved"),
        with("short"),
        with("undecided"),
    ];
    row.extend(one(|totals| totals.cylinders, false));
    row.extend(one(|totals| totals.heaviest, true));
    row.extend(one(|totals| totals.carried, true));
    row.extend(times(|answer| answer.seconds));
    row.extend(times(|answer| answer.cpu_seconds));
    row.push(megabytes(peak));
    row
}

fn drawn(mut table: Table) -> String {
    for (index, column) in table.column_iter_mut().enumerate() {
        column.set_cell_alignment(if index == 0 { CellAlignment::Left } else { CellAlignment::Right });
    }
    table.to_string()
}

fn size(answer: &Answer) -> String {
    format!("{} × {}", answer.case.cylinders, answer.case.lots)
}

fn pounds(tenths: i64) -> String {
    format!("{}.{}", tenths / 10, tenths % 10)
}

fn milliseconds(seconds: f64) -> String {
    format!("{:.1}", seconds * 1e3)
}

fn megabytes(bytes: u64) -> String {
    format!("{:.0}", bytes as f64 / 1e6)
}
