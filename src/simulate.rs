//! Pretend jobs: how good is the diagnosis, on machines whose fault is known?
//!
//! [`machine`] draws a machine with a fault by its frequency and parts within their tolerance; [`technician`] puts leads
//! on it and errs now and then, [`hearing`] is what is heard of that; a [`policy`] chooses the checks, ours or one that the trade or the literature knows;
//! [`visit`] works one job, [`conversation`] works it through the whole session; [`outcome`] says what it cost, and
//! [`tally`] adds up many. [`optimum`] is the least that any policy could cost, where that can be worked out.
//!
//! Everything follows from a seed and the number of the job, in whatever order jobs are worked.

pub mod conversation;
pub mod dice;
pub mod hearing;
pub mod machine;
pub mod optimum;
pub mod outcome;
pub mod policy;
pub mod round;
pub mod tally;
pub mod technician;
pub mod visit;
pub mod watch;
