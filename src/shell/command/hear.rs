//! `leadhand hear`.

/// Arguments of `leadhand hear`.
#[derive(Debug, clap::Args)]
pub struct HearArgs {}

/// Runs the command.
pub fn run(_args: HearArgs) -> miette::Result<()> {
    Ok(())
}
