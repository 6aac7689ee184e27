//! `leadhand report`.

/// Arguments of `leadhand report`.
#[derive(Debug, clap::Args)]
pub struct ReportArgs {}

/// Runs the command.
pub fn run(_args: ReportArgs) -> miette::Result<()> {
    Ok(())
}
