//! What is known of a job before its first entry: its number and when it was opened.
//!
//! Knows no clock: the shell says what time it was, and where on earth.

use std::fmt;
use std::num::NonZeroU32;
use std::str::FromStr;

use jiff::tz::Offset;
use serde::{Deserialize, Serialize};

/// The number of a job: 1 for the first of a shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct JobId(NonZeroU32);

impl JobId {
    /// The job of this number; `None` for zero, which no job has.
    pub const fn new(number: u32) -> Option<Self> {
        match NonZeroU32::new(number) {
            Some(number) => Some(Self(number)),
            None => None,
        }
    }

    /// Its number.
    pub const fn get(self) -> u32 {
        self.0.get()
    }
}

/// The bare number: `3`.
impl fmt::Display for JobId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// A text that names no job.
#[derive(Debug, thiserror::Error)]
#[error("`{0}` is not the number of a job; jobs are numbered 1, 2, 3 and so on: see `leadhand jobs`")]
pub struct NotJobId(String);

/// Takes `3`, `job 3`, `job-3` and `#3`.
impl FromStr for JobId {
    type Err = NotJobId;

    fn from_str(text: &str) -> Result<Self, NotJobId> {
        let rest = text.trim();
        let rest = rest.strip_prefix("job").unwrap_or(rest);
        let rest = rest.trim_start_matches([' ', '-', '#']);
        let digits = rest.bytes().all(|b| b.is_ascii_digit()).then_some(rest);
        digits.and_then(|digits| digits.parse().ok()).map(Self).ok_or_else(|| NotJobId(text.to_owned()))
    }
}

/// A moment on the wall clock, with the place's distance from UTC, so that it reads the same everywhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Moment {
    /// Milliseconds since 1970-01-01 00:00 UTC.
    pub unix_ms: i64,
    /// How far the local clock was ahead of UTC, in minutes.
    pub offset_minutes: i16,
}

impl Moment {
    /// The local date as a person writes it: "25 November 2026".
    pub fn date(self) -> String {
        self.format("%-d %B %Y")
    }

    /// The local time of day: "14:05".
    pub fn time(self) -> String {
        self.format("%H:%M")
    }

    /// For machines, RFC 3339 to the second: "2026-11-25T14:05:00+01:00".
    pub fn rfc3339(self) -> String {
        self.format("%Y-%m-%dT%H:%M:%S%:z")
    }

    /// So many days of 24 hours later.
    #[must_use]
    pub const fn in_days(self, days: u16) -> Self {
        Self { unix_ms: self.unix_ms.saturating_add(days as i64 * 86_400_000), ..self }
    }

    fn format(self, pattern: &str) -> String {
        let offset = Offset::from_seconds(i32::from(self.offset_minutes) * 60);
        let moment = jiff::Timestamp::from_millisecond(self.unix_ms);
        match (moment, offset) {
            (Ok(moment), Ok(offset)) => {
                moment.to_zoned_datetime(offset.to_time_zone()).strftime(pattern).to_string()
            }
            _ => "at an unknown time".to_owned(),
        }
    }
}

/// Date and time: "25 November 2026, 14:05".
impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, {}", self.date(), self.time())
    }
}

/// What is known of a job before its first entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Header {
    /// Its number.
    pub job: JobId,
    /// When it was opened.
    pub opened: Moment,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_job_is_named_in_several_ways() {
        for text in ["3", "job 3", "job-3", "#3", " 3 "] {
            assert_eq!(text.parse::<JobId>().unwrap(), JobId::new(3).unwrap(), "{text}");
        }
        for text in ["", "0", "job", "three", "-3x", "3.0", "+3", "99999999999"] {
            assert!(text.parse::<JobId>().is_err(), "{text}");
        }
    }

    #[test]
    fn a_moment_reads_as_the_local_clock_showed_it() {
        // POSIX: 86,400 seconds a day from 1970-01-01; 951,782,400 is 2000-02-29 00:00 UTC.
        let check = |unix_ms, offset_minutes, expected: &str| {
            assert_eq!(Moment { unix_ms, offset_minutes }.to_string(), expected);
        };
        check(0, 0, "1 January 1970, 00:00");
        check(951_782_400_000, 0, "29 February 2000, 00:00");
        check(951_782_400_000, -300, "28 February 2000, 19:00");
        check(951_782_400_000, 345, "29 February 2000, 05:45");
        check(i64::MAX, 0, "at an unknown time, at an unknown time");
        assert_eq!(
            Moment { unix_ms: 951_782_400_000, offset_minutes: -300 }.rfc3339(),
            "2000-02-28T19:00:00-05:00"
        );
    }
}
