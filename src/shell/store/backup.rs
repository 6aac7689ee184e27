//! A copy of the record, whole as of one moment, made while others go on writing.

use std::fs::File;
use std::path::Path;

use super::{Store, StoreError, Verified};

impl Store {
    /// Copies the record to `path`, which must not be there yet, sees that the copy is on the disk, and verifies it.
    ///
    /// What was broken in the record is broken in the copy: see [`Verified::breaks`].
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
}
