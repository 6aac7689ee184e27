//! One file a command of the program. A command is there if what it needs was built in.

pub mod backup;
pub mod export;
#[cfg(feature = "whisper")]
pub mod hear;
pub mod jobs;
pub mod model;
#[cfg(feature = "whisper")]
pub mod replay;
pub mod report;
#[cfg(all(feature = "whisper", feature = "audio"))]
pub mod talk;
pub mod type_;
pub mod verify;
