//! The right to write on a job, held by one process at a time.
//!
//! A lock of the operating system on a small file beside the store: when its holder dies, however it dies, the system
//! lets go of the lock, so nothing has to be guessed from process numbers or times.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use crate::record::header::JobId;

/// The right to write on a job. Dropping it gives it back.
#[derive(Debug)]
pub struct Lease {
    job: JobId,
    path: PathBuf,
    file: File,
}

/// Why a lease was not to be had.
#[derive(Debug)]
pub enum NoLease {
    /// Another process, or another part of this one, holds it.
    Held {
        /// Its process number, where it could be read.
        by: Option<u32>,
    },
    /// The file beside the store cannot be made or locked.
    File(PathBuf, io::Error),
}

impl Lease {
    /// A holder that lets go removes the file, so the one that was locked may no longer be the one that others see.
    const TRIES: u32 = 16;

    /// Takes the lease of a job of the store at `store`.
    pub fn take(store: &Path, job: JobId) -> Result<Self, NoLease> {
        let path = beside(store, job);
        let failed = |error| NoLease::File(path.clone(), error);
        for _ in 0..Self::TRIES {
            let mut file = OpenOptions::new()
                .read(true)
                .write(true)
                .create(true)
                .truncate(false)
                .open(&path)
                .map_err(failed)?;
            match file.try_lock() {
                Ok(()) => {}
                Err(TryLockError::WouldBlock) => return Err(NoLease::Held { by: holder(&path) }),
                Err(TryLockError::Error(error)) => return Err(failed(error)),
            }
            if is_still_at(&file, &path) {
                file.set_len(0).map_err(failed)?;
                write!(file, "{}", std::process::id()).map_err(failed)?;
                return Ok(Self { job, path, file });
            }
        }
        Err(NoLease::Held { by: None })
    }

    /// The job.
    pub const fn job(&self) -> JobId {
        self.job
    }
}

impl Drop for Lease {
    fn drop(&mut self) {
        // The file is only a place for the lock: one that stays behind does no harm.
        let _ = fs::remove_file(&self.path);
        let _ = self.file.unlock();
    }
}

/// `jobs.sqlite` and job 3: `jobs.sqlite-job-3`.
fn beside(store: &Path, job: JobId) -> PathBuf {
    let mut name = store.as_os_str().to_owned();
    name.push(format!("-job-{job}"));
    name.into()
}

fn holder(path: &Path) -> Option<u32> {
    fs::read_to_string(path).ok()?.trim().parse().ok()
}

#[cfg(unix)]
fn is_still_at(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), fs::metadata(path)) {
        (Ok(ours), Ok(seen)) => (ours.dev(), ours.ino()) == (seen.dev(), seen.ino()),
        _ => false,
    }
}

/// Elsewhere an open file cannot be removed.
#[cfg(not(unix))]
fn is_still_at(_file: &File, _path: &Path) -> bool {
    true
}
