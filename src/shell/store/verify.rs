//! Walks the whole chain and tells every place where it was broken.

use std::collections::BTreeMap;
use std::fmt;

use rusqlite::Connection;

use super::chain::Link;
use super::sealed::{self, Personal, Sealed};
use super::{OWN, Store, StoreError, header, link, personal};
use crate::record::header::{Header, JobId};

/// What a walk along the chain showed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verified {
    /// How many jobs were walked.
    pub jobs: u32,
    /// How many entries were walked.
    pub entries: u64,
    /// Every place that is not as it was written, in order; empty for a whole record.
    pub breaks: Vec<Break>,
}

/// A place where the record is not as it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Break {
    /// The job, or `None` for the file as a whole.
    pub job: Option<i64>,
    /// The entry within it, or `None` for the job itself.
    pub entry: Option<i64>,
    /// What is wrong there.
    pub what: String,
}

/// "job 2, entry 7: …".
impl fmt::Display for Break {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.job, self.entry) {
            (Some(job), Some(entry)) => write!(f, "job {job}, entry {entry}: {}", self.what),
            (Some(job), None) => write!(f, "job {job}: {}", self.what),
            (None, _) => write!(f, "file: {}", self.what),
        }
    }
}

impl Store {
    /// The most complaints of the database itself that are passed on.
    const MOST_FILE_FAULTS: usize = 20;

    /// Walks the whole chain, from the first job to the last entry, on one unchanging view of the file.
    pub fn verify(&self) -> Result<Verified, StoreError> {
        let walk = || {
            let tx = self.db.unchecked_transaction()?;
            let mut verified = Verified { jobs: 0, entries: 0, breaks: file_faults(&tx)? };
            walk_jobs(&tx, &mut verified)?;
            Ok(verified)
        };
        walk().map_err(|source| StoreError::of(&self.path, source))
    }
}

fn file_faults(db: &Connection) -> rusqlite::Result<Vec<Break>> {
    let mut statement = db.prepare(&format!("PRAGMA integrity_check({})", Store::MOST_FILE_FAULTS))?;
    let said = statement.query_map([], |row| row.get::<_, String>(0))?;
    let mut breaks = Vec::new();
    for what in said {
        let what = what?;
        if what != "ok" {
            breaks.push(Break { job: None, entry: None, what });
        }
    }
    Ok(breaks)
}

/// Jobs are chained site by site; in the file they are numbered as they came.
fn walk_jobs(db: &Connection, verified: &mut Verified) -> rusqlite::Result<()> {
    let mut statement = db.prepare(
        "SELECT number, opened_at, offset_minutes, previous, hash, site, site_number FROM job ORDER BY site, site_number",
    )?;
    let mut rows = statement.query([])?;
    let (mut at, mut expected, mut before) = (0, 1, Link::START);
    while let Some(row) = rows.next()? {
        let (Header { job, opened }, previous, hash) = (header(row)?, link(row, 3)?, link(row, 4)?);
        let (site, number): (i64, u32) = (row.get(5)?, row.get(6)?);
        if site != at {
            (at, expected, before) = (site, 1, Link::START);
        }
        let mut broken =
            |what: String| verified.breaks.push(Break { job: Some(job.get().into()), entry: None, what });
        if number != expected {
            broken(format!("job {expected} should come here; jobs were removed"));
        } else if previous != before {
            broken("does not follow the job before it".to_owned());
        }
        if Link::of_job(previous, number, opened) != hash {
            broken("when it was opened was changed".to_owned());
        }
        verified.jobs += 1;
        let missing = walk_entries(db, (job, number), hash, verified)?;
        // Another site may have kept them to itself.
        if missing > 0 && site == OWN {
            let what = format!("personal words are missing that nobody removed: {missing}");
            verified.breaks.push(Break { job: Some(job.get().into()), entry: None, what });
        }
        (expected, before) = (number + 1, hash);
    }
    orphans(db, verified)
}

/// Walks the entries of a job; how many personal words are missing, unless they were removed.
fn walk_entries(
    db: &Connection,
    (job, at_site): (JobId, u32),
    of_job: Link,
    verified: &mut Verified,
) -> rusqlite::Result<usize> {
    let mut apart = apart(db, job)?;
    let mut statement =
        db.prepare_cached("SELECT number, body, previous, hash FROM entry WHERE job = ?1 ORDER BY number")?;
    let mut rows = statement.query([job.get()])?;
    let (mut expected, mut before, mut missing, mut forgotten) = (1, of_job, 0, false);
    while let Some(row) = rows.next()? {
        let (number, body): (i64, String) = (row.get(0)?, row.get(1)?);
        let (previous, hash) = (link(row, 2)?, link(row, 3)?);
        let mut broken = |what: String| {
            verified.breaks.push(Break { job: Some(job.get().into()), entry: Some(number), what });
        };
        if number != expected {
            broken(format!("entry {expected} should come here; entries were removed"));
        } else if previous != before {
            broken("does not follow the entry before it".to_owned());
        }
        if Link::of_entry(previous, at_site, number, &body) != hash {
            broken("was changed after it was written".to_owned());
        }
        let sealed = Sealed { body, personal: apart.remove(&number).unwrap_or_default() };
        if let Some(why) = sealed.broken() {
            broken(why);
        }
        match sealed.open() {
            Ok(entry) => forgotten |= sealed::forgets(&entry),
            Err(why) => broken(format!("cannot be read: {why}")),
        }
        missing += sealed.missing();
        verified.entries += 1;
        (expected, before) = (number + 1, hash);
    }
    Ok(if forgotten { 0 } else { missing })
}

/// The personal words of a job, by entry.
pub(super) fn apart(db: &Connection, job: JobId) -> rusqlite::Result<BTreeMap<i64, Vec<Personal>>> {
    let mut all: BTreeMap<i64, Vec<Personal>> = BTreeMap::new();
    let mut statement = db.prepare_cached(
        "SELECT entry, slot, field, salt, words FROM personal WHERE job = ?1 ORDER BY entry, slot",
    )?;
    let mut rows = statement.query([job.get()])?;
    while let Some(row) = rows.next()? {
        all.entry(row.get(0)?).or_default().push(personal(row, 1)?);
    }
    Ok(all)
}

/// Entries of a job that is not there.
fn orphans(db: &Connection, verified: &mut Verified) -> rusqlite::Result<()> {
    let sql = "SELECT job, count(*) FROM entry WHERE job NOT IN (SELECT number FROM job) GROUP BY job";
    let mut statement = db.prepare(sql)?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (job, count): (i64, i64) = (row.get(0)?, row.get(1)?);
        let what = format!("was removed, and left entries behind: {count}");
        verified.breaks.push(Break { job: Some(job), entry: None, what });
    }
    Ok(())
}
