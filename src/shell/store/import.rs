//! A record read back from JSON Lines.

use std::io::BufRead;

use serde::Deserialize;
use serde_json::value::RawValue;

use super::chain::Link;
use super::exchange::{Parcel, Site, Taken};
use super::export::Apart;
use super::sealed::{Personal, Sealed};
use super::{Store, StoreError};
use crate::record::header::Moment;
use crate::shell::hexadecimal::unhex;

/// What was taken in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Imported {
    /// Jobs read.
    pub jobs: usize,
    /// Entries that were not here yet.
    pub new: u64,
    /// Jobs left out, because something before them is neither here nor in the file.
    pub waiting: usize,
}

/// A line as it was exported.
#[derive(Deserialize)]
struct Line {
    site: String,
    #[serde(default)]
    by: String,
    job: u32,
    opened_ms: i64,
    offset_minutes: i16,
    number: u32,
    previous: String,
    hash: String,
    #[serde(default)]
    personal: Vec<Apart>,
    #[serde(default)]
    entry: Option<Box<RawValue>>,
}

/// So many jobs are taken in at once.
const BATCH: usize = 64;

impl Store {
    /// Takes in exported lines. Each batch of jobs comes whole or not at all; what is here already stays.
    pub fn import(&mut self, lines: impl BufRead) -> Result<Imported, StoreError> {
        let mut imported = Imported::default();
        let mut batch: Vec<Parcel> = Vec::new();
        for (at, line) in (1_usize..).zip(lines.lines()) {
            let wrong = |why: String| StoreError::NotWhole { what: format!("line {at}: {why}") };
            let text = line.map_err(|error| wrong(error.to_string()))?;
            if text.trim().is_empty() {
                continue;
            }
            let line: Line = serde_json::from_str(&text).map_err(|error| wrong(error.to_string()))?;
            if line.number == 0 {
                if batch.len() >= BATCH {
                    self.take_batch(&mut batch, &mut imported)?;
                }
                batch.push(line.job().ok_or_else(|| wrong("a hash is not 64 hexadecimal digits".into()))?);
                continue;
            }
            let parcel = batch.last_mut().filter(|parcel| line.follows(parcel));
            let parcel = parcel.ok_or_else(|| wrong("the line of its job does not come before it".into()))?;
            let entry =
                line.entry().ok_or_else(|| wrong("its entry or a hash is missing or malformed".into()))?;
            parcel.entries.push(entry);
        }
        self.take_batch(&mut batch, &mut imported)?;
        Ok(imported)
    }

    fn take_batch(&mut self, batch: &mut Vec<Parcel>, imported: &mut Imported) -> Result<(), StoreError> {
        for taken in self.take_in(batch)? {
            match taken {
                Taken::In(new) => imported.new += u64::from(new),
                Taken::Waits => imported.waiting += 1,
            }
        }
        imported.jobs += batch.len();
        batch.clear();
        Ok(())
    }
}

impl Line {
    fn job(&self) -> Option<Parcel> {
        Some(Parcel {
            site: Site::from_hex(&self.site)?,
            name: self.by.clone(),
            number: self.job,
            opened: Moment { unix_ms: self.opened_ms, offset_minutes: self.offset_minutes },
            previous: Link::from_hex(&self.previous)?,
            hash: Link::from_hex(&self.hash)?,
            first: 1,
            entries: Vec::new(),
        })
    }

    fn follows(&self, parcel: &Parcel) -> bool {
        let last = parcel.entries.last().map_or(parcel.hash, |(_, hash)| *hash);
        self.job == parcel.number
            && self.site == parcel.site.to_string()
            && self.number as usize == parcel.entries.len() + 1
            && Link::from_hex(&self.previous) == Some(last)
    }

    fn entry(self) -> Option<(Sealed, Link)> {
        let apart = |apart: Apart| {
            let Apart { slot, field, salt, words } = apart;
            Some(Personal { slot, field, salt: unhex(&salt)?, words })
        };
        let personal = self.personal.into_iter().map(apart).collect::<Option<_>>()?;
        Some((Sealed { body: self.entry?.get().to_owned(), personal }, Link::from_hex(&self.hash)?))
    }
}
