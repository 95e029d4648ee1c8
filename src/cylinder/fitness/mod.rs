//! Which cylinder may take what: every rule with its code, its source and what to do about it.
//!
//! All rules are checked, not the first alone. To add one: its line in [`RULES`] with its function, the same rule in
//! the audit, and a cylinder that breaks it in the scenario of cylinders that are left out; where it asks the ledger, in
//! the test of what only a ledger can say.

mod checks;
mod letters;
mod remark;

pub use checks::empty_tolerance;
use checks::*;
pub use remark::{HOLDING_WORDS, remark_holds};

use super::{Cylinder, Fate, Intake, Limit, Terms, limit};
use crate::quantity::{Unit, Weight};
use crate::refrigerant::{Fluid, PropertyError};

/// What a rule asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asks {
    /// What the ledger knows of the cylinder: no file of a yard or a job can break it.
    Ledger,
    /// The cylinder alone, whatever is to go in.
    Cylinder,
    /// What is to go in, too.
    Intake,
}

/// A rule of fitness, or a caution: one line of a closed list.
pub struct Rule {
    /// Its stable code.
    pub code: &'static str,
    /// What has to be known to find it.
    pub asks: Asks,
    /// What it finds, in a few words without figures: what several cylinders that break it have in common.
    pub brief: &'static str,
    /// Who says so.
    pub source: &'static str,
    /// What to do about it.
    pub remedy: &'static str,
    /// What is wrong, in a sentence without the remedy; `None` where the rule is kept.
    check: fn(&Case) -> Option<String>,
}

impl std::fmt::Debug for Rule {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.code)
    }
}

/// A rule that a cylinder breaks, or a caution that applies to it.
#[derive(Debug, Clone)]
pub struct Finding {
    /// Which.
    pub rule: &'static Rule,
    /// What is wrong, with the figures.
    pub text: String,
}

/// A cylinder, what it is asked to take, and its limit for that.
struct Case<'a> {
    cylinder: &'a Cylinder,
    intake: &'a Intake,
    limit: Result<Limit, PropertyError>,
}

/// The code of the one rule that a vacuum pump cures on the spot.
pub const EVACUATE_FIRST: &str = "evacuate-first";

const NO_SOURCE: &str = "common practice, no source";
const SAFE_SIDE: &str = "a doubt that falls to the safe side";
const ONE_PLAN: &str = "one plan has a cylinder, so that two jobs never fill it";

/// Every rule; danger first, then what the ledger knows, then the cylinder itself, then what is in it, then its room.
pub const RULES: &[Rule] = &[
    Rule {
        code: "over-limit",
        asks: Asks::Intake,
        brief: "over its limit",
        source: "49 CFR 173.304(b), 173.304a(a)(2); UN packing instruction P200; its own label",
        remedy: "shut the valve, keep people and heat away, and take refrigerant out of it before anything else",
        check: over_limit,
    },
    Rule {
        code: "over-fill",
        asks: Asks::Intake,
        brief: "over our fill",
        source: "our fill, by which others needn't fill; common practice, no source",
        remedy: "don't fill it, and keep it out of the sun",
        check: over_fill,
    },
    Rule {
        code: "bound-elsewhere",
        asks: Asks::Ledger,
        brief: "bound by another job",
        source: ONE_PLAN,
        remedy: "leave it to them; to have it, `replan` that job without it or `release` its plan",
        check: bound_elsewhere,
    },
    Rule {
        code: "in-doubt",
        asks: Asks::Ledger,
        brief: "in doubt",
        source: SAFE_SIDE,
        remedy: "weigh it and say with `cylinder` what it holds; of two plans that have it, `release` or `replan` one",
        check: in_doubt,
    },
    Rule {
        code: "out",
        asks: Asks::Ledger,
        brief: "out",
        source: "as somebody said who has seen it",
        remedy: "leave it; once it is there and good, say `cylinder --back` and why",
        check: out,
    },
    Rule {
        code: "row-changed",
        asks: Asks::Ledger,
        brief: "its row was changed by hand",
        source: SAFE_SIDE,
        remedy: "put the row back, or where the file is right say `cylinder --as-file`",
        check: row_changed,
    },
    Rule {
        code: "non-refillable",
        asks: Asks::Cylinder,
        brief: "marked non-refillable",
        source: "49 CFR 178.65(i)",
        remedy: "never refill it",
        check: non_refillable,
    },
    Rule {
        code: "tank",
        asks: Asks::Cylinder,
        brief: "a tank, not a cylinder",
        source: "its number is a test pressure; not a cylinder of this trade",
        remedy: "plan it with the people who handle tanks",
        check: tank,
    },
    Rule {
        code: "gas-refused",
        asks: Asks::Intake,
        brief: "its gas isn't taken into these cylinders",
        source: NO_SOURCE,
        remedy: "plan it apart, with equipment and cylinders made for it",
        check: gas_refused,
    },
    Rule {
        code: "overdue",
        asks: Asks::Cylinder,
        brief: "out of test",
        source: "49 CFR 180.205(c), 180.209(a)",
        remedy: "have it requalified",
        check: overdue,
    },
    Rule {
        code: "unknown-date",
        asks: Asks::Cylinder,
        brief: "its test date isn't known",
        source: SAFE_SIDE,
        remedy: "read the last test date off its shoulder and give `tested`",
        check: unknown_date,
    },
    Rule {
        code: "unknown-pressure",
        asks: Asks::Cylinder,
        brief: "its service pressure isn't known",
        source: SAFE_SIDE,
        remedy: "read the mark off its shoulder and give `mark` or `service_pressure`",
        check: unknown_pressure,
    },
    Rule {
        code: "service-pressure",
        asks: Asks::Intake,
        brief: "its service pressure is too low",
        source: "49 CFR 173.301a(d)",
        remedy: "use a cylinder with a higher service pressure",
        check: service_pressure,
    },
    Rule {
        code: "test-pressure",
        asks: Asks::Intake,
        brief: "its test pressure is too low or isn't known",
        source: "UN Model Regulations, packing instruction P200",
        remedy: "use a cylinder with a higher test pressure, or give its `test_pressure`",
        check: test_pressure,
    },
    Rule {
        code: "flammable",
        asks: Asks::Intake,
        brief: "not meant for flammable refrigerant",
        source: "flammable refrigerant needs a cylinder meant for it: red band, left-hand thread",
        remedy: "use one with `flammable: true`",
        check: flammable,
    },
    Rule {
        code: "damage",
        asks: Asks::Cylinder,
        brief: "damaged",
        source: "49 CFR 173.301(a)(2)",
        remedy: "have it inspected before it is filled",
        check: damage,
    },
    Rule {
        code: "remark",
        asks: Asks::Cylinder,
        brief: "held out by its remark",
        source: SAFE_SIDE,
        remedy: "if it is fit, delete the remark or say `remark_settled: true`",
        check: remark,
    },
    Rule {
        code: "doubtful-capacity",
        asks: Asks::Cylinder,
        brief: "its water capacity is in doubt",
        source: SAFE_SIDE,
        remedy: "read WC off the stamp; where it really is this number, say `confirmed: true`",
        check: doubtful_capacity,
    },
    Rule {
        code: "doubtful-pair",
        asks: Asks::Cylinder,
        brief: "its tare and water capacity are in doubt",
        source: SAFE_SIDE,
        remedy: "read TW and WC off the stamp; where they really are these, say `confirmed: true`",
        check: doubtful_pair,
    },
    Rule {
        code: "not-empty",
        asks: Asks::Cylinder,
        brief: "said to be evacuated, and too heavy for that",
        source: SAFE_SIDE,
        remedy: "find out what is in it, or evacuate and weigh it again",
        check: not_empty,
    },
    Rule {
        code: "under-tare",
        asks: Asks::Cylinder,
        brief: "lighter than its tare",
        source: SAFE_SIDE,
        remedy: "check the stamped tare and weigh it again",
        check: under_tare,
    },
    Rule {
        code: "tare-lost",
        asks: Asks::Cylinder,
        brief: "5 % of its tare lost",
        source: "49 CFR 180.209(c)",
        remedy: "have it requalified",
        check: tare_lost,
    },
    Rule {
        code: "air-suspected",
        asks: Asks::Intake,
        brief: "air or another refrigerant suspected",
        source: "more than 3 % + 2 psi over the bubble pressure; common practice, no source",
        remedy: "let it settle to one temperature and measure again; if it stays, have it identified",
        check: air_suspected,
    },
    Rule {
        code: EVACUATE_FIRST,
        asks: Asks::Cylinder,
        brief: "holds nitrogen",
        source: SAFE_SIDE,
        remedy: "evacuate it, weigh it and say `holds: evacuated`",
        check: evacuate_first,
    },
    Rule {
        code: "holds-unknown",
        asks: Asks::Cylinder,
        brief: "nobody knows what it holds",
        source: "one refrigerant to a cylinder",
        remedy: "identify it",
        check: holds_unknown,
    },
    Rule {
        code: "holds-mixed",
        asks: Asks::Intake,
        brief: "holds mixed refrigerant",
        source: "one refrigerant to a cylinder",
        remedy: "send it to a reclaimer or for destruction as it is",
        check: holds_mixed,
    },
    Rule {
        code: "holds-other",
        asks: Asks::Intake,
        brief: "holds another refrigerant",
        source: "one refrigerant to a cylinder",
        remedy: "keep it for its own refrigerant",
        check: holds_other,
    },
    Rule {
        code: "kept-apart",
        asks: Asks::Intake,
        brief: "what it holds stays apart",
        source: "condition, fate and owner stay apart; 40 CFR 82.154(d)",
        remedy: "use an evacuated cylinder, or say whose it is",
        check: kept_apart,
    },
    Rule {
        code: "burnout",
        asks: Asks::Intake,
        brief: "carried burnout and wasn't cleaned",
        source: "acid stays behind",
        remedy: "have it cleaned and say `cleaned: true`",
        check: burnout,
    },
    Rule {
        code: "no-limit",
        asks: Asks::Intake,
        brief: "no limit can be figured",
        source: "no liquid density to compute a limit from",
        remedy: "give the refrigerant's data, or keep it out of this cylinder",
        check: no_limit,
    },
    Rule {
        code: "too-heavy",
        asks: Asks::Intake,
        brief: "too heavy as it stands",
        source: "the site's lift limit, the scale's capacity",
        remedy: "use a lighter cylinder",
        check: too_heavy,
    },
    Rule {
        code: "full",
        asks: Asks::Intake,
        brief: "full",
        source: "its limit",
        remedy: "use another cylinder",
        check: full,
    },
];

/// What is said of a cylinder that may be filled all the same.
pub const CAUTIONS: &[Rule] = &[
    Rule {
        code: "heavier-than-tare",
        asks: Asks::Intake,
        brief: "evacuated, yet heavier than its tare",
        source: NO_SOURCE,
        remedy: "weigh it again, and look for water, oil or another valve",
        check: heavier_than_tare,
    },
    Rule {
        code: "for-flammables",
        asks: Asks::Intake,
        brief: "meant for flammable refrigerant",
        source: NO_SOURCE,
        remedy: "keep it for flammable refrigerant where another will do",
        check: for_flammables,
    },
];

/// Every rule that stands against this cylinder taking this intake. None means that it may.
pub fn reasons(cylinder: &Cylinder, intake: &Intake) -> Vec<Finding> {
    findings(RULES, cylinder, intake)
}

/// Every rule that keeps this cylinder from being filled with anything, whatever that would be.
pub fn own_reasons(cylinder: &Cylinder, terms: &Terms) -> Vec<Finding> {
    // None of these rules asks what goes in, so nothing that is known does.
    let intake = Intake {
        fluid: Fluid::Mixed(Vec::new()),
        condition: cylinder.condition,
        fate: Fate::Reclaim,
        owner: None,
        kept_for: None,
        terms: *terms,
    };
    findings(RULES.iter().filter(|rule| rule.asks != Asks::Intake), cylinder, &intake)
}

/// What is to be said of this cylinder when it takes this intake.
pub fn cautions(cylinder: &Cylinder, intake: &Intake) -> Vec<Finding> {
    findings(CAUTIONS, cylinder, intake)
}

fn findings(rules: impl IntoIterator<Item = &'static Rule>, cylinder: &Cylinder, intake: &Intake) -> Vec<Finding> {
    let limit = limit(cylinder, &intake.with(cylinder), &intake.terms);
    let case = Case { cylinder, intake, limit };
    rules.into_iter().filter_map(|rule| (rule.check)(&case).map(|text| Finding { rule, text })).collect()
}

impl Case<'_> {
    fn unit(&self) -> Unit {
        self.intake.terms.scale.division.unit()
    }

    fn text(&self, weight: Weight) -> String {
        self.intake.terms.scale.text(weight)
    }
}
