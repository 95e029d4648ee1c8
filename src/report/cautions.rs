//! The cautions that stand under every plan: at most seven lines of the 78 columns that a list has, or eight where
//! several refrigerants are toxic.

use crate::job::Work;
use crate::refrigerant::{Fluid, Refrigerant, Toxicity};

/// The columns of a list's line.
const WIDTH: usize = 78;

/// What refrigerants ask a reader to beware of, beside their weight and pressure.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Hazards {
    /// Something may burn.
    flammable: bool,
    /// What is of higher toxicity, by name and group; what has no known group is among it.
    toxic: Vec<String>,
}

impl Hazards {
    /// Of all that is recovered.
    pub fn of(work: &Work) -> Self {
        work.lots().iter().fold(Self::default(), |hazards, lot| hazards.and(&lot.intake.fluid))
    }

    /// These and those of one more fluid.
    #[must_use]
    pub fn and(mut self, fluid: &Fluid) -> Self {
        self.flammable |= fluid.is_flammable();
        for toxic in fluid.contents().iter().filter_map(toxic) {
            if !self.toxic.contains(&toxic) {
                self.toxic.push(toxic);
            }
        }
        self
    }
}

/// Name and group where that is B, or not known.
fn toxic(refrigerant: &Refrigerant) -> Option<String> {
    match refrigerant.group() {
        Some(group) if group.toxicity() == Toxicity::B => Some(format!("{} ({group})", refrigerant.name())),
        Some(_) => None,
        None => Some(format!("{} (no group)", refrigerant.name())),
    }
}

/// The cautions for a plan; one more where something flammable is recovered, and one where something toxic is.
pub fn cautions(hazards: &Hazards) -> Vec<String> {
    let always = [
        "On the scale from first to last; never past the limit, never over 80 % liquid.",
        "At the stop close the valve: push-pull can run on. Weigh again, hose off.",
        "One refrigerant to a cylinder, and label it. First look at it and at its date.",
        "Never heat a cylinder. Gloves, glasses, fresh air.",
    ];
    let burning = "Flammable refrigerant: keep every source of ignition away.";
    let deference = "Certified people only; local codes, manuals and licensed judgement come first.";
    let mut lines: Vec<String> = always.map(str::to_owned).to_vec();
    lines.extend(hazards.flammable.then(|| burning.to_owned()));
    lines.extend(of_toxic(&hazards.toxic));
    lines.push(deference.into());
    lines
}

/// One line where it fits one, else the names and what to do in a line each.
fn of_toxic(toxic: &[String]) -> Vec<String> {
    if toxic.is_empty() {
        return Vec::new();
    }
    let (names, advice) = (format!("Toxic: {}.", toxic.join(", ")), "Ventilate, don't breathe it; local codes rule.");
    let together = format!("{names} {advice}");
    if together.chars().count() <= WIDTH { vec![together] } else { vec![names, advice.into()] }
}

/// The cautions in full, for a page.
pub fn full_cautions(hazards: &Hazards) -> Vec<String> {
    let always = [
        "The cylinder stands on the scale from first to last.",
        "Never past the limit; liquid never past 80 % of the volume.",
        "At the stop weight change cylinders or plan again.",
        "Push-pull can go on siphoning with the machine off: close the valve, and weigh again after disconnecting.",
        "Never heat a cylinder.",
        "One refrigerant to a cylinder, and label it.",
        "Inspect the cylinder and its date before filling.",
        "Gloves, glasses, fresh air.",
        "Keep flammable refrigerant away from every source of ignition.",
    ];
    let deference = [
        "Certified technicians and equipment only.",
        "Local codes, the equipment's instructions and a licensed person's judgement come before this plan.",
    ];
    let toxic = (!hazards.toxic.is_empty()).then(|| {
        format!(
            "Toxic: {}. Ventilate, measure the air, breathe none of it, have breathing apparatus at hand; what the room \
             needs, local codes say.",
            hazards.toxic.join(", ")
        )
    });
    always.map(str::to_owned).into_iter().chain(toxic).chain(deference.map(str::to_owned)).collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn hazards(names: &[&str]) -> Hazards {
        let fluids = names.iter().map(|name| Fluid::One(Refrigerant::find(name).unwrap()));
        fluids.fold(Hazards::default(), |hazards, fluid| hazards.and(&fluid))
    }

    #[test]
    fn at_most_seven_lines_of_the_width_that_a_list_has() {
        let count = |names: &[&str]| cautions(&hazards(names)).len();
        assert_eq!((count(&["R-22"]), count(&["R-290"]), count(&["R-123"])), (5, 6, 6));
        for name in Refrigerant::names() {
            let lines = cautions(&hazards(&[name]));
            assert!(lines.len() <= 7 && lines.iter().all(|line| line.chars().count() <= WIDTH), "{lines:?}");
        }
        let several = cautions(&hazards(&["R-123", "R-22", "R-245fa", "R-123", "R-141b"]));
        assert_eq!(several.len(), 8);
        assert_eq!(several[5], "Toxic: R-123 (B1), R-245fa (B1), R-141b (no group).");
    }

    #[test]
    fn toxic_refrigerants_are_named_with_their_group() {
        let line = "Toxic: R-123 (B1). Ventilate, don't breathe it; local codes rule.";
        assert!(cautions(&hazards(&["R-123"])).contains(&line.to_owned()));
        assert!(
            full_cautions(&hazards(&["R-123"])).iter().any(|line| line.starts_with("Toxic: R-123 (B1). Ventilate"))
        );
        assert!(!full_cautions(&hazards(&["R-22"])).concat().contains("oxic"));
    }
}
