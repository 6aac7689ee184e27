//! A clip: what somebody said, in which voice, and what should be understood.

use leadhand::understand::intent::Intent;

use crate::figures::hash;
use crate::grammar::Opened;

/// What somebody said.
pub struct Clip {
    /// The speech, without noise.
    pub speech: Vec<f32>,
    /// The words said, for people to read.
    pub words: String,
    /// Who or what spoke.
    pub voice: String,
    /// Under which grammar it is heard.
    pub opened: Opened,
    /// What it means there; `None` for a remark or another word, which must not be taken for anything.
    pub wanted: Option<Intent>,
}

impl Clip {
    /// Half of the voices are held back: nothing is fitted or chosen by them.
    pub fn held_back(&self) -> bool {
        // The high bits of FNV are better mixed than the lowest.
        hash(&self.voice) >> 37 & 1 == 1
    }

    /// A number of its own, which decides its noise.
    pub fn seed(&self) -> u64 {
        hash(&format!("{} {} {}", self.voice, self.words, self.speech.len()))
    }
}

/// Clips of one kind.
pub struct Set {
    pub name: &'static str,
    pub group: Group,
    /// Were the weights fitted on this synthesiser, or on recordings of this collection?
    pub fitted: bool,
    pub clips: Vec<Clip>,
}

/// What the headline figures are of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Readings by synthetic voices.
    Readings,
    /// Numbers spoken by people.
    Numbers,
    /// Answers, commands, plates.
    Others,
    /// Remarks and other words.
    Remarks,
}
