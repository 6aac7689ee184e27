//! `leadhand model`: look into an appliance model, check one, make one's own.

mod check;
mod draw;
mod new;
mod probe;

use miette::{Context, IntoDiagnostic};

use crate::id::{FaultId, StateId};
use crate::model::appliance::{Appliance, State};
use crate::model::{self, near};

/// Arguments of `leadhand model`.
#[derive(Debug, clap::Args)]
pub struct ModelArgs {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, clap::Subcommand)]
enum Command {
    /// What a meter shows between points, in a state, good or under a fault
    Probe(probe::ProbeArgs),
    /// Draw the circuit as SVG, with its points and what stands on them
    Draw(draw::DrawArgs),
    /// Tell every problem of model files, with line and help
    Check(check::CheckArgs),
    /// Copy a model and set values from the sheet in front of you
    New(new::NewArgs),
}

/// Runs the command.
pub fn run(args: ModelArgs) -> miette::Result<()> {
    match args.command {
        Command::Probe(args) => probe::run(args),
        Command::Draw(args) => draw::run(args),
        Command::Check(args) => check::run(args),
        Command::New(args) => new::run(args),
    }
}

/// A machine in a state, and perhaps a fault in it.
#[derive(Debug, clap::Args)]
struct Situation {
    /// Appliance model: a name or a .toml file
    appliance: String,
    /// State, by its name in the model; the first one if left out
    #[arg(long)]
    state: Option<String>,
    /// Fault, by its name in the model; none if left out
    #[arg(long)]
    fault: Option<String>,
}

impl Situation {
    fn appliance(&self) -> miette::Result<Appliance> {
        let text = text(&self.appliance)?;
        Ok(model::load(&text.file, &text.text)?)
    }

    fn state<'a>(&self, appliance: &'a Appliance) -> miette::Result<&'a State> {
        let names = appliance.states.iter().map(|state| state.id.as_str());
        match &self.state {
            None => Ok(appliance.states.first().expect("a sound model has a state")),
            Some(wanted) => {
                let found = appliance.state(&StateId::from(wanted.as_str()));
                found.ok_or_else(|| unknown("state", wanted, names))
            }
        }
    }

    fn fault(&self, appliance: &Appliance) -> miette::Result<Option<FaultId>> {
        let names = appliance.faults.iter().map(|fault| fault.id.as_str());
        let Some(wanted) = &self.fault else { return Ok(None) };
        let found = appliance.fault(&FaultId::from(wanted.as_str()));
        found.map(|fault| Some(fault.id.clone())).ok_or_else(|| unknown("fault", wanted, names))
    }
}

/// The text of a model, and what to call it in messages.
struct ModelText {
    file: String,
    text: String,
}

/// The text of a shipped model, or of a file.
fn text(wanted: &str) -> miette::Result<ModelText> {
    let shipped = model::shipped();
    if let Some((name, text)) = shipped.iter().find(|(name, _)| *name == wanted) {
        return Ok(ModelText { file: format!("models/appliances/{name}.toml"), text: text.to_string() });
    }
    if std::path::Path::new(wanted).extension().is_none_or(|ending| ending != "toml") {
        return Err(unknown("appliance model", wanted, shipped.iter().map(|(name, _)| *name)));
    }
    let text =
        std::fs::read_to_string(wanted).into_diagnostic().wrap_err_with(|| format!("reading {wanted}"))?;
    Ok(ModelText { file: wanted.to_owned(), text })
}

/// There is no such name; those there are, and the one that was probably meant.
fn unknown<'a>(kind: &str, wanted: &str, names: impl Iterator<Item = &'a str> + Clone) -> miette::Report {
    let all: Vec<&str> = names.clone().collect();
    let help = match near(wanted, names) {
        Some(name) => format!("did you mean `{name}`? There are: {}", all.join(", ")),
        None => format!("there are: {}", all.join(", ")),
    };
    miette::miette!(help = help, "there is no {kind} `{wanted}`")
}
