//! Danger is said first, by every command that reads cylinders: all of them come by here.
//!
//! A report as text has it at its beginning. Where standard output is something else (JSON, CSV, a page for a customer, or
//! nothing because a page goes into a file), where `--quiet` is given, and where standard output couldn't be written, it is
//! said on standard error. So it is there wherever somebody looks, and nobody reads it twice on one screen.

use super::{Command, Exit, Output, Talk};
use crate::cylinder::{Id, Standing, alarms};
use crate::job::Work;
use crate::plan::Plan;
use crate::printable::printable_lines;
use crate::quantity::Division;
use crate::recovery::{Day, Planned};
use crate::report::{Alarms, Block};

/// What has been read of cylinders so far, and what has been said of them.
#[derive(Debug, Default)]
pub(super) struct Watch {
    /// The cylinders by the files, and the scale.
    yard: Option<(Division, Vec<Standing>)>,
    /// Cylinders that aren't there, by the command line.
    barred: Vec<Id>,
    /// Cylinders that a plan loads.
    loaded: Vec<Id>,
    alarms: Option<Alarms>,
    /// Standard output has it at the beginning of a report.
    shown: bool,
    /// Standard error has it.
    said: bool,
}

impl Watch {
    fn tell(&mut self, alarms: Alarms) {
        if self.alarms.as_ref() != Some(&alarms) {
            (self.shown, self.said) = (false, false);
            self.alarms = Some(alarms);
        }
    }

    /// Looks again at the cylinders of the files. What a plan loads, and what isn't there, is no place for a surplus.
    fn look(&mut self) {
        let Some((division, yard)) = &self.yard else { return };
        let free = |_, into: usize, _| {
            let id = yard.get(into).map(|standing| &standing.cylinder.id);
            id.is_some_and(|id| !self.loaded.contains(id) && !self.barred.contains(id))
        };
        let alarms = Alarms::new(*division, &alarms(yard, &free));
        self.tell(alarms);
    }
}

impl Output<'_> {
    /// Takes in how these cylinders stand by the files.
    pub(super) fn stand(&mut self, division: Division, yard: Vec<Standing>) {
        self.watch.yard = Some((division, yard));
        self.watch.look();
    }

    /// Takes in how the cylinders of this work stand, where some of them aren't there by the command line.
    pub(super) fn stand_without(&mut self, work: &Work, barred: &[Id]) {
        self.watch.barred.extend(barred.iter().cloned());
        self.stand(work.division(), work.standings());
    }

    /// Takes in how the cylinders stand by the log, with a plan that is to be in force or the one that is.
    pub(super) fn stand_by(&mut self, day: &Day, planned: Option<&Planned>) {
        self.watch.tell(Alarms::new(day.division(), &day.alarms(planned)));
    }

    /// Takes in what these plans load.
    pub(super) fn planned<'p>(&mut self, plans: impl IntoIterator<Item = &'p Plan>) {
        let loads = plans.into_iter().flat_map(|plan| &plan.loads);
        self.watch.loaded.extend(loads.map(|load| load.cylinder.clone()));
        self.watch.look();
    }

    /// What is to be said; `None` where no cylinder has been read.
    pub(super) fn alarms(&self) -> Option<&Alarms> {
        self.watch.alarms.as_ref()
    }

    /// What stands before a report as text, unless it has been shown already.
    pub(super) fn first_blocks(&mut self) -> Vec<Block> {
        if self.talk == Talk::Quiet {
            self.say_danger();
        }
        let alarms = self.watch.alarms.iter().filter(|_| !self.watch.shown).flat_map(Alarms::blocks);
        let ledger = (!self.of_ledger.is_empty() && !self.watch.shown).then(|| Block::List(self.of_ledger.clone()));
        alarms.chain(ledger).collect()
    }

    /// A report as text has been written with that before it.
    pub(super) fn has_shown(&mut self) {
        self.watch.shown = true;
    }

    /// Says on standard error what must not go unread, once. Where even that can't be written, the exit status says it.
    pub(super) fn say_danger(&mut self) {
        if self.watch.said {
            return;
        }
        for (_, text) in self.watch.alarms.iter().flat_map(Alarms::serious) {
            let _ = writeln!(self.rest, "{}", printable_lines(&format!("!! {text}")));
        }
        self.watch.said = true;
    }

    /// Says it on standard error in the end, where nothing else has.
    pub(super) fn say_what_was_not_shown(&mut self) {
        if !self.watch.shown {
            self.say_danger();
        }
    }

    /// How a command ends: not well where it is one that looks at how things are, or where an argument names a cylinder
    /// that is in danger or that we filled too far, or a plan loads it. A plan that leaves it out may be a good plan.
    pub(super) fn ends(&self, exit: Exit, command: &Command) -> Exit {
        let named = command.named();
        let counts = |id: &Id| {
            command.looks_at_all() || self.watch.loaded.iter().any(|loaded| loaded == id) || named.contains(&id)
        };
        let serious = self.watch.alarms.iter().flat_map(Alarms::serious).any(|(id, _)| counts(&id.into()));
        if exit == Exit::Done && serious { Exit::No } else { exit }
    }
}

impl Command {
    /// Whether it says how things are, so that danger anywhere is a no.
    const fn looks_at_all(&self) -> bool {
        match self {
            Self::Check(_) | Self::Yard(_) | Self::Status(_) | Self::Weigh(_) | Self::Closeout(_) => true,
            Self::Plan(_)
            | Self::Quote(_)
            | Self::Pack(_)
            | Self::Sheet(_)
            | Self::Tradeoff(_)
            | Self::Replan(_)
            | Self::Begin(_)
            | Self::Release(_)
            | Self::Cylinder(_)
            | Self::New(_)
            | Self::Schema(_)
            | Self::Completions { .. }
            | Self::Audit(_)
            | Self::Refrigerant(_) => false,
        }
    }

    /// The cylinders that its arguments name.
    fn named(&self) -> Vec<&Id> {
        match self {
            Self::Plan(arguments) => arguments.wishes.named(),
            Self::Sheet(arguments) => arguments.wishes.named(),
            Self::Quote(arguments) => arguments.changes.without().iter().collect(),
            Self::Pack(arguments) => arguments.changes.without().iter().chain(&arguments.take).collect(),
            Self::Tradeoff(arguments) => arguments.changes.without().iter().collect(),
            Self::Audit(arguments) => arguments.changes.without().iter().collect(),
            Self::Replan(arguments) => arguments.without.iter().collect(),
            Self::Begin(arguments) => arguments.wishes.named(),
            Self::Cylinder(arguments) => vec![&arguments.id],
            Self::Check(_)
            | Self::Yard(_)
            | Self::Weigh(_)
            | Self::Release(_)
            | Self::Status(_)
            | Self::Closeout(_)
            | Self::New(_)
            | Self::Schema(_)
            | Self::Completions { .. }
            | Self::Refrigerant(_) => Vec::new(),
        }
    }
}
