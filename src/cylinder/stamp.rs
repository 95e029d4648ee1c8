//! What is stamped on a cylinder: which tares and water capacities are real, alone and together.
//!
//! A wrong stamp is a wrong limit, so what no cylinder has is held out until somebody has read it again. Nothing here
//! knows what a cylinder holds. The numbers are common practice, no source, and generous.

use crate::quantity::{Decimal, Unit, Weight};

/// A band of water capacities in pounds, and the tares in pounds that cylinders in it have. Both ends belong to it.
struct Band {
    /// The nominal size in pounds, or the band where there is no usual one.
    name: &'static str,
    water_capacity: (u32, u32),
    tare: (u32, u32),
}

const fn band(name: &'static str, from: u32, to: u32, least: u32, most: u32) -> Band {
    Band { name, water_capacity: (from, to), tare: (least, most) }
}

/// Every band, from nominal 15 lb to nominal 1,000 lb: common practice, no source. 4BA and 4BW share them.
const BANDS: &[Band] = &[
    band("15", 10, 18, 6, 18),
    band("20", 18, 24, 8, 22),
    band("30", 24, 32, 12, 28),
    band("40", 32, 44, 18, 36),
    band("50", 44, 52, 20, 46),
    band("60", 52, 66, 22, 52),
    band("66-90", 66, 90, 32, 66),
    band("100", 90, 112, 38, 88),
    band("125", 112, 145, 45, 105),
    band("145-225", 145, 225, 58, 160),
    band("240", 225, 275, 80, 190),
    band("275-450", 275, 450, 100, 300),
    band("500", 450, 560, 150, 390),
    band("560-900", 560, 900, 190, 560),
    band("1000", 900, 1_000, 270, 680),
];

/// Water capacities that are stamped on most cylinders, in tenths of a pound: common practice, no source. 59.5 lb are 27 l.
const USUAL: [i64; 14] = [130, 200, 262, 380, 476, 570, 595, 950, 1_230, 1_340, 2_390, 2_600, 4_850, 9_850];
/// How far from a usual water capacity one may lie and still be that, in per cent.
const NEAR: i64 = 4;
/// Nominal sizes in pounds that are no water capacities; 239 and 1,000 are.
const NOMINAL: [u32; 7] = [15, 20, 30, 40, 50, 100, 125];

/// The smallest water capacity of a recovery cylinder, in pounds.
const SMALLEST: u32 = 10;
/// Over so many pounds of water it is a tank, and that alone is said.
const LARGEST: u32 = 1_000;

/// Whether so much water is more than any cylinder takes.
pub fn is_a_tanks(water_capacity: Weight) -> bool {
    water_capacity > pounds(LARGEST)
}

/// The nominal size of a cylinder of this water capacity, in pounds.
pub fn nominal(water_capacity: Weight) -> &'static str {
    let beyond = if is_a_tanks(water_capacity) { "tank" } else { "small" };
    BANDS.get(nominal_order(water_capacity)).map_or(beyond, |band| band.name)
}

/// The place of that size among all, the smallest first; on a boundary the larger of two, and what is too small for any
/// comes last.
pub fn nominal_order(water_capacity: Weight) -> usize {
    match BANDS.iter().position(|band| water_capacity < pounds(band.water_capacity.0)) {
        Some(0) => BANDS.len() + 1,
        Some(next) => next - 1,
        None if is_a_tanks(water_capacity) => BANDS.len(),
        None => BANDS.len() - 1,
    }
}

fn pounds(number: u32) -> Weight {
    Weight::pounds(Decimal::from(number))
}

impl Band {
    fn has(&self, water_capacity: Weight) -> bool {
        let (from, to) = self.water_capacity;
        (pounds(from)..=pounds(to)).contains(&water_capacity)
    }
}

/// The least and the most tare that goes with this water capacity; on a boundary those of either band.
fn tares(water_capacity: Weight) -> Option<(Weight, Weight)> {
    let bands = || BANDS.iter().filter(|band| band.has(water_capacity)).map(|band| band.tare);
    let (least, most) = (bands().map(|(least, _)| least).min()?, bands().map(|(_, most)| most).max()?);
    Some((pounds(least), pounds(most)))
}

fn is_real(tare: Weight, water_capacity: Weight) -> bool {
    tare < water_capacity && tares(water_capacity).is_some_and(|(least, most)| (least..=most).contains(&tare))
}

/// Whether a water capacity lies within 4 % of one that most cylinders have.
pub fn is_usual_capacity(water_capacity: Weight) -> bool {
    USUAL.into_iter().map(|tenths| Weight::pounds(Decimal::new(tenths, 1))).any(|usual| {
        let (less, more) = (Decimal::new(100 - NEAR, 2), Decimal::new(100 + NEAR, 2));
        (usual.times(less)..=usual.times(more)).contains(&water_capacity)
    })
}

/// A unit that both numbers may have been taken for: they make a usual pair in the other one, and none as they stand.
/// Some pairs do so both ways; then the other one than the file's unit is named.
fn wrong_unit(tare: Weight, water_capacity: Weight, unit: Unit) -> Option<&'static str> {
    let usual = |factor: Decimal| {
        let (tare, water_capacity) = (tare.times(factor), water_capacity.times(factor));
        is_real(tare, water_capacity) && is_usual_capacity(water_capacity)
    };
    if usual(Decimal::ONE) {
        return None;
    }
    let pounds_in_kilogram = Decimal::new(22_046, 4);
    let kilograms = usual(pounds_in_kilogram).then_some("kilograms in a pound file?");
    let pounds = usual(Decimal::ONE / pounds_in_kilogram).then_some("pounds in a kilogram file?");
    match unit {
        Unit::Kg => pounds.or(kilograms),
        Unit::Lb | Unit::LbOz => kilograms.or(pounds),
    }
}

/// What is wrong with a water capacity that is exactly a nominal size.
pub(super) fn nominal_size(water_capacity: Weight, unit: Unit) -> Option<String> {
    NOMINAL.into_iter().any(|size| water_capacity == pounds(size)).then(|| {
        format!("a water capacity of {} looks like the nominal size, not the stamp", unit.text(water_capacity))
    })
}

/// What is wrong with a tare and a water capacity that no cylinder has together.
pub(super) fn doubtful_pair(tare: Weight, water_capacity: Weight, unit: Unit) -> Option<String> {
    if is_a_tanks(water_capacity) {
        return None;
    }
    let text = |weight| unit.text(weight);
    let wrong_unit = wrong_unit(tare, water_capacity, unit);
    let found = match tares(water_capacity) {
        None => format!(
            "a water capacity of {} is under the {} of the smallest cylinder",
            text(water_capacity),
            text(pounds(SMALLEST))
        ),
        Some(_) if tare >= water_capacity => {
            format!("a tare of {} isn't less than the water capacity, {}", text(tare), text(water_capacity))
        }
        Some((least, most)) if tare < least || tare > most => format!(
            "a tare of {} doesn't go with a water capacity of {}: expected {} to {}",
            text(tare),
            text(water_capacity),
            text(least),
            text(most)
        ),
        Some(_) => {
            let unit = wrong_unit?;
            return Some(format!("a tare of {} with a water capacity of {}: {unit}", text(tare), text(water_capacity)));
        }
    };
    Some(wrong_unit.map_or(found.clone(), |unit| format!("{found}; {unit}")))
}

/// Everything that is doubtful about a tare and a water capacity, in sentences; nothing where they may be stamped.
pub fn doubts(tare: Weight, water_capacity: Weight, unit: Unit) -> Vec<String> {
    [nominal_size(water_capacity, unit), doubtful_pair(tare, water_capacity, unit)].into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lb(tenths: i64) -> Weight {
        Weight::pounds(Decimal::new(tenths, 1))
    }

    /// Tare and water capacity in tenths of a pound.
    fn doubt(tare: i64, water_capacity: i64) -> String {
        doubts(lb(tare), lb(water_capacity), Unit::Lb).join(" | ")
    }

    #[test]
    fn the_bands_join_and_grow() {
        assert_eq!((BANDS[0].water_capacity.0, BANDS[14].water_capacity.1), (SMALLEST, LARGEST));
        for pair in BANDS.windows(2) {
            assert_eq!(pair[0].water_capacity.1, pair[1].water_capacity.0);
            assert!(pair[0].tare.0 < pair[1].tare.0 && pair[0].tare.1 < pair[1].tare.1);
        }
        // Each usual capacity is in a band, and no nominal size is a usual stamp read to a tenth.
        for usual in USUAL {
            assert!(tares(lb(usual)).is_some() && is_usual_capacity(lb(usual)), "{usual}");
        }
        assert_eq!(USUAL.iter().filter(|usual| NOMINAL.iter().any(|size| i64::from(*size) * 10 == **usual)).count(), 1);
    }

    #[test]
    fn a_size_goes_by_the_water_capacity() {
        let sizes: Vec<&str> =
            [99, 100, 262, 320, 476, 1_230, 10_000, 10_001].into_iter().map(|lb10| nominal(lb(lb10))).collect();
        assert_eq!(sizes, ["small", "15", "30", "40", "50", "125", "1000", "tank"]);
        let order: Vec<usize> =
            [130, 200, 262, 2_390, 9_850, 20_000, 50].into_iter().map(|lb10| nominal_order(lb(lb10))).collect();
        assert_eq!(order, [0, 1, 2, 10, 14, 15, 16]);
    }

    #[test]
    fn usual_cylinders_are_not_doubted() {
        // Trade sizes: common practice, no source.
        for (tare, water_capacity) in [
            (80, 130),
            (150, 262),
            (180, 262),
            (240, 380),
            (260, 476),
            (300, 480),
            (700, 1_240),
            (550, 1_220),
            (800, 2_380),
            (1_100, 2_400),
            (3_000, 9_850),
            (3_600, 10_000),
        ] {
            assert_eq!(doubt(tare, water_capacity), "", "{tare} {water_capacity}");
        }
    }

    #[test]
    fn on_a_boundary_either_band_passes() {
        // 32 lb of water: 12 to 28 in one band, 18 to 36 in the other; and always less than the water.
        for (tare, good) in [(119, false), (120, true), (281, true), (319, true), (320, false)] {
            assert_eq!(doubt(tare, 320).is_empty(), good, "{tare}");
        }
        for (tare, water_capacity, good) in [
            (200, 476, true),
            (199, 476, false),
            (460, 476, true),
            (461, 476, false),
            (60, 100, true),
            (60, 99, false),
            (129, 130, true),
            (130, 130, false),
            // Over 1,000 lb of water it is a tank, whatever its tare.
            (3_000, 10_000, true),
            (2_699, 10_000, false),
            (10, 10_001, true),
        ] {
            assert_eq!(doubt(tare, water_capacity).is_empty(), good, "{tare} {water_capacity}");
        }
    }

    #[test]
    fn slips_of_the_pen_are_named() {
        for (tare, water_capacity, said) in [
            (170, 476, "a tare of 17 lb doesn't go with a water capacity of 47.6 lb: expected 20 lb to 46 lb"),
            (280, 764, "a tare of 28 lb doesn't go with a water capacity of 76.4 lb: expected 32 lb to 66 lb"),
            (280, 1_230, "a tare of 28 lb doesn't go with a water capacity of 123 lb: expected 45 lb to 105 lb"),
            (20, 50, "a water capacity of 5 lb is under the 10 lb of the smallest cylinder"),
            (476, 280, "a tare of 47.6 lb isn't less than the water capacity, 28 lb"),
            // 28 lb and 47.6 lb are 12.7 kg and 21.6 kg.
            (127, 216, "a tare of 12.7 lb with a water capacity of 21.6 lb: kilograms in a pound file?"),
            // 8 lb and 13 lb are 3.6 kg and 5.9 kg.
            (
                36,
                59,
                "a water capacity of 5.9 lb is under the 10 lb of the smallest cylinder; kilograms in a pound file?",
            ),
            (280, 500, "a water capacity of 50 lb looks like the nominal size, not the stamp"),
        ] {
            assert_eq!(doubt(tare, water_capacity), said);
        }
        let kilograms = |number: i64| Weight::kilograms(Decimal::new(number, 1));
        let said = doubts(kilograms(280), kilograms(476), Unit::Kg);
        assert_eq!(said, ["a tare of 28 kg with a water capacity of 47.6 kg: pounds in a kilogram file?"]);
        assert_eq!(doubts(kilograms(127), kilograms(216), Unit::Kg), [""; 0]);
        for size in NOMINAL {
            assert!(nominal_size(pounds(size), Unit::Lb).is_some(), "{size}");
        }
        assert!([239, 1_000].into_iter().all(|size| nominal_size(pounds(size), Unit::Lb).is_none()));
    }
}
