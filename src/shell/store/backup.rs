//! A copy of the record, whole as of one moment, made while others go on writing; and the way back.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use super::{Store, StoreError, Verified};

impl Store {
    /// Copies the record to `path`, which must not be there yet, sees that the copy is on the disk, and verifies it.
    ///
    /// What was broken in the record is broken in the copy: see [`Verified::breaks`]. Photographs are files of
    /// their own (see [`Store::files`]) and are not in it.
    pub fn backup(&self, path: &Path) -> Result<Verified, StoreError> {
        if path.exists() {
            return Err(StoreError::Exists { path: path.to_owned() });
        }
        let to = path.to_string_lossy();
        self.db.execute("VACUUM INTO ?1", [&to]).map_err(|source| StoreError::of(path, source))?;
        let synced = File::open(path).and_then(|file| file.sync_all());
        synced.map_err(|source| StoreError::Unsafe { path: path.to_owned(), source })?;
        Self::open_existing(path)?.verify()
    }

    /// Puts a backup in the place of the record at `path`. What is there is moved aside, and where to is given.
    pub fn restore(backup: &Path, path: &Path) -> Result<(Verified, Option<PathBuf>), StoreError> {
        let copy = Self::open_existing(backup)?;
        let verified = copy.verify()?;
        if let Some(first) = verified.breaks.first() {
            return Err(StoreError::NotWhole { what: format!("the backup {}: {first}", backup.display()) });
        }
        let aside = path.exists().then(|| set_aside(path)).transpose()?;
        Ok((copy.backup(path)?, aside))
    }
}

/// Moves a record out of the way, with what belongs to it: `jobs.sqlite` to `jobs.sqlite-before-1`.
fn set_aside(path: &Path) -> Result<PathBuf, StoreError> {
    // Closed cleanly first, so that all of it is in the one file.
    if let Ok(store) = Store::open_existing(path) {
        let _ = store.db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()));
    }
    let with = |path: &Path, ending: &str| {
        let mut name = path.as_os_str().to_owned();
        name.push(ending);
        PathBuf::from(name)
    };
    let aside = (1..=u16::MAX).map(|n| with(path, &format!("-before-{n}"))).find(|aside| !aside.exists());
    let aside = aside.expect("numbers do not end before names do");
    for ending in ["-wal", "-shm", ""] {
        let (from, to) = (with(path, ending), with(&aside, ending));
        if from.exists() {
            fs::rename(&from, &to).map_err(|source| StoreError::Unsafe { path: from, source })?;
        }
    }
    Ok(aside)
}
