//! `refrigerant`: the table, or one of it.

use super::stop::Typed;
use super::{Exit, Output, Stop, show};
use crate::cylinder::Terms;
use crate::quantity::{Temperature, Unit, Weight, parse_temperature, parse_weight};
use crate::refrigerant::Refrigerant;
use crate::report::{RefrigerantList, RefrigerantReport};

#[derive(Debug, clap::Args)]
pub(super) struct RefrigerantArguments {
    /// A refrigerant in any usual spelling; all of them where none is named
    #[arg(value_name = "NAME")]
    name: Option<String>,
    /// The temperature for density and pressure [default: 130 F]
    #[arg(long, value_name = "TEMPERATURE", requires = "name", value_parser = temperature, allow_hyphen_values = true)]
    at: Option<Temperature>,
    /// A cylinder's water capacity, to show the ceilings for
    #[arg(long, value_name = "WEIGHT", requires = "name", value_parser = capacity)]
    water_capacity: Option<(Weight, Unit)>,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
}

fn temperature(text: &str) -> Result<Temperature, String> {
    parse_temperature(text).map_err(|error| error.to_string())
}

/// A water capacity in the unit that it is typed in.
fn capacity(text: &str) -> Result<(Weight, Unit), String> {
    let weight = parse_weight(text, None).map_err(|error| error.to_string())?;
    let unit = if text.contains("oz") {
        Unit::LbOz
    } else if text.contains('g') {
        Unit::Kg
    } else {
        Unit::Lb
    };
    if weight.is_positive() { Ok((weight, unit)) } else { Err("expected more than 0".into()) }
}

pub(super) fn run(arguments: &RefrigerantArguments, output: &mut Output) -> Result<Exit, Stop> {
    let find = |name: &str| Refrigerant::find(name).map_err(Typed::from);
    match &arguments.name {
        Some(name) => {
            let at = arguments.at.unwrap_or(Terms::DEFAULT_TEMPERATURE);
            let capacity = arguments.water_capacity.map(|(weight, typed)| (weight, output.units.unwrap_or(typed)));
            show(&RefrigerantReport::new(&find(name)?, at, capacity), arguments.json, output)?;
        }
        None => {
            let all = Refrigerant::names().map(find).collect::<Result<Vec<_>, _>>()?;
            show(&RefrigerantList::new(&all), arguments.json, output)?;
        }
    }
    Ok(Exit::Done)
}
