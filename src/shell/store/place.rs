//! Where the job record is kept, unless told otherwise.

use std::env;
use std::path::PathBuf;

use miette::{Result, miette};

use super::{Store, StoreError};

/// Which job record to use.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct StoreArgs {
    /// The job record to use [default: leadhand/jobs.sqlite in $XDG_DATA_HOME or ~/.local/share]
    #[arg(long, value_name = "FILE", global = true)]
    pub store: Option<PathBuf>,
}

impl StoreArgs {
    /// Where the record is.
    pub fn path(&self) -> Result<PathBuf> {
        if let Some(path) = &self.store {
            return Ok(path.clone());
        }
        let folder = |name: &str| env::var_os(name).map(PathBuf::from).filter(|path| path.is_absolute());
        folder("XDG_DATA_HOME")
            .or_else(|| folder("HOME").map(|home| home.join(".local/share")))
            .map(|data| data.join("leadhand/jobs.sqlite"))
            .ok_or_else(|| {
                let help = "Name the file with --store FILE, or set HOME.";
                miette!(help = help, "it is not known where to keep the job record")
            })
    }

    /// Opens the record; makes it if it is not there.
    pub fn open(&self) -> Result<Store> {
        Ok(Store::open(&self.path()?)?)
    }

    /// Opens the record, which must be there.
    pub fn open_existing(&self) -> Result<Store> {
        Ok(Store::open_existing(&self.path()?)?)
    }

    /// Opens the record for a command that only looks; `None` if there is none yet at its usual place.
    pub fn look(&self) -> Result<Option<Store>> {
        match Store::open_existing(&self.path()?) {
            Err(StoreError::Absent { .. }) if self.store.is_none() => Ok(None),
            other => Ok(Some(other?)),
        }
    }
}
