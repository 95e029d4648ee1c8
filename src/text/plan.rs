//! A plan file: the JSON that `plan --json` writes, read back for the audit.
//!
//! Every key must be there and none besides. Weights are taken from the digits as written; one that isn't a whole
//! number of the plan's divisions is a problem. Whether the plan is any good is not judged here.

use std::path::Path;

use serde::de::IgnoredAny;

use super::fields::{Fields, Findings, Value};
use super::shape::{Holds, Key, KeyRule, Shape, may, must};
use super::source::{Mark, Source};
use super::tree::Node;
use super::value::MOST_SENTENCE;
use super::yaml;
use super::yard::MOST_CYLINDERS;
use crate::cylinder::Id;
use crate::disk::Input;
use crate::plan::{Against, LeftOut, Leftover, LotLine, Plan, Reason, Remedy, Short, Status, Suggestion, Totals};
use crate::problem::{Code, Problems};
use crate::quantity::{Decimal, Division, Marks, Unit};

mod loads;
#[cfg(test)]
mod tests;

use loads::LOAD;

/// What stands under `format` in a plan file.
pub const FORMAT: &str = "chargesplit-plan/1";

/// A file that the program writes: each key must be there, and no person needs to be told what it is.
const fn key(name: &'static str, holds: Holds) -> Key {
    must(name, holds, "")
}

static SHAPE: Shape = Shape {
    what: "a plan",
    keys: &[
        key("format", Holds::Text),
        may("job", Holds::Text, ""),
        may("jobs", LINES, ""),
        key("unit", Holds::Text),
        key("division", Holds::Text),
        key("status", Holds::Text),
        key("bounds", Holds::Map(&TOTALS)),
        key("totals", Holds::Map(&TOTALS)),
        key("lots", Holds::List(&LOT, MOST_CYLINDERS)),
        key("loads", Holds::List(&LOAD, MOST_CYLINDERS)),
        key("left_out", Holds::List(&LEFT_OUT, MOST_CYLINDERS)),
        key("not_needed", LINES),
        key("short", Holds::List(&SHORT, MOST_CYLINDERS)),
        may("remedy", Holds::Map(&REMEDY), ""),
        key("warnings", Holds::List(&REASON, MOST_CYLINDERS)),
        may("explanation", LINES, ""),
        may("skipped", LINES, ""),
        may("dangers", LINES, ""),
        may("over_fill", LINES, ""),
        may("of_ledger", LINES, ""),
        may("in_force", Holds::Map(&IN_FORCE), ""),
        may("alarms", Holds::List(&ALARM, MOST_CYLINDERS), ""),
    ],
    rules: &[KeyRule::Either("job", "jobs")],
};
/// The plan that the jobs followed when it was printed: the ledger's, not the plan's.
static IN_FORCE: Shape = Shape {
    what: "a plan in force",
    keys: &[
        key("bind", Holds::Text),
        key("by", Holds::Text),
        key("at", Holds::Text),
        key("jobs", LINES),
        key("same", Holds::Flag),
        key("beside", LINES),
    ],
    rules: &[],
};
/// A cylinder that the run had to tell of.
static ALARM: Shape = Shape {
    what: "an alarm",
    keys: &[
        key("cylinder", Holds::Text),
        key("level", Holds::Text),
        key("text", Holds::Text),
        key("weighs", Holds::Text),
        key("over", Holds::Text),
        key("take", Holds::Text),
        key("down_to", Holds::Text),
        key("into", Holds::Text),
        key("ours", Holds::Flag),
        key("mixed", Holds::Flag),
    ],
    rules: &[],
};
const LINES: Holds = Holds::Texts(MOST_CYLINDERS);

/// Reads a plan file; returns the plan and what was read.
///
/// # Errors
/// Every problem of the file.
pub fn read_plan(path: &Path) -> Result<(Plan, Input), Problems> {
    let source = Source::typed(path)?;
    if let Err(error) = serde_json::from_str::<IgnoredAny>(&source.text) {
        let mark = Mark::new(error.line(), error.column().max(1));
        let mut problem = source.whole(
            Code::Syntax,
            &format!("this isn't JSON: {}", error.to_string().split(" at line ").next().unwrap_or_default()),
            "write the file with `plan --json`",
        );
        problem.place = source.place(mark);
        return Err(problem.into());
    }
    // What is JSON is YAML too, and read so its values keep their digits and their places.
    let node = yaml::read(&source)?;
    let mut found = Findings::new(&source);
    let plan = plan(&node, &mut found);
    match (plan, Problems::of(found.problems)) {
        (Some(plan), None) => Ok((plan, source.input())),
        (_, Some(problems)) => Err(problems),
        (None, None) => Err(unfinished(&source)),
    }
}

/// Each part that is missing has said so; this stands only where one hasn't.
fn unfinished(source: &Source) -> Problems {
    source.whole(Code::WrongShape, "the plan is not complete", "write the file with `plan --json`").into()
}

fn plan(node: &Node, found: &mut Findings) -> Option<Plan> {
    let fields = Fields::open(node, None, &SHAPE, found)?;
    fields.read("format", found, |value, found| {
        let format = value.text(found)?;
        if format != FORMAT {
            let message = format!("found `{format}`, expected `{FORMAT}`");
            value.problem(Code::PlanFormat, &message, "write the plan again with this version", found);
        }
        Some(())
    });
    let division = division(fields, found);
    let jobs = jobs(fields, found);
    let status = Status::ALL.map(|status| (status, status.name()));
    let status = fields.read("status", found, |value, found| value.word(&status, found));
    // Without a division no weight can be counted; ones in pounds only keep the rest readable for its other problems.
    let scale = division.unwrap_or_else(|| Unit::Lb.default_division());
    let each = Each { scale };
    let lots = fields.each("lots", found, |fields, found| each.lot(fields, found));
    let loads = each.loads(fields, found);
    let bounds = each.totals(fields, "bounds", 0, found);
    let totals = each.totals(fields, "totals", loads.iter().map(|load| load.pours.len()).sum(), found);
    let left_out = fields.each("left_out", found, |fields, found| each.left_out(fields, found));
    let not_needed = texts(fields, "not_needed", found);
    let short = fields.each("short", found, |fields, found| each.short(fields, found));
    let remedy = fields.has("remedy").then(|| each.remedy(fields, found)).flatten();
    let warnings = fields.each("warnings", found, |fields, found| each.reason(fields, found));
    // Why the plan is as it is, rows of the yard that the run left out, and cylinders that it had to tell of: they are the
    // run's, not the plan's, and an audit reads the yard itself.
    texts(fields, "explanation", found);
    texts(fields, "skipped", found);
    for sentences in ["dangers", "over_fill", "of_ledger"] {
        texts(fields, sentences, found);
    }
    fields.each("alarms", found, |_, _| Some(()));
    Some(Plan {
        jobs: jobs?,
        division: division?,
        status: status?,
        bounds: bounds?,
        totals: totals?,
        lots,
        loads,
        left_out,
        not_needed: not_needed.into_iter().map(Id::from).collect(),
        short,
        remedy,
        warnings,
    })
}

fn division(fields: Fields, found: &mut Findings) -> Option<Division> {
    let units = Unit::ALL.map(|unit| (unit, unit.number_name()));
    let unit = fields.read("unit", found, |value, found| value.word(&units, found));
    let step = fields.read("division", found, number);
    let (unit, step) = unit.zip(step)?;
    let division = Division::new(unit, unit.weight(step));
    let hint = "write the plan again with this version";
    division.map_err(|error| found.add(Code::BadDivision, fields.mark("division"), &error.to_string(), hint)).ok()
}

fn jobs(fields: Fields, found: &mut Findings) -> Option<Vec<String>> {
    match (fields.has("job"), fields.has("jobs")) {
        (true, false) => fields.read("job", found, Value::text).map(|job| vec![job]),
        (false, true) => Some(texts(fields, "jobs", found)),
        (true, true) => {
            let message = "`job` and `jobs` exclude each other";
            found.add(Code::ConflictingKeys, fields.mark("jobs"), message, "keep `job` where there is only one");
            None
        }
        (false, false) => {
            fields.missing("job", ", and no `jobs` in its place", found);
            None
        }
    }
}

fn texts(fields: Fields, key: &'static str, found: &mut Findings) -> Vec<String> {
    let values = fields.values(key, found);
    values.into_iter().filter_map(|value| value.text_up_to(MOST_SENTENCE, found)).collect()
}

/// A number with the digits that it was written with.
fn number(value: Value, found: &mut Findings) -> Option<Decimal> {
    let text = value.text(found)?;
    let number = Some(text.as_str()).filter(|text| value.is_number() && text.len() <= 24);
    let number = number.and_then(|text| Decimal::from_str_exact(text).ok());
    if number.is_none() {
        let message = format!("`{text}` isn't a plain number");
        value.problem(Code::BadQuantity, &message, "write it in digits, without quotes and exponents", found);
    }
    number
}

static LOT: Shape = Shape {
    what: "lots",
    keys: &[
        key("lot", Holds::Text),
        key("refrigerant", Holds::Text),
        key("systems", LINES),
        key("charge", Holds::Text),
        key("room", Holds::Text),
        key("spare", Holds::Text),
    ],
    rules: &[],
};
static LEFT_OUT: Shape = Shape {
    what: "left_out",
    keys: &[key("cylinder", Holds::Text), key("reasons", Holds::List(&AGAINST, MOST_CYLINDERS))],
    rules: &[],
};
static AGAINST: Shape = Shape {
    what: "reasons",
    keys: &[key("code", Holds::Text), key("text", Holds::Text), key("lots", LINES)],
    rules: &[],
};
static REASON: Shape =
    Shape { what: "a reason", keys: &[key("code", Holds::Text), key("text", Holds::Text)], rules: &[] };
static SHORT: Shape = Shape {
    what: "short",
    keys: &[
        key("lot", Holds::Text),
        key("missing", Holds::Text),
        key("suggest", Holds::List(&SUGGESTION, MOST_CYLINDERS)),
    ],
    rules: &[],
};
static SUGGESTION: Shape = Shape {
    what: "suggest",
    keys: &[key("count", Holds::Text), key("kind", Holds::Text), may("cheapest", Holds::Flag, "")],
    rules: &[],
};
static REMEDY: Shape = Shape {
    what: "remedy",
    keys: &[
        key("evacuate", LINES),
        key("missing", Holds::List(&LEFTOVER, MOST_CYLINDERS)),
        key("add", Holds::List(&SUGGESTION, MOST_CYLINDERS)),
    ],
    rules: &[],
};
static LEFTOVER: Shape =
    Shape { what: "missing", keys: &[key("lot", Holds::Text), key("missing", Holds::Text)], rules: &[] };
static TOTALS: Shape = Shape {
    what: "totals",
    keys: &[
        key("cylinders", Holds::Text),
        key("heaviest", Holds::Text),
        key("carried", Holds::Text),
        may("pours", Holds::Text, ""),
        may("missing", Holds::Text, ""),
    ],
    rules: &[],
};
const MOST_COUNT: u32 = 1_000_000;

/// The parts of a plan, one method for each.
#[derive(Clone, Copy)]
struct Each {
    scale: Division,
}

impl Each {
    fn text(self, fields: Fields, key: &'static str, found: &mut Findings) -> Option<String> {
        fields.read(key, found, Value::text)
    }

    fn sentence(self, fields: Fields, key: &'static str, found: &mut Findings) -> Option<String> {
        fields.read(key, found, |value, found| value.text_or_nothing(MOST_SENTENCE, found))
    }

    fn count(self, fields: Fields, key: &'static str, found: &mut Findings) -> Option<usize> {
        fields.read(key, found, |value, found| value.count(MOST_COUNT, found)).map(|count| count as usize)
    }

    fn weight(self, fields: Fields, key: &'static str, found: &mut Findings) -> Option<Marks> {
        let scale = self.scale;
        fields.read(key, found, |value, found| {
            let number = number(value, found)?;
            let marks = scale.marks(number);
            if marks.is_none() {
                let message = format!("`{number}` isn't a whole number of divisions of {}", scale.text(1));
                value.problem(Code::OffDivision, &message, "the scale can't show it; write the plan again", found);
            }
            marks
        })
    }

    /// Totals; `pours` is how many there are where the file is from before they were counted.
    fn totals(self, fields: Fields, key: &'static str, pours: usize, found: &mut Findings) -> Option<Totals> {
        let totals = fields.map(key, found)?;
        let cylinders = self.count(totals, "cylinders", found);
        let heaviest = self.weight(totals, "heaviest", found);
        let carried = self.weight(totals, "carried", found);
        let pours = if totals.has("pours") { self.count(totals, "pours", found)? } else { pours };
        let missing = if totals.has("missing") { Some(self.weight(totals, "missing", found)?) } else { None };
        Some(Totals { cylinders: cylinders?, heaviest: heaviest?, carried: carried?, pours, missing })
    }

    fn lot(self, fields: Fields, found: &mut Findings) -> Option<LotLine> {
        let (lot, refrigerant) = (self.sentence(fields, "lot", found), self.sentence(fields, "refrigerant", found));
        let systems = texts(fields, "systems", found);
        let charge = self.weight(fields, "charge", found);
        let (room, spare) = (self.weight(fields, "room", found), self.weight(fields, "spare", found));
        Some(LotLine { lot: lot?, refrigerant: refrigerant?, systems, charge: charge?, room: room?, spare: spare? })
    }

    fn left_out(self, fields: Fields, found: &mut Findings) -> Option<LeftOut> {
        let cylinder = self.text(fields, "cylinder", found);
        let reasons = fields.each("reasons", found, |fields, found| self.against(fields, found));
        Some(LeftOut { cylinder: cylinder?.into(), reasons })
    }

    fn against(self, fields: Fields, found: &mut Findings) -> Option<Against> {
        let reason = self.reason(fields, found);
        let lots = texts(fields, "lots", found);
        reason.map(|Reason { code, text }| Against { code, text, lots })
    }

    fn reason(self, fields: Fields, found: &mut Findings) -> Option<Reason> {
        let (code, text) = (self.text(fields, "code", found), self.sentence(fields, "text", found));
        Some(Reason { code: code?, text: text? })
    }

    fn short(self, fields: Fields, found: &mut Findings) -> Option<Short> {
        let (lot, missing) = (self.sentence(fields, "lot", found), self.weight(fields, "missing", found));
        let suggest = fields.each("suggest", found, |fields, found| self.suggestion(fields, found));
        Some(Short { lot: lot?, missing: missing?, suggest })
    }

    fn remedy(self, fields: Fields, found: &mut Findings) -> Option<Remedy> {
        let fields = fields.map("remedy", found)?;
        let evacuate = texts(fields, "evacuate", found);
        let missing = fields.each("missing", found, |fields, found| {
            let (lot, missing) = (self.sentence(fields, "lot", found), self.weight(fields, "missing", found));
            Some(Leftover { lot: lot?, missing: missing? })
        });
        let add = fields.each("add", found, |fields, found| self.suggestion(fields, found));
        Some(Remedy { evacuate: evacuate.into_iter().map(Id::from).collect(), missing, add })
    }

    fn suggestion(self, fields: Fields, found: &mut Findings) -> Option<Suggestion> {
        let (count, kind) = (self.count(fields, "count", found), self.sentence(fields, "kind", found));
        let cheapest = fields.read("cheapest", found, Value::flag).unwrap_or(false);
        Some(Suggestion { count: count?, kind: kind?, cheapest })
    }
}
