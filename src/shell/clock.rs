//! The machine's clock, as time inside a job.

use std::time::Instant;

use crate::record::header::Moment;
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

/// What the wall clock shows, with its offset from UTC.
pub fn wall() -> Moment {
    let now = jiff::ZonedDateTime::now();
    let offset_minutes = i16::try_from(now.offset().seconds() / 60).unwrap_or(0);
    Moment { unix_ms: now.timestamp().as_millisecond(), offset_minutes }
}
