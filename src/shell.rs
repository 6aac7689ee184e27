//! The door: clocks, threads, files, devices, and the commands that use them.

pub mod args;
pub mod command;
pub mod recogniser;
pub mod sound;
pub mod weights;
