//! dialogue.
