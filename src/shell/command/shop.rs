//! `leadhand shop`: the shop's figures over all jobs, as a page.

use std::fs;
use std::path::PathBuf;

use miette::{Context, IntoDiagnostic};

use crate::record::figures::{Figures, page};
use crate::shell::store::place::StoreArgs;
use crate::shell::{shelf, terms};

/// Arguments of `leadhand shop`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  leadhand shop -o november.html")]
pub struct ShopArgs {
    /// Where to write the page
    #[arg(short, long, value_name = "FILE", default_value = "shop.html")]
    output: PathBuf,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: ShopArgs) -> miette::Result<()> {
    let store = args.store.open_existing()?;
    let terms = terms::beside(store.path())?;
    let visits = store.visits(terms.callback_days)?;
    let shelf = shelf::named(visits.iter().map(|visit| &*visit.appliance))?;
    let names = |model: &str, cause: Option<&str>| {
        let appliance = shelf.iter().find(|a| a.id.as_str() == model);
        match (appliance, cause) {
            (_, Some("all-good")) => "nothing electrical is wrong".to_owned(),
            (_, Some("cannot-tell")) => "the cause was not singled out".to_owned(),
            (Some(appliance), Some(cause)) => {
                appliance.fault(&cause.into()).map_or_else(|| cause.to_owned(), |fault| fault.name.clone())
            }
            (Some(appliance), None) => appliance.name.clone(),
            (None, name) => name.unwrap_or(model).to_owned(),
        }
    };
    let html = page::html(&Figures::of(&visits), &terms.name, visits.len(), &names);
    fs::write(&args.output, html)
        .into_diagnostic()
        .wrap_err_with(|| format!("the page cannot be written to {}", args.output.display()))?;
    println!("{}", args.output.display());
    Ok(())
}
