//! All integration tests, in one binary.

mod circuits;
mod diagnosis;
mod grammars;
mod numbers;
#[cfg(feature = "store")]
mod store;
mod tidy;
mod voice;
mod models;
