//! What a step will do, gathered while an input is handled: records first, then lines.

use crate::record::entry::{Entry, What};
use crate::say::{Line, Manner, Prompt};
use crate::time::Timestamp;

/// Records and lines of the step in the making.
#[derive(Debug)]
pub(super) struct Outbox {
    now: Timestamp,
    entries: Vec<Entry>,
    lines: Vec<Line>,
    brief: bool,
}

impl Outbox {
    pub(super) const fn new(now: Timestamp) -> Self {
        Self { now, entries: Vec::new(), lines: Vec::new(), brief: false }
    }

    /// Whether to say as little as possible.
    pub(super) const fn brief(&mut self, brief: bool) {
        self.brief = brief;
    }

    /// The time of the step.
    pub(super) const fn now(&self) -> Timestamp {
        self.now
    }

    /// Keeps a fact.
    pub(super) fn record(&mut self, what: What) {
        self.entries.push(Entry { at: self.now, what });
    }

    /// Says something, and keeps that it was said.
    pub(super) fn say(&mut self, prompt: &Prompt) {
        let line = if self.brief { prompt.brief_line() } else { prompt.line() };
        if line.text.is_empty() {
            return;
        }
        self.record(What::Said { text: line.text.clone(), hazard: line.manner == Manner::Hazard });
        self.lines.push(line);
    }

    pub(super) fn into_parts(self) -> (Vec<Entry>, Vec<Line>) {
        (self.entries, self.lines)
    }
}
