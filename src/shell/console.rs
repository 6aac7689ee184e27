//! Typed words instead of spoken ones.

use std::sync::mpsc::{self, Receiver, SyncSender};
use std::thread;

use crate::understand;
use crate::understand::automaton::Automaton;
use crate::understand::heard::Heard;

/// What a typed line, or the name of a key, means. A line that means nothing was still meant for us, so it is no remark to be let pass.
pub fn typed(automaton: &Automaton, line: &str) -> Heard {
    if let Some(heard) = understand::keys::pressed(line) {
        return heard;
    }
    let heard = understand::typed(automaton, line);
    let outside = if heard.candidates.is_empty() { 0.0 } else { heard.outside };
    Heard { outside, ..heard }
}

/// What somebody typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Typed {
    /// A line at the terminal.
    Line(String),
    /// An answer on the page, to the question that it showed.
    Answer {
        /// The turn in which it was asked.
        turn: u64,
        /// The words.
        words: String,
    },
    /// Nothing more is typed at the terminal.
    Over,
}

impl Typed {
    /// The words, if there are any.
    pub fn words(&self) -> Option<&str> {
        match self {
            Self::Line(words) | Self::Answer { words, .. } => Some(words),
            Self::Over => None,
        }
    }

    /// Is it meant for what is asked in this turn? Who touches "done" twice has not answered the next question too.
    pub fn is_for(&self, turn_shown: Option<u64>) -> bool {
        match self {
            Self::Line(_) | Self::Over => true,
            Self::Answer { turn, words } => Some(*turn) == turn_shown || stops(words),
        }
    }
}

/// Stop, in words or by its key.
fn stops(words: &str) -> bool {
    words.trim().starts_with("stop")
        || understand::keys::pressed(words).is_some_and(|heard| heard.says_stop())
}

/// So many typed lines may wait for their question.
pub const MOST_TYPED: usize = 64;

/// The lines typed at the terminal, read on a thread of their own since reading them blocks; and the way in for lines from
/// elsewhere.
pub fn lines() -> (SyncSender<Typed>, Receiver<Typed>) {
    let (tell, lines) = mpsc::sync_channel(MOST_TYPED);
    let terminal = tell.clone();
    thread::spawn(move || {
        for line in std::io::stdin().lines().map_while(Result::ok) {
            if terminal.send(Typed::Line(line)).is_err() {
                return;
            }
        }
        // Who asked may be gone.
        let _told = terminal.send(Typed::Over);
    });
    (tell, lines)
}
