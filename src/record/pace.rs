//! How the time of a job went: the time before each thing that was done counts towards doing it.

use std::time::Duration;

use super::entry::What;
use crate::time::Timestamp;

/// How the time of a job went.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Pace {
    last: Timestamp,
    pending: Duration,
    spent: [Duration; 5],
}

/// What time goes into.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Who, what and what is wrong.
    Opening,
    /// Cutting off and proving dead, or going live.
    MakingSafe,
    /// Measuring and looking.
    Checking,
    /// Quoting, fitting and setting.
    Mending,
    /// Safety test, trial run and what must not be forgotten.
    Closing,
}

impl Part {
    /// All of them, in order, with their names on the page.
    pub const ALL: [(Self, &'static str); 5] = [
        (Self::Opening, "taking the job"),
        (Self::MakingSafe, "making safe"),
        (Self::Checking, "checking"),
        (Self::Mending, "quoting and mending"),
        (Self::Closing, "closing"),
    ];
}

impl Pace {
    /// How long went into a part.
    pub const fn spent(&self, part: Part) -> Duration {
        self.spent[part as usize]
    }

    pub(super) fn step(&mut self, at: Timestamp, what: &What) {
        self.pending += at.since(self.last);
        self.last = self.last.max(at);
        let Some(part) = part(what) else { return };
        self.spent[part as usize] += std::mem::take(&mut self.pending);
    }
}

const fn part(what: &What) -> Option<Part> {
    match what {
        What::Opened { .. }
        | What::Machine { .. }
        | What::Complained { .. }
        | What::Customer { .. }
        | What::Plate { .. }
        | What::Rated { .. }
        | What::Told { .. }
        | What::Asked { .. }
        | What::CalledBack { .. } => Some(Part::Opening),
        What::Supply { .. } | What::Proof { .. } | What::Acknowledged { .. } => Some(Part::MakingSafe),
        What::Found { .. } | What::Retracted { .. } | What::Skipped { .. } | What::Advised { .. } => {
            Some(Part::Checking)
        }
        What::Part(_)
        | What::Estimated(_)
        | What::Consented(_)
        | What::Adjusted { .. }
        | What::Fixed { .. } => Some(Part::Mending),
        What::SafetyTested(_) | What::Ran { .. } | What::Closed { .. } | What::Finished => {
            Some(Part::Closing)
        }
        _ => None,
    }
}
