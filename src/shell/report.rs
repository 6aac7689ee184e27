//! The report of a job in the store, in every form.

use std::sync::Arc;

use miette::IntoDiagnostic;

use crate::model::appliance::Appliance;
use crate::record::header::JobId;
use crate::record::job::Job;
use crate::record::page;
use crate::record::paper::{self, Paper};
use crate::record::report::Report;
use crate::record::report::past::Past;

use super::store::Store;
use super::terms;

/// For whom a report is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reader {
    /// Two pages in plain words.
    Customer,
    /// Everything.
    Technician,
}

/// In which form a report is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// One self-contained page.
    Html,
    /// Pages to print.
    Pdf,
    /// Plain text.
    Text,
}

/// What the report of a job is made from; its machine is looked up on the shelf.
pub fn of(store: &Store, job: JobId, shelf: &[Arc<Appliance>]) -> miette::Result<Report> {
    let header = store.header(job)?;
    let fingerprint = store.fingerprint(job)?.to_string();
    let folded = Job::fold(&store.entries(job)?);
    let known = |folded: &Job| {
        let id = folded.appliance.as_ref()?;
        shelf.iter().find(|a| a.id == *id).map(AsRef::as_ref)
    };
    let appliance = known(&folded);
    Ok(Report {
        past: past(store, job, &folded, appliance)?,
        shop: terms::beside(store.path())?.name,
        ..Report::new(header, &fingerprint, &folded, appliance)
    })
}

/// The job that this one goes back to, or else the last one on the same machine.
fn past(store: &Store, job: JobId, now: &Job, appliance: Option<&Appliance>) -> miette::Result<Option<Past>> {
    let called_back = match &now.callback_of {
        Some(hash) => store.job_of_hash(hash)?,
        None => None,
    };
    let serial = now.plate.get(&crate::record::entry::PlateField::Serial);
    let earlier = match (called_back, serial) {
        (Some(earlier), _) => Some(earlier),
        (None, Some(serial)) => store.last_here(serial, Some(job))?.map(|row| row.header.job),
        (None, None) => None,
    };
    let Some(earlier) = earlier else { return Ok(None) };
    let then = Job::fold(&store.entries(earlier)?);
    Ok(Some(Past::new(store.header(earlier)?, &then, now, appliance)))
}

/// The bytes of a report.
pub fn bytes(report: &Report, reader: Reader, form: Form) -> miette::Result<Vec<u8>> {
    let paper = match reader {
        Reader::Customer => Paper::customer(report),
        Reader::Technician => Paper::technician(report),
    };
    Ok(match (form, reader) {
        (Form::Html, Reader::Technician) => page::html(report).into_bytes(),
        (Form::Html, Reader::Customer) => paper::html::page(&paper).into_bytes(),
        (Form::Pdf, _) => paper::pdf::pdf(&paper).into_diagnostic()?,
        (Form::Text, _) => paper::text::text(&paper).into_bytes(),
    })
}

/// The technician's page of a job.
pub fn html(store: &Store, job: JobId, shelf: &[Arc<Appliance>]) -> miette::Result<String> {
    Ok(page::html(&of(store, job, shelf)?))
}
