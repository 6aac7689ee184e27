//! The door: clocks, threads, files, devices, and the commands that use them.

pub mod args;
pub mod command;
pub mod ear;
#[cfg(feature = "audio")]
pub mod mic;
pub mod recogniser;
pub mod sound;
pub mod sound_out;
#[cfg(feature = "audio")]
pub mod speaker;
#[cfg(feature = "store")]
pub mod store;
pub mod voice;
pub mod weights;
