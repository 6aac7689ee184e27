//! The conversation: one input in, one step out, time as an argument.
//!
//! [`Session::handle`] is the only way in, [`Step`] the only way out. Knows no clock, device or file.

pub mod action;
mod anytime;
mod bench;
mod findings;
pub mod input;
mod interview;
pub mod known;
mod noting;
mod opening;
mod outbox;
mod phase;
mod read_back;
mod resume;
pub mod session;
mod standing;

pub use action::{Action, Listening, Step};
pub use input::Input;
pub use known::{Desk, Known, LastTime};
pub use phase::adjusting::positions;
pub use read_back::ReadBack;
pub use session::Session;
