//! All integration tests, in one binary.

mod circuits;
mod models;
