//! A session and its record, moved on together: what cannot be kept did not happen.

use crate::dialogue::{Action, Input, Listening, Session, Step};
use crate::record::entry::Entry;
use crate::say::{Line, Voice};
use crate::time::Timestamp;

/// Where entries are kept.
pub trait Keep {
    /// Keeps an entry durably, or says why it cannot.
    fn keep(&mut self, entry: &Entry) -> miette::Result<()>;
}

/// Keeps entries in memory: for trying things out.
impl Keep for Vec<Entry> {
    fn keep(&mut self, entry: &Entry) -> miette::Result<()> {
        self.push(entry.clone());
        Ok(())
    }
}

/// What a turn asks of the shell once its entries are kept.
#[derive(Debug, Default)]
pub struct Turn {
    /// What was kept.
    pub entries: Vec<Entry>,
    /// What to say, in order.
    pub lines: Vec<Line>,
    /// What to listen for then; `None` once the job is closed.
    pub listening: Option<Listening>,
    /// How long to wait for an answer.
    pub wake_after: Option<std::time::Duration>,
    /// How to speak.
    pub voice: Voice,
    /// Why the record could not be kept, if it could not.
    pub not_kept: Option<miette::Report>,
}

/// A session with its record.
#[derive(Clone)]
pub struct Conversation<K> {
    session: Session,
    kept: K,
}

impl<K: Keep> Conversation<K> {
    /// Goes on with a session, keeping what happens in `kept`.
    pub const fn new(session: Session, kept: K) -> Self {
        Self { session, kept }
    }

    /// The session.
    pub const fn session(&self) -> &Session {
        &self.session
    }

    /// The record.
    pub const fn kept(&self) -> &K {
        &self.kept
    }

    /// Hands an input to the session and keeps what it records, before anything is said.
    ///
    /// If that fails the session goes on from before the input, as if it had not been, and says so.
    pub fn turn(&mut self, now: Timestamp, input: Input) -> Turn {
        let before = self.session.clone();
        let step = self.session.handle(now, input);
        match self.keep(&step) {
            Ok(()) => Self::turn_of(step, None),
            Err(why) => {
                self.session = before;
                let step = self.session.handle(now, Input::NotKept);
                Self::turn_of(step, Some(why))
            }
        }
    }

    fn keep(&mut self, step: &Step) -> miette::Result<()> {
        for action in &step.actions {
            if let Action::Record(entry) = action {
                self.kept.keep(entry)?;
            }
        }
        Ok(())
    }

    fn turn_of(step: Step, not_kept: Option<miette::Report>) -> Turn {
        let mut turn = Turn { wake_after: step.wake_after, voice: step.voice, not_kept, ..Turn::default() };
        for action in step.actions {
            match action {
                Action::Record(entry) => turn.entries.push(entry),
                Action::Say(line) => turn.lines.push(line),
                Action::Listen(listening) => turn.listening = Some(listening),
                Action::Finish => turn.listening = None,
            }
        }
        turn
    }
}
