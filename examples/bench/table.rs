//! What was measured, as tables in Markdown.

use comfy_table::presets::ASCII_MARKDOWN;
use comfy_table::{CellAlignment, Table};

use crate::measure::{Answer, Objectives, median};

/// One line for each problem.
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
            format!("{} %{}", case.share, if case.any_size { ", any size" } else { "" }),
            case.seed.to_string(),
            answer.status.clone(),
            totals.cylinders.to_string(),
            bounds.cylinders.to_string(),
            case.division.text(totals.heaviest),
            case.division.text(bounds.heaviest),
            case.division.text(totals.carried),
            case.division.text(bounds.carried),
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
        "status",
        "cylinders proved",
        "heaviest proved",
        "carried proved",
        "least missing proved",
        "time, median / largest",
        "of CPU, median / largest",
        "memory",
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
    let times = |of: fn(&Answer) -> f64| {
        let mut seconds: Vec<f64> = these.iter().map(|answer| of(answer)).collect();
        let largest = seconds.iter().copied().fold(0.0, f64::max);
        format!("{} / {} ms", milliseconds(median(&mut seconds)), milliseconds(largest))
    };
    let peak = these.iter().map(|answer| answer.peak_bytes).max().unwrap_or(0);
    vec![
        these.first().map_or_else(String::new, |answer| size(answer)),
        these.len().to_string(),
        statuses(these),
        proved(these, &PLANNED, |objectives| objectives.cylinders, |over, _| format!("{over}")),
        proved(these, &PLANNED, |objectives| objectives.heaviest, percent),
        proved(these, &PLANNED, |objectives| objectives.carried, percent),
        proved(these, &["short"], |objectives| objectives.missing, percent),
        times(|answer| answer.seconds),
        times(|answer| answer.cpu_seconds),
        format!("{} MB", megabytes(peak)),
    ]
}

/// How often each status.
fn statuses(these: &[&Answer]) -> String {
    let mut names: Vec<&str> = these.iter().map(|answer| answer.status.as_str()).collect();
    names.sort_unstable_by(|a, b| b.cmp(a));
    names.dedup();
    let count = |name: &&str| these.iter().filter(|answer| answer.status == *name).count();
    names.iter().map(|name| format!("{} {name}", count(name))).collect::<Vec<_>>().join(", ")
}

/// The statuses of plans in which everything fits.
const PLANNED: [&str; 2] = ["proved", "bounded"];

/// Of how many plans with these statuses an objective is proved, and how far above its bound it is in the worst.
fn proved(these: &[&Answer], statuses: &[&str], of: fn(&Objectives) -> i64, words: fn(i64, i64) -> String) -> String {
    let planned = these.iter().filter(|answer| statuses.contains(&answer.status.as_str()));
    let gaps: Vec<(i64, i64)> =
        planned.map(|answer| (of(&answer.totals) - of(&answer.bounds), of(&answer.bounds).max(1))).collect();
    let exact = gaps.iter().filter(|(over, _)| *over == 0).count();
    let worst = gaps.iter().max_by(|a, b| (a.0 as f64 / a.1 as f64).total_cmp(&(b.0 as f64 / b.1 as f64)));
    match worst {
        None => "none".to_owned(),
        Some((0, _)) => "all".to_owned(),
        Some((over, bound)) => format!("{exact} of {}, the worst {} over", gaps.len(), words(*over, *bound)),
    }
}

fn percent(over: i64, bound: i64) -> String {
    format!("{:.2} %", over as f64 / bound as f64 * 100.0)
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

fn milliseconds(seconds: f64) -> String {
    format!("{:.1}", seconds * 1e3)
}

fn megabytes(bytes: u64) -> String {
    format!("{:.0}", bytes as f64 / 1e6)
}
