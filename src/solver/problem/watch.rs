//! Counts work and asks the caller now and then whether to go on. It reads no clock: the caller does.

use super::Progress;

/// The caller said stop, or the work that was allowed is done. Whatever was found and proved before stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stopped;

/// Simple steps (a table cell, a node of a search) between two questions: about a millisecond.
const STEPS_BETWEEN: u64 = 1 << 18;

/// The caller's callback, with the work since it was last asked.
pub struct Watch<'a> {
    go_on: &'a mut dyn FnMut(&Progress) -> bool,
    steps: u64,
    spent: u64,
    until: u64,
    stopped: bool,
    /// What the caller is told.
    pub progress: Progress,
}

impl<'a> Watch<'a> {
    /// A watch that asks `go_on`.
    pub fn new(go_on: &'a mut dyn FnMut(&Progress) -> bool) -> Self {
        Self { go_on, steps: 0, spent: 0, until: u64::MAX, stopped: false, progress: Progress::default() }
    }

    /// All steps so far: a measure of work that is the same on every machine.
    pub fn spent(&self) -> u64 {
        self.spent
    }

    /// Stops by itself after so many steps from now on.
    pub fn allow(&mut self, steps: u64) {
        self.until = self.spent.saturating_add(steps);
    }

    /// Notes work done; asks the caller when enough has gathered. Once stopped, it stays stopped.
    pub fn work(&mut self, steps: usize) -> Result<(), Stopped> {
        self.steps += steps as u64;
        self.spent += steps as u64;
        if self.steps >= STEPS_BETWEEN {
            self.steps = 0;
            self.stopped = self.stopped || !(self.go_on)(&self.progress);
        }
        self.stopped |= self.spent > self.until;
        if self.stopped { Err(Stopped) } else { Ok(()) }
    }
}
