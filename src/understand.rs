//! Words to meaning, under what we are willing to hear now.
//!
//! Knows nothing of circuits, faults or the dialogue: a situation says what is open, an intent says what was meant.

pub mod automaton;
pub mod compile;
pub mod confusion;
pub mod grammars;
pub mod heard;
pub mod intent;
pub mod keys;
pub mod matching;
pub mod meaning;
pub mod number;
pub mod numerals;
pub mod progress;
pub mod situation;
pub mod srgs;
pub mod typed;
pub mod vocabulary;

pub use grammars::{open, try_open};
pub use meaning::meaning;
pub use typed::typed;
