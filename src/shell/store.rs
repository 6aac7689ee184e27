//! The job record on disk: one SQLite file a shop, entries only ever added, each in a transaction of its own.
//!
//! When [`Store::append`] has returned, the entry is on the disk (write-ahead log, synchronous FULL). Knows nothing
//! of what an entry means; that is `record`.

mod backup;
mod chain;
mod error;
mod export;
mod lease;
mod migration;
pub mod place;
mod verify;

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, OptionalExtension, Row, Transaction, TransactionBehavior};

use crate::record::entry::Entry;
use crate::record::header::{Header, JobId, Moment};

pub use chain::Link;
pub use error::StoreError;
pub use lease::Lease;
pub use verify::{Break, Verified};

use lease::NoLease;
use migration::{Kind, STEPS};

/// The jobs of a shop, on disk.
#[derive(Debug)]
pub struct Store {
    db: Connection,
    path: PathBuf,
}

/// A job in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobRow {
    /// Its number and when it was opened.
    pub header: Header,
    /// The appliance model, by name.
    pub appliance: Option<String>,
    /// The complaint, by its name in the appliance model.
    pub complaint: Option<String>,
    /// The cause advised last, by name: "all-good" or a fault.
    pub cause: Option<String>,
    /// The remedy advised last, by its name in the appliance model.
    pub remedy: Option<String>,
    /// Was it closed?
    pub finished: bool,
    /// How many entries it has.
    pub entries: u32,
}

impl Store {
    /// How long another program may keep the file to itself before we give up.
    const PATIENCE: Duration = Duration::from_secs(2);

    /// How many jobs are named when one is not there.
    const NEAR: usize = 5;

    /// Opens the store at `path`; makes it, and its folder, if it is not there.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
            make_private_folder(folder)
                .map_err(|source| StoreError::Folder { path: folder.to_owned(), source })?;
        }
        Self::open_with(path, OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE)
    }

    /// Opens the store at `path`, which must be there.
    pub fn open_existing(path: &Path) -> Result<Self, StoreError> {
        if !path.exists() {
            return Err(StoreError::Absent { path: path.to_owned() });
        }
        Self::open_with(path, OpenFlags::SQLITE_OPEN_READ_WRITE)
    }

    fn open_with(path: &Path, flags: OpenFlags) -> Result<Self, StoreError> {
        let failed = |source| StoreError::of(path, source);
        let flags = flags | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut db = Connection::open_with_flags(path, flags).map_err(failed)?;
        db.busy_timeout(Self::PATIENCE).map_err(failed)?;
        match migration::kind(&db).map_err(failed)? {
            Kind::Foreign => return Err(StoreError::Foreign { path: path.to_owned() }),
            Kind::Store(found) if found > STEPS.len() => {
                return Err(StoreError::Newer { path: path.to_owned(), found, known: STEPS.len() });
            }
            Kind::Empty => set_up(&mut db, 0).map_err(failed)?,
            Kind::Store(taken) => set_up(&mut db, taken).map_err(failed)?,
        }
        Ok(Self { db, path: path.to_owned() })
    }

    /// Opens a new job; the lease to write on it comes with it.
    pub fn create_job(&mut self, opened: Moment) -> Result<Lease, StoreError> {
        let job = self.transact(|tx| {
            let last = tx
                .query_row("SELECT number, hash FROM job ORDER BY number DESC LIMIT 1", [], |row| {
                    Ok((row.get::<_, u32>(0)?, link(row, 1)?))
                })
                .optional()?;
            let (number, previous) = last.map_or((1, Link::START), |(number, hash)| (number + 1, hash));
            let header = Header { job: JobId::new(number).expect("numbers start at 1 and grow"), opened };
            tx.execute(
                "INSERT INTO job (number, opened_at, offset_minutes, previous, hash) VALUES (?1, ?2, ?3, ?4, ?5)",
                (
                    number,
                    opened.unix_ms,
                    opened.offset_minutes,
                    previous.bytes(),
                    Link::of_job(previous, &header).bytes(),
                ),
            )?;
            Ok(header.job)
        })?;
        self.lease(job)
    }

    /// Takes the right to write on a job; refused while another process, or another part of this one, has it.
    pub fn lease(&self, job: JobId) -> Result<Lease, StoreError> {
        self.header(job)?;
        Lease::take(&self.path, job).map_err(|no| match no {
            NoLease::Held { by } => StoreError::Leased { job, by },
            NoLease::File(path, source) => StoreError::LeaseFile { job, path, source },
        })
    }

    /// Adds an entry to a job and returns its number within it: 1, 2, 3 and so on.
    ///
    /// Once this has returned, the entry survives the loss of the process and of power. On an error it is not kept,
    /// and everything before it is.
    pub fn append(&mut self, lease: &Lease, entry: &Entry) -> Result<u32, StoreError> {
        let job = lease.job();
        let body = serde_json::to_string(entry).expect("an entry is plain data with names for keys");
        self.transact(|tx| {
            let (number, previous) = tx
                .prepare_cached("SELECT number, hash FROM entry WHERE job = ?1 ORDER BY number DESC LIMIT 1")?
                .query_row([job.get()], |row| Ok((row.get::<_, u32>(0)?, link(row, 1)?)))
                .optional()?
                .map_or_else(|| Ok((0, job_link(tx, job)?)), Ok::<_, rusqlite::Error>)?;
            let number = number + 1;
            let hash = Link::of_entry(previous, job, i64::from(number), &body);
            tx.prepare_cached(
                "INSERT INTO entry (job, number, body, previous, hash) VALUES (?1, ?2, ?3, ?4, ?5)",
            )?
            .execute((job.get(), number, &body, previous.bytes(), hash.bytes()))?;
            Ok(number)
        })
    }

    /// The number of a job and when it was opened.
    pub fn header(&self, job: JobId) -> Result<Header, StoreError> {
        self.db
            .query_row(
                "SELECT number, opened_at, offset_minutes FROM job WHERE number = ?1",
                [job.get()],
                header,
            )
            .optional()
            .map_err(|source| self.failed(source))?
            .ok_or_else(|| self.no_such_job(job))
    }

    /// The entries of a job, in order.
    pub fn entries(&self, job: JobId) -> Result<Vec<Entry>, StoreError> {
        self.header(job)?;
        let bodies = self.query(
            "SELECT number, body FROM entry WHERE job = ?1 ORDER BY number",
            [job.get()],
            |row| Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?)),
        )?;
        let read = |(number, body): (i64, String)| {
            serde_json::from_str(&body).map_err(|why| StoreError::Entry { job, number, why: why.to_string() })
        };
        bodies.into_iter().map(read).collect()
    }

    /// The hash of a job's last entry (of the job itself, if it has none): who knows it can tell that the record up to
    /// there is unchanged.
    pub fn fingerprint(&self, job: JobId) -> Result<Link, StoreError> {
        self.header(job)?;
        self.db
            .query_row(
                "SELECT hash FROM entry WHERE job = ?1 ORDER BY number DESC LIMIT 1",
                [job.get()],
                |row| link(row, 0),
            )
            .optional()
            .and_then(|found| found.map_or_else(|| job_link(&self.db, job), Ok))
            .map_err(|source| self.failed(source))
    }

    /// All jobs, the newest first.
    pub fn jobs(&self) -> Result<Vec<JobRow>, StoreError> {
        self.query(
            "SELECT job.number, opened_at, offset_minutes, appliance, complaint, cause, remedy, finished, entries
             FROM job JOIN summary ON summary.job = job.number ORDER BY job.number DESC",
            [],
            job_row,
        )
    }

    /// The newest job that is not closed.
    pub fn newest_open(&self) -> Result<Option<JobRow>, StoreError> {
        Ok(self.jobs()?.into_iter().find(|row| !row.finished))
    }

    fn no_such_job(&self, job: JobId) -> StoreError {
        let sql = "SELECT number FROM job ORDER BY abs(number - ?1), number LIMIT ?2";
        let mut near: Vec<u32> =
            self.query(sql, (job.get(), Self::NEAR as i64), |row| row.get(0)).unwrap_or_default();
        near.sort_unstable();
        let near = match near.as_slice() {
            [] => "There are no jobs yet.".to_owned(),
            [one] => format!("There is only job {one}."),
            many => {
                let names: Vec<String> = many.iter().map(u32::to_string).collect();
                format!("Near it there are jobs {}. `leadhand jobs` lists all.", names.join(", "))
            }
        };
        StoreError::NoSuchJob { job, near }
    }

    fn query<T>(
        &self,
        sql: &str,
        params: impl rusqlite::Params,
        read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Vec<T>, StoreError> {
        let rows = || self.db.prepare_cached(sql)?.query_map(params, read)?.collect::<rusqlite::Result<_>>();
        rows().map_err(|source| self.failed(source))
    }

    fn transact<T>(
        &mut self,
        work: impl FnOnce(&Transaction<'_>) -> rusqlite::Result<T>,
    ) -> Result<T, StoreError> {
        let path = &self.path;
        let failed = |source| StoreError::of(path, source);
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let done = work(&tx).map_err(failed)?;
        tx.commit().map_err(failed)?;
        Ok(done)
    }

    fn failed(&self, source: rusqlite::Error) -> StoreError {
        StoreError::of(&self.path, source)
    }
}

/// The settings of a connection, then the newest layout.
fn set_up(db: &mut Connection, taken: usize) -> rusqlite::Result<()> {
    db.pragma_update(None, "journal_mode", "WAL")?;
    db.pragma_update(None, "synchronous", "FULL")?;
    db.pragma_update(None, "fullfsync", true)?; // where fsync alone does not reach the disk
    db.pragma_update(None, "foreign_keys", true)?;
    db.pragma_update(None, "trusted_schema", false)?;
    db.pragma_update(None, "cell_size_check", true)?;
    migration::migrate(db, taken, STEPS.len())
}

/// Makes a folder that only its owner can look into: customers are named in it.
fn make_private_folder(folder: &Path) -> std::io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

fn link(row: &Row<'_>, column: usize) -> rusqlite::Result<Link> {
    row.get::<_, [u8; 32]>(column).map(Link::from)
}

fn job_link(db: &Connection, job: JobId) -> rusqlite::Result<Link> {
    db.query_row("SELECT hash FROM job WHERE number = ?1", [job.get()], |row| link(row, 0))
}

fn header(row: &Row<'_>) -> rusqlite::Result<Header> {
    let number: u32 = row.get(0)?;
    let job = JobId::new(number).ok_or(rusqlite::Error::IntegralValueOutOfRange(0, 0))?;
    Ok(Header { job, opened: Moment { unix_ms: row.get(1)?, offset_minutes: row.get(2)? } })
}

fn job_row(row: &Row<'_>) -> rusqlite::Result<JobRow> {
    Ok(JobRow {
        header: header(row)?,
        appliance: row.get(3)?,
        complaint: row.get(4)?,
        cause: row.get(5)?,
        remedy: row.get(6)?,
        finished: row.get(7)?,
        entries: row.get(8)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::entry::What;
    use crate::time::Timestamp;

    const OPENED: Moment = Moment { unix_ms: 1_795_615_500_000, offset_minutes: 60 };

    fn note(text: &str) -> Entry {
        Entry { at: Timestamp::ZERO, what: What::Noted { text: text.to_owned() } }
    }

    /// Breaks a store that holds one entry, then checks what the next entry gives and that the first one is kept.
    fn check(expected: &str, break_it: impl FnOnce(&mut Store), mend_it: impl FnOnce(&mut Store)) {
        let folder = tempfile::tempdir().unwrap();
        let mut store = Store::open(&folder.path().join("jobs.sqlite")).unwrap();
        let lease = store.create_job(OPENED).unwrap();
        store.append(&lease, &note("first")).unwrap();
        break_it(&mut store);
        let error = store.append(&lease, &note(&"long ".repeat(4000))).unwrap_err();
        assert!(error.to_string().starts_with(expected), "{error}");
        assert!(error.spoken().contains("not kept"));
        mend_it(&mut store);
        assert_eq!(store.entries(lease.job()).unwrap(), [note("first")]);
        assert_eq!(store.append(&lease, &note("second")).unwrap(), 2);
        assert_eq!(store.verify().unwrap().breaks, []);
    }

    #[test]
    fn what_was_kept_stays_when_the_next_entry_cannot_be() {
        let set = |name: &'static str, value: i64| {
            move |store: &mut Store| {
                store.db.pragma_update_and_check(None, name, value, |_| Ok(())).or_else(no_answer).unwrap();
            }
        };
        // SQLite answers with the same codes for a full disk and for its own limit of pages, for a file system
        // mounted read-only and for a connection told only to query (SQLite manual, "Result and Error Codes").
        check("no room is left", set("max_page_count", 1), set("max_page_count", 1_000_000));
        check("the job record may only be read", set("query_only", 1), set("query_only", 0));
    }

    fn no_answer(error: rusqlite::Error) -> rusqlite::Result<()> {
        match error {
            rusqlite::Error::QueryReturnedNoRows => Ok(()),
            other => Err(other),
        }
    }

    #[test]
    fn each_older_layout_becomes_the_newest() {
        for taken in 0..STEPS.len() {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("jobs.sqlite");
            let mut old = Connection::open(&path).unwrap();
            migration::migrate(&mut old, 0, taken).unwrap();
            let mut store = Store { db: old, path: path.clone() };
            let kept = if taken == 0 { vec![] } else { some_job(&mut store) };
            drop(store);

            let store = Store::open(&path).unwrap();
            assert_eq!(migration::kind(&store.db).unwrap(), Kind::Store(STEPS.len()));
            let listed = store.jobs().unwrap();
            assert_eq!(listed.len(), usize::from(taken > 0), "from layout {taken}");
            if let [row] = listed.as_slice() {
                assert_eq!(store.entries(row.header.job).unwrap(), kept);
                assert_eq!(row.appliance.as_deref(), Some("dryer"));
                assert_eq!((row.entries, row.finished), (3, true));
            }
            assert_eq!(store.verify().unwrap().breaks, []);
        }
    }

    fn some_job(store: &mut Store) -> Vec<Entry> {
        let lease = store.create_job(OPENED).unwrap();
        let whats = [What::Machine { appliance: "dryer".into() }, What::Resumed, What::Finished];
        let entries = whats.map(|what| Entry { at: Timestamp::ZERO, what });
        for entry in &entries {
            store.append(&lease, entry).unwrap();
        }
        entries.to_vec()
    }
}
