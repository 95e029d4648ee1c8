//! A line of the log as JSON. Weights are texts with their unit, so that a line reads by itself.

use serde::{Deserialize, Serialize};

use crate::cylinder::Id;
use crate::plan::Share;
use crate::quantity::{Decimal, Division, Marks, Unit, Weight, parse_weight};
use crate::recovery::{Action, FileMark, LogEntry, LogReading, Moment, Planned, Start, Step, SystemCharge};

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    no: usize,
    at: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    reading: Option<ReadingLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    undo: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    plan: Option<PlanLine>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ReadingLine {
    cylinder: String,
    gross: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    net: Option<String>,
    system: String,
    #[serde(default, skip_serializing_if = "is_false")]
    emptied: bool,
    #[serde(default, skip_serializing_if = "is_false")]
    moved: bool,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    forced: Vec<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    note: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PlanLine {
    steps: Vec<StepLine>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    short: Vec<ShortLine>,
    systems: Vec<SystemLine>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    without: Vec<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    with: Vec<String>,
    starts: Vec<StartLine>,
    files: Vec<FileLine>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct StepLine {
    cylinder: String,
    lot: String,
    now: String,
    add: String,
    stop: String,
    limit: String,
    from: Vec<ShareLine>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ShareLine {
    system: String,
    add: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ShortLine {
    lot: String,
    missing: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct SystemLine {
    system: String,
    charge: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct StartLine {
    cylinder: String,
    gross: String,
    holds: String,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    may_contain: Vec<String>,
    condition: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    owner: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    kept_for: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FileLine {
    file: String,
    mark: String,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde passes a reference
const fn is_false(flag: &bool) -> bool {
    !*flag
}

/// An entry as a line, without its end.
pub(super) fn write(entry: &LogEntry, division: Division) -> serde_json::Result<String> {
    let (mut reading, mut undo, mut plan) = (None, None, None);
    match &entry.action {
        Action::Plan(planned) => plan = Some(plan_line(planned, division)),
        Action::Reading(read) => reading = Some(reading_line(read, division)),
        Action::Undo { takes_back } => undo = Some(*takes_back),
    }
    serde_json::to_string(&Line { no: entry.number, at: entry.at.to_string(), reading, undo, plan })
}

/// A line as an entry; it must be the one of this number.
pub(super) fn read(bytes: &[u8], number: usize, division: Division) -> Result<LogEntry, String> {
    let line: Line = serde_json::from_slice(bytes).map_err(|error| error.to_string())?;
    if line.no != number {
        return Err(format!("its number is {}, expected {number}; lines are missing or doubled", line.no));
    }
    let at = Moment::parse(&line.at).ok_or_else(|| format!("`{}` isn't a time with its offset", line.at))?;
    let action = match (line.reading, line.undo, line.plan) {
        (Some(read), None, None) => Action::Reading(reading(read, division)?),
        (None, Some(takes_back), None) => Action::Undo { takes_back },
        (None, None, Some(line)) => Action::Plan(plan(line, division)?),
        _ => return Err("expected one of `reading`, `undo` and `plan`".into()),
    };
    Ok(LogEntry { number, at, action })
}

fn marks(text: &str, division: Division) -> Result<Marks, String> {
    // Where readings were forced, a system may be believed to have held less than nothing.
    let (size, sign) = text.strip_prefix('-').map_or((text, 1), |size| (size, -1));
    let weight = parse_weight(size, None).map_err(|error| error.to_string())?;
    let marks = division.floor(weight);
    let exact = division.weight(marks) == weight;
    if exact {
        Ok(sign * marks)
    } else {
        Err(format!("{text} isn't a whole number of divisions of {}", division.text(1)))
    }
}

fn reading_line(reading: &LogReading, division: Division) -> ReadingLine {
    ReadingLine {
        cylinder: reading.cylinder.to_string(),
        gross: division.text(reading.gross),
        net: reading.net.map(|net| division.text(net)),
        system: reading.system.clone(),
        emptied: reading.emptied,
        moved: reading.moved,
        forced: reading.forced.clone(),
        note: reading.note.clone(),
    }
}

fn reading(line: ReadingLine, division: Division) -> Result<LogReading, String> {
    Ok(LogReading {
        gross: marks(&line.gross, division)?,
        net: line.net.map(|net| marks(&net, division)).transpose()?,
        cylinder: line.cylinder.into(),
        system: line.system,
        emptied: line.emptied,
        moved: line.moved,
        forced: line.forced,
        note: line.note,
    })
}

fn plan_line(planned: &Planned, division: Division) -> PlanLine {
    let text = |marks: Marks| division.text(marks);
    let step = |step: &Step| StepLine {
        cylinder: step.cylinder.to_string(),
        lot: step.lot.clone(),
        now: text(step.now),
        add: text(step.add),
        stop: text(step.stop),
        limit: text(step.limit),
        from: step.from.iter().map(|share| ShareLine { system: share.system.clone(), add: text(share.add) }).collect(),
    };
    let start = |start: &Start| StartLine {
        cylinder: start.cylinder.to_string(),
        gross: exact_text(start.gross, division.unit()),
        holds: start.holds.clone(),
        may_contain: start.may_contain.clone(),
        condition: start.condition.clone(),
        owner: start.owner.clone(),
        kept_for: start.kept_for.clone(),
    };
    let short = planned.short.iter();
    let systems = planned.systems.iter();
    let files = planned.files.iter();
    PlanLine {
        steps: planned.steps.iter().map(step).collect(),
        short: short.map(|(lot, missing)| ShortLine { lot: lot.clone(), missing: text(*missing) }).collect(),
        systems: systems.map(|one| SystemLine { system: one.system.clone(), charge: text(one.charge) }).collect(),
        without: planned.without.iter().map(ToString::to_string).collect(),
        with: planned.with.clone(),
        starts: planned.starts.iter().map(start).collect(),
        files: files.map(|file| FileLine { file: file.file.clone(), mark: file.mark.clone() }).collect(),
    }
}

fn plan(line: PlanLine, division: Division) -> Result<Planned, String> {
    let marks = |text: &str| marks(text, division);
    let share = |share: ShareLine| Ok(Share { add: marks(&share.add)?, system: share.system });
    let step = |step: StepLine| {
        Ok(Step {
            now: marks(&step.now)?,
            add: marks(&step.add)?,
            stop: marks(&step.stop)?,
            limit: marks(&step.limit)?,
            from: step.from.into_iter().map(share).collect::<Result<_, String>>()?,
            cylinder: step.cylinder.into(),
            lot: step.lot,
        })
    };
    let start = |start: StartLine| {
        Ok(Start {
            gross: exact(&start.gross)?,
            cylinder: start.cylinder.into(),
            holds: start.holds,
            may_contain: start.may_contain,
            condition: start.condition,
            owner: start.owner,
            kept_for: start.kept_for,
        })
    };
    let short = |short: ShortLine| Ok((short.lot, marks(&short.missing)?));
    let system = |one: SystemLine| Ok(SystemCharge { charge: marks(&one.charge)?, system: one.system });
    Ok(Planned {
        steps: line.steps.into_iter().map(step).collect::<Result<_, String>>()?,
        short: line.short.into_iter().map(short).collect::<Result<_, String>>()?,
        systems: line.systems.into_iter().map(system).collect::<Result<_, String>>()?,
        without: line.without.into_iter().map(Id::from).collect(),
        with: line.with,
        starts: line.starts.into_iter().map(start).collect::<Result<_, String>>()?,
        files: line.files.into_iter().map(|file| FileMark { file: file.file, mark: file.mark }).collect(),
    })
}

/// A weight without any rounding: in the unit of the scale where four decimals hold it, else in grams.
fn exact_text(weight: Weight, unit: Unit) -> String {
    let number = unit.number(weight).round_dp(4).normalize();
    if unit.weight(number) == weight {
        return format!("{number} {}", unit.number_name());
    }
    let grams = weight.ratio_to(Weight::grams(Decimal::ONE)).unwrap_or_default();
    format!("{} g", grams.normalize())
}

fn exact(text: &str) -> Result<Weight, String> {
    let wrong = || format!("`{text}` isn't a weight");
    let (number, unit) = text.split_once(' ').ok_or_else(wrong)?;
    let number = Decimal::from_str_exact(number).map_err(|_| wrong())?;
    let most = Decimal::from(100_000_000);
    match unit {
        _ if number.is_sign_negative() || number > most => Err(wrong()),
        "g" => Ok(Weight::grams(number)),
        "lb" => Ok(Weight::pounds(number)),
        "kg" => Ok(Weight::kilograms(number)),
        "oz" => Ok(Weight::ounces(number)),
        _ => Err(wrong()),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn entry(action: Action) -> LogEntry {
        LogEntry { number: 3, at: Moment::parse("2026-12-01T08:15:00-05:00").unwrap(), action }
    }

    fn a_reading() -> LogReading {
        LogReading {
            cylinder: "C-7 \"old\"".into(),
            gross: 454,
            net: Some(16),
            system: "Rack\n1".into(),
            emptied: true,
            moved: false,
            forced: vec!["lower".into()],
            note: Some("hose moved".into()),
        }
    }

    fn a_plan() -> Planned {
        let share = Share { system: "Rack 1".into(), add: 40 };
        let (cylinder, lot) = (Id::from("C-1"), "R-22".to_owned());
        // 12.9 kg isn't a number of pounds with four decimals, and stays exact.
        let gross = Weight::kilograms(Decimal::new(129, 1));
        let start = Start {
            cylinder: cylinder.clone(),
            gross,
            holds: "mixed".into(),
            may_contain: vec!["R-12".into()],
            condition: "clean".into(),
            owner: Some("us".into()),
            kept_for: None,
        };
        Planned {
            files: vec![FileMark { file: "job.yaml".into(), mark: "0".into() }],
            with: vec!["more.yaml".into()],
            without: vec!["C-9".into()],
            starts: vec![start],
            systems: vec![
                SystemCharge { system: "Rack 1".into(), charge: 40 },
                SystemCharge { system: "Rack 2".into(), charge: -5 },
            ],
            steps: vec![Step {
                cylinder,
                lot: lot.clone(),
                from: vec![share],
                now: 280,
                add: 40,
                stop: 320,
                limit: 330,
            }],
            short: vec![(lot, 7)],
        }
    }

    #[test]
    fn every_entry_reads_as_it_was_written_in_every_unit() {
        for unit in Unit::ALL {
            let division = unit.default_division();
            for action in [Action::Reading(a_reading()), Action::Undo { takes_back: 2 }, Action::Plan(a_plan())] {
                let entry = entry(action);
                let line = write(&entry, division).unwrap();
                assert!(!line.contains('\n'), "{line}");
                assert_eq!(read(line.as_bytes(), 3, division), Ok(entry));
            }
        }
    }

    #[test]
    fn what_isnt_an_entry_is_refused() {
        let division = Unit::Lb.default_division();
        let line = write(&entry(Action::Reading(a_reading())), division).unwrap();
        let spoiled = [
            line.replace("45.4 lb", "45.45 lb"),
            line.replace("45.4 lb", "45.4"),
            line.replace("-05:00", ""),
            line.replace("\"reading\"", "\"undo\":1,\"reading\""),
            line.replace("gross", "grows"),
            line[..line.len() - 1].to_owned(),
            String::new(),
        ];
        for text in spoiled {
            assert!(read(text.as_bytes(), 3, division).is_err(), "{text}");
        }
        assert!(read(line.as_bytes(), 4, division).is_err(), "another number");
        assert!(read(line.as_bytes(), 3, division).is_ok());
    }
}
