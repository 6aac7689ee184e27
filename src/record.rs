//! The job as an append-only list of entries, and what is folded from it.
//!
//! Knows no database: `shell/store` keeps the entries, this says what they are and what they mean.

pub mod entry;
pub mod header;
pub mod job;
pub mod page;
pub mod report;
