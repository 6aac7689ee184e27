//! Entries exchanged with the shared record of a shop, a PostgreSQL database.
//!
//! Both sides only ever add, and an entry is named by its hash, so there is nothing to merge: each side gets what it
//! lacks, in batches, each whole or not at all. A sync that was cut goes on where it stopped; one that is run again
//! does nothing. Personal words travel with their entries and are removed with them.

mod error;
mod shared;

use std::collections::BTreeMap;

use super::store::exchange::{Head, Parcel, Site, Taken};
use super::store::{Link, Store};

pub use error::SyncError;
pub use shared::Shared;

/// What a sync moved.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Synced {
    /// Entries given to the shared record.
    pub given: u64,
    /// Entries taken from it.
    pub taken: u64,
}

/// So many entries travel at once, and at least one job.
const BATCH: usize = 2000;
/// So many jobs travel at once.
const JOBS: usize = 200;

/// How far a job has come on one side.
type Heads = BTreeMap<(Site, u32), (u32, Link)>;

/// Gives the shared record what it lacks and takes what is lacking here. `moved` counts also where it fails midway.
pub fn sync(store: &mut Store, shared: &mut Shared, moved: &mut Synced) -> Result<(), SyncError> {
    let theirs = by_job(shared.heads()?);
    let ours = by_job(store.heads()?);
    give(store, shared, &ours, &theirs, moved)?;
    take(store, shared, &ours, &theirs, moved)
}

fn by_job(heads: Vec<Head>) -> Heads {
    heads.into_iter().map(|head| ((head.site, head.number), (head.entries, head.hash))).collect()
}

fn give(
    store: &Store,
    shared: &mut Shared,
    ours: &Heads,
    theirs: &Heads,
    moved: &mut Synced,
) -> Result<(), SyncError> {
    let mut batch: Vec<Parcel> = Vec::new();
    for (&(site, number), &(entries, hash)) in ours {
        let (there, their_hash) = match theirs.get(&(site, number)) {
            Some(&(there, _)) if there > entries => continue,
            Some(&(there, other)) if there == entries => {
                if other != hash {
                    return Err(SyncError::fork(site, number));
                }
                continue;
            }
            Some(&(there, other)) => (there, Some(other)),
            None => (0, None),
        };
        let job = store.local(site, number)?.expect("the heads came from this store");
        // One entry more than is lacking, to see that it follows what is there.
        let mut parcel = store.parcel(job, there.max(1))?;
        if there > 0 {
            let (_, link) = parcel.entries.remove(0);
            parcel.first = there + 1;
            if their_hash != Some(link) {
                return Err(SyncError::fork(site, number));
            }
        } else if their_hash.is_some_and(|other| other != parcel.hash) {
            return Err(SyncError::fork(site, number));
        }
        batch.push(parcel);
        if batch.len() >= JOBS || batch.iter().map(|parcel| parcel.entries.len()).sum::<usize>() >= BATCH {
            moved.given += shared.put(&batch)?;
            batch.clear();
        }
    }
    moved.given += shared.put(&batch)?;
    Ok(())
}

fn take(
    store: &mut Store,
    shared: &mut Shared,
    ours: &Heads,
    theirs: &Heads,
    moved: &mut Synced,
) -> Result<(), SyncError> {
    let mut wanted: BTreeMap<Site, Vec<(u32, u32)>> = BTreeMap::new();
    for (&(site, number), &(entries, _)) in theirs {
        let here = ours.get(&(site, number)).map(|(here, _)| *here);
        if here.is_none_or(|here| here < entries) {
            wanted.entry(site).or_default().push((number, here.unwrap_or(0) + 1));
        }
    }
    for (site, jobs) in wanted {
        for some in jobs.chunks(JOBS / 4) {
            let parcels = shared.get(site, some)?;
            for taken in store.take_in(&parcels)? {
                match taken {
                    Taken::In(new) => moved.taken += u64::from(new),
                    // Jobs come in order, so what they follow is here, unless the shared record lost it.
                    Taken::Waits => return Err(SyncError::Gap { site: site.to_string() }),
                }
            }
        }
    }
    Ok(())
}
