//! What time it is, and how far the local clock is from UTC.

use std::time::{Duration, SystemTime};

use crate::record::header::Moment;

/// Now.
pub fn now() -> Moment {
    let now = jiff::ZonedDateTime::now();
    let minutes = now.offset().seconds() / 60;
    Moment {
        unix_ms: now.timestamp().as_millisecond(),
        offset_minutes: i16::try_from(minutes).expect("no place is further from UTC than a day"),
    }
}

/// The day here, as 2026-11-26.
pub fn today() -> String {
    jiff::ZonedDateTime::now().date().to_string()
}

/// How long ago something was; `None` if it is yet to come.
pub fn age(then: SystemTime) -> Option<Duration> {
    let then = jiff::Timestamp::try_from(then).ok()?;
    jiff::Timestamp::now().duration_since(then).try_into().ok()
}
