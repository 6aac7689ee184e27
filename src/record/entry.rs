//! What happened, one line of the record each. Never edited: a correction is a new entry.

use serde::{Deserialize, Serialize};

use crate::id::{ApplianceId, CheckId, ComplaintId, PointId, RemedyId};
use crate::reading::{Finding, Reading};
use crate::safety::{ProofStage, Supply};
use crate::time::Timestamp;

/// One line of the record.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// When, since the job was opened.
    pub at: Timestamp,
    /// What.
    #[serde(flatten)]
    pub what: What,
}

/// What happened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum What {
    /// The job was opened. Always the first entry.
    Opened {
        /// The program's version.
        version: String,
    },
    /// Which machine it is.
    Machine {
        /// The appliance model.
        appliance: ApplianceId,
    },
    /// What the customer says is wrong.
    Complained {
        /// By its name in the appliance model.
        complaint: ComplaintId,
    },
    /// What we said.
    Said {
        /// The words as spoken.
        text: String,
        /// Was it said in the hazard voice?
        hazard: bool,
    },
    /// What we heard, understood or not.
    Heard {
        /// The best candidate's words, or the free decode where nothing was understood.
        words: String,
        /// Probability of the best candidate, in thousandths.
        permille: u16,
        /// Was it understood?
        understood: bool,
    },
    /// What we know of the supply changed.
    Supply {
        /// What we know now.
        supply: Supply,
        /// Why, in a few words.
        why: String,
    },
    /// One reading of proving dead.
    Proof {
        /// Known source, the work, or the known source again.
        stage: ProofStage,
        /// Across what, where it is the work.
        points: Option<(PointId, PointId)>,
        /// What the meter showed.
        reading: Reading,
    },
    /// A jumper was asked to be put in, or said to be out.
    Jumper {
        /// Does it count as in?
        fitted: bool,
    },
    /// A hazard was spoken and deliberately acknowledged.
    Acknowledged {
        /// The hazard as spoken.
        hazard: String,
        /// The words heard.
        words: String,
    },
    /// A finding was accepted for a check. A later one for the same check replaces it.
    Found {
        /// The check.
        check: CheckId,
        /// What was found.
        finding: Finding,
        /// The words heard.
        words: String,
        /// Probability of what was heard, in thousandths.
        permille: u16,
    },
    /// A finding was taken back.
    Retracted {
        /// The check.
        check: CheckId,
    },
    /// A check was left out.
    Skipped {
        /// The check.
        check: CheckId,
    },
    /// What we believe now.
    Believed {
        /// Name of each cause ("all-good" or a fault) with its probability in thousandths, largest first.
        causes: Vec<(String, u16)>,
    },
    /// A remedy was advised.
    Advised {
        /// The remedy; `None` where nothing electrical is wrong or nothing more can be told.
        remedy: Option<RemedyId>,
        /// The cause ("all-good" or a fault).
        cause: String,
        /// Its probability in thousandths.
        permille: u16,
    },
    /// The advised work was done, or left undone.
    Fixed {
        /// Was it done?
        done: bool,
    },
    /// A closing item was answered.
    Closed {
        /// The item, by its name in the appliance model.
        item: String,
        /// The answer.
        answer: ClosingAnswer,
    },
    /// A note.
    Noted {
        /// As heard.
        text: String,
    },
    /// Something was refused, and why.
    Refused {
        /// As spoken.
        why: String,
    },
    /// The program was started again on this job.
    Resumed,
    /// The job was closed.
    Finished,
}

/// The answer to a closing item.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ClosingAnswer {
    /// Done.
    Done,
    /// Does not apply here.
    NotApplicable,
    /// Left undone.
    NotDone,
}
