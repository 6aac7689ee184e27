//! A loudspeaker that may come and go: opened again whenever it is lost.

use std::time::Instant;

use super::{Speaker, SpeakerError};
use crate::shell::reopen::Reopen;

/// A loudspeaker, there or not.
pub struct Steady {
    speaker: Option<Speaker>,
    /// Why it was lost last.
    why: String,
    reopen: Reopen<Speaker>,
}

impl Steady {
    /// Opens the device of a name, or the default one; the same again after a loss.
    ///
    /// # Errors
    /// [`SpeakerError`], if it does not open now.
    pub fn open(wanted: Option<String>) -> Result<Self, SpeakerError> {
        let speaker = Speaker::open(wanted.as_deref())?;
        Ok(Self {
            speaker: Some(speaker),
            why: String::new(),
            reopen: Reopen::by(move || Speaker::open(wanted.as_deref()).ok()),
        })
    }

    /// The loudspeaker, if it is there now. Never waits.
    pub fn there(&mut self, now: Instant) -> Option<&mut Speaker> {
        if let Some(lost) = self.speaker.take_if(|speaker| speaker.health().is_lost()) {
            self.why = lost.health().why();
        }
        if self.speaker.is_none() {
            self.speaker = self.reopen.poll(now);
        } else {
            self.reopen.rest();
        }
        self.speaker.as_mut()
    }

    /// Gives up the loudspeaker that is open: it does not play.
    pub fn give_up(&mut self) {
        self.speaker = None;
        "it does not play".clone_into(&mut self.why);
    }

    /// Why it was lost last.
    pub fn why(&self) -> &str {
        &self.why
    }
}
