//! The region whose profile holds here: `region.toml` beside the job record, written by `leadhand region`.

use std::path::Path;

use miette::{IntoDiagnostic, WrapErr, miette};

use crate::model::region::{Region, SHIPPED};

use super::files;

/// The profile beside the record at `store`; `None` where none was set up.
///
/// # Errors
/// A file that cannot be read or is no profile, and one whose work nobody said they may do.
pub fn beside(store: &Path) -> miette::Result<Option<Region>> {
    let path = store.with_file_name("region.toml");
    if !path.exists() {
        return Ok(None);
    }
    let region = read(&path)?;
    if region.confirmed.is_none() {
        return Err(miette!(
            help = format!("`leadhand region {}` asks for it", path.display()),
            "{}: nobody has said that they may do this work here",
            path.display()
        ));
    }
    Ok(Some(region))
}

/// The profile of this name, or in this file.
///
/// # Errors
/// No such name, and a file that cannot be read or is no profile.
pub fn find(wanted: &str) -> miette::Result<Region> {
    if Path::new(wanted).extension().is_some_and(|ext| ext == "toml") {
        return read(Path::new(wanted));
    }
    let known = SHIPPED.iter().find(|(name, _)| *name == wanted);
    let (_, text) = known.ok_or_else(|| {
        let names: Vec<&str> = SHIPPED.iter().map(|(name, _)| *name).collect();
        miette!(
            help = format!("known regions: {}; or give a .toml file", names.join(", ")),
            "no region `{wanted}`"
        )
    })?;
    Region::read(text).into_diagnostic()
}

/// Keeps a profile beside the record at `store`, whole or not at all.
///
/// # Errors
/// A file that cannot be written.
pub fn keep(region: &Region, store: &Path) -> miette::Result<()> {
    files::write_whole(&store.with_file_name("region.toml"), toml::to_string(region).into_diagnostic()?)
}

fn read(path: &Path) -> miette::Result<Region> {
    let text = std::fs::read_to_string(path)
        .into_diagnostic()
        .wrap_err_with(|| format!("reading {}", path.display()))?;
    Region::read(&text).map_err(|why| {
        miette!(
            help = "models/regions shows what such a file holds",
            "{} is no region's profile: {why}",
            path.display()
        )
    })
}
