//! `leadhand talk`.

/// Arguments of `leadhand talk`.
#[derive(Debug, clap::Args)]
pub struct TalkArgs {}

/// Runs the command.
pub fn run(_args: TalkArgs) -> miette::Result<()> {
    Ok(())
}
