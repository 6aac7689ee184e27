//! `leadhand type`.

/// Arguments of `leadhand type`.
#[derive(Debug, clap::Args)]
pub struct TypeArgs {}

/// Runs the command.
pub fn run(_args: TypeArgs) -> miette::Result<()> {
    Ok(())
}
