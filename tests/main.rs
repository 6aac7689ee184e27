//! All integration tests, in one binary.

mod circuits;
mod diagnosis;
mod dialogue;
mod grammars;
mod hearing;
mod interlock;
mod kill;
mod models;
mod numbers;
mod records;
#[cfg(feature = "whisper")]
mod replay;
mod store;
mod tidy;
mod voice;
mod weights;
mod world;
