//! One file a command of the program. A command is there if what it needs was built in.

pub mod backup;
pub mod claim;
pub mod enter;
pub mod export;
pub mod forget;
#[cfg(feature = "whisper")]
pub mod hear;
pub mod import;
pub mod jobs;
pub mod learn;
pub mod model;
#[cfg(all(feature = "whisper", feature = "audio"))]
pub mod ready;
pub mod region;
#[cfg(feature = "whisper")]
pub mod replay;
pub mod report;
pub mod restore;
pub mod shop;
pub mod simulate;
pub mod sync;
#[cfg(all(feature = "whisper", feature = "audio"))]
pub mod talk;
pub mod type_;
pub mod verify;
