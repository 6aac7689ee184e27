//! What can go wrong between this record and the shared one, and what to do about it.

use miette::Diagnostic;

use crate::shell::store::StoreError;
use crate::shell::store::exchange::Site;

/// What went wrong.
#[derive(Debug, thiserror::Error, Diagnostic)]
pub enum SyncError {
    /// The shared record cannot be reached.
    #[error("the shared record cannot be reached: {why}")]
    #[diagnostic(
        code(sync::unreachable),
        help(
            "See that the address is right, that the network is there and that you may connect. Work goes on without it; nothing is lost."
        )
    )]
    Unreachable {
        /// What the client said.
        why: String,
    },
    /// The connection was cut midway.
    #[error("the connection to the shared record was cut: {why}")]
    #[diagnostic(code(sync::cut), help("Run it again: what was exchanged stays, and it goes on from there."))]
    Cut {
        /// What the client said.
        why: String,
    },
    /// The database refused.
    #[error("the shared record refuses: {why}")]
    #[diagnostic(
        code(sync::refused),
        help("Ask who looks after the database; nothing was changed by this step.")
    )]
    Refused {
        /// What the database said.
        why: String,
    },
    /// The shared record was laid out by a newer program.
    #[error("the shared record has layout {found}; this program knows layout {known}")]
    #[diagnostic(code(sync::newer), help("Update the program."))]
    Newer {
        /// The layout it has.
        found: i32,
        /// The layout that is known.
        known: i32,
    },
    /// Two machines went on from one copy of a record.
    #[error("job {job} of site {site} is another one in the shared record")]
    #[diagnostic(
        code(sync::fork),
        help(
            "Two machines went on from one copy of a record, perhaps a backup. Go on with one of them only; `leadhand export` saves what the other holds."
        )
    )]
    Fork {
        /// The site.
        site: String,
        /// The job's number there.
        job: u32,
    },
    /// The shared record lacks something.
    #[error("the shared record lacks jobs of site {site}")]
    #[diagnostic(code(sync::gap), help("Sync from the machine that wrote them; then run it again here."))]
    Gap {
        /// The site.
        site: String,
    },
    /// This record failed.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Store(#[from] StoreError),
}

impl SyncError {
    pub(super) fn fork(site: Site, job: u32) -> Self {
        Self::Fork { site: site.to_string(), job }
    }

    /// May it go better the next time, with nobody doing anything?
    pub const fn passes(&self) -> bool {
        matches!(self, Self::Unreachable { .. } | Self::Cut { .. })
    }
}

/// What the client said, sorted by what can be done about it.
impl From<postgres::Error> for SyncError {
    fn from(error: postgres::Error) -> Self {
        let why = error.as_db_error().map_or_else(|| error.to_string(), |said| said.message().to_owned());
        // Class 57 is the server going away (PostgreSQL manual, "Error Codes").
        match error.code() {
            Some(code) if !code.code().starts_with("57P") => Self::Refused { why },
            _ => Self::Cut { why },
        }
    }
}
