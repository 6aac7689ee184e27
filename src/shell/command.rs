//! One file a command of the program.

pub mod hear;
pub mod jobs;
pub mod replay;
pub mod report;
pub mod talk;
pub mod type_;
