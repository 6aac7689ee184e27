//! The door: clocks, threads, files, devices, and the commands that use them.

pub mod args;
pub mod command;
#[cfg(feature = "store")]
pub mod store;
pub mod recogniser;
pub mod sound;
pub mod weights;
