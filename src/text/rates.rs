//! A file of rates: labour, prices, stock and offer that several jobs share. Whatever a job says itself stands over it.

use std::path::{Path, PathBuf};

use super::fields::{Fields, Findings};
use super::refrigerants::Known;
use super::shape::{Holds, Shape, may, must};
use super::source::{Mark, Source};
use super::value::unit_words;
use super::{labour, offer, prices, stock, yaml};
use crate::disk::Input;
use crate::estimate::Terms;
use crate::job::Kind;
use crate::problem::{Code, Problems};
use crate::quantity::Unit;

pub(super) static SHAPE: Shape = Shape {
    what: "a file of rates",
    keys: &[
        must("units", Holds::OneOf(unit_words), "What a bare weight counts in; there is no default."),
        may("labour", Holds::Map(&labour::SHAPE), "Hours; what is left away is assumed and said to be."),
        may("prices", Holds::Map(&prices::SHAPE), "Prices; none is assumed."),
        may("stock", Holds::List(&stock::SHAPE, 200), "Kinds of cylinder that can be hired or bought."),
        may("offer", Holds::Map(&offer::SHAPE), "How the price is made, and what stands on the customer's page."),
    ],
    rules: &[],
};

/// What a file of rates says.
#[derive(Debug, Clone)]
pub struct Rates {
    /// Labour, prices and offer.
    pub terms: Terms,
    /// Kinds that can be hired or bought.
    pub stock: Vec<Kind>,
    /// What was read.
    pub input: Input,
}

/// Reads a file of rates by itself.
///
/// # Errors
/// Every problem of the file.
pub fn read_rates(path: &Path) -> Result<Rates, Problems> {
    let source = Source::read(path)?;
    let node = yaml::read(&source)?;
    let mut found = Findings::new(&source);
    let read = Fields::open(&node, None, &SHAPE, &mut found).map(|fields| {
        let unit = fields.read("units", &mut found, super::fields::Value::unit).unwrap_or(Unit::Lb);
        let mut hires = Vec::new();
        let stock = stock::read(fields, unit, &mut found, &mut hires);
        let labour = labour::read(fields, unit, None, &mut found);
        let prices = prices::read(fields, &Known::default(), hires, None, &mut found);
        let terms = Terms { labour, prices, offer: offer::read(fields, &mut found) };
        Rates { terms, stock, input: source.input() }
    });
    match (Problems::of(found.problems), read) {
        (Some(problems), _) => Err(problems),
        (None, Some(rates)) => Ok(rates),
        (None, None) => Err(source.whole(Code::Empty, "no rates are in the file", "write `prices:`, say").into()),
    }
}

/// The files of rates that jobs name, each read once.
#[derive(Default)]
pub(super) struct RatesFiles {
    read: Vec<(PathBuf, Option<Rates>)>,
}

impl RatesFiles {
    /// The rates of this file, which is named at `mark`; `None` where it can't be read, which is among the problems then,
    /// once.
    pub fn of(&mut self, path: &Path, mark: Option<Mark>, found: &mut Findings) -> Option<&Rates> {
        let real = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        if let Some(at) = self.read.iter().position(|(known, _)| *known == real) {
            return self.read[at].1.as_ref();
        }
        let rates = read_rates(path).map_err(|more| {
            let named = more.into_iter().map(|problem| found.source.named_in(mark, "rates", problem));
            found.problems.extend(named);
        });
        let rates = rates.ok();
        self.read.push((real, rates));
        self.read.last().and_then(|(_, rates)| rates.as_ref())
    }

    /// What was read.
    pub fn inputs(&self) -> impl Iterator<Item = Input> {
        self.read.iter().filter_map(|(_, rates)| Some(rates.as_ref()?.input.clone()))
    }
}
