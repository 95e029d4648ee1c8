//! How full a cylinder may be: every ceiling, the limit and the cap, figured again.

use std::borrow::Cow;

use super::sameness::{Group, Strictest};
use crate::cylinder::{Contents, Cylinder};
use crate::quantity::{Decimal, Density, Marks, Temperature, Weight};
use crate::refrigerant::{Fluid, PropertyError};

/// How far a cylinder may be filled with what one group puts into it.
pub(super) struct Fullness {
    /// The gross weight never to pass.
    limit: Weight,
    /// Everything that bounds the reading at which to stop, by name.
    bounds: Vec<(&'static str, Weight)>,
}

/// The fluid in the cylinder once the group's is in it: a mixed charge on a mixed heel is figured on both lists.
pub(super) fn together<'a>(cylinder: &Cylinder, group: &Group<'a>) -> Cow<'a, Fluid> {
    match (group.fluid, &cylinder.contents) {
        (Fluid::Mixed(charge), Contents::Mixed(heel)) => {
            let mut parts = charge.clone();
            parts.extend(heel.iter().filter(|part| !charge.contains(part)).cloned());
            Cow::Owned(Fluid::Mixed(parts))
        }
        (fluid, _) => Cow::Borrowed(fluid),
    }
}

/// The tare that counts: as stamped, or the gross weight where that is less. What is in the cylinder only weighs more.
pub(super) fn tare(cylinder: &Cylinder) -> Weight {
    if cylinder.gross < cylinder.tare { cylinder.gross } else { cylinder.tare }
}

/// A ceiling on the net weight, by name; an error where the fluid lacks a density that it asks for.
type Ceiling = (&'static str, Result<Weight, PropertyError>);

/// Ceilings on the net weight, by name.
///
/// fill: fill share × water capacity × density at the limit temperature / density of water, always;
/// us-liquid-full: the whole volume at 131 °F, and us-table: the regulation's filling density, under US rules;
/// un-p200: the volume at the smallest of 0.95 × density at 50 °C, density at 60 °C and a listed ratio, under UN rules and
/// where the limit temperature is under 130 °F; label: the cylinder's own largest gross less its tare.
fn ceilings(cylinder: &Cylinder, fluid: &Fluid, terms: &Strictest) -> Vec<Ceiling> {
    let capacity = cylinder.water_capacity;
    let density = |degrees: f64| fluid.safe_density(Temperature::from_celsius(degrees));
    let fill = fluid.safe_density(terms.fill_at).map(|density| liquid(capacity, density).times(terms.fill.fraction()));
    let mut found = vec![("fill", fill)];
    if terms.us {
        found.push(("us-liquid-full", density(55.0).map(|density| liquid(capacity, density))));
        if let Some(percent) = fluid.us_filling_density() {
            found.push(("us-table", Ok(capacity.times(percent / Decimal::ONE_HUNDRED))));
        }
    }
    if terms.p200 {
        let both = density(50.0).and_then(|at_50| Ok((at_50, density(60.0)?)));
        let ratio = both.map(|(at_50, at_60)| {
            let figured = at_50.scaled(0.95).min(at_60);
            fluid.un_listed_density().map_or(figured, |listed| figured.min(listed))
        });
        found.push(("un-p200", ratio.map(|ratio| liquid(capacity, ratio))));
    }
    found.extend(label(cylinder).map(|net| ("label", Ok(net))));
    found
}

/// What the cylinder's own label allows.
fn label(cylinder: &Cylinder) -> Option<Weight> {
    cylinder.max_gross.map(|most| most - cylinder.tare)
}

/// The names of the ceilings that a cylinder is over as it stands, for what it holds: of those that can be figured, and
/// where nobody knows what it holds, of the label alone. One with nothing in it is over none, whatever its label says.
pub(super) fn passed(cylinder: &Cylinder, held: Option<&Fluid>, terms: &Strictest) -> Vec<&'static str> {
    let nets = match held {
        Some(fluid) => ceilings(cylinder, fluid, terms),
        None => label(cylinder).map(|net| ("label", Ok(net))).into_iter().collect(),
    };
    let holds_something = cylinder.gross > tare(cylinder);
    let over = |net: &Weight| holds_something && cylinder.gross > tare(cylinder) + *net;
    nets.into_iter().filter(|(_, net)| net.as_ref().is_ok_and(over)).map(|(name, _)| name).collect()
}

/// The weight of liquid that fills the cylinder. The ratio of the densities is rounded down in its ninth decimal, so
/// that a binary fraction never comes out above the decimal one that is meant.
fn liquid(water_capacity: Weight, density: Density) -> Weight {
    let ratio = Decimal::from_f64_retain(density.relative_to_water()).unwrap_or(Decimal::ZERO);
    water_capacity.times(ratio.trunc_with_scale(9))
}

impl Fullness {
    /// For this fluid in this cylinder.
    pub fn of(cylinder: &Cylinder, fluid: &Fluid, terms: &Strictest) -> Result<Self, PropertyError> {
        let tare = tare(cylinder);
        let nets = ceilings(cylinder, fluid, terms).into_iter().map(|(name, net)| Ok((name, net?)));
        let nets = nets.collect::<Result<Vec<_>, PropertyError>>()?;
        let limit = tare + smallest(&nets);
        // The scale's accuracy is kept free below a ceiling; it doesn't make a lift heavier.
        let mut bounds: Vec<_> = nets.into_iter().map(|(name, net)| (name, tare + net - terms.accuracy)).collect();
        bounds.extend(terms.lift_limit.map(|most| ("lift", most)));
        bounds.extend(terms.capacity.map(|most| ("scale", most)));
        Ok(Self { limit, bounds })
    }

    /// The gross weight never to pass.
    pub fn limit(&self) -> Weight {
        self.limit
    }

    /// Everything that bounds the reading at which to stop, by name: the ceilings, `lift`, `scale`.
    pub fn bounds(&self) -> &[(&'static str, Weight)] {
        &self.bounds
    }

    /// The names of what bounds the cylinder; more than one where they are level.
    pub fn binding(&self) -> Vec<&'static str> {
        let cap = smallest(&self.bounds);
        self.bounds.iter().filter(|(_, weight)| *weight == cap).map(|(name, _)| *name).collect()
    }

    /// Room in whole divisions: the cap rounded down, less the gross rounded up, never below zero.
    pub fn room(&self, cylinder: &Cylinder, terms: &Strictest) -> Marks {
        let top = terms.division.floor(smallest(&self.bounds));
        let base = terms.division.ceil(cylinder.gross);
        if top > base { top - base } else { 0 }
    }
}

/// The smallest of the weights. The fill ceiling is always among them.
fn smallest(bounds: &[(&'static str, Weight)]) -> Weight {
    bounds.iter().map(|(_, weight)| *weight).min().unwrap_or(Weight::ZERO)
}
