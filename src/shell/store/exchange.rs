//! Jobs on their way between records: each carries what proves it whole, so that it can come twice, late or in pieces.

use std::fmt;

use rusqlite::{Connection, OptionalExtension};

use super::chain::Link;
use super::sealed::{Sealed, forgets};
use super::{OWN, Store, StoreError, add_entry, add_job, last_entry, last_of_site, link};
use crate::record::header::{JobId, Moment};
use crate::shell::hexadecimal::{hex, unhex};

/// One technician's record, by a name made at random when it was begun.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Site(pub [u8; 16]);

/// As 32 hexadecimal digits.
impl fmt::Display for Site {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&hex(&self.0))
    }
}

/// As it is displayed.
impl fmt::Debug for Site {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl Site {
    /// The site that these 32 hexadecimal digits name.
    pub fn from_hex(digits: &str) -> Option<Self> {
        unhex(digits).map(Self)
    }
}

/// How far a job has come, wherever it was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Head {
    /// Where it was written.
    pub site: Site,
    /// Its number there.
    pub number: u32,
    /// How many entries it has.
    pub entries: u32,
    /// The hash of the last one, or of the job itself.
    pub hash: Link,
}

/// A job, or a piece of one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Parcel {
    /// Where it was written.
    pub site: Site,
    /// Who writes there.
    pub name: String,
    /// The job's number there.
    pub number: u32,
    /// When it was opened.
    pub opened: Moment,
    /// The hash of the job before it there.
    pub previous: Link,
    /// Its own hash.
    pub hash: Link,
    /// The number of the first entry below.
    pub first: u32,
    /// Entries, one after the other, each with its hash.
    pub entries: Vec<(Sealed, Link)>,
}

/// What became of a parcel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Taken {
    /// So many entries were new; none, if it had come before.
    In(u32),
    /// Something before it has not come yet; nothing was taken.
    Waits,
}

impl Store {
    /// The site that this record is.
    pub fn site(&self) -> Result<Site, StoreError> {
        let found = self.query("SELECT uid FROM site WHERE id = ?1", [OWN], |row| row.get(0).map(Site))?;
        Ok(*found.first().expect("the layout makes the own site"))
    }

    /// Says who writes here.
    pub fn name_site(&mut self, name: &str) -> Result<(), StoreError> {
        self.transact(|tx| tx.execute("UPDATE site SET name = ?1 WHERE id = ?2", (name, OWN)).map(|_| ()))
    }

    /// How far every job has come, in order of sites and numbers.
    pub fn heads(&self) -> Result<Vec<Head>, StoreError> {
        let sql = "SELECT uid, site_number, entries,
                coalesce((SELECT hash FROM entry WHERE entry.job = job.number AND entry.number = summary.entries), job.hash)
            FROM job JOIN site ON site.id = job.site JOIN summary ON summary.job = job.number
            ORDER BY uid, site_number";
        self.query(sql, [], |row| {
            Ok(Head {
                site: Site(row.get(0)?),
                number: row.get(1)?,
                entries: row.get(2)?,
                hash: link(row, 3)?,
            })
        })
    }

    /// The job of this number here, wherever it was written.
    pub fn local(&self, site: Site, number: u32) -> Result<Option<JobId>, StoreError> {
        let sql =
            "SELECT job.number FROM job JOIN site ON site.id = job.site WHERE uid = ?1 AND site_number = ?2";
        let found = self.query(sql, (site.0, number), |row| row.get::<_, u32>(0))?;
        Ok(found.first().copied().and_then(JobId::new))
    }

    /// A job with its entries from the `first`th on, ready to travel.
    pub fn parcel(&self, job: JobId, first: u32) -> Result<Parcel, StoreError> {
        let sql = "SELECT uid, name, site_number, opened_at, offset_minutes, previous, hash
            FROM job JOIN site ON site.id = job.site WHERE number = ?1";
        let found = self.query(sql, [job.get()], |row| {
            Ok(Parcel {
                site: Site(row.get(0)?),
                name: row.get(1)?,
                number: row.get(2)?,
                opened: Moment { unix_ms: row.get(3)?, offset_minutes: row.get(4)? },
                previous: link(row, 5)?,
                hash: link(row, 6)?,
                first,
                entries: Vec::new(),
            })
        })?;
        let mut parcel = found.into_iter().next().ok_or_else(|| self.no_such_job(job))?;
        let mut apart = self.personal(job)?;
        let sql = "SELECT number, body, hash FROM entry WHERE job = ?1 AND number >= ?2 ORDER BY number";
        parcel.entries = self.query(sql, (job.get(), first), |row| {
            let personal = apart.remove(&row.get(0)?).unwrap_or_default();
            Ok((Sealed { body: row.get(1)?, personal }, link(row, 2)?))
        })?;
        Ok(parcel)
    }

    /// Takes in what has come from elsewhere, all of it or nothing. What is there already is left as it is.
    pub fn take_in(&mut self, parcels: &[Parcel]) -> Result<Vec<Taken>, StoreError> {
        for parcel in parcels {
            parcel.check()?;
        }
        let mut fork = None;
        let taken = self.transact(|tx| {
            let mut taken = Vec::new();
            for parcel in parcels {
                match take_one(tx, parcel)? {
                    Ok(one) => taken.push(one),
                    Err(what) => {
                        fork = Some(what);
                        // Nothing is kept of a batch that disagrees with what is here.
                        return Err(rusqlite::Error::QueryReturnedNoRows);
                    }
                }
            }
            Ok(taken)
        });
        match fork {
            Some(what) => Err(StoreError::Fork { what }),
            None => taken,
        }
    }
}

impl Parcel {
    /// Is it whole by itself? The link to what comes before its first entry shows only where it is taken in.
    fn check(&self) -> Result<(), StoreError> {
        let broken = |what: &str| {
            let (site, number) = (self.site, self.number);
            Err(StoreError::NotWhole { what: format!("job {number} of site {site}: {what}") })
        };
        if Link::of_job(self.previous, self.number, self.opened) != self.hash {
            return broken("when it was opened was changed");
        }
        if self.first == 0 {
            return broken("entries are numbered from 1");
        }
        let mut before = (self.first == 1).then_some(self.hash);
        for (number, (sealed, hash)) in (self.first..).zip(&self.entries) {
            let fits = |before| Link::of_entry(before, self.number, i64::from(number), &sealed.body) == *hash;
            if before.is_some_and(|before| !fits(before)) {
                return broken(&format!("entry {number} was changed after it was written"));
            }
            if let Some(why) = sealed.broken() {
                return broken(&format!("entry {number}: {why}"));
            }
            if let Err(why) = sealed.open() {
                return broken(&format!("entry {number} cannot be read: {why}"));
            }
            before = Some(*hash);
        }
        Ok(())
    }
}

/// Takes in one parcel, or says what disagrees.
fn take_one(tx: &Connection, parcel: &Parcel) -> rusqlite::Result<Result<Taken, String>> {
    let site = site_id(tx, parcel)?;
    let place = format!("job {} of site {}", parcel.number, parcel.site);
    let known = tx
        .prepare_cached("SELECT number, hash FROM job WHERE site = ?1 AND site_number = ?2")?
        .query_row((site, parcel.number), |row| Ok((row.get::<_, u32>(0)?, link(row, 1)?)))
        .optional()?;
    let job = match known {
        Some((job, hash)) if hash == parcel.hash => JobId::new(job).expect("jobs are numbered from 1"),
        Some(_) => return Ok(Err(format!("{place} is another one here"))),
        None => {
            let (last, hash) = last_of_site(tx, site)?;
            if parcel.number > last + 1 {
                return Ok(Ok(Taken::Waits));
            }
            if hash != parcel.previous {
                return Ok(Err(format!("{place} does not follow the job before it here")));
            }
            add_job(tx, site, parcel.number, parcel.opened, parcel.previous)?
        }
    };
    take_entries(tx, job, parcel).map(|taken| taken.map_err(|what| format!("{place}: {what}")))
}

fn take_entries(tx: &Connection, job: JobId, parcel: &Parcel) -> rusqlite::Result<Result<Taken, String>> {
    let (here, mut last) = last_entry(tx, job)?;
    if parcel.first > here + 1 {
        return Ok(Ok(Taken::Waits));
    }
    let mut new = 0;
    for (number, (sealed, hash)) in (parcel.first..).zip(&parcel.entries) {
        if number <= here {
            let ours = tx
                .prepare_cached("SELECT hash FROM entry WHERE job = ?1 AND number = ?2")?
                .query_row((job.get(), number), |row| link(row, 0))?;
            if ours != *hash {
                return Ok(Err(format!("entry {number} is another one here")));
            }
            continue;
        }
        last = add_entry(tx, job, number, last, sealed)?;
        if last != *hash {
            return Ok(Err(format!("entry {number} does not follow the one before it here")));
        }
        if sealed.open().is_ok_and(|entry| forgets(&entry)) {
            tx.prepare_cached("DELETE FROM personal WHERE job = ?1")?.execute([job.get()])?;
        }
        new += 1;
    }
    Ok(Ok(Taken::In(new)))
}

/// The site's number in this file; it is entered if it is new, and its name if that has changed.
fn site_id(tx: &Connection, parcel: &Parcel) -> rusqlite::Result<i64> {
    let known = tx
        .prepare_cached("SELECT id, name FROM site WHERE uid = ?1")?
        .query_row([parcel.site.0], |row| Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?)))
        .optional()?;
    let Some((id, name)) = known else {
        tx.execute("INSERT INTO site (uid, name) VALUES (?1, ?2)", (parcel.site.0, &parcel.name))?;
        return Ok(tx.last_insert_rowid());
    };
    if name != parcel.name && !parcel.name.is_empty() {
        tx.execute("UPDATE site SET name = ?1 WHERE id = ?2", (&parcel.name, id))?;
    }
    Ok(id)
}
