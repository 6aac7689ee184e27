//! The chain of hashes that makes any later edit show.
//!
//! Each job carries the hash of the job before, each entry the hash of the entry before it in its job, the first one
//! that of the job. Only the end of the chain is unguarded: who writes down the last hash guards that too.

use std::fmt;

use sha2::{Digest, Sha256};

use crate::record::header::{Header, JobId};

/// A link of the chain: SHA-256 (FIPS 180-4) of what it stands for and of the link before.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Link([u8; 32]);

impl Link {
    /// What comes before the first job.
    pub const START: Self = Self([0; 32]);

    /// The link of a job.
    pub fn of_job(previous: Self, header: &Header) -> Self {
        let mut hash = Sha256::new();
        hash.update(previous.0);
        hash.update(i64::from(header.job.get()).to_be_bytes());
        hash.update(header.opened.unix_ms.to_be_bytes());
        hash.update(i64::from(header.opened.offset_minutes).to_be_bytes());
        Self(hash.finalize().into())
    }

    /// The link of an entry, given as the text that is kept.
    pub fn of_entry(previous: Self, job: JobId, number: i64, body: &str) -> Self {
        let mut hash = Sha256::new();
        hash.update(previous.0);
        hash.update(i64::from(job.get()).to_be_bytes());
        hash.update(number.to_be_bytes());
        hash.update(body.as_bytes());
        Self(hash.finalize().into())
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
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

/// As it is displayed.
impl fmt::Debug for Link {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}
