//! What can go wrong with a store, and what to do about it.

use std::io;
use std::path::PathBuf;

use miette::Diagnostic;
use rusqlite::ErrorCode;

use crate::record::header::JobId;

/// What went wrong with a store.
///
/// [`StoreError::spoken`] has it in a sentence for the ear; what was acknowledged before is kept in every case.
#[derive(Debug, thiserror::Error, Diagnostic)]
pub enum StoreError {
    /// The folder of a new store cannot be made.
    #[error("the folder for the job record cannot be made: {}", path.display())]
    #[diagnostic(code(store::folder), help("Make it by hand, or name another place with --store FILE."))]
    Folder {
        /// The folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// There is no store where one was to be read.
    #[error("there is no job record at {}", path.display())]
    #[diagnostic(
        code(store::absent),
        help("It is made with the first job. If it is kept elsewhere, name it with --store FILE.")
    )]
    Absent {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// The file cannot be opened.
    #[error("the job record cannot be opened: {}", path.display())]
    #[diagnostic(
        code(store::open),
        help(
            "See that the file and its folder may be read and written by you, and that it is not a folder."
        )
    )]
    Open {
        /// The file.
        path: PathBuf,
        /// What the database said.
        source: rusqlite::Error,
    },
    /// The file is no store of ours.
    #[error("{} is not a job record", path.display())]
    #[diagnostic(
        code(store::foreign),
        help("Nothing was changed in it. Name another file with --store FILE.")
    )]
    Foreign {
        /// The file.
        path: PathBuf,
    },
    /// The store was written by a newer program.
    #[error("the job record {} has layout {found}; this program knows layouts up to {known}", path.display())]
    #[diagnostic(code(store::newer), help("Update the program. Nothing was changed in the record."))]
    Newer {
        /// The file.
        path: PathBuf,
        /// The layout it has.
        found: usize,
        /// The newest layout that is known.
        known: usize,
    },
    /// No room is left.
    #[error("no room is left for the job record: {}", path.display())]
    #[diagnostic(
        code(store::full),
        help(
            "Free some space, then go on: everything kept so far is safe, the last thing said is not kept."
        )
    )]
    Full {
        /// The file.
        path: PathBuf,
    },
    /// The file may only be read.
    #[error("the job record may only be read: {}", path.display())]
    #[diagnostic(
        code(store::read_only),
        help("Allow writing to the file and its folder, or name another with --store FILE.")
    )]
    ReadOnly {
        /// The file.
        path: PathBuf,
    },
    /// Another program keeps the file to itself.
    #[error("the job record is being used by another program: {}", path.display())]
    #[diagnostic(
        code(store::locked),
        help("Close what else has it open (a database browser, a backup), then try again.")
    )]
    Locked {
        /// The file.
        path: PathBuf,
    },
    /// The file is damaged.
    #[error("the job record is damaged: {}", path.display())]
    #[diagnostic(
        code(store::corrupt),
        help(
            "Do not write to it any more. Copy the file away, then take the last backup; `leadhand verify` tells what is whole."
        )
    )]
    Corrupt {
        /// The file.
        path: PathBuf,
        /// What the database said.
        source: rusqlite::Error,
    },
    /// The disk does not do what it is told.
    #[error("the disk refuses to keep the job record: {}", path.display())]
    #[diagnostic(
        code(store::disk),
        help(
            "See whether the disk is still there and healthy; everything kept so far is as safe as the disk."
        )
    )]
    Disk {
        /// The file.
        path: PathBuf,
        /// What the database said.
        source: rusqlite::Error,
    },
    /// There is no such job.
    #[error("there is no job {job}")]
    #[diagnostic(code(store::no_such_job), help("{near}"))]
    NoSuchJob {
        /// The job asked for.
        job: JobId,
        /// Which jobs there are, in a sentence.
        near: String,
    },
    /// The job is open elsewhere.
    #[error("job {job} is open in another window{}", by.map(|pid| format!(" (process {pid})")).unwrap_or_default())]
    #[diagnostic(
        code(store::leased),
        help("Finish or close it there first; two windows must not write on one job.")
    )]
    Leased {
        /// The job.
        job: JobId,
        /// The process that has it open, where it is known.
        by: Option<u32>,
    },
    /// The job was written at another site.
    #[error("job {job} was written on another technician's machine")]
    #[diagnostic(
        code(store::not_ours),
        help("It can be read here; only where it was written can it be gone on with.")
    )]
    NotOurs {
        /// The job.
        job: JobId,
    },
    /// What came from elsewhere is not what was written there.
    #[error("{what}")]
    #[diagnostic(
        code(store::not_whole),
        help("Nothing of it was taken in. Get it again from where it was written.")
    )]
    NotWhole {
        /// Where, and what is wrong.
        what: String,
    },
    /// Two records hold different things under one name.
    #[error("{what}")]
    #[diagnostic(
        code(store::fork),
        help(
            "Two machines went on from one copy of a record. Go on with one of them only; `leadhand export` saves what the other holds."
        )
    )]
    Fork {
        /// Where, and what differs.
        what: String,
    },
    /// The file that guards a job cannot be made or locked.
    #[error("job {job} cannot be guarded against being opened twice: {}", path.display())]
    #[diagnostic(code(store::lease_file), help("Allow writing to the folder of the job record."))]
    LeaseFile {
        /// The job.
        job: JobId,
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// An entry is not one that this program knows.
    #[error("entry {number} of job {job} cannot be read: {why}")]
    #[diagnostic(
        code(store::entry),
        help("It was written by a newer program, or changed by hand: `leadhand verify` tells which.")
    )]
    Entry {
        /// The job.
        job: JobId,
        /// The entry's number within it.
        number: i64,
        /// Why not.
        why: String,
    },
    /// A copy was to be made where there is something already.
    #[error("there is a file at {} already", path.display())]
    #[diagnostic(
        code(store::exists),
        help("Name another file, or move that one away; a backup is never written over.")
    )]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// A copy was made, but may not be on the disk.
    #[error("the copy may not be on the disk: {}", path.display())]
    #[diagnostic(
        code(store::not_synced),
        help("See whether the disk is healthy, then make the copy again elsewhere.")
    )]
    Unsafe {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Something else that the database said.
    #[error("the job record failed: {}", path.display())]
    #[diagnostic(
        code(store::other),
        help("Everything kept so far is safe; the last thing said is not kept.")
    )]
    Other {
        /// The file.
        path: PathBuf,
        /// What the database said.
        source: rusqlite::Error,
    },
}

impl StoreError {
    /// What the database said of the file at `path`, sorted by what can be done about it.
    pub(super) fn of(path: &std::path::Path, source: rusqlite::Error) -> Self {
        let path = path.to_owned();
        match source.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::Full { path },
            Some(ErrorCode::ReadOnly) => Self::ReadOnly { path },
            Some(
                ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked | ErrorCode::FileLockingProtocolFailed,
            ) => Self::Locked { path },
            Some(ErrorCode::DatabaseCorrupt) => Self::Corrupt { path, source },
            Some(ErrorCode::NotADatabase) => Self::Foreign { path },
            Some(ErrorCode::SystemIoFailure) => Self::Disk { path, source },
            Some(ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => Self::Open { path, source },
            _ => Self::Other { path, source },
        }
    }

    /// In one sentence for the ear.
    pub const fn spoken(&self) -> &'static str {
        match self {
            Self::Full { .. } => "No room is left on the disk. That was not kept.",
            Self::ReadOnly { .. } => "The record may only be read. That was not kept.",
            Self::Locked { .. } => "Another program keeps the record busy. That was not kept.",
            Self::Corrupt { .. } | Self::Foreign { .. } => "The record is damaged. That was not kept.",
            Self::Leased { .. } => "This job is open in another window.",
            Self::NoSuchJob { .. } => "There is no such job.",
            _ => "The record failed. That was not kept.",
        }
    }
}
