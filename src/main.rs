//! Arguments in, exit code out.

use clap::Parser;

fn main() -> miette::Result<()> {
    leadhand::shell::args::Args::parse().run()
}
