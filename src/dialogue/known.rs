//! What the shell knows when a session begins: what is on record of the machine, who works, what waits for the customer.

use rust_decimal::Decimal;

use crate::money::Currency;
use crate::record::entry::CustomerField;
use crate::record::header::Moment;
use crate::record::job::Job;
use crate::time::Timestamp;

/// What is on record of a machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Known {
    /// The serial number on its plate, which tells it from all others.
    pub serial: String,
    /// The last visit to it, if there was one.
    pub last: Option<LastTime>,
}

/// The last visit to a machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LastTime {
    /// What was advised then, as a sentence of the model.
    pub advised: String,
    /// Was it done, once that was answered?
    pub fixed: Option<bool>,
}

/// Who works, and what the clock on the wall said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Desk {
    /// The technician's name.
    pub technician: String,
    /// What the clock on the wall said at `at`.
    pub moment: Moment,
    /// The time of the job then.
    pub at: Timestamp,
}

impl Desk {
    /// What the clock on the wall says at a time of the job.
    pub(super) fn moment(&self, now: Timestamp) -> Moment {
        let since = i64::try_from(now.since(self.at).as_millis()).unwrap_or(i64::MAX);
        Moment { unix_ms: self.moment.unix_ms.saturating_add(since), ..self.moment }
    }
}

/// An estimate that the customer has not agreed to.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Pending {
    pub(super) desk: Desk,
    pub(super) who: String,
    pub(super) work: String,
    pub(super) extra: Decimal,
    pub(super) total: Decimal,
    pub(super) currency: Currency,
}

impl Pending {
    /// What a job's record has waiting; `None` where there is nothing, or where it was refused already.
    pub(super) fn of(job: &Job, desk: Desk) -> Option<Self> {
        let (excess, estimate) = (job.excess()?, job.estimates.last()?);
        let refused = job.consents.last().is_some_and(|last| !last.given && last.total == excess.total);
        let lines: Vec<&str> = estimate.lines.iter().map(|line| line.what.as_str()).collect();
        let who = job.customer.get(&CustomerField::Name);
        (!refused).then(|| Self {
            desk,
            who: who.cloned().unwrap_or_else(|| "the customer, name not taken".to_owned()),
            work: lines.join(", "),
            extra: excess.extra(),
            total: excess.total,
            currency: excess.currency,
        })
    }
}
