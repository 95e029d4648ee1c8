//! Cylinders that may not be used, as every plan shows them: a line for each, and one line for many with one reason.

use std::collections::BTreeMap;

use serde::Serialize;

use super::Block;
use crate::cylinder::RULES;
use crate::plan::{Against, LeftOut, Plan};

/// The rule that is danger: said above everything else already.
const DANGER: &str = "over-limit";

/// So many lines of the same rules, told apart by their figures alone, become one line.
const ALIKE: usize = 3;

/// A cylinder that is left out, and how many lots its plan has.
#[derive(Debug, Clone, Serialize)]
#[serde(transparent)]
pub(super) struct Unfilled {
    left: LeftOut,
    #[serde(skip)]
    lots: usize,
}

/// Rules of which each cylinder's own words say what to look for: they stand behind its name also among many, without
/// how they begin.
const EACH_ITS_OWN: [(&str, &str); 2] = [("remark", "its remark says "), ("doubtful-pair", "")];

/// What a line says of its cylinders.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Said {
    /// The rules that it names, in their order.
    codes: Vec<String>,
    /// With the figures.
    text: String,
}

/// The cylinders that a plan leaves out.
pub(super) fn of<W>(plan: &Plan<W>) -> Vec<Unfilled> {
    plan.left_out.iter().map(|left| Unfilled { left: left.clone(), lots: plan.lots.len() }).collect()
}

/// The same as it is read; nothing where no cylinder is left out.
pub(super) fn blocks(left_out: &[Unfilled]) -> Vec<Block> {
    if left_out.is_empty() {
        return Vec::new();
    }
    vec![Block::Heading("Left out".into()), Block::List(lines(left_out))]
}

/// A line for each cylinder in the order in which they come; those of which the same is said share the first one's line.
pub(super) fn lines(left_out: &[Unfilled]) -> Vec<String> {
    let mut groups: Vec<(Said, Vec<&str>)> = Vec::new();
    for (cylinder, said) in left_out.iter().map(|one| (one.left.cylinder.as_str(), one.said())) {
        match groups.iter_mut().find(|(known, _)| *known == said) {
            Some((_, ids)) => ids.push(cylinder),
            None => groups.push((said, vec![cylinder])),
        }
    }
    let mut alike: BTreeMap<Vec<String>, usize> = BTreeMap::new();
    for (said, _) in &groups {
        *alike.entry(said.codes.clone()).or_default() += 1;
    }
    let many = |said: &Said| alike.get(&said.codes).is_some_and(|count| *count >= ALIKE);
    let mut drawn: Vec<(Said, Vec<String>)> = Vec::new();
    for (said, ids) in groups {
        let of_its_own = if many(&said) { said.of_its_own() } else { None };
        let names = ids.iter().map(|id| match &of_its_own {
            Some(own) => format!("{id} ({own})"),
            None => (*id).to_owned(),
        });
        let names: Vec<String> = names.collect();
        let said = if many(&said) { Said { text: in_brief(&said.codes), ..said } } else { said };
        match drawn.iter_mut().find(|(known, _)| *known == said) {
            Some((_, known)) => known.extend(names),
            None => drawn.push((said, names)),
        }
    }
    drawn.into_iter().map(|(said, ids)| format!("{}: {}", ids.join(", "), said.text)).collect()
}

impl Said {
    /// What its first rule finds, with the figures and without what to do, where each cylinder's has to be read.
    fn of_its_own(&self) -> Option<String> {
        let code = self.codes.first()?;
        let (_, beginning) = EACH_ITS_OWN.into_iter().find(|(known, _)| known == code)?;
        let remedy = RULES.iter().find(|rule| rule.code == *code)?.remedy;
        self.text.split_once(&format!("; {remedy}")).map(|(found, _)| found.trim_start_matches(beginning).to_owned())
    }
}

impl Unfilled {
    /// A cylinder with what keeps it from so many lots.
    pub(super) fn new(cylinder: &str, reasons: Vec<Against>, lots: usize) -> Self {
        Self { left: LeftOut { cylinder: cylinder.into(), reasons }, lots }
    }

    /// What is true for every lot: the first of it with figures and what to do, the rest by name. Where nothing is, what
    /// is true for each.
    fn said(&self) -> Said {
        let general: Vec<&Against> = self.left.reasons.iter().filter(|reason| reason.lots.len() == self.lots).collect();
        if let [first, rest @ ..] = general.as_slice() {
            let rest: Vec<&str> = rest.iter().map(|reason| brief(&reason.code)).collect();
            let also = if rest.is_empty() { String::new() } else { format!("; besides: {}", rest.join(", ")) };
            let codes = general.iter().map(|reason| reason.code.clone()).collect();
            let first = if first.code == DANGER { "see DANGER above" } else { &first.text };
            return Said { codes, text: format!("{first}{also}") };
        }
        let reasons = &self.left.reasons;
        let text: Vec<String> =
            reasons.iter().map(|reason| format!("for {}: {}", reason.lots.join(", "), reason.text)).collect();
        Said { codes: reasons.iter().map(|reason| reason.code.clone()).collect(), text: text.join("; ") }
    }
}

/// What the rules of these codes find, without figures, and what to do about the first.
fn in_brief(codes: &[String]) -> String {
    let briefs: Vec<&str> = codes.iter().map(|code| brief(code)).collect();
    let remedy = codes.first().and_then(|code| RULES.iter().find(|rule| rule.code == *code)).map(|rule| rule.remedy);
    format!("{}{}", briefs.join(", "), remedy.map_or_else(String::new, |remedy| format!("; {remedy}")))
}

fn brief(code: &str) -> &str {
    RULES.iter().find(|rule| rule.code == code).map_or(code, |rule| rule.brief)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn left(cylinder: &str, reasons: &[(&str, &str, &[&str])]) -> Unfilled {
        let against = |(code, text, lots): &(&str, &str, &[&str])| Against {
            code: (*code).into(),
            text: (*text).into(),
            lots: lots.iter().map(|lot| (*lot).to_owned()).collect(),
        };
        Unfilled::new(cylinder, reasons.iter().map(against).collect(), 2)
    }

    fn drawn(left_out: &[Unfilled]) -> Vec<String> {
        let lists = blocks(left_out)
            .into_iter()
            .filter_map(|block| if let Block::List(lines) = block { Some(lines) } else { None });
        lists.flatten().collect()
    }

    const ALL: &[&str] = &["R-22", "R-410A"];

    #[test]
    fn what_is_true_for_every_lot_is_one_line_and_hides_what_is_true_for_one() {
        let lines = drawn(&[left(
            "C-1",
            &[
                ("overdue", "its test was good through 2025-03-31; have it requalified", ALL),
                ("service-pressure", "R-410A reaches 387 psig; use another", &["R-410A"]),
                ("damage", "damage noted: collar; have it inspected", ALL),
            ],
        )]);
        assert_eq!(lines, ["C-1: its test was good through 2025-03-31; have it requalified; besides: damaged"]);
    }

    #[test]
    fn where_nothing_is_true_for_every_lot_each_is_named() {
        let lines = drawn(&[left(
            "C-1",
            &[("full", "it is full; use another", &["R-22"]), ("holds-other", "it holds R-22; keep it", &["R-410A"])],
        )]);
        assert_eq!(lines, ["C-1: for R-22: it is full; use another; for R-410A: it holds R-22; keep it"]);
    }

    #[test]
    fn many_cylinders_with_one_reason_are_one_line() {
        let holds: &[(&str, &str, &[&str])] = &[("holds-other", "it holds R-32; keep it", ALL)];
        let same = ["C-1", "C-2", "C-3", "C-4"].map(|id| left(id, holds));
        assert_eq!(drawn(&same), ["C-1, C-2, C-3, C-4: it holds R-32; keep it"]);
        let dates = ["2025-01-31", "2025-02-28", "2025-03-31"];
        let texts = dates.map(|date| format!("its test was good through {date}; have it requalified"));
        let overdue: Vec<Unfilled> = texts
            .iter()
            .enumerate()
            .map(|(index, text)| left(&format!("D-{index}"), &[("overdue", text, ALL)]))
            .collect();
        assert_eq!(drawn(&overdue[..2]).len(), 2);
        assert_eq!(drawn(&overdue), ["D-0, D-1, D-2: out of test; have it requalified"]);
    }

    #[test]
    fn among_many_each_keeps_its_own_remark() {
        let remedy = "if it is fit, delete the remark or say `remark_settled: true`";
        let texts = ["VALVE LEAKS", "BURNOUT acid", "not leaking"]
            .map(|remark| format!("its remark says `{remark}`; {remedy}"));
        let remarked: Vec<Unfilled> = texts
            .iter()
            .enumerate()
            .map(|(index, text)| left(&format!("E-{index}"), &[("remark", text, ALL)]))
            .collect();
        let expected =
            format!("E-0 (`VALVE LEAKS`), E-1 (`BURNOUT acid`), E-2 (`not leaking`): held out by its remark; {remedy}");
        assert_eq!(drawn(&remarked), [expected]);
    }
}
