//! What happened, one line of the record each. Never edited: a correction is a new entry.

use serde::{Deserialize, Serialize};

use crate::diagnose::history::Told;
use crate::id::{ApplianceId, CheckId, ComplaintId, PartId, PointId, RemedyId};
use crate::quantity::Quantity;
use crate::reading::{Finding, Reading};
use crate::record::consent::Consent;
use crate::record::estimate::Estimate;
use crate::record::safety_test::SafetyTest;
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
    /// It was said to be wet, or dry again, where the technician stands or works.
    Water {
        /// Is it wet?
        wet: bool,
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
        /// What may have been meant instead, with its probability in thousandths; nothing where the finding is sure.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        others: Vec<(Finding, u16)>,
    },
    /// A finding was taken back.
    Retracted {
        /// The check.
        check: CheckId,
    },
    /// What the rating plate says of a part took the place of the model's value.
    Rated {
        /// The part.
        part: PartId,
        /// What it says, in watts or ohms.
        value: Quantity,
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
    /// Something about the customer. A later one for the same field replaces it.
    Customer {
        /// What about them.
        field: CustomerField,
        /// As said or typed.
        value: String,
    },
    /// Something from the machine's rating plate or papers. A later one for the same field replaces it.
    Plate {
        /// What.
        field: PlateField,
        /// As said or typed.
        value: String,
    },
    /// What the customer told of the complaint.
    Told {
        /// The answer, and to what.
        told: Told,
    },
    /// A question to the customer, and the answer in their words.
    Asked {
        /// The question.
        question: String,
        /// The answer.
        answer: String,
    },
    /// A photograph.
    Photographed {
        /// Where the file is.
        file: String,
        /// SHA-256 of the file, hexadecimal.
        sha256: String,
        /// What it shows.
        shows: String,
    },
    /// A part was fitted, or turned out to be the wrong one.
    Part(PartUsed),
    /// What the work will cost. A later one replaces it.
    Estimated(Estimate),
    /// What the customer agreed to, or did not.
    Consented(Consent),
    /// Something was set.
    Adjusted {
        /// What was set.
        setting: String,
        /// As it was.
        before: String,
        /// As it is.
        after: String,
    },
    /// A step of the safety test after the repair. A later one for the same step replaces it.
    SafetyTested(SafetyTest),
    /// The machine was run to see whether the complaint is gone.
    Ran {
        /// What was run, and for how long.
        how: String,
        /// Is the complaint gone?
        well: bool,
    },
    /// This job is a callback of an earlier one.
    CalledBack {
        /// The hash of the earlier job, hexadecimal.
        of: String,
    },
    /// Personal data was removed from the job.
    Forgotten,
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

/// What is kept about a customer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CustomerField {
    /// The name.
    Name,
    /// The place of the work.
    Place,
    /// A telephone number.
    Telephone,
    /// An address for messages.
    Mail,
    /// The complaint in the customer's own words.
    Complaint,
    /// How to get in, where to park, who else is there.
    Access,
    /// Who pays: the customer, a maker, an insurer, a landlord.
    Payer,
    /// What they would rather have: to keep the machine, or a new one.
    Wish,
}

impl CustomerField {
    /// All of them, in the order of the page, with their names there.
    pub const ALL: [(Self, &'static str); 8] = [
        (Self::Name, "Customer"),
        (Self::Place, "Place"),
        (Self::Telephone, "Telephone"),
        (Self::Mail, "Mail"),
        (Self::Complaint, "In the customer’s words"),
        (Self::Access, "Access"),
        (Self::Payer, "Paid by"),
        (Self::Wish, "Would rather"),
    ];
}

/// What is kept from a machine's plate and papers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PlateField {
    /// The maker.
    Maker,
    /// The maker's name of the model.
    Model,
    /// The serial number: it tells one machine from all others.
    Serial,
    /// The maker's number of the variant.
    Variant,
    /// Rated voltage, power or current, as printed.
    Rating,
    /// The date of purchase.
    Bought,
    /// Under what warranty it is, if any.
    Warranty,
}

impl PlateField {
    /// All of them, in the order of the page, with their names there.
    pub const ALL: [(Self, &'static str); 7] = [
        (Self::Maker, "Maker"),
        (Self::Model, "Model"),
        (Self::Serial, "Serial number"),
        (Self::Variant, "Variant"),
        (Self::Rating, "Rating"),
        (Self::Bought, "Bought"),
        (Self::Warranty, "Warranty"),
    ];
}

/// A part that was fitted, or tried.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PartUsed {
    /// What it is.
    pub part: String,
    /// The number on the old one.
    #[serde(default)]
    pub old: Option<String>,
    /// The number of the new one.
    #[serde(default)]
    pub new: Option<String>,
    /// How many.
    pub count: u16,
    /// New, used or rebuilt: some places ask that it be told.
    pub condition: Condition,
    /// Was it the right part?
    pub fitted: bool,
}

/// The condition of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Condition {
    /// New.
    New,
    /// Used.
    Used,
    /// Rebuilt.
    Rebuilt,
}
