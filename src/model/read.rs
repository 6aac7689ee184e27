//! Sections to facts: what each field means.

pub(super) mod checks;
pub(super) mod circuit;
pub(super) mod facts;
