//! The cautions that stand under every plan: at most six lines of the 78 columns that a list has.

/// The cautions for a plan; one more where something flammable is recovered.
pub fn cautions(flammable: bool) -> Vec<String> {
    let always = [
        "On the scale from first to last; never past the limit, never over 80 % liquid.",
        "At the stop close the valve: push-pull can run on. Weigh again, hose off.",
        "One refrigerant to a cylinder, and label it. First look at it and at its date.",
        "Never heat a cylinder. Gloves, glasses, fresh air.",
    ];
    let burning = "Flammable refrigerant: keep every source of ignition away.";
    let deference = "Certified people only; local codes, manuals and licensed judgement come first.";
    always.into_iter().chain(flammable.then_some(burning)).chain([deference]).map(str::to_owned).collect()
}

/// The cautions in full, for a page.
pub fn full_cautions() -> [&'static str; 11] {
    [
        "The cylinder stands on the scale from first to last.",
        "Never past the limit; liquid never past 80 % of the volume.",
        "At the stop weight change cylinders or plan again.",
        "Push-pull can go on siphoning with the machine off: close the valve, and weigh again after disconnecting.",
        "Never heat a cylinder.",
        "One refrigerant to a cylinder, and label it.",
        "Inspect the cylinder and its date before filling.",
        "Gloves, glasses, fresh air.",
        "Keep flammable refrigerant away from every source of ignition.",
        "Certified technicians and equipment only.",
        "Local codes, the equipment's instructions and a licensed person's judgement come before this plan.",
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn at_most_six_lines_of_the_width_that_a_list_has() {
        let lines = cautions(true);
        assert_eq!((lines.len(), cautions(false).len()), (6, 5));
        assert!(lines.iter().all(|line| line.chars().count() <= 78));
    }
}
