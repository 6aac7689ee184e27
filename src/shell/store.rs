//! The job record on disk: one SQLite file a shop, entries only ever added, each in a transaction of its own.
//!
//! When [`Store::append`] has returned, the entry is on the disk (write-ahead log, synchronous FULL). Knows nothing
//! of what an entry means; that is `record`.

mod backup;
mod chain;
mod error;
pub mod exchange;
mod export;
mod forget;
mod history;
mod import;
mod lease;
mod list;
mod migration;
pub mod place;
pub mod sealed;
mod verify;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Duration;
use std::{fs, io};

use rusqlite::{Connection, OpenFlags, OptionalExtension, Row, Transaction, TransactionBehavior};

use crate::record::entry::Entry;
use crate::record::header::{Header, JobId, Moment};

pub use chain::Link;
pub use error::StoreError;
pub use import::Imported;
pub use lease::Lease;
pub use list::{JobRow, Wanted};
pub use verify::{Break, Verified};

use lease::NoLease;
use migration::{Kind, STEPS};
use sealed::{Personal, Sealed};

/// The site that this file is itself.
const OWN: i64 = 0;

/// The jobs of a shop, on disk.
#[derive(Debug)]
pub struct Store {
    db: Connection,
    path: PathBuf,
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
            let (number, previous) = last_of_site(tx, OWN)?;
            add_job(tx, OWN, number + 1, opened, previous)
        })?;
        self.lease(job)
    }

    /// Takes the right to write on a job; refused while another process, or another part of this one, has it, and for
    /// a job of another site.
    pub fn lease(&self, job: JobId) -> Result<Lease, StoreError> {
        if self.place(job)?.0 != OWN {
            return Err(StoreError::NotOurs { job });
        }
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
        self.transact(|tx| {
            let sealed = Sealed::new(entry, || salt(tx))?;
            let (number, previous) = last_entry(tx, job)?;
            add_entry(tx, job, number + 1, previous, &sealed)?;
            Ok(number + 1)
        })
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The folder beside the file in which photographs are kept: `jobs.sqlite-files`.
    pub fn files(&self) -> PathBuf {
        let mut name = self.path.as_os_str().to_owned();
        name.push("-files");
        name.into()
    }

    /// The sound that is kept beside the record, of a job or of all.
    ///
    /// # Errors
    /// A folder that cannot be read.
    pub fn sounds(&self, of: Option<JobId>) -> io::Result<Vec<PathBuf>> {
        let begins = of.map_or_else(|| "sound-".to_owned(), |job| format!("sound-{job}-"));
        let listed = match fs::read_dir(self.files()) {
            Err(why) if why.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
            listed => listed?,
        };
        let named =
            |path: &PathBuf| path.file_name().is_some_and(|name| name.to_string_lossy().starts_with(&begins));
        let paths = listed.map(|entry| entry.map(|entry| entry.path()));
        paths.filter(|path| path.as_ref().map_or(true, named)).collect()
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
        let personal = self.personal(job)?;
        let bodies = self.query(
            "SELECT number, body FROM entry WHERE job = ?1 ORDER BY number",
            [job.get()],
            |row| Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?)),
        )?;
        let read = |(number, body): (i64, String)| {
            let personal = personal.get(&number).cloned().unwrap_or_default();
            let opened = Sealed { body, personal }.open();
            opened.map_err(|why| StoreError::Entry { job, number, why: why.to_string() })
        };
        bodies.into_iter().map(read).collect()
    }

    /// The personal words of a job, by entry.
    fn personal(&self, job: JobId) -> Result<BTreeMap<i64, Vec<Personal>>, StoreError> {
        verify::apart(&self.db, job).map_err(|source| self.failed(source))
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

    /// The site of a job and its number there.
    fn place(&self, job: JobId) -> Result<(i64, u32), StoreError> {
        let found =
            self.query("SELECT site, site_number FROM job WHERE number = ?1", [job.get()], |row| {
                Ok((row.get(0)?, row.get(1)?))
            })?;
        found.first().copied().ok_or_else(|| self.no_such_job(job))
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
    db.pragma_update(None, "secure_delete", true)?; // what is forgotten leaves no bytes behind
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

fn personal(row: &Row<'_>, first: usize) -> rusqlite::Result<Personal> {
    Ok(Personal {
        slot: row.get(first)?,
        field: row.get(first + 1)?,
        salt: row.get(first + 2)?,
        words: row.get(first + 3)?,
    })
}

fn salt(db: &Connection) -> rusqlite::Result<[u8; 16]> {
    db.prepare_cached("SELECT randomblob(16)")?.query_row([], |row| row.get(0))
}

/// The number and link of a site's last job; 0 and the start where it has none.
fn last_of_site(db: &Connection, site: i64) -> rusqlite::Result<(u32, Link)> {
    let sql = "SELECT site_number, hash FROM job WHERE site = ?1 ORDER BY site_number DESC LIMIT 1";
    let found =
        db.prepare_cached(sql)?.query_row([site], |row| Ok((row.get(0)?, link(row, 1)?))).optional()?;
    Ok(found.unwrap_or((0, Link::START)))
}

/// Adds a job under the next number of the file.
fn add_job(
    db: &Connection,
    site: i64,
    number: u32,
    opened: Moment,
    previous: Link,
) -> rusqlite::Result<JobId> {
    let local: u32 =
        db.prepare_cached("SELECT coalesce(max(number), 0) + 1 FROM job")?.query_row([], |row| row.get(0))?;
    let hash = Link::of_job(previous, number, opened);
    db.prepare_cached(
        "INSERT INTO job (number, opened_at, offset_minutes, previous, hash, site, site_number)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    )?
    .execute((
        local,
        opened.unix_ms,
        opened.offset_minutes,
        previous.bytes(),
        hash.bytes(),
        site,
        number,
    ))?;
    Ok(JobId::new(local).expect("numbers start at 1 and grow"))
}

/// The number and link of a job's last entry; 0 and the job's own link where it has none.
fn last_entry(db: &Connection, job: JobId) -> rusqlite::Result<(u32, Link)> {
    db.prepare_cached("SELECT number, hash FROM entry WHERE job = ?1 ORDER BY number DESC LIMIT 1")?
        .query_row([job.get()], |row| Ok((row.get::<_, u32>(0)?, link(row, 1)?)))
        .optional()?
        .map_or_else(|| Ok((0, job_link(db, job)?)), Ok)
}

/// Adds an entry under this number, its personal words beside it, and gives its link.
fn add_entry(
    db: &Connection,
    job: JobId,
    number: u32,
    previous: Link,
    sealed: &Sealed,
) -> rusqlite::Result<Link> {
    let at_site: u32 = db
        .prepare_cached("SELECT site_number FROM job WHERE number = ?1")?
        .query_row([job.get()], |row| row.get(0))?;
    let hash = Link::of_entry(previous, at_site, i64::from(number), &sealed.body);
    db.prepare_cached("INSERT INTO entry (job, number, body, previous, hash) VALUES (?1, ?2, ?3, ?4, ?5)")?
        .execute((job.get(), number, &sealed.body, previous.bytes(), hash.bytes()))?;
    for one in &sealed.personal {
        db.prepare_cached(
            "INSERT INTO personal (job, entry, slot, field, salt, words) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        )?
        .execute((job.get(), number, one.slot, &one.field, one.salt, &one.words))?;
    }
    Ok(hash)
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
            let kept = if taken == 0 { vec![] } else { some_job(&old) };
            drop(old);

            let mut store = Store::open(&path).unwrap();
            assert_eq!(migration::kind(&store.db).unwrap(), Kind::Store(STEPS.len()));
            let listed = store.jobs(&Wanted::default()).unwrap();
            assert_eq!(listed.len(), usize::from(taken > 0), "from layout {taken}");
            if let [row] = listed.as_slice() {
                assert_eq!(store.entries(row.header.job).unwrap(), kept);
                assert_eq!(row.appliance.as_deref(), Some("dryer"));
                assert_eq!((row.entries, row.finished), (3, true));
                let words = |word: &str| Wanted { words: vec![word.into()], ..Wanted::default() };
                assert_eq!(store.jobs(&words("crush")).unwrap().len(), 1, "its words can be searched");
                let lease = store.lease(row.header.job).unwrap();
                assert_eq!(store.append(&lease, &note("more")).unwrap(), 4, "it can be gone on with");
            }
            assert_eq!(store.verify().unwrap().breaks, []);
        }
    }

    /// A job as programs that knew only so many steps wrote it: notes in the entry itself.
    fn some_job(db: &Connection) -> Vec<Entry> {
        let hash = Link::of_job(Link::START, 1, OPENED);
        db.execute(
            "INSERT INTO job (number, opened_at, offset_minutes, previous, hash) VALUES (1, ?1, ?2, zeroblob(32), ?3)",
            (OPENED.unix_ms, OPENED.offset_minutes, hash.bytes()),
        )
        .unwrap();
        let whats = [
            What::Machine { appliance: "dryer".into() },
            What::Noted { text: "the hose was crushed".into() },
            What::Finished,
        ];
        let entries = whats.map(|what| Entry { at: Timestamp::ZERO, what });
        let mut previous = hash;
        for (number, entry) in (1..).zip(&entries) {
            let body = serde_json::to_string(entry).unwrap();
            let hash = Link::of_entry(previous, 1, number, &body);
            db.execute(
                "INSERT INTO entry (job, number, body, previous, hash) VALUES (1, ?1, ?2, ?3, ?4)",
                (number, &body, previous.bytes(), hash.bytes()),
            )
            .unwrap();
            previous = hash;
        }
        entries.to_vec()
    }
}
