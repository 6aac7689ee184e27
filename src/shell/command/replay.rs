//! `leadhand replay`.

/// Arguments of `leadhand replay`.
#[derive(Debug, clap::Args)]
pub struct ReplayArgs {}

/// Runs the command.
pub fn run(_args: ReplayArgs) -> miette::Result<()> {
    Ok(())
}
