//! `leadhand export`: the record as JSON Lines, one entry a line, the hashes with them.

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::PathBuf;

use miette::{Context, IntoDiagnostic};

use crate::record::header::JobId;
use crate::shell::store::place::StoreArgs;

/// Arguments of `leadhand export`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Each line is an object: job, opened (RFC 3339), number, previous and hash (SHA-256, hexadecimal), entry.\n\n\
                  Example:\n  leadhand export 3 -o job-3.jsonl"
)]
pub struct ExportArgs {
    /// Only this job
    job: Option<JobId>,
    /// Where to write; standard output if left out
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: ExportArgs) -> miette::Result<()> {
    let store = args.store.open_existing()?;
    let name =
        args.output.as_ref().map_or_else(|| "standard output".to_owned(), |path| path.display().to_string());
    let failed = || format!("the record cannot be written to {name}");
    let mut out: Box<dyn Write> = match &args.output {
        Some(path) => Box::new(BufWriter::new(File::create(path).into_diagnostic().wrap_err_with(failed)?)),
        None => Box::new(BufWriter::new(io::stdout().lock())),
    };
    let mut written = Ok(());
    store.export(args.job, |line| {
        written = writeln!(out, "{line}");
        written.is_ok()
    })?;
    match written.and_then(|()| out.flush()) {
        // Who reads only the beginning closes the pipe.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other.into_diagnostic().wrap_err_with(failed),
    }
}
