//! The record as JSON Lines: nothing is left out, so that it can be checked and read without this program.
//!
//! `src/record/export.schema.json` says what a line holds.

use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

use super::exchange::Parcel;
use super::sealed::Personal;
use super::{Store, StoreError};
use crate::record::header::JobId;
use crate::shell::hexadecimal::hex;

/// One line: a job (number 0), or an entry with what guards it.
#[derive(Serialize)]
struct Line<'a> {
    site: String,
    by: &'a str,
    job: u32,
    opened: String,
    opened_ms: i64,
    offset_minutes: i16,
    number: u32,
    previous: String,
    hash: String,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    personal: Vec<Apart>,
    /// The very text that the hash was made from.
    #[serde(skip_serializing_if = "Option::is_none")]
    entry: Option<&'a RawValue>,
}

/// Personal words beside their entry.
#[derive(Serialize, Deserialize)]
pub(super) struct Apart {
    pub(super) slot: u8,
    pub(super) field: String,
    pub(super) salt: String,
    pub(super) words: String,
}

impl Apart {
    fn of(personal: &Personal) -> Self {
        let Personal { slot, field, salt, words } = personal.clone();
        Self { slot, field, salt: hex(&salt), words }
    }
}

impl Store {
    /// Gives one job or all, in order, as lines of JSON, until `take` answers "no more".
    ///
    /// With `personal` false, personal words stay here: what is left is the technical record.
    pub fn export(
        &self,
        only: Option<JobId>,
        personal: bool,
        mut take: impl FnMut(&str) -> bool,
    ) -> Result<(), StoreError> {
        let jobs = match only {
            Some(job) => vec![job],
            None => self.numbers()?,
        };
        for job in jobs {
            let mut parcel = self.parcel(job, 1)?;
            if !personal {
                parcel.entries.iter_mut().for_each(|(sealed, _)| sealed.personal.clear());
            }
            if !lines(&parcel, job, &mut take)? {
                break;
            }
        }
        Ok(())
    }

    /// The numbers of all jobs, in order.
    pub fn numbers(&self) -> Result<Vec<JobId>, StoreError> {
        let found = self.query("SELECT number FROM job ORDER BY number", [], |row| row.get(0))?;
        Ok(found.into_iter().filter_map(JobId::new).collect())
    }
}

/// The lines of a job; false where no more are wanted.
fn lines(parcel: &Parcel, job: JobId, take: &mut impl FnMut(&str) -> bool) -> Result<bool, StoreError> {
    let line = |number: u32, previous: String, hash: String| Line {
        site: parcel.site.to_string(),
        by: &parcel.name,
        job: parcel.number,
        opened: parcel.opened.rfc3339(),
        opened_ms: parcel.opened.unix_ms,
        offset_minutes: parcel.opened.offset_minutes,
        number,
        previous,
        hash,
        personal: Vec::new(),
        entry: None,
    };
    let text = |line: &Line| serde_json::to_string(line).expect("a line is plain data");
    if !take(&text(&line(0, parcel.previous.to_string(), parcel.hash.to_string()))) {
        return Ok(false);
    }
    let mut previous = parcel.hash.to_string();
    for (number, (sealed, hash)) in (1..).zip(&parcel.entries) {
        let entry = serde_json::from_str(&sealed.body);
        let entry: &RawValue = entry.map_err(|why: serde_json::Error| StoreError::Entry {
            job,
            number: i64::from(number),
            why: why.to_string(),
        })?;
        let personal = sealed.personal.iter().map(Apart::of).collect();
        let whole = Line { personal, entry: Some(entry), ..line(number, previous, hash.to_string()) };
        if !take(&text(&whole)) {
            return Ok(false);
        }
        previous = hash.to_string();
    }
    Ok(true)
}
