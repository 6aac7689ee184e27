//! What can be heard now: the grammar to open, and the names that this machine and this moment put into it.

use crate::id::PointId;
use crate::quantity::Unit;

/// A grammar to open, with the names that belong into it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Situation {
    /// Which grammar.
    pub kind: Kind,
    /// The points that may be named, the ones asked for first.
    pub points: Vec<SpokenPoint>,
    /// The two points just asked for; they weigh most.
    pub asked: Option<(PointId, PointId)>,
    /// The units that make sense now; empty for any.
    pub units: Vec<Unit>,
    /// What may be chosen, for openings, observations and closing questions.
    pub choices: Vec<Choice>,
    /// What may be chosen along with one of them, in one breath.
    pub with: Vec<Choice>,
    /// The parts whose rating plate may be read out now.
    pub rated: Vec<Choice>,
    /// The readings that may be named: each check, and the ways it may be said.
    pub named: Vec<Choice>,
    /// How surely it must be heard.
    pub care: Care,
}

impl Situation {
    /// The same, where an answer must be heard twice.
    #[must_use]
    pub fn carefully(self) -> Self {
        Self { care: Care::Twice, ..self }
    }
}

/// How surely an answer must be heard.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Care {
    /// Once.
    #[default]
    Once,
    /// Twice, independently, both times the same, and well above the noise: somebody's safety hangs on it.
    Twice,
}

/// The grammars: one file of `grammars/` each. The anytime words are open in all of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Which machine, which complaint: one of the choices.
    Opening,
    /// What the customer knows: yes, no, one of the choices, not sure.
    Interview,
    /// A reading, with or without its points.
    #[default]
    Reading,
    /// A reading was read back: yes, no, or a correction.
    Confirm,
    /// The deliberate answer to a hazard, and nothing else but the anytime words.
    Acknowledge,
    /// One of the choices, as an observation.
    Observe,
    /// An action was asked for: done, ready, skip.
    Step,
    /// Yes or no to a question.
    YesNo,
    /// Any spoken number or string of digits.
    Digits,
    /// Letters and digits as on a rating plate.
    Plate,
    /// We are speaking: only the stop words.
    StopOnly,
    /// Everything at once, for `hear` without a situation.
    Anything,
}

/// A point and the ways it may be named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SpokenPoint {
    /// Its name in the appliance model.
    pub point: PointId,
    /// How it may be said: "L", "line", "L one", "lima".
    pub say: Vec<String>,
}

/// Something to choose, and the ways it may be said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Its name; what the intent carries.
    pub name: String,
    /// How it may be said.
    pub say: Vec<String>,
}
