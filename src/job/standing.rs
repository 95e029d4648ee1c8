//! How the cylinders on hand stand, by the terms of the lots.

use super::{Lot, Work};
use crate::cylinder::{Contents, Cylinder, Standing, Terms};

impl Work {
    /// Every cylinder of the yard as files and ledger give it.
    pub fn standings(&self) -> Vec<Standing> {
        let standing = |cylinder: &Cylinder| Standing::of(cylinder.clone(), self.terms_for(&cylinder.contents));
        self.yard().iter().map(standing).collect()
    }

    /// The terms that a cylinder with these contents is judged by: those of the lots that are of the same refrigerant, or
    /// of all where none is.
    pub fn terms_for(&self, contents: &Contents) -> Vec<Terms> {
        let held = contents.fluid();
        let same = terms(self.lots().iter().filter(|lot| held.as_ref() == Some(&lot.intake.fluid)));
        if same.is_empty() { terms(self.lots().iter()) } else { same }
    }
}

/// The terms of these lots, those that are alike once.
fn terms<'a>(lots: impl Iterator<Item = &'a Lot>) -> Vec<Terms> {
    lots.map(|lot| lot.intake.terms).fold(Vec::new(), |mut all, terms| {
        if !all.contains(&terms) {
            all.push(terms);
        }
        all
    })
}
