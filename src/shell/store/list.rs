//! Lists of jobs, and the search for words in them.

use rusqlite::Row;
use rusqlite::types::Value;

use super::{Store, StoreError, header};
use crate::record::header::{Header, JobId};
use crate::shell::hexadecimal::hex;

/// A job in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobRow {
    /// Its number and when it was opened.
    pub header: Header,
    /// Who wrote it; empty for this machine.
    pub site: String,
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
    /// The serial number on the machine's plate.
    pub serial: Option<String>,
    /// The earlier job that it is a callback of, by its hash.
    pub callback_of: Option<String>,
    /// Was the advised work done, once that was answered?
    pub fixed: Option<bool>,
    /// How many parts turned out to be wrong.
    pub wrong_parts: u32,
    /// Milliseconds from the first entry to the last.
    pub took: u64,
}

/// Which jobs are wanted; everything is, unless said.
#[derive(Clone, Debug, Default)]
pub struct Wanted {
    /// Only those that are open (true) or closed (false).
    pub open: Option<bool>,
    /// Only those on this appliance model.
    pub machine: Option<String>,
    /// Only those that ended with this cause.
    pub cause: Option<String>,
    /// Only those on the machine with this serial number.
    pub serial: Option<String>,
    /// Only those that are callbacks.
    pub callbacks: bool,
    /// Only those in which each of these words begins a word somewhere.
    pub words: Vec<String>,
    /// At most so many, the newest.
    pub most: Option<u32>,
}

/// A query in the making: what is asked, and with which values.
#[derive(Default)]
struct Filter {
    conditions: Vec<&'static str>,
    values: Vec<Value>,
}

impl Filter {
    fn and(&mut self, condition: &'static str, value: Option<Value>) {
        self.conditions.push(condition);
        self.values.extend(value);
    }

    /// The words of one job may stand in different entries, so each is looked for alone.
    fn of(wanted: &Wanted) -> Self {
        let mut filter = Self::default();
        let text = |text: &String| Some(Value::Text(text.clone()));
        if let Some(open) = wanted.open {
            filter.and("finished = ?", Some(Value::Integer((!open).into())));
        }
        for (condition, value) in
            [("appliance = ?", &wanted.machine), ("cause = ?", &wanted.cause), ("serial = ?", &wanted.serial)]
        {
            if let Some(value) = value {
                filter.and(condition, text(value));
            }
        }
        if wanted.callbacks {
            filter.and("callback_of IS NOT NULL", None);
        }
        for word in &wanted.words {
            let phrase = format!("\"{}\"*", word.replace('"', "\"\""));
            filter.and(
                "job.number IN (SELECT rowid >> 24 FROM words WHERE words MATCH ?)",
                Some(Value::Text(phrase)),
            );
        }
        filter
    }
}

const COLUMNS: &str =
    "SELECT job.number, opened_at, offset_minutes, site.name, appliance, complaint, cause, remedy,
    finished, entries, serial, callback_of, fixed, wrong_parts, took
    FROM job JOIN summary ON summary.job = job.number JOIN site ON site.id = job.site";

impl Store {
    /// The jobs that are wanted, the newest first.
    pub fn jobs(&self, wanted: &Wanted) -> Result<Vec<JobRow>, StoreError> {
        let Filter { conditions, mut values } = Filter::of(wanted);
        let when = if conditions.is_empty() { "true".to_owned() } else { conditions.join(" AND ") };
        values.push(Value::Integer(wanted.most.map_or(-1, i64::from)));
        let sql = format!("{COLUMNS} WHERE {when} ORDER BY job.number DESC LIMIT ?");
        self.query(&sql, rusqlite::params_from_iter(values), job_row)
    }

    /// One job, as lists show it.
    pub fn row(&self, job: JobId) -> Result<JobRow, StoreError> {
        let found = self.query(&format!("{COLUMNS} WHERE job.number = ?1"), [job.get()], job_row)?;
        found.into_iter().next().ok_or_else(|| self.no_such_job(job))
    }

    /// How many jobs there are.
    pub fn count(&self) -> Result<u32, StoreError> {
        let counted = self.query("SELECT count(*) FROM job", [], |row| row.get(0))?;
        Ok(counted.first().copied().unwrap_or_default())
    }

    /// The newest job of this machine that is not closed.
    pub fn newest_open(&self) -> Result<Option<JobRow>, StoreError> {
        let sql = format!("{COLUMNS} WHERE finished = 0 AND site = 0 ORDER BY job.number DESC LIMIT 1");
        Ok(self.query(&sql, [], job_row)?.into_iter().next())
    }
}

fn job_row(row: &Row<'_>) -> rusqlite::Result<JobRow> {
    Ok(JobRow {
        header: header(row)?,
        site: row.get(3)?,
        appliance: row.get(4)?,
        complaint: row.get(5)?,
        cause: row.get(6)?,
        remedy: row.get(7)?,
        finished: row.get(8)?,
        entries: row.get(9)?,
        serial: row.get(10)?,
        callback_of: row.get::<_, Option<[u8; 32]>>(11)?.map(|bytes| hex(&bytes)),
        fixed: row.get(12)?,
        wrong_parts: row.get(13)?,
        took: row.get::<_, i64>(14)?.max(0) as u64,
    })
}
