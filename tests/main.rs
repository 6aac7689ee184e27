//! All integration tests, in one binary.

mod circuits;
mod diagnosis;
mod dialogue;
mod grammars;
mod hearing;
mod interlock;
mod models;
mod numbers;
mod records;
mod store;
mod tidy;
mod voice;
mod weights;
mod world;
