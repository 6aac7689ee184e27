//! `leadhand report`: what there is to say about one job, for the next technician or for the customer.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use miette::{Context, IntoDiagnostic, miette};

use crate::record::header::JobId;
use crate::shell::report::{self, Form, Reader};
use crate::shell::shelf;
use crate::shell::store::place::StoreArgs;

/// Arguments of `leadhand report`.
#[derive(Debug, clap::Args)]
#[command(after_help = "The ending of FILE says the form: .html, .pdf or .txt.\n\n\
                  Examples:\n  leadhand report 3 -o alder-dryer.html\n  leadhand report 3 --customer -o alder.pdf")]
pub struct ReportArgs {
    /// The job, by its number: see `leadhand jobs`
    job: JobId,
    /// The customer's two pages in plain words, instead of the technician's record
    #[arg(long)]
    customer: bool,
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
    let shelf = match &args.appliance {
        Some(file) => {
            let shipped = shelf::shipped()?;
            [&[shelf::find(&shipped, file)?], &*shipped].concat().into()
        }
        None => shelf::named(store.row(args.job)?.appliance.as_deref())?,
    };
    let reader = if args.customer { Reader::Customer } else { Reader::Technician };
    let path = args.output.unwrap_or_else(|| format!("job-{}.html", args.job).into());
    let form = form(&path)?;
    let bytes = report::bytes(&report::of(&store, args.job, &shelf)?, reader, form)?;
    if path.as_os_str() == "-" {
        return io::stdout().write_all(&bytes).into_diagnostic();
    }
    fs::write(&path, bytes)
        .into_diagnostic()
        .wrap_err_with(|| format!("the report cannot be written to {}", path.display()))?;
    println!("{}", path.display());
    Ok(())
}

fn form(path: &Path) -> miette::Result<Form> {
    match path.extension().and_then(|ending| ending.to_str()) {
        Some("html" | "htm") | None => Ok(Form::Html),
        Some("pdf") => Ok(Form::Pdf),
        Some("txt") => Ok(Form::Text),
        Some(other) => Err(miette!(
            help = "Name a file that ends in .html, .pdf or .txt.",
            "reports are not written as .{other}"
        )),
    }
}
