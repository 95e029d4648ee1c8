//! One cylinder, entry by entry.

use std::collections::BTreeSet;

use jiff::civil::Date;
use rustc_hash::FxHashMap;

use super::contents::{Filled, gains};
use super::history::{FirstSaid, Hearer, History, Word, Words};
use super::plans::Plans;
use crate::cylinder::Id;
use crate::ledger::{CylinderState, Damage, Entry, EntryId, Fact, FactKind, JobId, Reading, What};

/// Everything that a cylinder's story is told from.
pub(in crate::audit) struct Story<'a> {
    plans: Plans<'a>,
    damage: &'a [Damage],
    given_up: BTreeSet<&'a EntryId>,
    today: Date,
}

/// Why nobody knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::audit) enum Why {
    /// Entries aren't there or can't be believed.
    Lost,
    /// Entries contradict each other.
    Apart,
    /// Several plans have it, and none has begun it.
    Contested,
}

/// A cylinder now.
#[derive(Debug)]
pub(in crate::audit) struct Now<'a> {
    /// What is in it; `None` where nobody ever said.
    pub filled: Option<Filled<'a>>,
    /// The plan that has it, its jobs, and whether they have begun it.
    pub holder: Option<(&'a EntryId, Vec<JobId>, bool)>,
    pub out: bool,
    pub doubt: Option<Why>,
    /// The row of the yard file was never written so.
    pub changed: bool,
}

/// What has been said of one cylinder.
struct Chronicle<'a> {
    history: History<'a>,
    contents: Words<Filled<'a>>,
    holders: Words<(&'a EntryId, Vec<JobId>)>,
    /// Jobs that have brought something, with the plan that they followed.
    begun: Words<(&'a EntryId, Option<&'a JobId>)>,
    out: Words<()>,
    /// States that its row had, or was about to have.
    rows: Words<&'a CylinderState>,
    suspects: Words<&'a EntryId>,
    /// The rows that its chain begins with, and the word of each.
    begins: Vec<(Option<&'a CylinderState>, usize)>,
    /// The words that held before each reading: of contents, holders and begun.
    before: FxHashMap<usize, [Vec<usize>; 3]>,
}

impl<'a> Story<'a> {
    /// Of all entries of a ledger, each once, and what of it can't be read.
    pub fn new(entries: &'a [Entry], damage: &'a [Damage], today: Date) -> Self {
        let given_up = entries.iter().filter_map(|entry| match &entry.what {
            What::Cylinder(Fact { what: FactKind::GivenUp { entry }, .. }) => Some(entry),
            _ => None,
        });
        Self { plans: Plans::of(entries), damage, given_up: given_up.collect(), today }
    }

    /// A cylinder by the entries that speak of it, with its row in the yard file.
    pub fn of(&self, cylinder: &'a Id, entries: &[&'a Entry], file: Option<&'a CylinderState>) -> Now<'a> {
        let mut said = Chronicle {
            history: History::new(cylinder, entries),
            contents: Words::new(),
            holders: Words::new(),
            begun: Words::new(),
            out: Words::new(),
            rows: Words::new(),
            suspects: Words::new(),
            begins: Vec::new(),
            before: FxHashMap::default(),
        };
        for at in 0..said.history.entries.len() {
            said.hear(cylinder, at, file);
            said.heard(at);
        }
        self.now(cylinder, &said, file)
    }

    fn now(&self, cylinder: &Id, said: &Chronicle<'a>, file: Option<&'a CylinderState>) -> Now<'a> {
        let history = &said.history;
        let contents = said.contents.hold(history, Hearer::Everybody);
        // A word that was brought back twice is one.
        let different: BTreeSet<FirstSaid> = contents.iter().map(|word| said.contents.all[*word].first).collect();
        let all: Vec<&Filled> = contents.iter().map(|at| &said.contents.all[*at].what).collect();
        let filled = Filled::any_of(&all).or_else(|| file.map(Filled::as_said));
        let begun = said.begun.hold(history, Hearer::Everybody);
        let mut holders: Vec<(bool, bool, &EntryId, &[JobId])> = Vec::new();
        for at in said.holders.hold(history, Hearer::Everybody) {
            let (bind, jobs) = &said.holders.all[at].what;
            let has_begun = said.is_begun(&begun, bind, jobs);
            let followed = self.plans.is_followed(bind, self.today);
            if has_begun || followed {
                holders.push((!has_begun, !followed, bind, jobs));
            }
        }
        holders.sort_by_key(|(unbegun, left, bind, _)| (*unbegun, *left, *bind));
        let plans: BTreeSet<&EntryId> = holders.iter().map(|(_, _, bind, _)| *bind).collect();
        let contested = plans.len() > 1 && holders.first().is_some_and(|(unbegun, ..)| *unbegun);
        let rows = said.rows.hold(history, Hearer::Everybody);
        let doubt = if self.is_lost(cylinder, said) {
            Some(Why::Lost)
        } else if different.len() > 1 {
            Some(Why::Apart)
        } else {
            contested.then_some(Why::Contested)
        };
        Now {
            filled,
            holder: holders.first().map(|(unbegun, _, bind, jobs)| {
                // A reading speaks for its job alone; a plan that is there for all that it was made for.
                let of_plan = self.plans.jobs(bind);
                (*bind, if of_plan.is_empty() { jobs.to_vec() } else { of_plan }, !unbegun)
            }),
            out: !said.out.hold(history, Hearer::Everybody).is_empty(),
            doubt,
            changed: file.is_some_and(|file| !rows.is_empty() && rows.iter().all(|at| said.rows.all[*at].what != file)),
        }
    }

    /// Whether something that its chain rests on isn't there or can't be believed, and nobody has said anew what is in it
    /// or given that entry up.
    fn is_lost(&self, cylinder: &Id, said: &Chronicle) -> bool {
        let history = &said.history;
        let suspects = said.suspects.hold(history, Hearer::Everybody);
        let mut suspects = suspects.iter().map(|at| said.suspects.all[*at].what).chain(history.circle.iter().copied());
        let says_anew = |entry: &&&Entry| match &entry.what {
            What::Cylinder(Fact { what: FactKind::Weighed { holds, .. }, .. }) => holds.is_some(),
            What::Cylinder(Fact { what: FactKind::Emptied { .. } | FactKind::AsFile { .. }, .. }) => true,
            _ => false,
        };
        let mut damage = self.damage.iter().filter(|damage| damage.cylinders.iter().any(|id| id == cylinder));
        suspects.any(|suspect| !self.given_up.contains(suspect))
            || damage.any(|damage| match &damage.entry {
                None => true,
                Some(lost) => {
                    let knows =
                        |entry: &&Entry| entry.on.iter().any(|(id, from)| id == cylinder && from.contains(lost));
                    !self.given_up.contains(lost) && !history.entries.iter().filter(says_anew).any(knows)
                }
            })
    }
}

impl<'a> Chronicle<'a> {
    /// Takes in an entry.
    fn hear(&mut self, cylinder: &Id, at: usize, file: Option<&'a CylinderState>) {
        let entry = self.history.entries[at];
        for missing in self.history.missing[at].clone() {
            self.suspects.say(at, FirstSaid::Entry(at), missing);
        }
        let row = entry.rows.iter().find(|row| row.id == *cylinder).map(|row| &row.state);
        if self.contents.hold(&self.history, Hearer::Of(at)).is_empty() {
            self.begin(at, row.or(file));
        }
        match &entry.what {
            What::Bind(bind) if bind.cylinders.iter().any(|id| id == cylinder) => {
                let jobs = bind.jobs.iter().map(|job| JobId { name: job.name.clone(), first: job.first.clone() });
                self.holders.say_anew(&self.history, at, [(&entry.id, jobs.collect())]);
            }
            What::Bind(bind) => self.free(at, |of, _| bind.follows.contains(of)),
            What::Release { of } => self.free(at, |bind, _| bind == of),
            What::Closed(_) => {
                let ours = |job: Option<&JobId>| entry.job.is_none() || job == entry.job.as_ref();
                let mut begun = self.begun.hold(&self.history, Hearer::Of(at));
                begun.retain(|word| ours(self.begun.all[*word].what.1));
                self.begun.end(at, &begun);
                self.free(at, |_, jobs| entry.job.is_none() || jobs.iter().any(|job| ours(Some(job))));
            }
            What::Reading(reading) => self.read(at, entry, reading),
            What::Undo { of } => self.undo(at, of),
            What::Cylinder(fact) => self.fact(at, &fact.what, row),
            What::Settling { changes } => {
                if let Some(change) = changes.iter().find(|change| change.cylinder == *cylinder) {
                    self.rows.say_anew(&self.history, at, [&change.before, &change.after]);
                }
            }
            What::Settled { .. } => {}
        }
    }

    /// Closes with an entry.
    fn heard(&mut self, at: usize) {
        self.contents.heard(&self.history, at);
        self.holders.heard(&self.history, at);
        self.begun.heard(&self.history, at);
        self.out.heard(&self.history, at);
        self.rows.heard(&self.history, at);
        self.suspects.heard(&self.history, at);
    }

    /// A chain begins, by its row as the entry has it, or as the yard file.
    fn begin(&mut self, at: usize, row: Option<&'a CylinderState>) {
        let entry = self.history.entries[at];
        if row.is_none() {
            self.suspects.say(at, FirstSaid::Entry(at), &entry.id);
        }
        let known = self.begins.iter().position(|(known, _)| *known == row);
        let number = known.unwrap_or(self.begins.len());
        match known {
            Some(number) => self.contents.say_too(at, self.begins[number].1),
            None => {
                self.begins.push((row, self.contents.all.len()));
                let filled = row.map_or_else(Filled::never_said, Filled::as_said);
                self.contents.say(at, FirstSaid::Row(number), filled);
            }
        }
        let added = matches!(&entry.what, What::Cylinder(Fact { what: FactKind::Added { .. }, .. }));
        if !added {
            row.into_iter().for_each(|state| self.rows.say(at, FirstSaid::Entry(at), state));
        }
    }

    /// What is in it for somebody who has heard of this entry.
    fn filled(&self, at: usize) -> Option<Filled<'a>> {
        let words = self.contents.hold(&self.history, Hearer::Of(at));
        let all: Vec<&Filled> = words.iter().map(|word| &self.contents.all[*word].what).collect();
        Filled::any_of(&all)
    }

    /// Frees it from those plans that haven't begun it.
    fn free(&mut self, at: usize, of: impl Fn(&EntryId, &[JobId]) -> bool) {
        let begun = self.begun.hold(&self.history, Hearer::Of(at));
        let mut free = self.holders.hold(&self.history, Hearer::Of(at));
        free.retain(|word| {
            let (bind, jobs) = &self.holders.all[*word].what;
            of(bind, jobs) && !self.is_begun(&begun, bind, jobs)
        });
        self.holders.end(at, &free);
    }

    fn is_begun(&self, begun: &[usize], bind: &EntryId, jobs: &[JobId]) -> bool {
        let theirs = |word: &usize| {
            let (by, job) = self.begun.all[*word].what;
            by == bind || job.is_some_and(|job| jobs.contains(job))
        };
        begun.iter().any(theirs)
    }

    fn read(&mut self, at: usize, entry: &'a Entry, reading: &'a Reading) {
        let begun = self.begun.hold(&self.history, Hearer::Of(at));
        let holders = self.holders.hold(&self.history, Hearer::Of(at));
        let contents = self.contents.hold(&self.history, Hearer::Of(at));
        let filled = self.filled(at).map(|filled| filled.read(reading));
        if gains(reading) {
            let held =
                holders.iter().map(|word| &self.holders.all[*word].what).find(|(bind, _)| **bind == reading.bind);
            let jobs = held.map_or_else(|| entry.job.iter().cloned().collect(), |(_, jobs)| jobs.clone());
            self.holders.say_anew(&self.history, at, [(&reading.bind, jobs)]);
            let mut again = begun.clone();
            again.retain(|word| self.begun.all[*word].what.1 == entry.job.as_ref());
            self.begun.end(at, &again);
            self.begun.say(at, FirstSaid::Entry(at), (&reading.bind, entry.job.as_ref()));
        }
        self.before.insert(at, [contents, holders, begun]);
        self.contents.say_anew(&self.history, at, filled);
    }

    fn fact(&mut self, at: usize, fact: &'a FactKind, row: Option<&'a CylinderState>) {
        let entry = self.history.entries[at];
        let before = self.filled(at);
        let told = match fact {
            FactKind::Out { .. } => return self.out.say_anew(&self.history, at, [()]),
            FactKind::Back { .. } => return self.out.say_anew(&self.history, at, []),
            FactKind::Added { .. } | FactKind::ToVan { .. } | FactKind::GivenUp { .. } => return,
            FactKind::Weighed { gross, holds: None, .. } => before.map(|before| before.weighing(*gross)),
            FactKind::Weighed { gross, holds: Some(state), .. } => Some(Filled::as_said(state).weighing(*gross)),
            FactKind::Emptied { gross, .. } => before.map(|before| before.emptied(*gross)),
            FactKind::AsFile { .. } => row.map(Filled::as_said),
        };
        let Some(told) = told else {
            self.suspects.say(at, FirstSaid::Entry(at), &entry.id);
            return;
        };
        if !matches!(fact, FactKind::Weighed { holds: None, .. }) {
            self.suspects.say_anew(&self.history, at, []);
        }
        if let (FactKind::AsFile { .. }, Some(row)) = (fact, row) {
            self.rows.say_anew(&self.history, at, [row]);
        }
        self.contents.say_anew(&self.history, at, [told]);
    }

    /// The last reading doesn't count: what held before it holds again, but for what somebody else said of that since.
    fn undo(&mut self, at: usize, of: &EntryId) {
        let now = self.contents.hold(&self.history, Hearer::Of(at));
        let reading = self.history.place(of);
        let is_last =
            |reading: &usize| now.iter().any(|word| self.contents.all[*word].first == FirstSaid::Entry(*reading));
        let before = reading.filter(is_last).and_then(|reading| Some((reading, self.before.get(&reading)?.clone())));
        let Some((reading, [contents, holders, begun])) = before else {
            self.suspects.say(at, FirstSaid::Entry(at), &self.history.entries[at].id);
            return;
        };
        let history = &self.history;
        let later = |one: &[usize], other: &[usize]| {
            one.iter().any(|late| other.iter().any(|early| early == late || history.continues(*late, *early)))
        };
        bring_back(&mut self.contents, history, (at, reading), contents, |one, other| {
            later(&one.said_in, &other.said_in)
        });
        bring_back(&mut self.holders, history, (at, reading), holders, |one, other| {
            later(&one.said_in, &other.said_in)
        });
        bring_back(&mut self.begun, history, (at, reading), begun, |one, other| one.what.1 == other.what.1);
    }
}

/// Ends what a reading said, by its undo, and says again what held `before` it, but for what is `overtaken` by another
/// word that still holds.
fn bring_back<T: Clone>(
    words: &mut Words<T>,
    history: &History,
    (at, reading): (usize, usize),
    mut before: Vec<usize>,
    overtaken: impl Fn(&Word<T>, &Word<T>) -> bool,
) {
    let is_its = |word: &usize| words.all[*word].first == FirstSaid::Entry(reading);
    let (its, others): (Vec<usize>, Vec<usize>) = words.hold(history, Hearer::Of(at)).into_iter().partition(is_its);
    if its.is_empty() {
        return;
    }
    before.retain(|word| !others.iter().any(|other| overtaken(&words.all[*other], &words.all[*word])));
    words.end(at, &its);
    for word in before {
        let Word { first, what, .. } = &words.all[word];
        let (first, what) = (*first, what.clone());
        words.say(at, first, what);
    }
}
