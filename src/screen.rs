//! The screen at a glance: what a technician sees from two metres while both hands are busy.
//!
//! A [`Glance`] is taken from the record, from what was said last and from what is listened for; [`page`] lays it out. Knows
//! no session, network or browser.

pub mod answers;
pub mod glance;
pub mod page;

pub use glance::{Glance, Mood};
