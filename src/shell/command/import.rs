//! `leadhand import`: an exported record is read back.

use std::fs::File;
use std::io::{self, BufRead, BufReader};
use std::path::PathBuf;

use miette::{Context, IntoDiagnostic};

use crate::shell::store::place::StoreArgs;

/// Arguments of `leadhand import`.
#[derive(Debug, clap::Args)]
#[command(after_help = "What is here already stays as it is, so a file may be read in twice.\n\n\
                  Example:\n  leadhand import birch.jsonl")]
pub struct ImportArgs {
    /// A file that `leadhand export` wrote; `-` for standard input
    file: PathBuf,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: ImportArgs) -> miette::Result<()> {
    let lines: Box<dyn BufRead> = if args.file.as_os_str() == "-" {
        Box::new(io::stdin().lock())
    } else {
        let file = File::open(&args.file)
            .into_diagnostic()
            .wrap_err_with(|| format!("reading {}", args.file.display()))?;
        Box::new(BufReader::new(file))
    };
    let imported = args.store.open()?.import(lines)?;
    println!("Read: jobs {}; new entries {}.", imported.jobs, imported.new);
    if imported.waiting > 0 {
        println!("Left out, because an earlier job is missing: {}.", imported.waiting);
    }
    Ok(())
}
