//! Removing a customer's data from a job, for good, while the technical record stays whole.

use std::fs;

use super::sealed::Sealed;
use super::{Lease, Store, StoreError, add_entry, last_entry, salt};
use crate::record::entry::{Entry, What};
use crate::time::Timestamp;

/// What was removed, and what could not be.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Forgot {
    /// How many texts were removed.
    pub texts: usize,
    /// How many photographs and sound files were removed.
    pub files: usize,
    /// Notes of layouts before the third hold their words in the chain itself: so many stay.
    pub stay: usize,
}

impl Store {
    /// Removes the personal words and files of a job, and keeps that this was done. Also from what the database leaves
    /// behind in its files; not from backups, exports, or another machine that has not exchanged entries since.
    pub fn forget(&mut self, lease: &Lease, at: Timestamp) -> Result<Forgot, StoreError> {
        let job = lease.job();
        let names: Vec<String> = self
            .entries(job)?
            .into_iter()
            .filter_map(|entry| match entry.what {
                What::Photographed { file, .. } => Some(file),
                _ => None,
            })
            .collect();
        let (texts, stay) = self.transact(|tx| {
            let (number, previous) = last_entry(tx, job)?;
            let entry = Entry { at, what: What::Forgotten };
            let sealed = Sealed::new(&entry, || salt(tx))?;
            add_entry(tx, job, number + 1, previous, &sealed)?;
            let texts = tx.execute("DELETE FROM personal WHERE job = ?1", [job.get()])?;
            let sql = "SELECT count(*) FROM entry WHERE job = ?1 AND body ->> 'what' = 'noted'
                       AND json_type(body, '$.text') = 'text'";
            let stay = tx.query_row(sql, [job.get()], |row| row.get::<_, i64>(0))?;
            Ok((texts, stay as usize))
        })?;
        // What was overwritten still stands in the log until that is cut.
        let cut = self.db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()));
        cut.map_err(|source| self.failed(source))?;
        let folder = self.files();
        let sounds = self.sounds(Some(job)).unwrap_or_default();
        let paths = names.iter().map(|name| folder.join(name)).chain(sounds);
        let files = paths.filter(|path| fs::remove_file(path).is_ok()).count();
        Ok(Forgot { texts, files, stay })
    }
}
