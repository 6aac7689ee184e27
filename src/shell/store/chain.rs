//! The chain of hashes that makes any later edit show.
//!
//! Each job carries the hash of the job before it at its site, each entry the hash of the entry before it in its job, the first one
//! that of the job. Only the end of the chain is unguarded: who writes down the last hash guards that too.

use std::fmt;

use sha2::{Digest, Sha256};

use crate::record::header::Moment;
use crate::shell::hexadecimal::{hex, unhex};

/// A link of the chain: SHA-256 (FIPS 180-4) of what it stands for and of the link before.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Link([u8; 32]);

impl Link {
    /// What comes before the first job.
    pub const START: Self = Self([0; 32]);

    /// The link of a job, by its number at its site.
    pub fn of_job(previous: Self, job: u32, opened: Moment) -> Self {
        let mut hash = Sha256::new();
        hash.update(previous.0);
        hash.update(i64::from(job).to_be_bytes());
        hash.update(opened.unix_ms.to_be_bytes());
        hash.update(i64::from(opened.offset_minutes).to_be_bytes());
        Self(hash.finalize().into())
    }

    /// The link of an entry, given as the text that is kept; `job` is its job's number at its site.
    pub fn of_entry(previous: Self, job: u32, number: i64, body: &str) -> Self {
        let mut hash = Sha256::new();
        hash.update(previous.0);
        hash.update(i64::from(job).to_be_bytes());
        hash.update(number.to_be_bytes());
        hash.update(body.as_bytes());
        Self(hash.finalize().into())
    }

    /// The link that these 64 hexadecimal digits name.
    pub fn from_hex(digits: &str) -> Option<Self> {
        unhex(digits).map(Self)
    }

    /// Its bytes.
    pub const fn bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl From<[u8; 32]> for Link {
    fn from(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }
}

/// As 64 hexadecimal digits.
impl fmt::Display for Link {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&hex(&self.0))
    }
}

/// As it is displayed.
impl fmt::Debug for Link {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}
