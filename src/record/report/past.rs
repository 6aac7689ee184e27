//! What was on record of the machine before: the last visit, what was found then, and what is found now.

use crate::model::appliance::Appliance;
use crate::record::header::Header;
use crate::record::job::Job;
use crate::record::report::row;

/// The last visit to the same machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Past {
    /// Its job.
    pub header: Header,
    /// What was advised then: "Replace the heating element."
    pub advised: String,
    /// Was it done?
    pub fixed: Option<bool>,
    /// Checks made then and now: title, what was found then, what is found now.
    pub compared: Vec<(String, String, String)>,
}

impl Past {
    /// What `then` tells beside `now`.
    pub fn new(header: Header, then: &Job, now: &Job, appliance: Option<&Appliance>) -> Self {
        let before = row::rows(then, appliance);
        let compared = row::rows(now, appliance).into_iter().filter_map(|row| {
            let then = before.iter().find(|before| before.title == row.title)?;
            Some((row.title, then.found.clone(), row.found))
        });
        Self {
            header,
            advised: super::advised(then, appliance),
            fixed: then.fixed,
            compared: compared.collect(),
        }
    }
}
