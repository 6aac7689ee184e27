//! The numbered steps from an empty file to the newest layout of the store, each in a transaction of its own.
//!
//! A step that has been released is never edited: a new one follows it.

use rusqlite::{Connection, TransactionBehavior};

/// The steps, in order; a file that has taken the first `n` of them says so as its `user_version`.
pub const STEPS: [&str; 3] =
    [include_str!("001-jobs.sql"), include_str!("002-summary.sql"), include_str!("003-shop.sql")];

/// Marks a SQLite file as a store of ours: "Lead" in ASCII, as SQLite's `application_id`.
pub const APPLICATION: i32 = 0x4C65_6164;

/// What a file turned out to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Nothing is in it yet.
    Empty,
    /// A store that has taken this many steps.
    Store(usize),
    /// A database of another program.
    Foreign,
}

/// What the file is.
pub fn kind(db: &Connection) -> rusqlite::Result<Kind> {
    let number = |pragma| db.pragma_query_value(None, pragma, |row| row.get::<_, i32>(0));
    let (application, version) = (number("application_id")?, number("user_version")?);
    if application == APPLICATION {
        return Ok(Kind::Store(usize::try_from(version).unwrap_or(usize::MAX)));
    }
    let tables: i64 = db.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    Ok(if tables == 0 && application == 0 && version == 0 { Kind::Empty } else { Kind::Foreign })
}

/// Takes the steps from the `taken`th up to (not including) the `wanted`th.
///
/// Another process may be doing the same: a step that it took first is left out.
pub fn migrate(db: &mut Connection, taken: usize, wanted: usize) -> rusqlite::Result<()> {
    for (index, step) in STEPS.iter().enumerate().take(wanted).skip(taken) {
        let step_taken = index + 1;
        let tx = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        if !matches!(kind(&tx)?, Kind::Store(taken) if taken >= step_taken) {
            tx.execute_batch(step)?;
            tx.pragma_update(None, "application_id", APPLICATION)?;
            tx.pragma_update(None, "user_version", step_taken as i64)?;
        }
        tx.commit()?;
    }
    Ok(())
}
