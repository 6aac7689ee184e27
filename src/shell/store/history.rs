//! What is on record of a machine before this visit, and which visits belong together.

use super::{JobRow, Link, Store, StoreError, Wanted};
use crate::diagnose::learn::{Lesson, Proof};
use crate::record::figures::Visit;
use crate::record::header::JobId;

impl Store {
    /// The last visit before a job to the machine with this serial number.
    pub fn last_here(&self, serial: &str, before: Option<JobId>) -> Result<Option<JobRow>, StoreError> {
        let jobs = self.jobs(&Wanted { serial: Some(serial.to_owned()), ..Wanted::default() })?;
        Ok(jobs.into_iter().find(|row| before.is_none_or(|job| row.header.job < job)))
    }

    /// The link of a job: by it a callback names the job that it goes back to, on any machine of the shop.
    pub fn job_hash(&self, job: JobId) -> Result<Link, StoreError> {
        self.header(job)?;
        super::job_link(&self.db, job).map_err(|source| self.failed(source))
    }

    /// The job with this link, if it is on record here.
    pub fn job_of_hash(&self, hash: &str) -> Result<Option<JobId>, StoreError> {
        let Some(hash) = Link::from_hex(hash) else { return Ok(None) };
        let found = self.query("SELECT number FROM job WHERE hash = ?1", [hash.bytes()], |row| row.get(0))?;
        Ok(found.first().copied().and_then(JobId::new))
    }

    /// The callbacks that go back to a job, in order.
    pub fn callbacks(&self, of: JobId) -> Result<Vec<JobId>, StoreError> {
        let sql = "SELECT summary.job FROM summary JOIN job ON summary.callback_of = job.hash
                   WHERE job.number = ?1 ORDER BY summary.job";
        let found = self.query(sql, [of.get()], |row| row.get(0))?;
        Ok(found.into_iter().filter_map(JobId::new).collect())
    }

    /// What each closed job adds to the shop's figures; a callback counts within so many days.
    pub fn visits(&self, callback_days: u16) -> Result<Vec<Visit>, StoreError> {
        let sql = "SELECT coalesce(appliance, ''), coalesce(cause, ''), coalesce(fixed, 0), callback_of IS NOT NULL,
                EXISTS (SELECT 1 FROM summary AS later JOIN job AS visit ON visit.number = later.job
                    WHERE later.callback_of = job.hash AND visit.opened_at - job.opened_at <= ?1),
                wrong_parts, took
            FROM summary JOIN job ON job.number = summary.job WHERE finished = 1 ORDER BY job.number";
        self.query(sql, [i64::from(callback_days) * 86_400_000], |row| {
            Ok(Visit {
                appliance: row.get(0)?,
                cause: row.get(1)?,
                mended: row.get(2)?,
                callback: row.get(3)?,
                called_back: row.get(4)?,
                wrong_parts: row.get(5)?,
                minutes: (row.get::<_, i64>(6)? / 60_000) as u32,
            })
        })
    }

    /// What each closed job may teach, in order; a callback counts within so many days.
    pub fn lessons(&self, callback_days: u16) -> Result<Vec<Lesson>, StoreError> {
        let confirmed = |summary: &str| {
            format!(
                "coalesce({summary}.fixed, 0) AND coalesce((SELECT body ->> 'well' FROM entry
                    WHERE entry.job = {summary}.job AND body ->> 'what' = 'ran' ORDER BY number DESC LIMIT 1), 0)"
            )
        };
        let sql = format!(
            "SELECT appliance, complaint, cause, {},
                (SELECT max(later.finished AND {}) FROM summary AS later JOIN job AS visit ON visit.number = later.job
                    WHERE later.callback_of = job.hash AND visit.opened_at - job.opened_at <= ?1)
            FROM summary JOIN job ON job.number = summary.job
            WHERE finished = 1 AND appliance IS NOT NULL AND complaint IS NOT NULL AND cause IS NOT NULL
            ORDER BY job.number",
            confirmed("summary"),
            confirmed("later"),
        );
        self.query(&sql, [i64::from(callback_days) * 86_400_000], |row| {
            let text = |column| row.get::<_, String>(column);
            let proof = match (row.get(3)?, row.get::<_, Option<bool>>(4)?) {
                (_, Some(true)) => Proof::Corrected,
                (_, Some(false)) => Proof::CalledBack,
                (true, None) => Proof::Confirmed,
                (false, None) => Proof::None,
            };
            Ok(Lesson {
                appliance: text(0)?.as_str().into(),
                complaint: text(1)?.as_str().into(),
                cause: text(2)?,
                proof,
            })
        })
    }
}
