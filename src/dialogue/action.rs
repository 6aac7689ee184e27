//! Everything a session can ask of the shell.

use std::time::Duration;

use crate::record::entry::Entry;
use crate::say::{Line, Voice};
use crate::understand::situation::Situation;

/// What is to be done now, in this order: record, then say, then listen.
#[must_use = "a step that is dropped is a conversation that is lost"]
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Step {
    /// What to do, in order.
    pub actions: Vec<Action>,
    /// How long to wait for an answer before [`super::Input::Silence`], counted from the end of our speech.
    pub wake_after: Option<Duration>,
    /// How to speak from now on.
    pub voice: Voice,
}

/// One thing to do.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// Keep this, durably, before anything is said.
    Record(Entry),
    /// Speak this.
    Say(Line),
    /// Open the ear.
    Listen(Listening),
    /// The job is closed: nothing more will be asked.
    Finish,
}

/// What to listen for.
#[derive(Clone, Debug, PartialEq)]
pub struct Listening {
    /// The grammar to open.
    pub situation: Situation,
    /// What the question is about, as a short name: `check element-ohms`, `closing vent`.
    pub topic: String,
}
