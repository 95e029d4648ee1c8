//! The cautions that stand under every plan: at most six lines of the 78 columns that a list has.

/// The cautions for a plan; one more where something flammable is recovered.
pub fn cautions(flammable: bool) -> Vec<String> {
    let always = [
        "On the scale from first to last; never past the limit, never over 80 % liquid.",
        "At the stop weight close the valve (push-pull siphons on); weigh off the hose.",
        "One refrigerant to a cylinder, and label it. First look at it and at its date.",
        "Never heat a cylinder. Gloves, glasses, fresh air.",
    ];
    let burning = "Flammable refrigerant: keep every source of ignition away.";
    let deference = "Certified people only; local codes, manuals and licensed judgement come first.";
    always.into_iter().chain(flammable.then_some(burning)).chain([deference]).map(str::to_owned).collect()
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
