//! The shop's own file, `shop.toml` beside the job record.

use std::path::Path;

use miette::{Context, IntoDiagnostic, LabeledSpan, NamedSource};

use crate::record::terms::Terms;

/// The shop's terms for the record at `store`; the usual ones where there is no file.
pub fn beside(store: &Path) -> miette::Result<Terms> {
    let path = store.with_file_name("shop.toml");
    if !path.exists() {
        return Ok(Terms::default());
    }
    let text = std::fs::read_to_string(&path)
        .into_diagnostic()
        .wrap_err_with(|| format!("reading {}", path.display()))?;
    Terms::read(&text).map_err(|error| {
        let labels = vec![LabeledSpan::new_with_span(
            Some(error.message().to_owned()),
            error.span().unwrap_or_default(),
        )];
        miette::miette!(
            labels = labels,
            help = "README.md shows such a file.",
            "{} does not say what a shop charges",
            path.display()
        )
        .with_source_code(NamedSource::new(path.display().to_string(), text.clone()))
    })
}
