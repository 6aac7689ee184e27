//! `leadhand model check`: every problem of model files, with line and help.

use std::path::PathBuf;

use miette::{Context, IntoDiagnostic};

use crate::model;

/// Arguments of `leadhand model check`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  leadhand model check my-dryer.toml")]
pub(super) struct CheckArgs {
    /// Model files
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
}

/// Runs the command: every file is looked at, whatever is wrong with those before it.
pub(super) fn run(args: CheckArgs) -> miette::Result<()> {
    let mut unsound = 0;
    for file in &args.files {
        let name = file.display().to_string();
        let text =
            std::fs::read_to_string(file).into_diagnostic().wrap_err_with(|| format!("reading {name}"));
        let loaded = text.and_then(|text| Ok(model::load(&name, &text)?));
        match loaded {
            Ok(appliance) => println!(
                "{name}: sound: {} points, {} states, {} faults, {} checks",
                appliance.points.len(),
                appliance.states.len(),
                appliance.faults.len(),
                appliance.checks.len(),
            ),
            Err(report) => {
                unsound += 1;
                eprintln!("{report:?}");
            }
        }
    }
    if unsound > 0 {
        let help = "the fields are explained in models/README.md";
        return Err(miette::miette!(help = help, "{unsound} of {} files are not sound", args.files.len()));
    }
    Ok(())
}
