//! Appliance models: from a file to facts that cannot be wrong.
//!
//! Knows circuits, but no words of the dialogue and no belief.

use std::borrow::Cow;

pub mod appliance;
mod build;
pub mod draw;
mod lint;
mod names;
mod near;
mod predict;
pub mod problem;
mod rated;
mod raw;
mod read;
pub mod region;
mod spoken;
mod wiring;

pub use appliance::Appliance;
pub use near::near;
pub use problem::{Code, Problem, Problems};
pub use rated::Rated;
pub use raw::FIELDS;
pub use region::Region;

/// The files that come with the program, with the machines in each: the file's own and its variants.
const FILES: &[(&str, &str, &[&str])] = &[
    ("dryer-240", include_str!("../models/appliances/dryer-240.toml"), &["dryer-240"]),
    ("dryer-230", include_str!("../models/appliances/dryer-230.toml"), &["dryer-230"]),
    (
        "ice-maker-modular",
        include_str!("../models/appliances/ice-maker-modular.toml"),
        &["ice-maker-modular", "ice-maker-modular-230"],
    ),
    (
        "ice-maker-component",
        include_str!("../models/appliances/ice-maker-component.toml"),
        &["ice-maker-component"],
    ),
    (
        "refrigerator-defrost",
        include_str!("../models/appliances/refrigerator-defrost.toml"),
        &["refrigerator-defrost", "refrigerator-defrost-230"],
    ),
    ("dishwasher", include_str!("../models/appliances/dishwasher.toml"), &["dishwasher", "dishwasher-230"]),
    ("range-240", include_str!("../models/appliances/range-240.toml"), &["range-240"]),
    ("cooker-230", include_str!("../models/appliances/cooker-230.toml"), &["cooker-230"]),
    ("microwave", include_str!("../models/appliances/microwave.toml"), &["microwave", "microwave-230"]),
    ("washer", include_str!("../models/appliances/washer.toml"), &["washer", "washer-230"]),
];

/// Every machine that comes with the program: its name and its text. A variant's text is its file's with the variant's id.
pub fn shipped() -> Vec<(&'static str, Cow<'static, str>)> {
    let machine = |file: &str, text: &'static str, name: &'static str| {
        let chosen = text.replacen(&format!("\nid = \"{file}\"\n"), &format!("\nid = \"{name}\"\n"), 1);
        (name, if name == file { Cow::Borrowed(text) } else { Cow::Owned(chosen) })
    };
    let machines = |(file, text, names): &'static (&str, &str, &[&str])| {
        names.iter().map(move |name| machine(file, text, name))
    };
    FILES.iter().flat_map(machines).collect()
}

/// Reads a model. `name` is its file, for messages.
///
/// # Errors
/// Everything wrong with it, not only the first: each problem with its code, line, reason and help.
pub fn load(name: &str, text: &str) -> Result<Appliance, Problems> {
    build::build(name, text)
}

/// One of the [`shipped`] machines.
///
/// # Errors
/// If there is no such model, or it has problems of its own.
pub fn by_name(name: &str) -> Result<Appliance, ByName> {
    let machines = shipped();
    let found = machines.iter().find(|(known, _)| *known == name);
    let (_, text) = found.ok_or_else(|| ByName::Unknown {
        name: name.to_owned(),
        known: machines.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", "),
    })?;
    load(&format!("models/appliances/{name}.toml"), text).map_err(ByName::Problems)
}

/// Why there is no such appliance.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum ByName {
    /// No model has this name.
    #[error("there is no appliance model `{name}`")]
    #[diagnostic(help("the models are: {known}"))]
    Unknown {
        /// What was asked for.
        name: String,
        /// What there is.
        known: String,
    },
    /// The model is not sound.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Problems(Problems),
}
