//! `leadhand restore`: a backup takes the place of the record.

use std::path::PathBuf;

use crate::shell::store::Store;
use crate::shell::store::place::StoreArgs;

/// Arguments of `leadhand restore`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "The record that is there is moved aside, not removed. Close every window that uses it first.\n\n\
                  Example:\n  leadhand restore /media/stick/jobs-november.sqlite"
)]
pub struct RestoreArgs {
    /// The backup
    file: PathBuf,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: RestoreArgs) -> miette::Result<()> {
    let path = args.store.path()?;
    let (restored, aside) = Store::restore(&args.file, &path)?;
    println!("{}: jobs {}, entries {}", path.display(), restored.jobs, restored.entries);
    if let Some(aside) = aside {
        println!("The record that was there is now {}.", aside.display());
    }
    Ok(())
}
