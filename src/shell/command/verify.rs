//! `leadhand verify`: is every entry as it was written?

use miette::miette;

use crate::shell::store::place::StoreArgs;

/// Arguments of `leadhand verify`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  leadhand verify --store shop.sqlite")]
pub struct VerifyArgs {
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command. Fails if anything was changed.
pub fn run(args: VerifyArgs) -> miette::Result<()> {
    let verified = args.store.open_existing()?.verify()?;
    let (jobs, entries) = (verified.jobs, verified.entries);
    if verified.breaks.is_empty() {
        println!("The record is whole: jobs {jobs}, entries {entries}, each as it was written.");
        return Ok(());
    }
    for place in &verified.breaks {
        println!("{place}");
    }
    let help = "What comes before the first break is as it was written. Compare with a backup.";
    Err(miette!(help = help, "the record is not as it was written, in places: {}", verified.breaks.len()))
}
