//! Words to meaning, under what we are willing to hear now.
//!
//! Knows nothing of circuits, faults or the dialogue: a situation says what is open, an intent says what was meant.

pub mod automaton;
pub mod heard;
pub mod intent;
pub mod number;
pub mod numerals;
pub mod situation;
