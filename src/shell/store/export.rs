//! The record as JSON Lines: nothing is left out, so that it can be checked and read without this program.

use serde::Serialize;
use serde_json::value::RawValue;

use super::chain::Link;
use super::{Store, StoreError, header, link};
use crate::record::header::JobId;

/// One line: an entry with what guards it.
#[derive(Serialize)]
struct Line<'a> {
    job: JobId,
    opened: String,
    number: i64,
    previous: String,
    hash: String,
    /// The very text that the hash was made from.
    entry: &'a RawValue,
}

impl Store {
    /// Gives every entry of one job or of all, in order, as a line of JSON, until `take` answers "no more".
    pub fn export(&self, only: Option<JobId>, mut take: impl FnMut(&str) -> bool) -> Result<(), StoreError> {
        if let Some(job) = only {
            self.header(job)?;
        }
        let failed = |source| StoreError::of(&self.path, source);
        let sql =
            "SELECT job.number, opened_at, offset_minutes, entry.number, body, entry.previous, entry.hash
                   FROM entry JOIN job ON job.number = entry.job
                   WHERE ?1 IS NULL OR job.number = ?1 ORDER BY job.number, entry.number";
        let mut statement = self.db.prepare(sql).map_err(failed)?;
        let mut rows = statement.query([only.map(JobId::get)]).map_err(failed)?;
        while let Some(row) = rows.next().map_err(failed)? {
            let read = || -> rusqlite::Result<(i64, String, Link, Link)> {
                Ok((row.get(3)?, row.get(4)?, link(row, 5)?, link(row, 6)?))
            };
            let (number, body, previous, hash) = read().map_err(failed)?;
            let of = header(row).map_err(failed)?;
            let unreadable =
                |why: serde_json::Error| StoreError::Entry { job: of.job, number, why: why.to_string() };
            let line = Line {
                job: of.job,
                opened: of.opened.rfc3339(),
                number,
                previous: previous.to_string(),
                hash: hash.to_string(),
                entry: serde_json::from_str(&body).map_err(unreadable)?,
            };
            if !take(&serde_json::to_string(&line).map_err(unreadable)?) {
                break;
            }
        }
        Ok(())
    }
}
