//! A line: words to be spoken, and in which manner.

use serde::{Deserialize, Serialize};

use crate::understand::intent::Anytime;

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

/// How fast and how loud to speak, in steps from the usual.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Voice {
    /// From -2, slowest, to 2, fastest.
    pub pace: i8,
    /// From -2, softest, to 2, loudest.
    pub volume: i8,
}

impl Voice {
    /// The furthest from the usual.
    pub const MOST: i8 = 2;

    /// The same after "slower", "faster", "louder" or "softer"; no other word changes it.
    #[must_use]
    pub fn turned(self, word: Anytime) -> Self {
        let step = |value: i8, by: i8| (value + by).clamp(-Self::MOST, Self::MOST);
        match word {
            Anytime::Slower => Self { pace: step(self.pace, -1), ..self },
            Anytime::Faster => Self { pace: step(self.pace, 1), ..self },
            Anytime::Louder => Self { volume: step(self.volume, 1), ..self },
            Anytime::Softer => Self { volume: step(self.volume, -1), ..self },
            _ => self,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_voice_turns_step_by_step_and_no_further_than_it_may() {
        let slower = Voice::default().turned(Anytime::Slower);
        assert_eq!(slower, Voice { pace: -1, volume: 0 });
        assert_eq!((0..9).fold(slower, |voice, _| voice.turned(Anytime::Faster)).pace, Voice::MOST);
        assert_eq!(slower.turned(Anytime::Softer).turned(Anytime::Louder), slower);
        assert_eq!(slower.turned(Anytime::Why), slower);
    }
}
