//! safety.
