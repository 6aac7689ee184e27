//! A note: announced, spoken, kept; or let go where it does not come.

use crate::record::entry::What;
use crate::say::Prompt;
use crate::understand::heard::Heard;
use crate::understand::intent::{Anytime, Beyond};

use super::outbox::Outbox;
use super::phase::aside;
use super::session::{SMELL, Session};

impl Session {
    /// Keeps a note. What is said of water counts there too.
    pub(super) fn note(&mut self, out: &mut Outbox, heard: &Heard) {
        (self.noting, self.missed) = (false, 0);
        let words = heard.candidates.first().map(|c| c.words.clone()).unwrap_or_default();
        let text = if heard.free.is_empty() { words } else { heard.free.clone() };
        out.record(What::Noted { text });
        out.say(&Prompt::NoteKept);
        if heard.says(Anytime::Wet) {
            self.wet(out);
        }
        if heard.understood().is_some_and(|best| best.intent == SMELL) {
            self.smelt(out);
        }
    }

    /// It smells of gas: like a stop, whatever is going on, but that nothing is switched off either.
    pub(super) fn smelt(&mut self, out: &mut Outbox) {
        aside::refuse(out, Beyond::Smell);
        self.make_safe(out, "it smells of gas");
    }

    /// A note was announced and does not come.
    pub(super) fn no_note(&mut self, out: &mut Outbox) -> bool {
        match self.missed {
            1 => out.say(&Prompt::NoteGoOn),
            2 => out.say(&Prompt::Example("drum belt is worn".to_owned())),
            _ => {
                (self.noting, self.missed) = (false, 0);
                out.say(&Prompt::NoNote);
            }
        }
        true
    }
}
