//! `leadhand model draw`: the circuit as a picture.

use std::path::PathBuf;

use miette::{Context, IntoDiagnostic};

use super::Situation;
use crate::model::draw::draw;

/// Arguments of `leadhand model draw`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  leadhand model draw dryer-240 --state running --fault leg-two-lost --out dryer.svg"
)]
pub(super) struct DrawArgs {
    #[command(flatten)]
    situation: Situation,
    /// File to write; printed if left out
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Runs the command.
pub(super) fn run(args: DrawArgs) -> miette::Result<()> {
    let appliance = args.situation.appliance()?;
    let state = args.situation.state(&appliance)?;
    let fault = args.situation.fault(&appliance)?;
    let svg = draw(&appliance, state, fault.as_ref()).map_err(super::probe::unsolved)?;
    match args.out {
        None => print!("{svg}"),
        Some(file) => {
            std::fs::write(&file, svg)
                .into_diagnostic()
                .wrap_err_with(|| format!("writing {}", file.display()))?;
            println!("{}", file.display());
        }
    }
    Ok(())
}
