//! The report of a job in the store, as a page.

use std::sync::Arc;

use crate::model::appliance::Appliance;
use crate::record::header::JobId;
use crate::record::job::Job;
use crate::record::page;
use crate::record::report::Report;

use super::store::Store;

/// The page of a job; its machine is looked up on the shelf.
pub fn html(store: &Store, job: JobId, shelf: &[Arc<Appliance>]) -> miette::Result<String> {
    let header = store.header(job)?;
    let fingerprint = store.fingerprint(job)?.to_string();
    let folded = Job::fold(&store.entries(job)?);
    let appliance = folded.appliance.as_ref().and_then(|id| shelf.iter().find(|a| a.id == *id));
    Ok(page::html(&Report::new(header, &fingerprint, &folded, appliance.map(AsRef::as_ref))))
}
