//! Meaning to words: every sentence is a value, and the words for it stand in one file.

pub mod line;
mod money;
pub mod prompt;
mod wording;

pub use line::{Line, Manner, Voice};
pub use prompt::Prompt;
