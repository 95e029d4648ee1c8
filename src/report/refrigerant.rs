//! Refrigerants as reports: the list, and one of them with its figures at a temperature and in a cylinder.

use jiff::civil::Date;
use serde::Serialize;

use super::{Block, Report, Table, name, number, words};
use crate::cylinder::{Rules, Terms, beside_guideline, ceilings};
use crate::quantity::{AbsolutePressure, Density, Temperature, Unit, Weight};
use crate::refrigerant::{Fluid, PropertyError, Refrigerant};

/// The temperature that the trade compares pressures at, 70 °F: 49 CFR 173.301a(c).
const ROOM_TEMPERATURE: Temperature = Temperature::from_fahrenheit(70.0);

/// Every refrigerant of the table, with what it asks of a cylinder.
#[derive(Debug, Serialize)]
pub struct RefrigerantList {
    format: &'static str,
    refrigerants: Vec<ListedRefrigerant>,
}

#[derive(Debug, Serialize)]
struct ListedRefrigerant {
    refrigerant: String,
    group: Option<String>,
    /// Liquid density at 130 °F as a multiple of water's at 60 °F.
    gravity_130f: Option<f64>,
    pressure_70f_psig: Option<f64>,
    pressure_131f_psig: Option<f64>,
    /// The smallest service pressure by the 5/4 rule, with the grade's allowance.
    service_pressure_psig: Option<f64>,
    grade: Option<String>,
}

impl RefrigerantList {
    /// The list of these refrigerants, in their order.
    pub fn new(refrigerants: &[Refrigerant]) -> Self {
        Self { format: "chargesplit-refrigerants/1", refrigerants: refrigerants.iter().map(line).collect() }
    }
}

fn line(refrigerant: &Refrigerant) -> ListedRefrigerant {
    let psig = |at| refrigerant.bubble_pressure(at).ok().map(|pressure| rounded(pressure.gauge().psig(), 1));
    ListedRefrigerant {
        refrigerant: refrigerant.name().into(),
        group: refrigerant.group().map(|group| group.to_string()),
        gravity_130f: gravity(refrigerant.liquid_density(Terms::DEFAULT_TEMPERATURE)),
        pressure_70f_psig: psig(ROOM_TEMPERATURE),
        pressure_131f_psig: psig(Terms::US_FULL_TEMPERATURE),
        service_pressure_psig: service_pressure(refrigerant),
        grade: refrigerant.grade().map(|grade| grade.to_string()),
    }
}

fn gravity(density: Result<Density, PropertyError>) -> Option<f64> {
    density.ok().map(|density| rounded(density.relative_to_water(), 4))
}

/// 4/5 of the safe pressure at 131 °F, rounded up to a whole psig; 240 where the regulation names that for it.
fn service_pressure(refrigerant: &Refrigerant) -> Option<f64> {
    let pressure = refrigerant.safe_pressure(Terms::US_FULL_TEMPERATURE).ok()?;
    let needed = (pressure.gauge().psig() * 0.8).ceil().max(0.0);
    Some(if refrigerant.is_named_for_240_psi() { 240.0 } else { needed })
}

fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (value * scale).round() / scale
}

fn shown(value: Option<f64>, decimals: usize) -> String {
    value.map_or_else(|| "-".into(), |value| format!("{value:.decimals$}"))
}

impl Report for RefrigerantList {
    fn blocks(&self) -> Vec<Block> {
        let columns = vec![
            name("refrigerant"),
            words("group"),
            number("SG 130 F"),
            number("psig 70 F"),
            number("psig 131 F"),
            number("cylinder psig"),
            words("grade"),
        ];
        let rows = self.refrigerants.iter().map(|line| {
            vec![
                line.refrigerant.clone(),
                line.group.clone().unwrap_or_else(|| "-".into()),
                shown(line.gravity_130f, 3),
                shown(line.pressure_70f_psig, 1),
                shown(line.pressure_131f_psig, 1),
                shown(line.service_pressure_psig, 0),
                line.grade.clone().unwrap_or_else(|| "-".into()),
            ]
        });
        let notes = [
            "SG: liquid at 130 F against water at 60 F. psig: bubble pressure, best value. cylinder psig: the smallest \
             service pressure by the 5/4 rule (49 CFR 173.301a(d)), with the grade's allowance; R-22 is named for 240.",
            "grade: how well the data is known. A: nothing taken off; B: 1 % off the density, 2 % on the pressure; \
             C: 3 % and 10 %. -: no liquid there, or too near to the critical point for a fill limit.",
        ];
        let mut blocks = vec![Block::Table(Table { columns, rows: rows.collect() })];
        blocks.push(Block::List(notes.map(str::to_owned).to_vec()));
        blocks
    }
}

/// One refrigerant.
#[derive(Debug, Serialize)]
pub struct RefrigerantReport {
    format: &'static str,
    #[serde(flatten)]
    line: ListedRefrigerant,
    chemical_names: Vec<&'static str>,
    composition: Vec<BlendShare>,
    molar_mass: Option<f64>,
    critical_c: Option<f64>,
    un_number: Option<u16>,
    un_entry: Option<String>,
    flammable: bool,
    refused: Option<&'static str>,
    at: At,
    ceilings: Option<Nets>,
    sources: Vec<String>,
}

#[derive(Debug, Serialize)]
struct BlendShare {
    refrigerant: String,
    percent: String,
}

/// The figures at one temperature.
#[derive(Debug, Serialize)]
struct At {
    temperature_f: f64,
    density_kg_m3: Option<f64>,
    safe_density_kg_m3: Option<f64>,
    gravity: Option<f64>,
    pressure_psig: Option<f64>,
    pressure_bar: Option<f64>,
    why_not: Option<String>,
}

/// Ceilings on the net weight in a cylinder of one water capacity.
#[derive(Debug, Serialize)]
struct Nets {
    water_capacity: String,
    nets: Vec<Net>,
    /// What 80 % of cold liquid would be, and why `fill` is less.
    beside: Option<String>,
    why_not: Option<String>,
}

#[derive(Debug, Serialize)]
struct Net {
    ceiling: &'static str,
    net: String,
    source: String,
}

impl RefrigerantReport {
    /// A report of this refrigerant at a temperature, and in a cylinder of a water capacity where one is given, under
    /// the rules of the United States and of the United Nations together.
    pub fn new(refrigerant: &Refrigerant, at: Temperature, cylinder: Option<(Weight, Unit)>) -> Self {
        let shares = refrigerant.composition().iter().map(|component| BlendShare {
            refrigerant: component.name.clone(),
            percent: component.mass_percent.normalize().to_string(),
        });
        let said = [
            ("properties", Some(refrigerant.source())),
            ("composition", refrigerant.composition_source()),
            ("safety group", refrigerant.group_source()),
            ("UN number", refrigerant.un_source()),
        ];
        Self {
            format: "chargesplit-refrigerant/1",
            line: line(refrigerant),
            chemical_names: refrigerant.chemical_names().to_vec(),
            composition: shares.collect(),
            molar_mass: refrigerant.molar_mass(),
            critical_c: refrigerant.critical().map(|critical| rounded(critical.celsius(), 2)),
            un_number: refrigerant.un_number(),
            un_entry: refrigerant.un_entry(),
            flammable: refrigerant.is_flammable(),
            refused: refrigerant.refused(),
            at: figures(refrigerant, at),
            ceilings: cylinder.map(|(water_capacity, unit)| nets(refrigerant, water_capacity, unit)),
            sources: said.into_iter().filter_map(|(what, source)| Some(format!("{what}: {}", source?))).collect(),
        }
    }
}

fn figures(refrigerant: &Refrigerant, at: Temperature) -> At {
    let density = refrigerant.liquid_density(at);
    let pressure = refrigerant.bubble_pressure(at).ok();
    At {
        temperature_f: rounded(at.fahrenheit(), 2),
        density_kg_m3: density.as_ref().ok().map(|density| rounded(density.kg_per_m3(), 2)),
        safe_density_kg_m3: refrigerant.safe_density(at).ok().map(|density| rounded(density.kg_per_m3(), 2)),
        gravity: gravity(density.clone()),
        pressure_psig: pressure.map(|pressure| rounded(pressure.gauge().psig(), 1)),
        pressure_bar: pressure.map(|pressure| rounded(AbsolutePressure::bar(pressure), 3)),
        why_not: density.err().map(|error| error.to_string()),
    }
}

fn nets(refrigerant: &Refrigerant, water_capacity: Weight, unit: Unit) -> Nets {
    // No ceiling goes by the day; a test would be overdue.
    let terms = Terms { rules: Rules::Both, ..Terms::usual(unit.default_division(), Date::MAX) };
    let fluid = Fluid::One(refrigerant.clone());
    let found = ceilings(water_capacity, None, &fluid, &terms);
    let division = unit.default_division();
    Nets {
        water_capacity: unit.text(water_capacity),
        why_not: found.as_ref().err().map(ToString::to_string),
        beside: beside_guideline(water_capacity, &fluid, &terms),
        nets: found
            .unwrap_or_default()
            .into_iter()
            .map(|ceiling| Net {
                ceiling: ceiling.kind.name(),
                net: division.text(division.floor(ceiling.net)),
                source: ceiling.kind.says(&terms),
            })
            .collect(),
    }
}

impl Report for RefrigerantReport {
    fn blocks(&self) -> Vec<Block> {
        let names: Vec<&str> =
            std::iter::once(self.line.refrigerant.as_str()).chain(self.chemical_names.clone()).collect();
        let mut blocks = vec![Block::Heading(names.join(", "))];
        if let Some(reason) = self.refused {
            blocks.push(Block::Danger(format!("Not taken into recovery cylinders: {reason}")));
        }
        blocks.push(Block::Table(Table { columns: vec![name("fact"), words("value")], rows: self.facts() }));
        let why = self.at.why_not.iter().chain(self.ceilings.iter().filter_map(|nets| nets.why_not.as_ref()));
        blocks.extend(why.map(|why| Block::Note(why.clone())));
        if let Some(nets) = self.ceilings.as_ref().filter(|nets| !nets.nets.is_empty()) {
            blocks.push(Block::Heading(format!("Net weight at most, water capacity {}", nets.water_capacity)));
            let columns = vec![name("ceiling"), number("net"), words("what it says, and who says so")];
            let rows = nets.nets.iter().map(|net| vec![net.ceiling.into(), net.net.clone(), net.source.clone()]);
            blocks.push(Block::Table(Table { columns, rows: rows.collect() }));
            blocks.extend(nets.beside.iter().cloned().map(Block::Note));
        }
        blocks.push(Block::List(self.sources.clone()));
        blocks
    }
}

impl RefrigerantReport {
    fn facts(&self) -> Vec<Vec<String>> {
        let composition: Vec<String> =
            self.composition.iter().map(|share| format!("{} {} %", share.refrigerant, share.percent)).collect();
        let unit = |value: String, unit: &str| if value == "-" { value } else { format!("{value} {unit}") };
        let at = &self.at;
        let mut density = format!("{} kg/m3, SG {}", shown(at.density_kg_m3, 2), shown(at.gravity, 4));
        if at.safe_density_kg_m3 != at.density_kg_m3 {
            density = format!("{density}; limits use {}", unit(shown(at.safe_density_kg_m3, 2), "kg/m3"));
        }
        let pressure = format!("{} psig, {} bar absolute", shown(at.pressure_psig, 1), shown(at.pressure_bar, 3));
        let group = self.line.group.clone().unwrap_or_else(|| "none printed, taken as flammable".into());
        let mut rows = vec![("safety group", group)];
        if self.composition.len() > 1 {
            rows.push(("composition, mass", composition.join(", ")));
        }
        rows.extend([
            ("molar mass", unit(shown(self.molar_mass, 2), "g/mol")),
            ("critical temperature", unit(shown(self.critical_c, 2), "C")),
            ("UN number", self.un_entry.clone().unwrap_or_else(|| "not known here".into())),
            ("data grade", self.line.grade.clone().unwrap_or_else(|| "-".into())),
        ]);
        if at.density_kg_m3.is_some() {
            rows.extend([("liquid density", density), ("bubble pressure", pressure)]);
        }
        rows.push(("cylinder at least", unit(shown(self.line.service_pressure_psig, 0), "psig service pressure")));
        let heading = |what: &str| match what {
            "liquid density" | "bubble pressure" => format!("{what} at {} F", at.temperature_f),
            _ => what.to_owned(),
        };
        rows.into_iter().map(|(what, value)| vec![heading(what), value]).collect()
    }
}
