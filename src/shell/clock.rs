//! The machine's clock, as time inside a job.

use std::time::Instant;

use crate::time::Timestamp;

/// Counts from when the job was opened here.
#[derive(Clone, Copy, Debug)]
pub struct Clock {
    started: Instant,
    offset: Timestamp,
}

impl Clock {
    /// Starts at zero.
    pub fn start() -> Self {
        Self::start_at(Timestamp::ZERO)
    }

    /// Starts where a job was left.
    pub fn start_at(offset: Timestamp) -> Self {
        Self { started: Instant::now(), offset }
    }

    /// Now.
    pub fn now(&self) -> Timestamp {
        self.offset.after(self.started.elapsed())
    }
}
