//! `leadhand region`: what holds where this record is kept.

use std::io::{BufRead, Write};

use miette::{IntoDiagnostic, miette};

use crate::model::region::{Confirmed, Region, SHIPPED};
use crate::shell::store::place::StoreArgs;
use crate::shell::{region, terms, wall_clock};

/// Arguments of `leadhand region`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  leadhand region\n  leadhand region europe --by \"M. Birch\"\n\nA profile says what supply and \
                  earthing to expect and what is easily forgotten. It is no legal advice: local rules and licensed trades \
                  come first."
)]
pub struct RegionArgs {
    /// A region that comes with the program, or a .toml file; shows what is set if left out
    region: Option<String>,
    /// Who says that they may do this work there [default: the technician of shop.toml]
    #[arg(long, value_name = "NAME", requires = "region")]
    by: Option<String>,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: RegionArgs) -> miette::Result<()> {
    let store = args.store.open()?;
    let Some(wanted) = &args.region else {
        show(region::beside(store.path())?.as_ref());
        return Ok(());
    };
    let chosen = region::find(wanted)?;
    let by = args.by.map_or_else(|| terms::beside(store.path()).map(|terms| terms.technician), Ok)?;
    if by.trim().is_empty() {
        return Err(miette!(help = "Give --by NAME, or set technician in shop.toml.", "nobody is named"));
    }
    print!("{}", told(&chosen));
    println!("Local rules and licensed trades come first; this profile says no law.");
    print!("{by}: may you do this work there? yes or no: ");
    std::io::stdout().flush().into_diagnostic()?;
    let mut answer = String::new();
    std::io::stdin().lock().read_line(&mut answer).into_diagnostic()?;
    if answer.trim() != "yes" {
        return Err(miette!("nothing was set: only \"yes\" sets a region"));
    }
    let confirmed = Some(Confirmed { by, on: wall_clock::today() });
    region::keep(&Region { confirmed, ..chosen }, store.path())?;
    println!("set; it is spoken once a job");
    Ok(())
}

fn show(set: Option<&Region>) {
    let Some(region) = set else {
        let names: Vec<&str> = SHIPPED.iter().map(|(name, _)| *name).collect();
        println!("no region is set; known: {}", names.join(", "));
        return;
    };
    print!("{}", told(region));
    if let Some(Confirmed { by, on }) = &region.confirmed {
        println!("{by} said on {on} that they may do this work there.");
    }
}

fn told(region: &Region) -> String {
    let Region { name, supply, earthing, licensed, cautions, .. } = region;
    let cautions = cautions.iter().map(|caution| format!("  {caution}\n"));
    format!("{name}\n  {supply}\n  {earthing}\n  {licensed}\n{}", cautions.collect::<String>())
}
