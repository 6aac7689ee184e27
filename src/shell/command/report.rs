//! `leadhand report`: one page about one job.

use std::fs;
use std::io::{self, Write};
use std::path::PathBuf;

use miette::{Context, IntoDiagnostic};

use crate::record::header::JobId;
use crate::shell::store::place::StoreArgs;
use crate::shell::{report, shelf};

/// Arguments of `leadhand report`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  leadhand report 3 -o alder-dryer.html")]
pub struct ReportArgs {
    /// The job, by its number: see `leadhand jobs`
    job: JobId,
    /// Where to write the page; `-` for standard output [default: job-JOB.html here]
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// The appliance model of the job, where it is not one that comes with the program
    #[arg(long, value_name = "FILE.toml")]
    appliance: Option<String>,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: ReportArgs) -> miette::Result<()> {
    let store = args.store.open_existing()?;
    let mut known = shelf::shipped()?.to_vec();
    if let Some(file) = &args.appliance {
        known.insert(0, shelf::find(&known, file)?);
    }
    let html = report::html(&store, args.job, &known)?;
    let path = args.output.unwrap_or_else(|| format!("job-{}.html", args.job).into());
    if path.as_os_str() == "-" {
        return io::stdout().write_all(html.as_bytes()).into_diagnostic();
    }
    fs::write(&path, html)
        .into_diagnostic()
        .wrap_err_with(|| format!("the report cannot be written to {}", path.display()))?;
    println!("{}", path.display());
    Ok(())
}
