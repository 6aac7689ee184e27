//! Time inside a job: milliseconds since the job was opened.
//!
//! Knows no clock. The shell says what time it is with every input.

use std::fmt;
use std::time::Duration;

use serde::{Deserialize, Serialize};

/// A moment of a job, in milliseconds since it was opened.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Timestamp(u64);

impl Timestamp {
    /// The moment the job was opened.
    pub const ZERO: Self = Self(0);

    /// The moment this many milliseconds after the job was opened.
    pub const fn from_millis(ms: u64) -> Self {
        Self(ms)
    }

    /// Milliseconds since the job was opened.
    pub const fn as_millis(self) -> u64 {
        self.0
    }

    /// The moment this much later.
    #[must_use]
    pub const fn after(self, duration: Duration) -> Self {
        Self(self.0.saturating_add(duration.as_millis() as u64))
    }

    /// How long ago `earlier` was; zero if it is not earlier.
    pub const fn since(self, earlier: Self) -> Duration {
        Duration::from_millis(self.0.saturating_sub(earlier.0))
    }
}

/// As minutes, seconds and tenths: `3:07.4`.
impl fmt::Display for Timestamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tenths = self.0 / 100;
        write!(f, "{}:{:02}.{}", tenths / 600, tenths / 10 % 60, tenths % 10)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_reads_as_minutes_and_seconds() {
        assert_eq!(Timestamp::from_millis(187_450).to_string(), "3:07.4");
        assert_eq!(Timestamp::ZERO.to_string(), "0:00.0");
    }

    #[test]
    fn what_is_not_earlier_is_no_time_ago() {
        let (a, b) = (Timestamp::from_millis(5), Timestamp::from_millis(9));
        assert_eq!(b.since(a), Duration::from_millis(4));
        assert_eq!(a.since(b), Duration::ZERO);
    }
}
