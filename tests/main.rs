//! All integration tests, in one binary.

mod circuits;
mod diagnosis;
mod grammars;
mod models;
mod numbers;
#[cfg(feature = "store")]
mod store;
mod voice;
