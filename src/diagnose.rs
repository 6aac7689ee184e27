//! diagnose.
