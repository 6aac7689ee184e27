//! The job as an append-only list of entries, and what is folded from it.
//!
//! Knows no database: `shell/store` keeps the entries, this says what they are and what they mean.

pub mod claim;
pub mod consent;
pub mod diagnosed;
pub mod entry;
pub mod estimate;
pub mod figures;
pub mod header;
pub mod job;
pub mod pace;
pub mod page;
pub mod paper;
pub mod personal;
pub mod report;
pub mod safety_test;
pub mod terms;
