//! What each rule looks at: one function a rule, `None` where it is kept, else a sentence with the figures.

use super::Case;
use super::remark::holding;
use crate::cylinder::{Condition, Contents, Cylinder, Fate, Level, Mark, Specification, Terms, overfull, stamp};
use crate::quantity::{Decimal, Density, GaugePressure, Weight};
use crate::refrigerant::Fluid;

/// How much heavier than its stamped tare an evacuated cylinder may be: 0.5 lb or 2 % of the tare, whichever is less,
/// but never less than the scale can tell. Common practice, no source.
pub fn empty_tolerance(cylinder: &Cylinder, terms: &Terms) -> Weight {
    let half_pound = Weight::pounds(Decimal::new(5, 1));
    half_pound.min(cylinder.tare.times(Decimal::new(2, 2))).max(terms.scale.tolerance())
}

/// Over a rule for what it holds, or over its own label: as it stands, whatever is to go in.
pub(super) fn over_limit(case: &Case) -> Option<String> {
    let terms = &case.intake.terms;
    let over = overfull(case.cylinder, terms).filter(|over| over.level() == Level::Danger)?;
    Some(format!("DANGER: it weighs {}: {}", case.text(case.cylinder.gross), over.broken_rules(terms.scale.division)))
}

/// Over our fill, and under everything that makes it danger: cylinders that others filled may come so.
pub(super) fn over_fill(case: &Case) -> Option<String> {
    let terms = &case.intake.terms;
    let over = overfull(case.cylinder, terms).filter(|over| over.level() == Level::OverFill)?;
    let division = terms.scale.division;
    let most = division.floor(over.limit.gross);
    Some(format!("it came {} over our fill", division.text(division.ceil(case.cylinder.gross) - most)))
}

pub(super) fn bound_elsewhere(case: &Case) -> Option<String> {
    case.cylinder.ledger.bound.as_ref().map(|bound| format!("it is bound for {bound}"))
}

pub(super) fn in_doubt(case: &Case) -> Option<String> {
    case.cylinder.ledger.doubt.as_ref().map(|doubt| format!("it is in doubt: {doubt}"))
}

pub(super) fn out(case: &Case) -> Option<String> {
    case.cylinder
        .ledger
        .out
        .as_ref()
        .map(|why| if why.is_empty() { "it is out".into() } else { format!("it is out: {why}") })
}

pub(super) fn row_changed(case: &Case) -> Option<String> {
    case.cylinder.ledger.changed.as_ref().map(|changed| format!("its row was changed by hand: {changed}"))
}

pub(super) fn specification(case: &Case) -> Option<Specification> {
    case.cylinder.mark.as_ref().map(Mark::specification)
}

pub(super) fn non_refillable(case: &Case) -> Option<String> {
    (specification(case)? == Specification::NonRefillable).then(|| "it is marked non-refillable (39)".into())
}

pub(super) fn tank(case: &Case) -> Option<String> {
    let large = stamp::is_a_tanks(case.cylinder.water_capacity);
    let marked = specification(case) == Some(Specification::Tank);
    (large || marked).then(|| "it is a tank (106A, 110A, or over 1,000 lb of water), not a cylinder".into())
}

pub(super) fn overdue(case: &Case) -> Option<String> {
    let test = case.cylinder.test?;
    (case.intake.terms.date > test.good_through).then(|| format!("its test was good through {}", test.good_through))
}

pub(super) fn unknown_date(case: &Case) -> Option<String> {
    let date = case.intake.terms.date;
    let Some(test) = case.cylinder.test else {
        return Some("the date of its last test isn't known".into());
    };
    if let Some(since) = test.since.filter(|since| since.first_of_month() > date) {
        return Some(format!("its test of {} {} lies after the job", since.year(), month_name(since.month())));
    }
    // The longest period there is, 12 years: 49 CFR 180.209(e), restated.
    let years = i32::from(test.good_through.year()) - i32::from(date.year());
    (years > 12).then(|| format!("a due date in {} is longer ahead than any test period", test.good_through.year()))
}

pub(super) fn month_name(month: i8) -> &'static str {
    const NAMES: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    usize::try_from(month - 1).ok().and_then(|index| NAMES.get(index)).copied().unwrap_or("")
}

pub(super) fn unknown_pressure(case: &Case) -> Option<String> {
    let known = case.cylinder.rated_pressure().is_some();
    let told_elsewhere = matches!(specification(case), Some(Specification::NonRefillable | Specification::Tank));
    (!known && !told_elsewhere).then(|| "its service pressure isn't known".into())
}

pub(super) fn service_pressure(case: &Case) -> Option<String> {
    let rated = case.cylinder.rated_pressure()?;
    let at = case.intake.terms.pressure_temperature();
    let fluid = case.intake.with(case.cylinder);
    let scale = case.intake.terms.scale;
    let Ok(pressure) = fluid.safe_pressure(at) else {
        return Some(format!("the pressure of {} at {} isn't known", fluid.name(), scale.temperature(at)));
    };
    let pressure = pressure.gauge();
    if pressure <= rated.scaled(1.25) || named_for_240_psi(case, &fluid) {
        return None;
    }
    Some(format!(
        "{} reaches {} at {}, over 5/4 of its {}",
        fluid.name(),
        scale.pressure(pressure),
        scale.temperature(at),
        scale.pressure(rated)
    ))
}

/// R-22 reaches 300.8 psig at 131 °F, above 5/4 of 240, yet 49 CFR 173.304a(a)(2) names cylinders of nine specifications
/// at 240 psi for it, and higher marks may take their place. At a hotter place than 131 °F the general rule stands.
pub(super) fn named_for_240_psi(case: &Case, fluid: &Fluid) -> bool {
    let named = matches!(fluid, Fluid::One(refrigerant) if refrigerant.is_named_for_240_psi());
    let usual = !Terms::US_FULL_TEMPERATURE.is_below(case.intake.terms.pressure_temperature());
    let marked = case.cylinder.mark.as_ref().is_some_and(Mark::is_listed_for_r22);
    let enough = case.cylinder.rated_pressure().is_some_and(|rated| rated >= GaugePressure::from_psig(240.0));
    named && usual && marked && enough
}

pub(super) fn test_pressure(case: &Case) -> Option<String> {
    if !case.intake.terms.rules.un() {
        return None;
    }
    let fluid = case.intake.with(case.cylinder);
    let Ok(needed) = fluid.un_test_pressure() else {
        return Some(format!("the pressure of {} at 65 C isn't known", fluid.name()));
    };
    match case.cylinder.tested_pressure() {
        None => Some("its test pressure isn't known".into()),
        Some(tested) if tested < needed => Some(format!(
            "its test pressure of {:.1} bar is under the {:.1} bar that {} needs",
            tested.bar(),
            needed.bar(),
            fluid.name()
        )),
        Some(_) => None,
    }
}

pub(super) fn flammable(case: &Case) -> Option<String> {
    let fluid = case.intake.with(case.cylinder);
    (fluid.is_flammable() && !case.cylinder.flammable)
        .then(|| format!("{} may burn, and it isn't meant for flammable refrigerant", fluid.name()))
}

/// What isn't taken into these cylinders isn't added to one that has it, either.
pub(super) fn gas_refused(case: &Case) -> Option<String> {
    let held = case.cylinder.contents.fluid();
    let (gas, why) = case.intake.fluid.refused().chain(held.iter().flat_map(Fluid::refused)).next()?;
    Some(format!("{gas} isn't taken into these cylinders: {why}"))
}

pub(super) fn damage(case: &Case) -> Option<String> {
    case.cylinder.damage.as_ref().map(|damage| format!("damage noted: {damage}"))
}

pub(super) fn remark(case: &Case) -> Option<String> {
    let remark = case.cylinder.remark.as_deref().filter(|_| !case.cylinder.remark_settled)?;
    holding(remark).map(|said| format!("its remark says `{said}`"))
}

pub(super) fn doubtful_capacity(case: &Case) -> Option<String> {
    stamp::nominal_size(case.cylinder.water_capacity, case.unit()).filter(|_| !case.cylinder.confirmed)
}

pub(super) fn doubtful_pair(case: &Case) -> Option<String> {
    let (tare, capacity) = (case.cylinder.tare, case.cylinder.water_capacity);
    stamp::doubtful_pair(tare, capacity, case.unit()).filter(|_| !case.cylinder.confirmed)
}

pub(super) fn not_empty(case: &Case) -> Option<String> {
    let cylinder = case.cylinder;
    let over = cylinder.gross - cylinder.tare;
    (cylinder.contents == Contents::Evacuated && over > empty_tolerance(cylinder, &case.intake.terms))
        .then(|| format!("said to be evacuated, but {} heavier than its tare", case.text(over)))
}

pub(super) fn under_tare(case: &Case) -> Option<String> {
    let under = case.cylinder.tare - case.cylinder.gross;
    (under > case.intake.terms.scale.tolerance()).then(|| format!("it weighs {} less than its tare", case.text(under)))
}

pub(super) fn tare_lost(case: &Case) -> Option<String> {
    let cylinder = case.cylinder;
    (cylinder.gross <= cylinder.tare.times(Decimal::new(95, 2)))
        .then(|| "it has lost 5 % of its stamped tare or more".into())
}

/// What is measured over the bubble pressure of what a cylinder is said to hold, by more than 3 % of the absolute
/// pressure and 2 psi; of an evacuated cylinder, anything over the atmosphere.
pub(super) fn air_suspected(case: &Case) -> Option<String> {
    let cylinder = case.cylinder;
    let measured = cylinder.measured?;
    let scale = case.intake.terms.scale;
    let found = format!("measured {} at {}", scale.pressure(measured.pressure), scale.temperature(measured.at));
    if cylinder.contents == Contents::Evacuated {
        let pressed = measured.pressure > GaugePressure::from_psig(0.0);
        return pressed.then(|| format!("said to be evacuated, but {found}"));
    }
    let bubble = cylinder.contents.fluid()?.safe_pressure(measured.at).ok()?;
    let most = bubble.scaled(1.03).gauge().plus(GaugePressure::from_psig(2.0));
    (measured.pressure > most).then(|| {
        let usual = scale.pressure(bubble.gauge());
        format!("{found}, and {} has {usual} there: air or another refrigerant suspected", cylinder.contents.name())
    })
}

pub(super) fn evacuate_first(case: &Case) -> Option<String> {
    (case.cylinder.contents == Contents::Nitrogen && !is_more_than_nitrogen(case)).then(|| "it holds nitrogen".into())
}

/// Whether a cylinder weighs more than with all the nitrogen that it holds at its service pressure, beyond what an empty
/// one may be: 28.0134 g/mol / 22.41397 L/mol for each atmosphere (14.69595 psi) at 0 °C, as an ideal gas.
fn is_more_than_nitrogen(case: &Case) -> bool {
    let cylinder = case.cylinder;
    let atmospheres = 1.0 + cylinder.rated_pressure().map_or(0.0, |pressure| pressure.psig()) / 14.695_95;
    let density = Density::from_kg_per_m3(28.013_4 / 22.413_97 * atmospheres);
    let share = Decimal::from_f64_retain(density.relative_to_water()).unwrap_or_default();
    let most = cylinder.water_capacity.times(share.trunc_with_scale(6)) + empty_tolerance(cylinder, &case.intake.terms);
    cylinder.gross - cylinder.tare > most
}

/// What weighs more than nitrogen isn't let out into the air before somebody knows what it is.
pub(super) fn holds_unknown(case: &Case) -> Option<String> {
    let cylinder = case.cylinder;
    if cylinder.contents == Contents::Unknown {
        return Some("nobody knows what it holds".into());
    }
    let over = case.text(cylinder.gross - cylinder.tare);
    (cylinder.contents == Contents::Nitrogen && is_more_than_nitrogen(case))
        .then(|| format!("said to hold nitrogen, but {over} heavier than its tare: that isn't nitrogen alone"))
}

/// What must never have come together is out of every plan, also where it all has one name.
pub(super) fn holds_mixed(case: &Case) -> Option<String> {
    if case.cylinder.ledger.mixed {
        return Some("things have gone into it that must never be in one cylinder".into());
    }
    let Contents::Mixed(parts) = &case.cylinder.contents else {
        return None;
    };
    if !matches!(case.intake.fluid, Fluid::Mixed(_)) {
        return Some("it holds mixed refrigerant".into());
    }
    if parts.is_empty() {
        return Some("it holds mixed refrigerant and nothing says what may be in it".into());
    }
    (case.intake.fate != Fate::Destroy)
        .then(|| "it holds mixed refrigerant, and more is added only to what will be destroyed".into())
}

pub(super) fn holds_other(case: &Case) -> Option<String> {
    let Contents::Holds(held) = &case.cylinder.contents else {
        return None;
    };
    let same = matches!(&case.intake.fluid, Fluid::One(refrigerant) if refrigerant == held);
    (!same).then(|| format!("it holds {}", held.name()))
}

pub(super) fn kept_apart(case: &Case) -> Option<String> {
    let (cylinder, intake) = (case.cylinder, case.intake);
    let Contents::Holds(held) = &cylinder.contents else {
        return None;
    };
    if !matches!(&intake.fluid, Fluid::One(refrigerant) if refrigerant == held) {
        return None;
    }
    let (heel, name) = (cylinder.condition, held.name());
    if heel != intake.condition {
        return Some(format!("its {} {name} stays apart from {} {name}", heel.name(), intake.condition.name()));
    }
    // Another job may have the same name; whose the heel is tells them apart, and a heel without an owner is for reclaim.
    if let Some(job) = &cylinder.kept_for {
        let owned_alike = cylinder.owner.is_some() && cylinder.owner == intake.owner;
        let ours = intake.kept_for.as_ref() == Some(job) && owned_alike;
        return (!ours).then(|| format!("its {name} is kept for reuse in \"{job}\", and isn't known to be this lot's"));
    }
    match intake.fate {
        Fate::Reclaim => None,
        Fate::Reuse => Some(format!("its {name} isn't kept for this job, and a lot for reuse stays by itself")),
        Fate::Destroy if cylinder.owner.is_some() && cylinder.owner == intake.owner => None,
        Fate::Destroy => Some(format!("its {name} is for reclaim, and this lot will be destroyed")),
    }
}

pub(super) fn burnout(case: &Case) -> Option<String> {
    let carried = case.cylinder.contents == Contents::Evacuated && case.cylinder.condition == Condition::Burnout;
    let stays = case.intake.condition == Condition::Burnout;
    (carried && !stays && !case.cylinder.cleaned).then(|| "it carried burnout and wasn't cleaned".into())
}

pub(super) fn no_limit(case: &Case) -> Option<String> {
    case.limit.as_ref().err().map(ToString::to_string)
}

pub(super) fn too_heavy(case: &Case) -> Option<String> {
    let terms = &case.intake.terms;
    let gross = case.cylinder.gross;
    if let Some(lift) = terms.lift_limit.filter(|lift| gross >= *lift) {
        return Some(format!(
            "as it stands it weighs {}; the site's lift limit is {}",
            case.text(gross),
            case.text(lift)
        ));
    }
    let scale = terms.scale.capacity.filter(|capacity| gross >= *capacity)?;
    Some(format!("as it stands it weighs {}; the scale goes to {}", case.text(gross), case.text(scale)))
}

pub(super) fn full(case: &Case) -> Option<String> {
    let room = case.limit.as_ref().ok()?.room(case.cylinder, &case.intake.terms);
    let division = case.intake.terms.scale.division;
    (room.size() == 0 && too_heavy(case).is_none()).then(|| {
        format!(
            "it weighs {} of the {} it may ({})",
            division.text(room.base),
            division.text(room.top),
            room.bound.name()
        )
    })
}

pub(super) fn heavier_than_tare(case: &Case) -> Option<String> {
    let cylinder = case.cylinder;
    let over = cylinder.gross - cylinder.tare;
    let evacuated = cylinder.contents == Contents::Evacuated;
    (evacuated && over.is_positive() && over <= empty_tolerance(cylinder, &case.intake.terms))
        .then(|| format!("evacuated, yet {} heavier than its stamped tare", case.text(over)))
}

pub(super) fn for_flammables(case: &Case) -> Option<String> {
    (case.cylinder.flammable && !case.intake.with(case.cylinder).is_flammable())
        .then(|| format!("meant for flammable refrigerant, and {} isn't", case.intake.fluid.name()))
}
