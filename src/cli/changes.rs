//! What a command line changes of the files: a lift limit, cylinders that aren't there.

use super::stop::Typed;
use super::{Output, Stop};
use crate::cylinder::{Cylinder, Id};
use crate::job::Work;
use crate::quantity::{Unit, parse_weight};

/// Changes to the job that hold for this run alone.
#[derive(Debug, Clone, clap::Args)]
pub(super) struct Changes {
    /// Plan without this cylinder; may be given more than once
    #[arg(long, value_name = "ID")]
    without: Vec<Id>,
    /// The heaviest lift, in place of the files' lift limit; a bare number in the job's unit
    #[arg(long, value_name = "WEIGHT", value_parser = weight)]
    lift_limit: Option<String>,
}

/// A weight as typed. Of a bare number the job says what it counts in.
fn weight(text: &str) -> Result<String, String> {
    parse_weight(text, Some(Unit::Lb)).map(|_| text.to_owned()).map_err(|error| error.to_string())
}

impl Changes {
    /// The cylinders that aren't there.
    pub(super) fn without(&self) -> &[Id] {
        &self.without
    }

    /// These as a bind keeps them.
    pub(super) fn options(&self) -> Vec<String> {
        let without = self.without.iter().flat_map(|id| ["--without".to_owned(), id.to_string()]);
        let lift = self.lift_limit.iter().flat_map(|limit| ["--lift-limit".to_owned(), limit.clone()]);
        without.chain(lift).collect()
    }

    /// The same changes, with every cylinder there.
    pub(super) fn with_all(&self) -> Self {
        Self { without: Vec::new(), ..self.clone() }
    }

    /// The work with these changes.
    pub(super) fn to(&self, mut work: Work, output: &mut Output) -> Result<Work, Stop> {
        for id in &self.without {
            find(&work, id)?;
        }
        if let Some(typed) = &self.lift_limit {
            let unit = work.division().unit();
            let lift_limit = parse_weight(typed, Some(unit)).map_err(Typed::LiftLimit)?;
            work = work.with_lift_limit(lift_limit).map_err(Typed::Terms)?;
        }
        // A cylinder that isn't planned with may be in danger all the same.
        output.stand_without(&work, &self.without);
        Ok(work.without(&self.without))
    }
}

/// The position of a cylinder in the yard.
pub(super) fn find(work: &Work, id: &Id) -> Result<usize, Stop> {
    let found = work.yard().iter().position(|cylinder| cylinder.id == *id);
    found.ok_or_else(|| unknown(work.yard().iter(), id))
}

/// A cylinder that the yard doesn't have.
pub(super) fn unknown<'c>(yard: impl Iterator<Item = &'c Cylinder>, id: &Id) -> Stop {
    let near = yard.map(|cylinder| (strsim::jaro_winkler(cylinder.id.as_str(), id.as_str()), &cylinder.id));
    let nearest = near.max_by(|a, b| a.0.total_cmp(&b.0)).filter(|(likeness, _)| *likeness > 0.7);
    Typed::Cylinder { id: id.clone(), nearest: nearest.map(|(_, nearest)| nearest.clone()) }.into()
}
