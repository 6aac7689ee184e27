//! Appliance models: from a file to facts that cannot be wrong.
//!
//! Knows circuits, but no words of the dialogue and no belief.

pub mod appliance;
mod build;
pub mod draw;
mod lint;
mod names;
mod near;
mod predict;
pub mod problem;
mod raw;
mod read;
mod spoken;
mod wiring;

pub use appliance::Appliance;
pub use near::near;
pub use problem::{Code, Problem, Problems};
pub use raw::FIELDS;

/// Every model that comes with the program: its name and its text.
pub fn shipped() -> Vec<(&'static str, &'static str)> {
    vec![
        ("dryer-240", include_str!("../models/appliances/dryer-240.toml")),
        ("ice-maker-modular", include_str!("../models/appliances/ice-maker-modular.toml")),
    ]
}

/// Reads a model. `name` is its file, for messages.
///
/// # Errors
/// Everything wrong with it, not only the first: each problem with its code, line, reason and help.
pub fn load(name: &str, text: &str) -> Result<Appliance, Problems> {
    build::build(name, text)
}

/// One of the [`shipped`] models.
///
/// # Errors
/// If there is no such model, or it has problems of its own.
pub fn by_name(name: &str) -> Result<Appliance, ByName> {
    let known = shipped();
    let found = known.iter().find(|(known, _)| *known == name);
    let (file, text) = found.ok_or_else(|| ByName::Unknown {
        name: name.to_owned(),
        known: known.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", "),
    })?;
    load(&format!("models/appliances/{file}.toml"), text).map_err(ByName::Problems)
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
