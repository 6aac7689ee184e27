//! A job opened for work: a new one, or one left earlier, with the record that keeps it.

use std::sync::Arc;

use miette::miette;

use crate::dialogue::{Desk, Known, LastTime, Session};
use crate::model::appliance::Appliance;
use crate::record::entry::Entry;
use crate::record::header::JobId;
use crate::record::job::Job;
use crate::record::report;
use crate::time::Timestamp;

use super::conversation::Keep;
use super::learned::Lessons;
use super::region;
use super::shelf;
use super::store::{Lease, Store};
use super::terms;
use super::wall_clock;

/// A job in the store, with the right to write on it.
#[derive(Debug)]
pub struct Kept {
    store: Store,
    lease: Lease,
}

impl Kept {
    /// Its number.
    pub const fn job(&self) -> JobId {
        self.lease.job()
    }

    /// The store that keeps it.
    pub const fn store(&self) -> &Store {
        &self.store
    }
}

impl Keep for Kept {
    fn keep(&mut self, entry: &Entry) -> miette::Result<()> {
        self.store.append(&self.lease, entry)?;
        Ok(())
    }
}

/// What is needed to work a job.
#[derive(Debug)]
pub struct Opened {
    /// The conversation as it stands.
    pub session: Session,
    /// Where it is kept.
    pub kept: Kept,
    /// The time reached in the job.
    pub at: Timestamp,
}

/// Opens a new job, for a machine if one is named, or goes on with one left earlier. With a serial number, what is on
/// record of that very machine is said at the start. Faults weigh what the shop has learned.
pub fn open(
    shelf: &Arc<[Arc<Appliance>]>,
    appliance: Option<&str>,
    serial: Option<&str>,
    job: Option<JobId>,
    mut store: Store,
) -> miette::Result<Opened> {
    let learned = Lessons::beside(store.path())?.now();
    let taught: Arc<[Arc<Appliance>]> = shelf.iter().map(|appliance| learned.apply(appliance)).collect();
    if let Some(job) = job {
        // The right to write comes first: what another window still adds before it lets go is read too.
        let lease = store.lease(job)?;
        let entries = store.entries(job)?;
        let folded = Job::fold(&entries);
        if folded.finished.is_some() {
            return Err(miette!(
                help = format!("`leadhand report {job}` writes its report"),
                "job {job} is closed"
            ));
        }
        let session = Session::resume(taught, &folded).ok_or_else(|| {
            miette!(
                help = "its appliance model has changed or is not at hand",
                "job {job} cannot be gone on with"
            )
        })?;
        let technician = terms::beside(store.path())?.technician;
        // A consent counts only with the name of who took it.
        let session = if technician.is_empty() {
            session
        } else {
            let desk = Desk { technician, moment: wall_clock::now(), at: folded.last };
            session.asking_consent(&folded, desk)
        };
        return Ok(Opened { session, kept: Kept { store, lease }, at: folded.last });
    }
    let region = region::beside(store.path())?;
    let here: Arc<[Arc<Appliance>]> = match &region {
        Some(region) => taught.iter().filter(|appliance| region.supplies(appliance)).cloned().collect(),
        None => Arc::clone(&taught),
    };
    // A profile that no machine at hand goes with takes none away.
    let here = if here.is_empty() { taught } else { here };
    let machine = appliance.map(|wanted| shelf::find(shelf, wanted)).transpose()?;
    let machine = machine.map(|appliance| learned.apply(&appliance));
    let known = serial.map(|serial| known(&store, serial, shelf)).transpose()?;
    let lease = store.create_job(wall_clock::now())?;
    let session = Session::new(here, machine).in_region(region);
    let session = match known {
        Some(known) => session.knowing(known),
        None => session,
    };
    Ok(Opened { session, kept: Kept { store, lease }, at: Timestamp::ZERO })
}

fn known(store: &Store, serial: &str, shelf: &[Arc<Appliance>]) -> miette::Result<Known> {
    let Some(row) = store.last_here(serial, None)? else {
        return Ok(Known { serial: serial.to_owned(), last: None });
    };
    let then = Job::fold(&store.entries(row.header.job)?);
    let appliance = then.appliance.as_ref().and_then(|id| shelf.iter().find(|a| a.id == *id));
    // What a model that is not at hand advised has only a name, and names are not spoken.
    let last = appliance.map(|a| LastTime { advised: report::advised(&then, Some(a)), fixed: then.fixed });
    Ok(Known { serial: serial.to_owned(), last })
}
