//! The door: clocks, threads, files, devices, and the commands that use them.

pub mod args;
pub mod clock;
pub mod command;
pub mod console;
pub mod conversation;
pub mod ear;
pub mod files;
pub mod job;
pub mod listener;
#[cfg(feature = "audio")]
pub mod mic;
pub mod narrator;
pub mod recogniser;
pub mod report;
pub mod script;
pub mod shelf;
pub mod sound;
pub mod sound_out;
#[cfg(feature = "audio")]
pub mod speaker;
pub mod store;
pub mod sync;
pub mod terms;
pub mod voice;
pub mod wall_clock;
pub mod weights;
