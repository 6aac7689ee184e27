//! The real program in a pretend kitchen: `leadhand talk` through PulseAudio, with a technician who answers aloud.
//!
//! One short job is part of `make test`; `make test-live` (`LEADHAND_LIVE=all`) adds the long ones and what can go wrong.
//! Skipped, with a count, where the sound system is not installed.

// The wall stands around `src`; tests look at it from outside, with files, programs and printed counts.
#![allow(clippy::disallowed_methods, clippy::disallowed_types, clippy::print_stdout, clippy::print_stderr)]
#![allow(clippy::unwrap_used)]

mod figures;
mod hours;
mod house;
mod jobs;
mod talk;
mod trouble;
