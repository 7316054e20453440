//! A bar for what takes longer than a second, on standard error where that is a terminal, and gone when it is done.

use std::io::{self, IsTerminal as _, Write as _};
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Nothing is shown before.
const PATIENCE: Duration = Duration::from_secs(1);
/// Time between two drawings.
const REST: Duration = Duration::from_millis(100);
/// Letters of the bar.
const WIDTH: usize = 30;

/// How far a piece of work has got.
pub struct Progress {
    what: &'static str,
    all: usize,
    begun: Instant,
    terminal: bool,
    /// When it was drawn last, and how wide it was.
    drawn: Mutex<Option<(Instant, usize)>>,
}

impl Progress {
    /// Of so many pieces, which are called so.
    pub fn new(what: &'static str, all: usize) -> Self {
        Self { what, all, begun: Instant::now(), terminal: io::stderr().is_terminal(), drawn: Mutex::new(None) }
    }

    /// Draws that so many are done, if it is time to.
    pub fn told(&self, done: usize) {
        if !self.terminal || self.begun.elapsed() < PATIENCE {
            return;
        }
        // Another thread is drawing, or has stopped in the middle of it: this drawing is left out.
        let Ok(mut drawn) = self.drawn.try_lock() else { return };
        if drawn.is_some_and(|(last, _)| last.elapsed() < REST) {
            return;
        }
        let line = line(self.what, done, self.all);
        let _ = io::stderr().lock().write_all(format!("\r{line}").as_bytes());
        *drawn = Some((Instant::now(), line.chars().count()));
    }

    /// Takes the bar away.
    pub fn end(self) {
        if let Ok(Some((_, width))) = self.drawn.into_inner() {
            let _ = io::stderr().lock().write_all(format!("\r{}\r", " ".repeat(width)).as_bytes());
        }
    }
}

fn line(what: &str, done: usize, all: usize) -> String {
    let full = WIDTH * done.min(all) / all.max(1);
    let width = all.to_string().len();
    format!("  {}{} {done:>width$} of {all} {what}", "#".repeat(full), ".".repeat(WIDTH - full))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bar_is_as_long_as_what_is_done_and_never_changes_its_width() {
        let lines = [line("points", 0, 81), line("points", 40, 81), line("points", 81, 81)];
        assert_eq!(lines.iter().map(|line| line.matches('#').count()).collect::<Vec<_>>(), [0, 14, 30]);
        assert!(lines.iter().all(|line| line.len() == lines[0].len()), "{lines:?}");
        assert_eq!(line("points", 0, 0), format!("  {} 0 of 0 points", ".".repeat(30)));
    }
}
