//! A quote for a spreadsheet. No cell begins as a formula does.

use super::super::Alarms;
use super::{QuoteReport, Three};
use crate::printable::cell;

const COLUMNS: [&str; 10] = ["section", "job", "item", "system", "figured", "unit", "low", "likely", "high", "from"];

/// The quote as CSV with a header: hours in minutes, money in the file's currency, and every assumption as a row.
///
/// # Errors
/// None that writing to memory can have; they are passed on all the same.
pub fn to_csv(report: &QuoteReport, alarms: &Alarms) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(COLUMNS)?;
    for row in rows(report, alarms) {
        writer.write_record(row.iter().map(|text| cell(text)))?;
    }
    let bytes = writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn rows(report: &QuoteReport, alarms: &Alarms) -> Vec<[String; 10]> {
    let currency = report.currency.clone().unwrap_or_default();
    let text = |section: &str, text: &str| row([section, "", text, "", "", ""], None, "");
    let mut rows = Vec::new();
    for cylinder in &report.cylinders {
        let stop = cylinder.stop.bare();
        let stop = Three { low: stop.clone(), likely: stop.clone(), high: stop };
        rows.push(row(
            ["cylinder", &cylinder.lot, &cylinder.cylinder, "", "stop weight", report.unit],
            Some(&stop),
            cylinder.from,
        ));
    }
    for hours in &report.hours {
        for piece in &hours.pieces {
            let system = piece.system.as_deref().unwrap_or_default();
            rows.push(row(
                ["hours", &hours.job, piece.what, system, &piece.basis, "min"],
                Some(&piece.minutes),
                piece.origin,
            ));
        }
        rows.push(row(["hours", &hours.job, "elapsed", "", "", "min"], Some(&hours.elapsed_minutes), ""));
        rows.push(row(["hours", &hours.job, "all people", "", "", "min"], Some(&hours.crew_minutes), ""));
    }
    if let Some(cost) = &report.cost {
        for line in &cost.lines {
            rows.push(row(
                ["cost", &line.job, &line.what, "", &line.basis, &currency],
                Some(&line.amount),
                line.origin,
            ));
        }
        rows.push(row(["cost", "", "total", "", "", &currency], Some(&cost.total), ""));
        if let Some(deposits) = &cost.deposits {
            rows.push(row(["deposit", "", "given back, not in the total", "", "", &currency], Some(deposits), ""));
        }
        rows.extend(cost.unpriced.iter().map(|what| text("not priced", what)));
    }
    rows.extend(alarms.dangers().map(|(_, what)| text("danger", what)));
    rows.extend(alarms.over_fill().map(|(_, what)| text("over our fill", what)));
    rows.extend(report.warnings.iter().map(|one| text("warning", &one.text)));
    rows.extend(report.missing.iter().map(|what| text("left in the system", what)));
    rows.extend(report.assumptions.iter().map(|what| text("assumption", what)));
    rows.extend(report.skipped.iter().map(|what| text("left out, can't be read", what)));
    rows
}

fn row(names: [&str; 6], figures: Option<&Three>, from: &str) -> [String; 10] {
    let [section, job, item, system, figured, unit] = names.map(str::to_owned);
    let figures = figures.cloned().unwrap_or(Three { low: String::new(), likely: String::new(), high: String::new() });
    [section, job, item, system, figured, unit, figures.low, figures.likely, figures.high, from.to_owned()]
}
