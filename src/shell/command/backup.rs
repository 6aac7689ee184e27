//! `leadhand backup`: a copy of the record, made while it may be in use.

use std::path::PathBuf;

use crate::shell::store::place::StoreArgs;

/// Arguments of `leadhand backup`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "A backup is a job record itself: look at it with --store FILE, or put it in the place of a lost one.\n\n\
                  Example:\n  leadhand backup /media/stick/jobs-november.sqlite"
)]
pub struct BackupArgs {
    /// Where to write the copy; it must not be there yet
    file: PathBuf,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: BackupArgs) -> miette::Result<()> {
    let copied = args.store.open_existing()?.backup(&args.file)?;
    println!("{}: jobs {}, entries {}", args.file.display(), copied.jobs, copied.entries);
    Ok(())
}
