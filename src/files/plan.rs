//! A plan file: the JSON that `plan --json` writes, read back for the audit.
//!
//! Every key must be there and none besides. Weights are taken from the digits as written; one that isn't a whole
//! number of the plan's divisions is a problem. Whether the plan is any good is not judged here.

use std::path::Path;

use serde::de::IgnoredAny;

use super::code::Code;
use super::fields::{Fields, Findings, Value};
use super::problem::Problems;
use super::source::{Mark, Source};
use super::tree::Node;
use super::value::MOST_SENTENCE;
use super::yaml;
use super::yard::MOST_CYLINDERS;
use crate::plan::{LeftOut, Load, LotLine, Plan, Reason, Share, Short, Status, Suggestion, Totals};
use crate::quantity::{Decimal, Division, Marks, Unit};

/// What stands under `format` in a plan file.
pub const FORMAT: &str = "chargesplit-plan/1";

const KEYS: [&str; 15] = [
    "format",
    "job",
    "jobs",
    "unit",
    "division",
    "status",
    "bounds",
    "totals",
    "lots",
    "loads",
    "left_out",
    "not_needed",
    "short",
    "warnings",
    "skipped",
];

/// Reads a plan file.
///
/// # Errors
/// Every problem of the file.
pub fn read_plan(path: &Path) -> Result<Plan, Problems> {
    let source = Source::read(path)?;
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
        (Some(plan), None) => Ok(plan),
        (_, Some(problems)) => Err(problems),
        (None, None) => Err(unfinished(&source)),
    }
}

/// Each part that is missing has said so; this stands only where one hasn't.
fn unfinished(source: &Source) -> Problems {
    source.whole(Code::WrongShape, "the plan is not complete", "write the file with `plan --json`").into()
}

fn plan(node: &Node, found: &mut Findings) -> Option<Plan> {
    let fields = Fields::open(node, None, "a plan", &KEYS, found)?;
    fields.need("format", found, |value, found| {
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
    let status = fields.need("status", found, |value, found| value.word(&status, found));
    // Without a division no weight can be counted; ones in pounds only keep the rest readable for its other problems.
    let scale = division.unwrap_or_else(|| Unit::Lb.default_division());
    let mut each = Each { scale, found };
    let bounds = each.totals(fields, "bounds");
    let totals = each.totals(fields, "totals");
    let lots = each.of(fields, "lots", &LOT_KEYS, Each::lot);
    let loads = each.of(fields, "loads", &LOAD_KEYS, Each::load);
    let left_out = each.of(fields, "left_out", &LEFT_OUT_KEYS, Each::left_out);
    let not_needed = each.texts(fields, "not_needed");
    let short = each.of(fields, "short", &SHORT_KEYS, Each::short);
    let warnings = each.of(fields, "warnings", &REASON_KEYS, Each::reason);
    // Rows of the yard that the run left out: they are the run's, not the plan's, and an audit reads the yard itself.
    if fields.has("skipped") {
        each.texts(fields, "skipped");
    }
    Some(Plan {
        jobs: jobs?,
        division: division?,
        status: status?,
        bounds: bounds?,
        totals: totals?,
        lots,
        loads,
        left_out,
        not_needed,
        short,
        warnings,
    })
}

fn division(fields: Fields, found: &mut Findings) -> Option<Division> {
    let units = Unit::ALL.map(|unit| (unit, unit.number_name()));
    let unit = fields.need("unit", found, |value, found| value.word(&units, found));
    let step = fields.need("division", found, number);
    let (unit, step) = unit.zip(step)?;
    let division = Division::new(unit, unit.weight(step));
    let hint = "write the plan again with this version";
    division.map_err(|error| found.add(Code::BadDivision, fields.mark("division"), &error.to_string(), hint)).ok()
}

fn jobs(fields: Fields, found: &mut Findings) -> Option<Vec<String>> {
    match (fields.has("job"), fields.has("jobs")) {
        (true, false) => fields.read("job", found, Value::text).map(|job| vec![job]),
        (false, true) => {
            let scale = Unit::Lb.default_division();
            Some(Each { scale, found }.texts(fields, "jobs"))
        }
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

const LOT_KEYS: [&str; 6] = ["lot", "refrigerant", "systems", "charge", "room", "spare"];
const LOAD_KEYS: [&str; 11] =
    ["order", "cylinder", "lot", "refrigerant", "from", "now", "add", "stop", "limit", "ceiling", "liquid_full"];
const SHARE_KEYS: [&str; 2] = ["system", "add"];
const LEFT_OUT_KEYS: [&str; 2] = ["cylinder", "reasons"];
const REASON_KEYS: [&str; 2] = ["code", "text"];
const SHORT_KEYS: [&str; 3] = ["lot", "missing", "suggest"];
const SUGGESTION_KEYS: [&str; 2] = ["count", "kind"];
const TOTAL_KEYS: [&str; 3] = ["cylinders", "heaviest", "carried"];
const MOST_COUNT: u32 = 1_000_000;

/// The parts of a plan, one method for each.
struct Each<'f, 's> {
    scale: Division,
    found: &'f mut Findings<'s>,
}

impl Each<'_, '_> {
    /// Every item of a list that must be there.
    fn of<T>(
        &mut self,
        fields: Fields,
        key: &'static str,
        known: &'static [&'static str],
        mut read: impl FnMut(&mut Self, Fields) -> Option<T>,
    ) -> Vec<T> {
        let at = fields.mark(key);
        let mut items = Vec::new();
        for node in self.list(fields, key) {
            if let Some(fields) = Fields::open(node, at, key, known, self.found) {
                items.extend(read(self, fields));
            }
        }
        items
    }

    fn list<'n>(&mut self, fields: Fields<'n>, key: &'static str) -> &'n [Node] {
        if !fields.has(key) {
            fields.missing(key, "", self.found);
        }
        fields.list(key, MOST_CYLINDERS, self.found)
    }

    fn texts(&mut self, fields: Fields, key: &'static str) -> Vec<String> {
        let at = fields.mark(key);
        let mut texts = Vec::new();
        for node in self.list(fields, key) {
            if let Node::Leaf(leaf) = node {
                texts.extend(Value { key, leaf }.text_up_to(MOST_SENTENCE, self.found));
            } else {
                let message = format!("{key}: found {}, expected a text", node.kind());
                self.found.add(Code::WrongShape, node.mark().or(at), &message, "write the plan again");
            }
        }
        texts
    }

    fn text(&mut self, fields: Fields, key: &'static str) -> Option<String> {
        fields.need(key, self.found, Value::text)
    }

    fn sentence(&mut self, fields: Fields, key: &'static str) -> Option<String> {
        fields.need(key, self.found, |value, found| value.text_or_nothing(MOST_SENTENCE, found))
    }

    fn count(&mut self, fields: Fields, key: &'static str) -> Option<usize> {
        fields.need(key, self.found, |value, found| value.count(MOST_COUNT, found)).map(|count| count as usize)
    }

    fn weight(&mut self, fields: Fields, key: &'static str) -> Option<Marks> {
        let scale = self.scale;
        fields.need(key, self.found, |value, found| {
            let number = number(value, found)?;
            let marks = scale.marks(number);
            if marks.is_none() {
                let message = format!("`{number}` isn't a whole number of divisions of {}", scale.text(1));
                value.problem(Code::OffDivision, &message, "the scale can't show it; write the plan again", found);
            }
            marks
        })
    }

    fn totals(&mut self, fields: Fields, key: &'static str) -> Option<Totals> {
        if !fields.has(key) {
            fields.missing(key, "", self.found);
        }
        let totals = fields.map(key, key, &TOTAL_KEYS, self.found)?;
        let cylinders = self.count(totals, "cylinders");
        let heaviest = self.weight(totals, "heaviest");
        let carried = self.weight(totals, "carried");
        Some(Totals { cylinders: cylinders?, heaviest: heaviest?, carried: carried? })
    }

    fn lot(&mut self, fields: Fields) -> Option<LotLine> {
        let (lot, refrigerant) = (self.sentence(fields, "lot"), self.sentence(fields, "refrigerant"));
        let systems = self.texts(fields, "systems");
        let charge = self.weight(fields, "charge");
        let (room, spare) = (self.weight(fields, "room"), self.weight(fields, "spare"));
        Some(LotLine { lot: lot?, refrigerant: refrigerant?, systems, charge: charge?, room: room?, spare: spare? })
    }

    fn load(&mut self, fields: Fields) -> Option<Load> {
        let order = self.count(fields, "order");
        let (cylinder, lot) = (self.text(fields, "cylinder"), self.sentence(fields, "lot"));
        let refrigerant = self.sentence(fields, "refrigerant");
        let from = self.of(fields, "from", &SHARE_KEYS, Self::share);
        let (now, add) = (self.weight(fields, "now"), self.weight(fields, "add"));
        let (stop, limit) = (self.weight(fields, "stop"), self.weight(fields, "limit"));
        let ceiling = self.text(fields, "ceiling");
        let liquid_full = self.sentence(fields, "liquid_full");
        Some(Load {
            order: order?,
            cylinder: cylinder?,
            lot: lot?,
            refrigerant: refrigerant?,
            from,
            now: now?,
            add: add?,
            stop: stop?,
            limit: limit?,
            ceiling: ceiling?,
            liquid_full: liquid_full?,
        })
    }

    fn share(&mut self, fields: Fields) -> Option<Share> {
        let (system, add) = (self.sentence(fields, "system"), self.weight(fields, "add"));
        Some(Share { system: system?, add: add? })
    }

    fn left_out(&mut self, fields: Fields) -> Option<LeftOut> {
        let cylinder = self.text(fields, "cylinder");
        let reasons = self.of(fields, "reasons", &REASON_KEYS, Self::reason);
        Some(LeftOut { cylinder: cylinder?, reasons })
    }

    fn reason(&mut self, fields: Fields) -> Option<Reason> {
        let (code, text) = (self.text(fields, "code"), self.sentence(fields, "text"));
        Some(Reason { code: code?, text: text? })
    }

    fn short(&mut self, fields: Fields) -> Option<Short> {
        let (lot, missing) = (self.sentence(fields, "lot"), self.weight(fields, "missing"));
        let suggest = self.of(fields, "suggest", &SUGGESTION_KEYS, Self::suggestion);
        Some(Short { lot: lot?, missing: missing?, suggest })
    }

    fn suggestion(&mut self, fields: Fields) -> Option<Suggestion> {
        let (count, kind) = (self.count(fields, "count"), self.sentence(fields, "kind"));
        Some(Suggestion { count: count?, kind: kind? })
    }
}
