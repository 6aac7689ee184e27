//! `leadhand claim`: a warranty claim, filled from a job.

use std::fs;
use std::path::PathBuf;

use miette::{Context, IntoDiagnostic, miette};

use crate::record::claim::Claim;
use crate::record::header::JobId;
use crate::record::job::Job;
use crate::record::report::{Conclusion, Report};
use crate::shell::store::place::StoreArgs;
use crate::shell::{report, shelf};

/// Arguments of `leadhand claim`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "The ending of FILE says the form: .json (see --schema) or .csv (a name and its value a line).\n\n\
                  Example:\n  leadhand claim 3 -o claim-3.json"
)]
pub struct ClaimArgs {
    /// The job, by its number: see `leadhand jobs`
    #[arg(required_unless_present = "schema")]
    job: Option<JobId>,
    /// Where to write it [default: claim-JOB.json here]
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Print the JSON Schema of a claim, and nothing else
    #[arg(long)]
    schema: bool,
    #[command(flatten)]
    store: StoreArgs,
}

/// What a claim holds, as JSON Schema (draft 2020-12).
pub const SCHEMA: &str = include_str!("../../record/claim.schema.json");

/// Runs the command.
pub fn run(args: ClaimArgs) -> miette::Result<()> {
    let Some(id) = args.job.filter(|_| !args.schema) else {
        print!("{SCHEMA}");
        return Ok(());
    };
    let store = args.store.open_existing()?;
    let job = Job::fold(&store.entries(id)?);
    let shelf = shelf::named(job.appliance.as_ref().map(crate::id::ApplianceId::as_str))?;
    let report = report::of(&store, id, &shelf)?;
    let claim = Claim::new(&job, &report, remedy(&report));
    let path = args.output.unwrap_or_else(|| format!("claim-{id}.json").into());
    let bytes = match path.extension().and_then(|ending| ending.to_str()) {
        Some("json") => serde_json::to_vec_pretty(&claim).into_diagnostic()?,
        Some("csv") => csv(&claim).into_diagnostic()?,
        _ => {
            return Err(miette!(
                help = "Name a file that ends in .json or .csv.",
                "claims are written as JSON or CSV"
            ));
        }
    };
    fs::write(&path, bytes)
        .into_diagnostic()
        .wrap_err_with(|| format!("the claim cannot be written to {}", path.display()))?;
    println!("{}", path.display());
    if !claim.missing.is_empty() {
        println!("Not on record yet: {}. `leadhand enter {id}` takes it.", claim.missing.join(", "));
    }
    Ok(())
}

fn remedy(report: &Report) -> String {
    match &report.conclusion {
        Conclusion::Remedy { remedy, .. } => remedy.clone(),
        _ => String::new(),
    }
}

fn csv(claim: &Claim) -> Result<Vec<u8>, csv::Error> {
    let mut table = csv::Writer::from_writer(Vec::new());
    table.write_record(["field", "value"])?;
    for (name, value) in claim.lines() {
        table.write_record([name, super::export::inert(&value)])?;
    }
    Ok(table.into_inner().unwrap_or_default())
}
