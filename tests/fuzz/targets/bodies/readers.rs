//! The readers of files and texts, and the planner behind the job.

use std::fs;
use std::path::Path;

use chargesplit::audit::{self, Audited};
use chargesplit::cylinder::{Mark, alarms};
use chargesplit::door::{Asked, quote_work};
use chargesplit::estimate::{Offer, Source, Want, price};
use chargesplit::job::Work;
use chargesplit::planner::{self, Effort, Options, Priority};
use chargesplit::quantity::{
    Unit, parse_amount, parse_density, parse_percent, parse_pressure, parse_span, parse_temperature, parse_weight,
};
use chargesplit::report::{Alarms, CheckReport, ImportReport, PlanReport, QuoteReport, Report, draw, to_csv};
use chargesplit::text::{
    Extras, Import, Imported, Loaded, Request, Today, import_yard, read_plan, read_readings, read_records, read_tender,
    read_truck, read_work, read_yard, yard_after,
};
use jiff::civil::{Date, date};

use super::{said, shows, so_often, well_said};

const TODAY: Date = date(2026, 12, 1);
/// Questions of the planner, about a millisecond of work each.
const PATIENCE: usize = 40;

pub(super) const JOB: &str = "job: J\ndate: 2026-12-01\nunits: lb\nyard: van.csv\nsystems:\n\
    - { name: A, refrigerant: R-22, nameplate: 40 }\n- { name: B, refrigerant: R-134a, nameplate: 12 }\n";
pub(super) const VAN: &str = "id,tare [lb],water_capacity [lb],gross [lb],holds,mark,tested\n\
    C-1,27.9,47.5,27.9,evacuated,DOT-4BA400,2024-06\nC-2,28.3,47.7,28.3,evacuated,DOT-4BA400,2024-06\n\
    C-3,28.1,47.6,33.1,R-134a,DOT-4BA400,2024-06\n";

/// A job in YAML: read with and without need of a yard, planned, checked, drawn, written and read again, quoted.
pub fn job(folder: &Path, bytes: &[u8]) {
    let file = folder.join("job.yaml");
    fs::write(&file, bytes).unwrap();
    fs::write(folder.join("van.csv"), VAN).unwrap();
    let jobs = [file];
    let request = Request { jobs: &jobs, today: &Today::new(|| TODAY), skip_bad_rows: false };
    match read_work(&request) {
        Ok(loaded) => planned(folder, &loaded),
        Err(problems) => well_said(&problems),
    }
    match read_tender(&request) {
        Ok(loaded) => quoted(&loaded.work, &loaded.extras),
        Err(problems) => well_said(&problems),
    }
}

/// A yard in YAML, of a good job.
pub fn yard_yaml(folder: &Path, bytes: &[u8]) {
    yard(folder, "van.yaml", bytes);
}

/// A yard in CSV, of a good job.
pub fn yard_csv(folder: &Path, bytes: &[u8]) {
    yard(folder, "van.csv", bytes);
}

fn yard(folder: &Path, name: &str, bytes: &[u8]) {
    let (job, yard) = (folder.join("job.yaml"), folder.join(name));
    fs::write(&job, JOB.replace("van.csv", name)).unwrap();
    fs::write(&yard, bytes).unwrap();
    if let Err(problems) = read_yard(&yard, TODAY, false) {
        well_said(&problems);
    }
    match read_work(&Request { jobs: &[job], today: &Today::new(|| TODAY), skip_bad_rows: true }) {
        Ok(loaded) => planned(folder, &loaded),
        Err(problems) => well_said(&problems),
    }
    // No cylinder changes: the text comes out with its meaning, or not at all.
    if let Err(problems) = yard_after(&yard, bytes, &[]) {
        said(&problems);
    }
}

/// The plan of what was read, with each priority.
fn planned(folder: &Path, loaded: &Loaded) {
    shows(&draw(&CheckReport::new(&loaded.work, &loaded.extras, &loaded.skipped).blocks(), 80, false));
    for priority in [Priority::Fewest, Priority::Lightest] {
        let options = Options { priority, ..Options::default() };
        let Some(audited) = audited(&loaded.work, &options) else { continue };
        let report = PlanReport::new(&audited, &loaded.skipped, &loaded.work);
        shows(&draw(&report.blocks(), 80, false));
        let file = folder.join("plan.json");
        fs::write(&file, serde_json::to_string(&report).unwrap()).unwrap();
        assert_eq!(&read_plan(&file).unwrap_or_else(|problems| panic!("{problems}")).0, audited.plan());
    }
}

/// A plan that the audit passes; `None` where none keeps what is insisted on.
fn audited(work: &Work, options: &Options) -> Option<Audited> {
    let plan = planner::plan(work, options, &mut so_often(PATIENCE)).ok()?;
    for load in &plan.loads {
        assert!(load.add > 0 && load.now + load.add == load.stop && load.stop <= load.limit, "{load:?}");
    }
    Some(audit::check(work, plan).unwrap_or_else(|faults| panic!("{faults:?}")))
}

fn quoted(work: &Work, extras: &[Extras]) {
    let terms: Vec<_> = extras.iter().map(|extras| extras.terms.clone()).collect();
    let asked = Asked { work, terms: &terms, source: Source::Both, want: Want::Fewest, effort: Effort::default() };
    let quoted = quote_work(&asked, &mut so_often(PATIENCE)).unwrap_or_else(|error| panic!("{error}"));
    let offer = Offer::of_all(terms.iter().map(|terms| &terms.offer)).unwrap_or_default();
    let price = price(work, &quoted.ways[quoted.chosen], &offer, &terms);
    let report = QuoteReport::new(work, &quoted, Want::Fewest, &offer, price.as_ref(), &[]).unwrap();
    shows(&draw(&report.blocks(), 80, false));
    let alarms = Alarms::new(work.division(), &alarms(&work.standings(), &|_, _, _| true));
    shows(&draw(&alarms.blocks(), 80, false));
    let table = to_csv(&report, &alarms).unwrap();
    for cell in csv::Reader::from_reader(table.as_bytes())
        .records()
        .flat_map(|row| row.unwrap().iter().map(str::to_owned).collect::<Vec<_>>())
    {
        let number = cell.parse::<f64>().is_ok();
        assert!(number || !cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{cell:?}");
    }
    serde_json::to_string(&report).unwrap();
}

/// Somebody's list of cylinders, with and without a unit and a column given: a yard, or problems; no line is lost.
pub fn import(folder: &Path, bytes: &[u8]) {
    let (list, yard) = (folder.join("list.csv"), folder.join("yard.yaml"));
    fs::write(&list, bytes).unwrap();
    let named = [("id".to_owned(), "Serial".to_owned())];
    for (unit, chosen) in
        [(None, &[][..]), (Some(Unit::Lb), &named[..]), (Some(Unit::Kg), &[]), (Some(Unit::LbOz), &[])]
    {
        match import_yard(&Import { file: &list, unit, chosen, today: TODAY }) {
            Ok(imported) => {
                // It goes to a terminal as it is.
                shows(&imported.text);
                shows(&draw(&ImportReport::new(&imported, &list, None).blocks(), 80, false));
                fs::write(&yard, &imported.text).unwrap();
                let read = read_yard(&yard, TODAY, false).unwrap_or_else(|problems| panic!("{problems}"));
                assert_eq!(read.cylinders.len(), imported.cylinders);
                let rows = imported.cylinders + imported.refused.len() + imported.passed.len();
                assert_eq!(rows, lines(bytes, &imported));
            }
            Err(problems) => {
                well_said(&problems);
                assert!(problems.iter().all(|problem| problem.file == list), "{problems}");
            }
        }
    }
}

/// How many lines under the heads have something in them.
fn lines(bytes: &[u8], imported: &Imported) -> usize {
    let between = match imported.between {
        "comma" => b',',
        "semicolon" => b';',
        _ => b'\t',
    };
    let text = text_of(bytes, imported.encoding);
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let reader =
        csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(between).from_reader(text.as_bytes());
    let heads: Vec<String> = imported.columns.iter().map(|column| plain(&column.head)).collect();
    let records = reader.into_records().map(Result::unwrap);
    let mut under = records.skip_while(|record| record.iter().map(|head| plain(head.trim())).ne(heads.iter().cloned()));
    assert!(under.next().is_some(), "{heads:?}");
    under.filter(|record| record.iter().any(|cell| !cell.trim().is_empty())).count()
}

/// The text of a list that was saved so. What latin-1 lacks is left open: it parts no cells.
fn text_of(bytes: &[u8], encoding: &str) -> String {
    let units = |of_bytes: fn([u8; 2]) -> u16| {
        let units: Vec<u16> = bytes.chunks_exact(2).map(|unit| of_bytes([unit[0], unit[1]])).collect();
        String::from_utf16(&units).unwrap()
    };
    match encoding {
        "UTF-8" => String::from_utf8(bytes.to_vec()).unwrap(),
        "UTF-16LE" => units(u16::from_le_bytes),
        "UTF-16BE" => units(u16::from_be_bytes),
        _ => bytes.iter().map(|byte| if (0x80..0xa0).contains(byte) { '?' } else { char::from(*byte) }).collect(),
    }
}

/// A head without the signs that latin-1 lacks.
fn plain(head: &str) -> String {
    head.chars().map(|c| if u32::from(c) < 0x100 { c } else { '?' }).collect()
}

/// Texts of quantities, and the marks of cylinders.
pub fn quantity(_: &Path, bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    for bare in [None, Some(Unit::Lb), Some(Unit::Kg), Some(Unit::LbOz)] {
        if let Ok(weight) = parse_weight(text, bare) {
            assert!(!weight.is_negative(), "{text:?}");
            for unit in Unit::ALL {
                let division = unit.default_division();
                let (down, up) = (division.floor(weight), division.ceil(weight));
                assert!(division.weight(down) <= weight && weight <= division.weight(up) && up - down <= 1, "{text:?}");
                // A few orders beyond what any weight of a file may be, what was said reads as it was meant.
                if division.number(down) < 10_000_000.into() {
                    let said = division.text(down);
                    assert_eq!(parse_weight(&said, None), Ok(division.weight(down)), "{text:?}: {said:?}");
                }
            }
        }
        if let Ok(span) = parse_span(text, bare) {
            assert!(span.low <= span.high && !span.low.is_negative(), "{text:?}");
        }
    }
    if let Ok(temperature) = parse_temperature(text) {
        assert!(temperature.kelvin().is_finite(), "{text:?}");
    }
    if let Ok(pressure) = parse_pressure(text) {
        assert!(pressure.gauge().absolute().pascal().is_finite(), "{text:?}");
    }
    if let Ok(density) = parse_density(text) {
        assert!(density.kg_per_m3().is_finite() && density.kg_per_m3() >= 0.0, "{text:?}");
    }
    if let Ok(percent) = parse_percent(text) {
        assert!(!percent.number().is_sign_negative(), "{text:?}");
    }
    if let Ok((amount, rest)) = parse_amount(text, "anything") {
        assert!(!amount.is_sign_negative() && rest == rest.to_lowercase(), "{text:?}");
    }
    if let Ok(mark) = Mark::parse(text) {
        assert!(mark.service_pressure().is_none_or(|pressure| pressure.pascal() > 0.0), "{text:?}");
    }
    let _ = chargesplit::refrigerant::Refrigerant::find(text);
}

/// A plan file, audited against a good job.
pub fn plan(folder: &Path, bytes: &[u8]) {
    let (job, file) = (folder.join("job.yaml"), folder.join("plan.json"));
    fs::write(&job, JOB).unwrap();
    fs::write(folder.join("van.csv"), VAN).unwrap();
    fs::write(&file, bytes).unwrap();
    let work = read_work(&Request { jobs: &[job], today: &Today::new(|| TODAY), skip_bad_rows: false }).unwrap().work;
    match read_plan(&file) {
        Ok((plan, _)) => match audit::check(&work, plan) {
            Ok(audited) => {
                for load in &audited.plan().loads {
                    assert!(load.stop <= load.limit && load.now + load.add == load.stop, "{load:?}");
                }
            }
            Err(faults) => faults.iter().for_each(|fault| assert!(!fault.to_string().is_empty())),
        },
        Err(problems) => well_said(&problems),
    }
}

/// A truck.
pub fn truck(folder: &Path, bytes: &[u8]) {
    let file = folder.join("truck.yaml");
    fs::write(&file, bytes).unwrap();
    if let Err(problems) = read_truck(&file) {
        well_said(&problems);
    }
}

/// Readings that a sheet kept, and a recovery record.
pub fn records(folder: &Path, bytes: &[u8]) {
    let (readings, record) = (folder.join("readings.jsonl"), folder.join("job.record.json"));
    fs::write(&readings, bytes).unwrap();
    fs::write(&record, bytes).unwrap();
    if let Err(problems) = read_readings(&readings) {
        well_said(&problems);
    }
    let _ = read_records(folder);
}
