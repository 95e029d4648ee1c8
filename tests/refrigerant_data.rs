//! Densities and pressures of the table against sources other than the library that made it.
//!
//! Each value stands with its source. "From memory" means that the text was not at hand when the value was written
//! down; "no source" means common practice. A value is never loosened until it passes: where ours differs, the reason
//! stands beside it.
#![allow(clippy::unwrap_used, clippy::panic)]

use chargesplit::quantity::{AbsolutePressure, Density, Temperature};
use chargesplit::refrigerant::{Grade, Refrigerant};

fn find(name: &str) -> Refrigerant {
    Refrigerant::find(name).unwrap()
}

fn density(name: &str, celsius: f64) -> f64 {
    find(name).liquid_density(Temperature::from_celsius(celsius)).unwrap().kg_per_m3()
}

fn pressure(name: &str, celsius: f64) -> AbsolutePressure {
    find(name).bubble_pressure(Temperature::from_celsius(celsius)).unwrap()
}

/// `ours` within `part` of `theirs`.
fn assert_near(what: &str, ours: f64, theirs: f64, part: f64) {
    let off = ours / theirs - 1.0;
    assert!(off.abs() <= part, "{what}: ours {ours}, published {theirs}, off by {:.2} %", off * 100.0);
}

/// Maximum filling densities of 49 CFR 173.304a(a)(2) in per cent of the water weight (read; R-152a and R-40 restated).
/// The rule leaves a little room at 130 °F: FD/100 ≤ ρ(130 °F)/ρ(water) ≤ 1.04 × FD/100. R-13 (100) has no liquid there;
/// sulfur dioxide (125, restated) likewise keeps to it.
#[test]
fn filling_densities_of_the_us_rule_bound_the_density() {
    let listed = [
        ("R-12", 119.0),
        ("R-22", 105.0),
        ("R-115", 110.0),
        ("R-142b", 100.0),
        ("R-152a", 79.0),
        ("R-717", 54.0),
        ("R-40", 84.0),
        ("R-764", 125.0),
    ];
    for (name, percent) in listed {
        let at_130f = find(name).liquid_density(Temperature::from_fahrenheit(130.0)).unwrap();
        let ratio = at_130f.relative_to_water() * 100.0;
        assert!((percent..=1.04 * percent).contains(&ratio), "{name}: {ratio:.2} against {percent}");
    }
}

/// Filling ratios and test pressures of packing instruction P200 of the UN Model Regulations, kg/l and bar, all from
/// memory. Ratio = min(0.95 ρ(50 °C), ρ(60 °C)) within 2 %. The rule asks for a test pressure of at least p(65 °C) − 1 bar.
#[test]
fn filling_ratios_and_test_pressures_of_p200() {
    let listed = [
        ("R-22", 1.03, 27.0),
        ("R-115", 1.05, 25.0),
        ("R-124", 1.20, 11.0),
        ("R-12", 1.15, 16.0),
        ("R-21", 1.23, 10.0),
        ("R-152a", 0.79, 16.0),
        ("R-114", 1.30, 10.0),
        ("R-502", 1.01, 31.0),
        ("R-C318", 1.32, 11.0),
        ("R-143a", 0.73, 35.0),
        ("R-218", 1.04, 25.0),
        ("R-142b", 0.99, 10.0),
        ("R-500", 1.01, 22.0),
        ("R-134a", 1.05, 18.0),
        ("R-32", 0.78, 48.0),
        ("R-227ea", 1.21, 13.0),
        ("R-404A", 0.82, 36.0),
        ("R-407A", 0.94, 32.0),
        ("R-407B", 0.93, 33.0),
        ("R-407C", 0.95, 30.0),
        ("R-290", 0.43, 23.0),
        ("R-600a", 0.49, 10.0),
        ("R-600", 0.52, 10.0),
        ("R-1270", 0.43, 27.0),
        ("R-717", 0.54, 29.0),
    ];
    for (name, ratio, test_pressure) in listed {
        let ours = (0.95 * density(name, 50.0)).min(density(name, 60.0)) / 1000.0;
        assert_near(name, ours, ratio, 0.02);
        let needed = pressure(name, 65.0).bar() - 1.0;
        assert!(needed <= test_pressure, "{name}: needs {needed:.2} bar, listed {test_pressure}");
    }
    // R-125 has two lines: 0.95 at a test pressure of 49 bar, 0.87 at 36 bar. Above 61 °C it is too near its critical
    // temperature (66 °C) for a pressure at 65 °C.
    assert_near("R-125, 49 bar", 0.95 * density("R-125", 50.0) / 1000.0, 0.95, 0.02);
    assert_near("R-125, 36 bar", density("R-125", 60.0) / 1000.0, 0.87, 0.02);
    let needed = |name: &str| find(name).un_test_pressure().unwrap().bar();
    assert_near("R-125, needed", needed("R-125"), 36.0, 1e-9);
    assert_near("R-125, ratio", find("R-125").un_listed_density().unwrap().kg_per_m3(), 870.0, 1e-9);
    assert_near("R-134a, needed", needed("R-134a"), pressure("R-134a", 65.0).bar() - 1.0, 1e-9);
}

/// The two that are nearer than 5 K to their critical point at 65 °C, and are not above it: ln p over 1/T carried on to
/// 65 °C from the last 3 K that the table knows, with the allowance of the grade, less 1 bar, isn't over the test pressure
/// that we ask for, nor 5 % under it.
#[test]
fn test_pressures_near_the_critical_point_cover_what_the_pressure_comes_to() {
    let mut near = Vec::new();
    for name in Refrigerant::names() {
        let (refrigerant, celsius) = (find(name), |kelvin: f64| Temperature::from_kelvin(kelvin).celsius());
        let (end, critical) = (celsius(refrigerant.range().1.kelvin()), refrigerant.critical().unwrap().celsius());
        if critical <= 65.0 || end >= 65.0 {
            continue;
        }
        let allowance = 1.0 + refrigerant.grade().unwrap().pressure_allowance();
        let needed = carried_on(name, (end - 3.0, end), 65.0) / 100_000.0 * allowance - 1.0;
        let asked = refrigerant.un_test_pressure().unwrap().bar();
        assert!((needed..1.05 * needed).contains(&asked), "{name}: {needed} bar, asked {asked}");
        near.push(name);
    }
    assert_eq!(near, ["R-125", "R-428A"]);
}

/// The pressure in pascals at a temperature outside the table: ln p is nearly straight over 1/T, so it goes on as between
/// the two temperatures.
fn carried_on(name: &str, (one, other): (f64, f64), celsius: f64) -> f64 {
    let inverse = |celsius: f64| 1.0 / Temperature::from_celsius(celsius).kelvin();
    let [a, b] = [one, other].map(|celsius| pressure(name, celsius).pascal().ln());
    let slope = (b - a) / (inverse(other) - inverse(one));
    (a + slope * (inverse(celsius) - inverse(one))).exp()
}

/// Where the bubble pressure is the standard atmosphere, in °C; under −40 °C carried on from −40 and −35 °C.
fn boiling_point(name: &str) -> f64 {
    let at = |celsius: f64| {
        if celsius < -40.0 { carried_on(name, (-40.0, -35.0), celsius) } else { pressure(name, celsius).pascal() }
    };
    let (mut low, mut high) = (-70.0, 0.0);
    for _ in 0..50 {
        let middle = (low + high) / 2.0;
        if at(middle) < 101_325.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// Saturated-liquid densities in public tables of makers and handbooks (read), kg/m³: within 0.5 %.
#[test]
fn densities_of_public_tables() {
    let listed = [
        ("R-22", 25.0, 1193.3),
        ("R-22", 55.0, 1059.3),
        ("R-12", 25.0, 1310.6),
        ("R-12", 55.0, 1189.1),
        ("R-134a", 25.0, 1205.9),
        ("R-134a", 40.0, 1146.7),
        ("R-134a", 58.0, 1063.2),
        ("R-32", 54.0, 814.8),
        ("R-404A", 25.0, 1048.4),
        ("R-404A", 40.0, 964.7),
        ("R-407C", 25.0, 1134.0),
        ("R-407C", 40.0, 1068.6),
        ("R-507A", 25.0, 1049.0),
        ("R-507A", 40.0, 967.2),
    ];
    for (name, celsius, published) in listed {
        assert_near(&format!("{name} at {celsius} C"), density(name, celsius), published, 0.005);
    }
}

/// Pressure in kPa and specific volume of the saturated liquid in m³/kg, from memory, of two textbooks: Çengel and Boles,
/// Thermodynamics: An Engineering Approach, 8th edition, table A-11 (R-134a); Borgnakke and Sonntag, Fundamentals of
/// Thermodynamics, 7th edition, tables B.2.1 (ammonia), B.3.1 (carbon dioxide), B.4.1 (R-410A). Densities within 0.1 %;
/// pressures within 0.1 %, for R-410A within 0.3 %, because that table treats the blend as one pseudo-pure fluid.
#[test]
fn saturation_tables_of_textbooks() {
    let listed = [
        ("R-134a", -40.0, 51.25, 0.000_705_4),
        ("R-134a", -20.0, 132.82, 0.000_736_2),
        ("R-134a", 0.0, 293.01, 0.000_772_3),
        ("R-134a", 20.0, 572.07, 0.000_816_1),
        ("R-134a", 40.0, 1017.1, 0.000_872_0),
        ("R-134a", 60.0, 1682.8, 0.000_949_8),
        ("R-717", -20.0, 190.2, 0.001_504),
        ("R-717", 0.0, 429.6, 0.001_566),
        ("R-717", 20.0, 857.5, 0.001_638),
        ("R-717", 40.0, 1554.9, 0.001_725),
        ("R-410A", -20.0, 399.6, 0.000_803),
        ("R-410A", 0.0, 798.7, 0.000_855),
        ("R-410A", 20.0, 1444.2, 0.000_923),
        ("R-410A", 40.0, 2420.7, 0.001_025),
        ("R-744", 0.0, 3485.1, 0.001_078),
        ("R-744", 20.0, 5729.1, 0.001_293),
    ];
    for (name, celsius, kilopascal, volume) in listed {
        let what = format!("{name} at {celsius} C");
        let part = if name == "R-410A" { 0.003 } else { 0.001 };
        assert_near(&what, pressure(name, celsius).pascal() / 1000.0, kilopascal, part);
        assert_near(&what, density(name, celsius), 1.0 / volume, 0.001);
    }
}

/// Normal boiling points in °C, from memory: 2017 ASHRAE Handbook Fundamentals, chapter 29, table of physical properties.
/// The bubble pressure there is the standard atmosphere, within 1 % (a quarter of a degree).
#[test]
fn normal_boiling_points_of_single_components() {
    let listed = [
        ("R-11", 23.71),
        ("R-12", -29.75),
        ("R-21", 8.86),
        ("R-40", -24.17),
        ("R-113", 47.59),
        ("R-114", 3.59),
        ("R-123", 27.82),
        ("R-124", -11.96),
        ("R-134a", -26.07),
        ("R-141b", 32.05),
        ("R-142b", -9.12),
        ("R-152a", -24.02),
        ("R-218", -36.79),
        ("R-227ea", -16.34),
        ("R-236fa", -1.44),
        ("R-245fa", 15.14),
        ("R-600", -0.49),
        ("R-600a", -11.75),
        ("R-601", 36.06),
        ("R-601a", 27.83),
        ("R-717", -33.33),
        ("R-764", -10.02),
        ("R-1233zd(E)", 18.26),
        ("R-1234yf", -29.49),
        ("R-1234ze(E)", -18.97),
        ("R-1336mzz(Z)", 33.45),
        ("R-C318", -5.97),
        ("R-E170", -24.78),
    ];
    for (name, celsius) in listed {
        assert_near(name, pressure(name, celsius).pascal(), 101_325.0, 0.01);
    }
}

/// Bubble points of blends at the standard atmosphere in °C, from memory: ASHRAE Standard 34 (2019), table 4-2. They are
/// printed to a tenth, 0.4 % of the pressure; composition and models differ by about as much. Within 2 %.
#[test]
fn bubble_points_of_blends_at_one_atmosphere() {
    let listed = [
        ("R-415B", -27.7),
        ("R-420A", -24.9),
        ("R-423A", -24.1),
        ("R-436A", -34.3),
        ("R-450A", -23.4),
        ("R-471A", -16.9),
        ("R-500", -33.6),
        ("R-510A", -25.2),
        ("R-512A", -24.0),
        ("R-513A", -29.2),
        ("R-515B", -19.0),
        ("R-516A", -29.4),
    ];
    for (name, celsius) in listed {
        assert_near(name, pressure(name, celsius).pascal(), 101_325.0, 0.02);
    }
}

/// Bubble points of blends of grade B and C at the standard atmosphere in °C, from memory as above: the safe pressure
/// there is at least the atmosphere, less 0.5 % for the tenth that they are printed to. So the allowance covers what the
/// estimates for missing pairs miss (R-435A: 8 %).
#[test]
fn the_allowance_covers_published_bubble_points() {
    let listed = [
        ("R-401A", -34.4),
        ("R-406A", -32.7),
        ("R-409A", -35.4),
        ("R-413A", -29.3),
        ("R-414A", -34.0),
        ("R-414B", -34.4),
        ("R-416A", -23.4),
        ("R-417A", -38.0),
        ("R-424A", -39.1),
        ("R-426A", -28.5),
        ("R-429A", -26.0),
        ("R-430A", -27.6),
        ("R-435A", -26.1),
        ("R-437A", -32.9),
    ];
    for (name, celsius) in listed {
        let safe = find(name).safe_pressure(Temperature::from_celsius(celsius)).unwrap();
        assert!(safe.pascal() >= 0.995 * 101_325.0, "{name}: {} bar", safe.bar());
    }
}

/// Bubble points at the standard atmosphere in °C, printed (those of R-408A, R-464A and R-502 from memory) and
/// ours: ours boil higher, so their pressure is lower, by 3 to 6 %. The allowance of the grade covers
/// that, but for the tenth that they are printed to.
#[test]
fn blends_that_boil_higher_here_than_printed_are_covered_by_their_grade() {
    let listed = [
        ("R-401A", -34.4, -33.7),
        ("R-401B", -35.7, -35.1),
        ("R-401C", -30.5, -29.5),
        ("R-402A", -49.2, -47.9),
        ("R-402B", -47.2, -46.0),
        ("R-408A", -45.5, -44.4),
        ("R-409A", -35.4, -34.8),
        ("R-409B", -36.5, -36.0),
        ("R-432A", -46.6, -45.3),
        ("R-464A", -46.5, -45.8),
        ("R-502", -45.3, -44.8),
    ];
    for (name, printed, ours) in listed {
        let found = boiling_point(name);
        assert!((found - ours).abs() < 0.07, "{name}: {found:.2} against {ours}");
        let best =
            if printed < -40.0 { carried_on(name, (-40.0, -35.0), printed) } else { pressure(name, printed).pascal() };
        assert!((0.94..0.985).contains(&(best / 101_325.0)), "{name}: {:.3}", best / 101_325.0);
        let safe = best * (1.0 + find(name).grade().unwrap().pressure_allowance());
        assert!(safe >= 0.995 * 101_325.0, "{name}: {:.3}", safe / 101_325.0);
        let grade = if name == "R-502" { Grade::B } else { Grade::C };
        assert_eq!(find(name).grade(), Some(grade), "{name}");
    }
}

/// R-451A and R-451B: −30.8 and −31.0 °C are printed (from memory). Both parts boil higher, R-1234yf at −29.5 °C and R-134a
/// at −26.1 °C, and their azeotrope near half and half by mass (published 2013) is the lowest they come to: R-513A, printed
/// −29.1 °C. So the printed ones can't be right. Ours is at that of R-513A or, on the safe side, up to 0.8 K lower.
#[test]
fn r451a_and_b_boil_no_higher_than_the_azeotrope_of_their_parts() {
    for name in ["R-451A", "R-451B"] {
        let ours = boiling_point(name);
        assert!((-29.9..=-29.1).contains(&ours), "{name}: {ours:.2}");
        assert!(ours < boiling_point("R-513A") && ours < boiling_point("R-1234yf"), "{name}: {ours:.2}");
    }
}

/// Two texts differ on the group of R-403A (A1 in a handbook copy; A2 in tables of Standard 34 and in mechanical codes, from
/// memory): until the standard itself is seen it burns.
#[test]
fn r403a_counts_as_flammable() {
    assert!(find("R-403A").is_flammable());
    assert!(find("R-403A").group_source().unwrap().contains("until the standard itself is seen"));
    assert!(!find("R-403B").is_flammable());
}

/// Critical temperatures in °C, from memory: 2017 ASHRAE Handbook Fundamentals, chapter 29, table of physical properties.
/// Within 1 K, because no limit is computed nearer than 5 K.
#[test]
fn critical_temperatures() {
    let listed = [
        ("R-22", 96.15),
        ("R-32", 78.11),
        ("R-125", 66.02),
        ("R-134a", 101.06),
        ("R-143a", 72.71),
        ("R-404A", 72.05),
        ("R-407A", 82.3),
        ("R-407C", 86.03),
        ("R-410A", 71.36),
        ("R-507A", 70.62),
        ("R-1234yf", 94.7),
    ];
    for (name, celsius) in listed {
        let ours = find(name).critical().unwrap().celsius();
        assert!((ours - celsius).abs() < 1.0, "{name}: {ours:.2} against {celsius}");
    }
}

/// The 5/4 rule of 49 CFR 173.301a(d) on cylinders that the trade uses: R-22 lies a hair above 5/4 × 240 psig although
/// the rule names 240 psi cylinders for it; R-32 a hair below 5/4 × 400.
#[test]
fn pressures_on_the_edge_of_a_cylinder_class() {
    let at_131f = |name: &str| pressure(name, 55.0).gauge().psig();
    assert!((300.0..302.0).contains(&at_131f("R-22")), "{}", at_131f("R-22"));
    assert!(find("R-22").is_named_for_240_psi());
    assert!((494.0..500.0).contains(&at_131f("R-32")), "{}", at_131f("R-32"));
    assert!((325.0..327.0).contains(&at_131f("R-422D")), "{}", at_131f("R-422D"));
}

/// Net weights in lb at 80 % and 130 °F of cylinders with 26.2 and 47.6 lb of water, as the trade teaches them: common
/// practice, no source. Within 2 %.
///
/// Ours lie above for R-404A (1.6 %) and R-134a (0.1 %). The rule is the same (R-12 and R-22 agree within 0.2 %), so the
/// difference is in the density data. R-404A is 17 K below its critical temperature at 130 °F, where 1 K is 1.3 % of
/// density; the public table above agrees with ours within 0.01 % at 40 °C.
#[test]
fn net_weights_that_the_trade_teaches() {
    let listed = [
        (26.2, "R-22", 22.27),
        (26.2, "R-410A", 18.37),
        (26.2, "R-134a", 22.65),
        (26.2, "R-404A", 17.86),
        (26.2, "R-12", 25.05),
        (47.6, "R-22", 40.45),
        (47.6, "R-410A", 33.37),
        (47.6, "R-134a", 41.15),
        (47.6, "R-404A", 32.44),
        (47.6, "R-407C", 37.99),
        (47.6, "R-12", 45.51),
    ];
    for (water, name, taught) in listed {
        let at_130f = find(name).safe_density(Temperature::from_fahrenheit(130.0)).unwrap();
        assert_near(&format!("{name} in {water} lb"), 0.8 * water * at_130f.relative_to_water(), taught, 0.02);
    }
}

/// 80 % at 77 °F isn't always safe: R-125 filled so is liquid-full at 131 °F, R-410A and R-507A at 57 °C, R-404A at 58 °C
/// (computed from CoolProp 8.0.0 by hand).
#[test]
fn filled_to_80_percent_at_77_f_some_are_liquid_full_near_131_f() {
    use chargesplit::refrigerant::LiquidFull;
    for (name, celsius) in [("R-125", 55.0), ("R-410A", 57.0), ("R-507A", 57.0), ("R-404A", 58.0)] {
        let mean = Density::from_kg_per_m3(0.8 * density(name, 25.0));
        let LiquidFull::At(found) = find(name).liquid_full_temperature(mean) else { panic!("{name}") };
        assert!((found.celsius() - celsius).abs() < 0.5, "{name}: {} C", found.celsius());
    }
}
