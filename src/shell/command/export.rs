//! `leadhand export`: the record as JSON Lines, the hashes with them; or lists of it as CSV.

mod table;

pub use table::inert;

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::PathBuf;

use clap::ValueEnum;
use miette::{Context, IntoDiagnostic};

use crate::record::header::JobId;
use crate::shell::store::Store;
use crate::shell::store::place::StoreArgs;

/// Arguments of `leadhand export`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "JSON Lines hold everything and can be read back with `leadhand import`; --schema prints what a line holds.\n\n\
                  CSV, a line each, the first line names the columns:\n  \
                  jobs      site, job, opened, machine, complaint, cause, remedy, closed, fixed, callback, minutes, serial\n  \
                  readings  job, at_s, check, found, unit, standing, probability, words\n  \
                  parts     job, part, old, new, count, condition, fitted\n\n\
                  Example:\n  leadhand export 3 -o job-3.jsonl\n  leadhand export --as readings -o readings.csv"
)]
pub struct ExportArgs {
    /// Only this job
    job: Option<JobId>,
    /// What to write
    #[arg(long = "as", value_enum, value_name = "FORM", default_value_t = Form::Record)]
    form: Form,
    /// Leave personal words out
    #[arg(long)]
    technical: bool,
    /// Print the JSON Schema of a line, and nothing else
    #[arg(long)]
    schema: bool,
    /// Where to write; standard output if left out
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    #[command(flatten)]
    store: StoreArgs,
}

/// What to write.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Form {
    /// Every entry, as JSON Lines
    Record,
    /// A line a job, as CSV
    Jobs,
    /// A line a finding, as CSV
    Readings,
    /// A line a part, as CSV
    Parts,
}

/// What a line of JSON holds, as JSON Schema (draft 2020-12).
pub const SCHEMA: &str = include_str!("../../record/export.schema.json");

/// Runs the command.
pub fn run(args: ExportArgs) -> miette::Result<()> {
    let name =
        args.output.as_ref().map_or_else(|| "standard output".to_owned(), |path| path.display().to_string());
    let failed = || format!("the record cannot be written to {name}");
    let mut out: Box<dyn Write> = match &args.output {
        Some(path) => Box::new(BufWriter::new(File::create(path).into_diagnostic().wrap_err_with(failed)?)),
        None => Box::new(BufWriter::new(io::stdout().lock())),
    };
    let written = if args.schema { out.write_all(SCHEMA.as_bytes()) } else { args.write(&mut out)? };
    match written.and_then(|()| out.flush()) {
        // Who reads only the beginning closes the pipe.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other.into_diagnostic().wrap_err_with(failed),
    }
}

impl ExportArgs {
    /// What went wrong with the record, around what went wrong with writing.
    fn write(&self, out: &mut dyn Write) -> miette::Result<io::Result<()>> {
        let store = self.store.open_existing()?;
        let jobs = |store: &Store| match self.job {
            Some(job) => Ok(vec![job]),
            None => store.numbers(),
        };
        match self.form {
            Form::Record => {
                let mut written = Ok(());
                store.export(self.job, !self.technical, |line| {
                    written = writeln!(out, "{line}");
                    written.is_ok()
                })?;
                Ok(written)
            }
            Form::Jobs => table::jobs(&store, &jobs(&store)?, out),
            Form::Readings => table::readings(&store, &jobs(&store)?, out),
            Form::Parts => table::parts(&store, &jobs(&store)?, out),
        }
    }
}
