//! Which cylinder may take what: every rule figured again, one function each.

use std::borrow::Cow;

use super::fullness::{Fullness, passed, together};
use super::remarks;
use super::sameness::Group;
use super::stamp;
use crate::cylinder::{Condition, Contents, Cylinder, Facts, Fate, Mark, Specification};
use crate::quantity::{Decimal, GaugePressure, Temperature, Weight};
use crate::refrigerant::{Fluid, Refrigerant};

/// What a rule looks at: a cylinder, the group that would go into it, and the fluid that would then be in it.
pub(super) struct Pair<'a> {
    cylinder: &'a Cylinder,
    group: &'a Group<'a>,
    fluid: Cow<'a, Fluid>,
    /// How full that may make it; `None` where there is no density to figure that from.
    fullness: Option<Fullness>,
}

/// A fitness rule: whether this pair breaks it.
type Broken = fn(&Pair) -> bool;

/// Every rule, by its code.
pub(super) const RULES: &[(&str, Broken)] = &[
    ("over-limit", over_limit),
    ("over-fill", over_fill),
    ("bound-elsewhere", bound_elsewhere),
    ("in-doubt", in_doubt),
    ("out", out),
    ("row-changed", row_changed),
    ("non-refillable", non_refillable),
    ("tank", tank),
    ("gas-refused", gas_refused),
    ("overdue", overdue),
    ("unknown-date", unknown_date),
    ("unknown-pressure", unknown_pressure),
    ("service-pressure", service_pressure),
    ("test-pressure", test_pressure),
    ("flammable", flammable),
    ("damage", damage),
    ("remark", remark),
    ("doubtful-capacity", doubtful_capacity),
    ("doubtful-pair", doubtful_pair),
    ("not-empty", not_empty),
    ("under-tare", under_tare),
    ("tare-lost", tare_lost),
    ("air-suspected", air_suspected),
    ("evacuate-first", evacuate_first),
    ("holds-unknown", holds_unknown),
    ("holds-mixed", holds_mixed),
    ("holds-other", holds_other),
    ("kept-apart", kept_apart),
    ("burnout", burnout),
    ("no-limit", no_limit),
    ("too-heavy", too_heavy),
    ("full", full),
];

/// The codes of all rules that stand against this cylinder taking this group's charge.
pub(super) fn broken(cylinder: &Cylinder, group: &Group) -> Vec<&'static str> {
    let fluid = together(cylinder, group);
    let fullness = Fullness::of(cylinder, &fluid, &group.strictest).ok();
    let pair = Pair { cylinder, group, fluid, fullness };
    RULES.iter().filter(|(_, broken)| broken(&pair)).map(|(code, _)| *code).collect()
}

/// Whether nitrogen is all that keeps this cylinder from this group, and nothing does once it is evacuated.
pub(super) fn evacuating_helps(cylinder: &Cylinder, group: &Group) -> bool {
    let facts = Facts { contents: Contents::Evacuated, gross: cylinder.tare, measured: None, ..Facts::clone(cylinder) };
    broken(cylinder, group) == ["evacuate-first"]
        && Cylinder::new(facts).is_ok_and(|empty| broken(&empty, group).is_empty())
}

/// The ceilings that it is over as it stands, for what it holds.
fn over(pair: &Pair) -> Vec<&'static str> {
    let held = match &pair.cylinder.contents {
        Contents::Holds(refrigerant) => Some(Fluid::One(refrigerant.clone())),
        Contents::Mixed(parts) if !parts.is_empty() => Some(Fluid::Mixed(parts.clone())),
        Contents::Mixed(_) | Contents::Evacuated | Contents::Nitrogen | Contents::Unknown => None,
    };
    passed(pair.cylinder, held.as_ref(), &pair.group.strictest)
}

/// Over a rule of transport or its own label: danger.
fn over_limit(pair: &Pair) -> bool {
    over(pair).iter().any(|name| *name != "fill")
}

/// Over our fill alone.
fn over_fill(pair: &Pair) -> bool {
    over(pair) == ["fill"]
}

/// Another job has it.
fn bound_elsewhere(pair: &Pair) -> bool {
    pair.cylinder.ledger.bound.is_some()
}

/// Nobody knows for sure what is in it or who has it.
fn in_doubt(pair: &Pair) -> bool {
    pair.cylinder.ledger.doubt.is_some()
}

/// Somebody put it out.
fn out(pair: &Pair) -> bool {
    pair.cylinder.ledger.out.is_some()
}

/// File and ledger say different things of it.
fn row_changed(pair: &Pair) -> bool {
    pair.cylinder.ledger.changed.is_some()
}

fn specification(pair: &Pair) -> Option<Specification> {
    pair.cylinder.mark.as_ref().map(Mark::specification)
}

/// Specification 39 is never refilled.
fn non_refillable(pair: &Pair) -> bool {
    specification(pair) == Some(Specification::NonRefillable)
}

/// 106A, 110A, or over 1,000 lb of water.
fn tank(pair: &Pair) -> bool {
    let most = Weight::pounds(Decimal::from(1000));
    specification(pair) == Some(Specification::Tank) || pair.cylinder.water_capacity > most
}

/// The last day of its test lies before the job.
fn overdue(pair: &Pair) -> bool {
    let date = pair.group.strictest.date;
    pair.cylinder.test.is_some_and(|test| test.good_through < date)
}

/// No test date, one after the job, or one due in a year more than 12 years ahead, the longest period there is.
fn unknown_date(pair: &Pair) -> bool {
    let date = pair.group.strictest.date;
    match pair.cylinder.test {
        None => true,
        Some(test) => {
            let ahead = i32::from(test.good_through.year()) - i32::from(date.year());
            test.since.is_some_and(|since| since.first_of_month() > date) || ahead > 12
        }
    }
}

/// The service pressure: the smaller of the marked and the given one.
fn rated(cylinder: &Cylinder) -> Option<GaugePressure> {
    let marked = cylinder.mark.as_ref().and_then(Mark::service_pressure);
    let both = [marked, cylinder.service_pressure];
    both.into_iter().flatten().reduce(|one, other| if other < one { other } else { one })
}

/// No service pressure known, and the mark doesn't say that it has none.
fn unknown_pressure(pair: &Pair) -> bool {
    rated(pair.cylinder).is_none() && !non_refillable(pair) && specification(pair) != Some(Specification::Tank)
}

/// Bubble pressure at 131 °F, or in a hotter place, above 5/4 of the service pressure; or not known.
fn service_pressure(pair: &Pair) -> bool {
    let Some(rated) = rated(pair.cylinder) else {
        return false;
    };
    let at = pair.group.strictest.pressure_at;
    match pair.fluid.safe_pressure(at) {
        Ok(pressure) => pressure.gauge() > rated.scaled(1.25) && !named_in_table(pair, rated, at),
        Err(_) => true,
    }
}

/// 49 CFR 173.304a(a)(2), row of R-22, at 131 °F: 3A240, 3AA240, 3B240, 3AL240, 4B240, 4BA240, 4BW240, 4B240ET, 4E240.
fn named_in_table(pair: &Pair, rated: GaugePressure, at: Temperature) -> bool {
    let named = match pair.fluid.as_ref() {
        Fluid::One(refrigerant) => refrigerant.is_named_for_240_psi(),
        Fluid::Mixed(_) => false,
    };
    let hotter = Temperature::from_celsius(55.0).is_below(at);
    let listed = specification(pair).is_some_and(|specification| match specification {
        Specification::S3A | Specification::S3AA | Specification::S3B | Specification::S3AL => true,
        Specification::S4B | Specification::S4BA | Specification::S4BW => true,
        Specification::S4B240ET | Specification::S4E => true,
        Specification::NonRefillable | Specification::Tank | Specification::Other => false,
    });
    named && !hotter && listed && rated >= GaugePressure::from_psig(240.0)
}

/// The mark of a 4B, 4BA or 4BW cylinder: tested at twice its service pressure (49 CFR 180.209(a) table 1).
fn twice(cylinder: &Cylinder) -> Option<&Mark> {
    use Specification::{S4B, S4BA, S4BW};
    let mark = cylinder.mark.as_ref()?;
    matches!(mark.specification(), S4B | S4BA | S4BW).then_some(mark)
}

/// Under UN rules, a test pressure below what P200 asks for, the vapour pressure at 65 °C less 1 bar; or either not known.
fn test_pressure(pair: &Pair) -> bool {
    if !pair.group.strictest.un {
        return false;
    }
    let implied = twice(pair.cylinder).and_then(Mark::service_pressure).map(|marked| marked.scaled(2.0));
    let tested = pair.cylinder.test_pressure.or(implied);
    match (tested, pair.fluid.un_test_pressure()) {
        (Some(tested), Ok(needed)) => tested < needed,
        (None, _) | (_, Err(_)) => true,
    }
}

/// Flammable refrigerant in a cylinder not meant for it.
fn flammable(pair: &Pair) -> bool {
    pair.fluid.is_flammable() && !pair.cylinder.flammable
}

/// What goes in, or what is in it, isn't taken into these cylinders at all.
fn gas_refused(pair: &Pair) -> bool {
    let held = match &pair.cylinder.contents {
        Contents::Holds(refrigerant) => std::slice::from_ref(refrigerant),
        Contents::Mixed(parts) => parts.as_slice(),
        Contents::Evacuated | Contents::Nitrogen | Contents::Unknown => &[],
    };
    pair.group.fluid.contents().iter().chain(held).any(|gas| gas.refused().is_some())
}

/// Damage noted.
fn damage(pair: &Pair) -> bool {
    pair.cylinder.damage.is_some()
}

/// A remark says something that holds the cylinder out, and nobody has settled it.
fn remark(pair: &Pair) -> bool {
    let says = |remark: &String| remarks::holds(remark);
    pair.cylinder.remark.as_ref().is_some_and(says) && !pair.cylinder.remark_settled
}

/// A water capacity that is a nominal size, and nobody has confirmed it.
fn doubtful_capacity(pair: &Pair) -> bool {
    stamp::nominal(pair.cylinder) && !pair.cylinder.confirmed
}

/// A tare and a water capacity that no cylinder has together, and nobody has confirmed them.
fn doubtful_pair(pair: &Pair) -> bool {
    stamp::no_pair(pair.cylinder) && !pair.cylinder.confirmed
}

/// Readings closer than this are the same: the accuracy, or the division where that is coarser.
fn same_reading(pair: &Pair) -> Weight {
    let terms = &pair.group.strictest;
    terms.accuracy.max(terms.division.step())
}

/// Said to be evacuated, but heavier than its tare by more than 0.5 lb or 2 %, whichever is less, and than the scale
/// can tell.
fn not_empty(pair: &Pair) -> bool {
    let cylinder = pair.cylinder;
    cylinder.contents == Contents::Evacuated && cylinder.gross > cylinder.tare + allowed(pair)
}

fn allowed(pair: &Pair) -> Weight {
    let half_pound = Weight::pounds(Decimal::new(5, 1));
    pair.cylinder.tare.times(Decimal::new(2, 2)).min(half_pound).max(same_reading(pair))
}

/// Heavier, beyond what an empty one may be, than with all the nitrogen that it holds at its service pressure and 0 °C,
/// an ideal gas: p V M / (R T), with M = 0.0280134 kg/mol and R = 8.314462 J/(mol K); over water of 999.017 kg/m³.
fn not_nitrogen_alone(pair: &Pair) -> bool {
    let cylinder = pair.cylinder;
    let pascal = rated(cylinder).map_or(101_325.0, |pressure| pressure.absolute().pascal());
    let density = pascal * 0.028_013_4 / (8.314_462 * 273.15);
    let nitrogen = cylinder.water_capacity.times(Decimal::from_f64_retain(density / 999.017).unwrap_or_default());
    cylinder.gross > cylinder.tare + nitrogen + allowed(pair)
}

/// Lighter than its tare by more than the scale can tell.
fn under_tare(pair: &Pair) -> bool {
    pair.cylinder.gross + same_reading(pair) < pair.cylinder.tare
}

/// Lighter than its tare by 5 % of it or more.
fn tare_lost(pair: &Pair) -> bool {
    pair.cylinder.gross <= pair.cylinder.tare.times(Decimal::new(95, 2))
}

/// Measured above 1.03 × the absolute bubble pressure of what it holds + 2 psi; evacuated, above the atmosphere.
fn air_suspected(pair: &Pair) -> bool {
    let Some(measured) = pair.cylinder.measured else { return false };
    let held = match &pair.cylinder.contents {
        Contents::Evacuated => return measured.pressure.pascal() > 0.0,
        Contents::Holds(refrigerant) => Fluid::One(refrigerant.clone()),
        Contents::Mixed(parts) if !parts.is_empty() => Fluid::Mixed(parts.clone()),
        Contents::Mixed(_) | Contents::Nitrogen | Contents::Unknown => return false,
    };
    let two_psi = GaugePressure::from_psig(2.0).pascal();
    held.safe_pressure(measured.at)
        .is_ok_and(|bubble| measured.pressure.absolute().pascal() > 1.03 * bubble.pascal() + two_psi)
}

/// Holds nitrogen, by its weight too.
fn evacuate_first(pair: &Pair) -> bool {
    pair.cylinder.contents == Contents::Nitrogen && !not_nitrogen_alone(pair)
}

/// Holds nobody knows what, or something heavier beside the nitrogen.
fn holds_unknown(pair: &Pair) -> bool {
    let contents = &pair.cylinder.contents;
    *contents == Contents::Unknown || (*contents == Contents::Nitrogen && not_nitrogen_alone(pair))
}

/// Holds mixed refrigerant: takes only more of that, bound for destruction, where its own list is known. What the ledger
/// says must never have come together takes nothing.
fn holds_mixed(pair: &Pair) -> bool {
    match &pair.cylinder.contents {
        _ if pair.cylinder.ledger.mixed => true,
        Contents::Mixed(heel) => {
            let more = matches!(pair.group.fluid, Fluid::Mixed(_));
            heel.is_empty() || !more || pair.group.fate != Fate::Destroy
        }
        Contents::Evacuated | Contents::Nitrogen | Contents::Unknown | Contents::Holds(_) => false,
    }
}

/// Holds another refrigerant.
fn holds_other(pair: &Pair) -> bool {
    match &pair.cylinder.contents {
        Contents::Holds(held) => !is(pair.group.fluid, held),
        Contents::Evacuated | Contents::Nitrogen | Contents::Unknown | Contents::Mixed(_) => false,
    }
}

fn is(fluid: &Fluid, refrigerant: &Refrigerant) -> bool {
    match fluid {
        Fluid::One(one) => one == refrigerant,
        Fluid::Mixed(_) => false,
    }
}

/// Holds the same refrigerant, which must stay apart for its condition, its fate or its owner: a heel kept for a job
/// is for reuse in that job alone, and by its owner; one that isn't is for reclaim, or for destruction with the rest of
/// its owner's.
fn kept_apart(pair: &Pair) -> bool {
    let (cylinder, group) = (pair.cylinder, pair.group);
    let same = match &cylinder.contents {
        Contents::Holds(held) => is(group.fluid, held),
        Contents::Evacuated | Contents::Nitrogen | Contents::Unknown | Contents::Mixed(_) => false,
    };
    if !same {
        return false;
    }
    if cylinder.condition != group.condition {
        return true;
    }
    let owned_alike = cylinder.owner.is_some() && cylinder.owner.as_deref() == group.owner;
    match (&cylinder.kept_for, group.fate) {
        (Some(job), Fate::Reuse) => {
            let ours = group.kept_for == Some(job.as_str());
            !ours || !owned_alike
        }
        (Some(_), Fate::Reclaim | Fate::Destroy) | (None, Fate::Reuse) => true,
        (None, Fate::Reclaim) => false,
        (None, Fate::Destroy) => !owned_alike,
    }
}

/// Evacuated, but it carried burnout and wasn't cleaned: for burnout alone.
fn burnout(pair: &Pair) -> bool {
    let cylinder = pair.cylinder;
    cylinder.contents == Contents::Evacuated
        && cylinder.condition == Condition::Burnout
        && !cylinder.cleaned
        && pair.group.condition != Condition::Burnout
}

/// No liquid density to figure a limit from.
fn no_limit(pair: &Pair) -> bool {
    pair.fullness.is_none()
}

/// As it stands it reaches the lift limit or the scale's capacity.
fn too_heavy(pair: &Pair) -> bool {
    let terms = &pair.group.strictest;
    let most = [terms.lift_limit, terms.capacity];
    most.into_iter().flatten().any(|most| pair.cylinder.gross >= most)
}

/// No room for a single division, though it isn't too heavy.
fn full(pair: &Pair) -> bool {
    let no_room = |fullness: &Fullness| fullness.room(pair.cylinder, &pair.group.strictest) == 0;
    pair.fullness.as_ref().is_some_and(no_room) && !too_heavy(pair)
}
