//! A line: words to be spoken, and in which manner.

use serde::{Deserialize, Serialize};

/// How a line is spoken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Manner {
    /// The everyday voice.
    #[default]
    Routine,
    /// The reserved voice, after its own tone: something can hurt.
    Hazard,
}

/// Words to be spoken. No figures, no symbols: what stands here reaches a synthesiser as it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The words.
    pub text: String,
    /// How they are spoken.
    pub manner: Manner,
}
