//! The appliance models at hand: the shipped ones, and files named on the command line.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

use miette::{Context, IntoDiagnostic, miette};

use crate::model::{self, appliance::Appliance};

/// All shipped models.
pub fn shipped() -> miette::Result<Arc<[Arc<Appliance>]>> {
    loaded(|_| true)
}

/// The shipped models of these names, once each: lists and reports need no others, and each takes time to load.
pub fn named<'n>(names: impl IntoIterator<Item = &'n str>) -> miette::Result<Arc<[Arc<Appliance>]>> {
    let names: BTreeSet<&str> = names.into_iter().collect();
    loaded(|name| names.contains(name))
}

fn loaded(wanted: impl Fn(&str) -> bool) -> miette::Result<Arc<[Arc<Appliance>]>> {
    let wanted = model::shipped().into_iter().filter(|(name, _)| wanted(name));
    wanted.map(|(name, text)| Ok(Arc::new(model::load(name, &text)?))).collect()
}

/// The model of this name, or in this file.
pub fn find(shelf: &[Arc<Appliance>], wanted: &str) -> miette::Result<Arc<Appliance>> {
    if Path::new(wanted).extension().is_some_and(|ext| ext == "toml") {
        let text = std::fs::read_to_string(wanted)
            .into_diagnostic()
            .wrap_err_with(|| format!("reading {wanted}"))?;
        return Ok(Arc::new(model::load(wanted, &text)?));
    }
    let named = shelf.iter().find(|a| a.id.as_str() == wanted);
    named.cloned().ok_or_else(|| {
        let names: Vec<&str> = shelf.iter().map(|a| a.id.as_str()).collect();
        miette!(
            help = format!("known machines: {}; or give a .toml file", names.join(", ")),
            "no appliance model `{wanted}`"
        )
    })
}
