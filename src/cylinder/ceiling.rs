//! How full: every ceiling on a cylinder's net weight, the limit that is the smallest of them, and the cap that a plan
//! may go up to.
//!
//! To add a ceiling: a variant here, its line in [`CeilingKind::ALL`], its arm in [`net`], the same rule written again
//! in the audit, and its row in `scenarios/README.md`.

use super::{Cylinder, Terms};
use crate::quantity::{Decimal, Density, Marks, Weight};
use crate::refrigerant::{Fluid, PropertyError};

/// A rule that bounds the net weight in a cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CeilingKind {
    /// Fill fraction × volume × liquid density at the limit temperature.
    Fill,
    /// Volume × liquid density at 131 °F.
    UsLiquidFull,
    /// Filling density of the regulation's table × water capacity.
    UsTable,
    /// Volume × the smallest of 0.95 × density at 50 °C, density at 60 °C and, for R-125, the listed ratio.
    UnP200,
    /// The cylinder's own stated maximum gross less its tare.
    Label,
}

impl CeilingKind {
    /// Every ceiling, in the order in which a tie names one.
    pub const ALL: [Self; 5] = [Self::Fill, Self::UsLiquidFull, Self::UsTable, Self::UnP200, Self::Label];

    /// Its name in reports and plan files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Fill => "fill",
            Self::UsLiquidFull => "us-liquid-full",
            Self::UsTable => "us-table",
            Self::UnP200 => "un-p200",
            Self::Label => "label",
        }
    }

    /// Whether passing it is danger: every ceiling is somebody's rule but the fill, which is our own and leaves a margin.
    pub const fn is_danger(self) -> bool {
        !matches!(self, Self::Fill)
    }

    /// The rule alone, as it is named where it is broken.
    pub const fn rule(self) -> &'static str {
        match self {
            Self::Fill => "our fill",
            Self::UsLiquidFull => "49 CFR 173.304(b), liquid-full by 131 F",
            Self::UsTable => "49 CFR 173.304a(a)(2), filling density",
            Self::UnP200 => "UN packing instruction P200, filling ratio",
            Self::Label => "its own label",
        }
    }

    /// What it says under these terms, and who says so.
    pub fn says(self, terms: &Terms) -> String {
        match self {
            Self::Fill => {
                let (fill, at) = (terms.fill, terms.fill_temperature());
                let who = if terms.is_usual_fill() { "common practice, no source" } else { "as the job asks" };
                format!("liquid at most {fill} at {}: {who}", terms.scale.temperature(at))
            }
            Self::UsLiquidFull => {
                let up_to = terms.scale.temperature(Terms::US_FULL_TEMPERATURE);
                format!("not liquid-full up to {up_to}: 49 CFR 173.304(b)")
            }
            Self::UsTable => "filling density: 49 CFR 173.304a(a)(2)".into(),
            Self::UnP200 => "filling ratio: UN Model Regulations, packing instruction P200".into(),
            Self::Label => "the cylinder's own label".into(),
        }
    }
}

/// One ceiling, figured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ceiling {
    /// Which rule.
    pub kind: CeilingKind,
    /// The largest net weight that it allows.
    pub net: Weight,
}

/// The gross weight that a cylinder must never pass. What it is to pass it, [`super::overfull`] says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limit {
    /// Working tare + the smallest ceiling.
    pub gross: Weight,
    /// The smallest ceiling.
    pub ceiling: Ceiling,
}

/// What bounds the room of a cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Bound {
    /// A filling ceiling: never passed.
    Ceiling(CeilingKind),
    /// The site's lift limit: passing it is heavy.
    Lift,
    /// The capacity of the scale: passing it can't be weighed.
    Scale,
}

impl Bound {
    /// Its name in reports and plan files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ceiling(kind) => kind.name(),
            Self::Lift => "lift",
            Self::Scale => "scale",
        }
    }

    /// The bound of this name.
    pub fn named(name: &str) -> Option<Self> {
        let ceilings = CeilingKind::ALL.into_iter().map(Self::Ceiling);
        ceilings.chain([Self::Lift, Self::Scale]).find(|bound| bound.name() == name)
    }

    /// What it stands for under these terms, and who says so.
    pub fn says(self, terms: &Terms) -> String {
        match self {
            Self::Ceiling(kind) => kind.says(terms),
            Self::Lift => "the site's lift limit; handling, not bursting".into(),
            Self::Scale => "the capacity of the scale; handling, not bursting".into(),
        }
    }
}

/// Every ceiling that applies to `fluid` under these terms in a cylinder of this water capacity, whose label allows so
/// much net where it says anything.
///
/// # Errors
/// Where the fluid has no liquid density at a temperature that an applying rule asks for.
pub fn ceilings(
    water_capacity: Weight,
    label: Option<Weight>,
    fluid: &Fluid,
    terms: &Terms,
) -> Result<Vec<Ceiling>, PropertyError> {
    let mut found = Vec::new();
    for kind in CeilingKind::ALL {
        if let Some(net) = net(kind, water_capacity, label, fluid, terms)? {
            found.push(Ceiling { kind, net });
        }
    }
    Ok(found)
}

/// Whether a limit can be computed for `fluid` under these terms at all.
///
/// # Errors
/// The first density that an applying rule asks for and that the fluid doesn't have.
pub fn computable(fluid: &Fluid, terms: &Terms) -> Result<(), PropertyError> {
    let (lower, upper) = Terms::UN_TEMPERATURES;
    let asked = [
        (true, terms.fill_temperature()),
        (terms.rules.us(), Terms::US_FULL_TEMPERATURE),
        (terms.un_applies(), lower),
        (terms.un_applies(), upper),
    ];
    asked.into_iter().filter(|(applies, _)| *applies).try_for_each(|(_, at)| fluid.safe_density(at).map(|_| ()))
}

/// The limit for `fluid` in this cylinder under these terms.
///
/// # Errors
/// As [`ceilings`].
pub fn limit(cylinder: &Cylinder, fluid: &Fluid, terms: &Terms) -> Result<Limit, PropertyError> {
    // The fill ceiling always applies, so there is one to begin with.
    let fill = Ceiling { kind: CeilingKind::Fill, net: fill_net(cylinder.water_capacity, fluid, terms)? };
    let smallest = ceilings(cylinder.water_capacity, cylinder.label_net(), fluid, terms)?
        .into_iter()
        .fold(fill, |smallest, ceiling| if ceiling.net < smallest.net { ceiling } else { smallest });
    Ok(Limit { gross: cylinder.working_tare() + smallest.net, ceiling: smallest })
}

/// The gross weight from which on it is danger to have this fluid in a cylinder; `None` where no rule but our own applies.
///
/// # Errors
/// As [`ceilings`].
pub fn danger_over(cylinder: &Cylinder, fluid: &Fluid, terms: &Terms) -> Result<Option<Weight>, PropertyError> {
    let found = ceilings(cylinder.water_capacity, cylinder.label_net(), fluid, terms)?;
    let rules = found.into_iter().filter(|ceiling| ceiling.kind.is_danger());
    Ok(rules.map(|ceiling| cylinder.working_tare() + ceiling.net).min())
}

/// What a cylinder would weigh if it were full of cold liquid: no scale shows more. The liquid of the refrigerants of the
/// trade is up to 1.4 times as dense at 32 °F as at 130 °F (R-410A: 1.31); common practice, no source.
///
/// # Errors
/// As [`ceilings`].
pub fn full_and_cold(cylinder: &Cylinder, fluid: &Fluid, terms: &Terms) -> Result<Weight, PropertyError> {
    let density = fluid.safe_density(terms.fill_temperature())?;
    Ok(cylinder.working_tare() + filled_with(cylinder.water_capacity, density).times(Decimal::new(14, 1)))
}

/// A cylinder's place for one intake, in whole divisions of the scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Room {
    /// Gross now, rounded up to a mark.
    pub base: Marks,
    /// The cap, rounded down to a mark: as far as a plan may go.
    pub top: Marks,
    /// The limit, rounded down to a mark.
    pub limit: Marks,
    /// What sets the cap.
    pub bound: Bound,
}

impl Room {
    /// The divisions that may still go in, never below zero.
    pub fn size(&self) -> Marks {
        (self.top - self.base).max(0)
    }
}

impl Limit {
    /// The room below the limit less the scale's accuracy, the lift limit and the scale's capacity, whichever is least.
    pub fn room(&self, cylinder: &Cylinder, terms: &Terms) -> Room {
        let mut cap = (self.gross - terms.scale.accuracy, Bound::Ceiling(self.ceiling.kind));
        for (weight, bound) in [(terms.lift_limit, Bound::Lift), (terms.scale.capacity, Bound::Scale)] {
            if let Some(weight) = weight.filter(|weight| *weight < cap.0) {
                cap = (weight, bound);
            }
        }
        let division = terms.scale.division;
        Room {
            base: division.ceil(cylinder.gross),
            top: division.floor(cap.0),
            limit: division.floor(self.gross),
            bound: cap.1,
        }
    }
}

/// The largest net weight by one rule, or `None` where the rule doesn't apply.
pub(super) fn net(
    kind: CeilingKind,
    water_capacity: Weight,
    label: Option<Weight>,
    fluid: &Fluid,
    terms: &Terms,
) -> Result<Option<Weight>, PropertyError> {
    match kind {
        CeilingKind::Fill => fill_net(water_capacity, fluid, terms).map(Some),
        CeilingKind::UsLiquidFull if terms.rules.us() => {
            let density = fluid.safe_density(Terms::US_FULL_TEMPERATURE)?;
            Ok(Some(filled_with(water_capacity, density)))
        }
        CeilingKind::UsTable if terms.rules.us() => {
            Ok(fluid.us_filling_density().map(|percent| water_capacity.times(percent / Decimal::ONE_HUNDRED)))
        }
        CeilingKind::UnP200 if terms.un_applies() => {
            let (lower, upper) = Terms::UN_TEMPERATURES;
            let density = fluid.safe_density(lower)?.scaled(0.95).min(fluid.safe_density(upper)?);
            let listed = fluid.un_listed_density().map_or(density, |listed| listed.min(density));
            Ok(Some(filled_with(water_capacity, listed)))
        }
        CeilingKind::UsLiquidFull | CeilingKind::UsTable | CeilingKind::UnP200 => Ok(None),
        CeilingKind::Label => Ok(label),
    }
}

fn fill_net(water_capacity: Weight, fluid: &Fluid, terms: &Terms) -> Result<Weight, PropertyError> {
    let density = fluid.safe_density(terms.fill_temperature())?;
    Ok(filled_with(water_capacity, density).times(terms.fill.fraction()))
}

/// The weight that fills this water capacity at this density: water capacity × density / density of water at 60 °F,
/// the ratio rounded down in its ninth decimal.
fn filled_with(water_capacity: Weight, density: Density) -> Weight {
    let ratio = Decimal::from_f64_retain(density.relative_to_water()).unwrap_or_default();
    water_capacity.times(ratio.trunc_with_scale(9))
}
