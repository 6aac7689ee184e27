//! Everything that can happen to a session.

use crate::understand::heard::Heard;

/// Something that happened.
#[derive(Clone, Debug, PartialEq)]
pub enum Input {
    /// The session begins, or the shell is ready again after a restart.
    Start,
    /// An utterance was recognised under the grammar that was open.
    Heard(Heard),
    /// Somebody spoke, but the noise was too loud for it to count.
    TooNoisy {
        /// Was an answer understood all the same?
        answered: bool,
    },
    /// Nobody answered for as long as [`super::Step::wake_after`] allowed.
    Silence,
    /// The record could not be written; the step that asked for it was dropped and did not happen.
    NotKept,
    /// The microphone is gone.
    MicrophoneLost,
    /// A microphone that was gone is there again.
    MicrophoneBack,
}
