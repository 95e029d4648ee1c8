//! While the planner looks: the time limit, Ctrl-C, and a line on a terminal that has waited long enough to want one.

use std::io::{IsTerminal, Write, stderr};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use super::{Output, Talk};
use crate::planner::{Progress, Stage};
use crate::quantity::Division;

/// Nobody wonders about less than this.
const PATIENCE: Duration = Duration::from_millis(500);
/// Between two changes of the line.
const PACE: Duration = Duration::from_millis(200);

/// Says go on or stop, and shows how far it is.
pub(super) struct Watching {
    division: Division,
    begun: Instant,
    end: Instant,
    shown: Option<Instant>,
    terminal: bool,
    interrupted: Arc<AtomicBool>,
}

impl Watching {
    /// Watches from now on for so many seconds.
    pub(super) fn start(seconds: f64, division: Division, output: &Output) -> Self {
        let interrupted = Arc::new(AtomicBool::new(false));
        let flag = Arc::clone(&interrupted);
        // Where the handler can't be set, Ctrl-C ends the program as ever, without a plan.
        let _ = ctrlc::set_handler(move || flag.store(true, Ordering::Relaxed));
        let begun = Instant::now();
        let end = begun + Duration::from_secs_f64(seconds);
        Self {
            division,
            begun,
            end,
            shown: None,
            terminal: stderr().is_terminal() && output.talk != Talk::Quiet,
            interrupted,
        }
    }

    /// Whether the planner is to go on.
    pub(super) fn go_on(&mut self, progress: &Progress) -> bool {
        let now = Instant::now();
        let due = self.shown.map_or(self.begun + PATIENCE, |shown| shown + PACE);
        if self.terminal && now >= due {
            self.shown = Some(now);
            self.show(progress);
        }
        now < self.end && !self.interrupted.load(Ordering::Relaxed)
    }

    fn show(&self, progress: &Progress) {
        let stage = match progress.stage {
            Stage::Cylinders => "fewest cylinders",
            Stage::Heaviest => "lightest lift",
            Stage::Carried => "least carried",
            Stage::Shortage => "what doesn't fit",
        };
        let best = progress.best.map_or_else(String::new, |best| {
            format!("; so far {} cylinders, {}", best.cylinders, self.division.text(best.heaviest))
        });
        // A line that can't be written isn't missed.
        let _ = write!(stderr(), "\r\x1b[K{stage}{best}; Ctrl-C takes that");
    }

    /// Takes the line away again, and says how long it took where that is asked for.
    pub(super) fn finish(&self, output: &mut Output) {
        if self.shown.is_some() {
            let _ = write!(stderr(), "\r\x1b[K");
        }
        output.detail(&format!("planned in {:.3} s", self.begun.elapsed().as_secs_f64()));
    }
}
