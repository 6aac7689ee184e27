//! `leadhand jobs`.

/// Arguments of `leadhand jobs`.
#[derive(Debug, clap::Args)]
pub struct JobsArgs {}

/// Runs the command.
pub fn run(_args: JobsArgs) -> miette::Result<()> {
    Ok(())
}
