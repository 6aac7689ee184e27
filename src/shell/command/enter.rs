//! `leadhand enter`: what is typed rather than said: customer, plate, photographs, parts, estimate, consent.

use std::path::PathBuf;
use std::sync::Arc;

use clap::Subcommand;
use miette::{IntoDiagnostic, miette};
use rust_decimal::Decimal;
use serde::de::DeserializeOwned;

use crate::diagnose::history::Told;
use crate::dialogue;
use crate::id::PartId;
use crate::model::Appliance;
use crate::quantity::{Decimal as Digits, Quantity, Unit};
use crate::record::consent::{Consent, Means};
use crate::record::entry::{Condition, Entry, PartUsed, What};
use crate::record::header::JobId;
use crate::record::job::Job;
use crate::record::safety_test::SafetyTest;
use crate::shell::store::Store;
use crate::shell::store::place::StoreArgs;
use crate::shell::{files, shelf, terms, wall_clock};

/// Arguments of `leadhand enter`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  leadhand enter 3 plate serial AB1234\n  leadhand enter 3 customer name \"Ada Alder\"\n  \
                        leadhand enter 3 estimate --part \"Heating element=34.95\" --hours 0.75 --travel\n  \
                        leadhand enter 3 consent --who \"Ada Alder\" --by telephone --number 555-0100"
)]
pub struct EnterArgs {
    /// The job, by its number: see `leadhand jobs`
    job: JobId,
    #[command(subcommand)]
    fact: Fact,
    #[command(flatten)]
    store: StoreArgs,
}

#[derive(Debug, Subcommand)]
enum Fact {
    /// About the customer: name, place, telephone, mail, complaint, access, payer, wish
    Customer { field: String, value: String },
    /// From the plate or papers: maker, model, serial, variant, rating, bought, warranty
    Plate { field: String, value: String },
    /// Does the complaint come and go: sometimes, always
    Recurs { how: String },
    /// A part that was replaced for it already, by its name in the appliance model
    Replaced { part: String },
    /// A question to the customer, and the answer
    Asked { question: String, answer: String },
    /// A photograph; the file is copied beside the record
    Photo { file: PathBuf, shows: String },
    /// A part that was fitted, or was the wrong one
    Part(PartArgs),
    /// What the work will cost, on the terms of shop.toml
    Estimate(EstimateArgs),
    /// What the customer agreed to: the last estimate
    Consent(ConsentArgs),
    /// Something that was set
    Adjusted { setting: String, before: String, after: String },
    /// A step of the safety test after the repair: visual, protective-conductor, insulation, protective-current,
    /// touch-current, function; within-limit, outside-limit, not-tested
    Tested {
        step: String,
        outcome: String,
        /// What the tester showed, with its unit: "0.12 ohms"
        #[arg(long)]
        value: Option<String>,
        /// By which instrument and under whose rules
        #[arg(long)]
        by: Option<String>,
    },
    /// The machine was run after the repair
    Ran {
        how: String,
        /// The complaint is not gone
        #[arg(long)]
        still: bool,
    },
    /// This job is a callback of an earlier one
    Callback { of: JobId },
    /// A note
    Note { text: String },
}

#[derive(Debug, clap::Args)]
struct PartArgs {
    /// What it is
    part: String,
    /// The number on the old one
    #[arg(long)]
    old: Option<String>,
    /// The number of the new one
    #[arg(long)]
    new: Option<String>,
    /// How many
    #[arg(long, default_value_t = 1)]
    count: u16,
    /// new, used or rebuilt
    #[arg(long, default_value = "new")]
    condition: String,
    /// It was the wrong part and was not fitted
    #[arg(long)]
    wrong: bool,
}

#[derive(Debug, clap::Args)]
struct EstimateArgs {
    /// A part and its price before tax: "Belt=18.90"
    #[arg(long = "part", value_name = "PART=PRICE", value_parser = priced)]
    parts: Vec<(String, Decimal)>,
    /// Hours of work
    #[arg(long, default_value = "0")]
    hours: Decimal,
    /// The way here is charged
    #[arg(long)]
    travel: bool,
}

#[derive(Debug, clap::Args)]
struct ConsentArgs {
    /// The name of the person consenting
    #[arg(long)]
    who: String,
    /// By what means: spoken, telephone, message, signed
    #[arg(long, default_value = "spoken")]
    by: String,
    /// The telephone number or address used
    #[arg(long)]
    number: Option<String>,
    /// Who took the consent [default: the technician of shop.toml]
    #[arg(long)]
    taken_by: Option<String>,
    /// The extra work agreed to [default: the lines of the estimate]
    #[arg(long)]
    work: Option<String>,
    /// It was refused
    #[arg(long)]
    refused: bool,
}

/// Runs the command.
pub fn run(args: EnterArgs) -> miette::Result<()> {
    let mut store = args.store.open_existing()?;
    let lease = store.lease(args.job)?;
    let job = Job::fold(&store.entries(args.job)?);
    let what = args.fact.what(&store, &job)?;
    store.append(&lease, &Entry { at: job.last, what: what.clone() })?;
    if let What::Estimated(estimate) = &what {
        println!("The estimate comes to {}.", estimate.shown(estimate.total()));
    }
    let job = Job::fold(&store.entries(args.job)?);
    if let (Some(excess), Some(estimate)) = (job.excess(), job.estimates.last()) {
        println!("The customer has not agreed to it yet: ask about {} more.", estimate.shown(excess.extra()));
    }
    Ok(())
}

impl Fact {
    fn what(self, store: &Store, job: &Job) -> miette::Result<What> {
        Ok(match self {
            Self::Customer { field, value } => What::Customer { field: one_of("field", &field)?, value },
            Self::Plate { field, value } => What::Plate { field: one_of("field", &field)?, value },
            Self::Recurs { how } => What::Told { told: Told::Recurs(Some(recurs(&how)?)) },
            Self::Replaced { part } => What::Told { told: Told::Replaced(Some(replaced(job, &part)?)) },
            Self::Asked { question, answer } => What::Asked { question, answer },
            Self::Photo { file, shows } => {
                let (file, sha256) = files::keep(store, &file)?;
                What::Photographed { file, sha256, shows }
            }
            Self::Part(args) => What::Part(args.part()?),
            Self::Estimate(args) => args.what(store)?,
            Self::Consent(args) => What::Consented(args.consent(store, job)?),
            Self::Adjusted { setting, before, after } => adjusted(job, setting, before, after)?,
            Self::Tested { step, outcome, value, by } => {
                let value = value.as_deref().map(measured).transpose()?;
                let (step, outcome) = (one_of("step", &step)?, one_of("outcome", &outcome)?);
                What::SafetyTested(SafetyTest { step, outcome, value, by })
            }
            Self::Ran { how, still } => What::Ran { how, well: !still },
            Self::Callback { of } => What::CalledBack { of: store.job_hash(of)?.to_string() },
            Self::Note { text } => What::Noted { text },
        })
    }
}

impl PartArgs {
    fn part(self) -> miette::Result<PartUsed> {
        let condition: Condition = one_of("condition", &self.condition)?;
        let Self { part, old, new, count, wrong, .. } = self;
        Ok(PartUsed { part, old, new, count, condition, fitted: !wrong })
    }
}

impl EstimateArgs {
    fn what(self, store: &Store) -> miette::Result<What> {
        if self.parts.is_empty() && self.hours.is_zero() && !self.travel {
            return Err(miette!(help = "Give --part, --hours or --travel.", "the estimate has no lines"));
        }
        let terms = terms::beside(store.path())?;
        let until = wall_clock::now().in_days(terms.valid_days).rfc3339();
        let until = until.split('T').next().map(str::to_owned);
        Ok(What::Estimated(terms.estimate(self.parts, self.hours, self.travel, until)))
    }
}

impl ConsentArgs {
    /// Consent to the last estimate, over what was agreed to before.
    fn consent(self, store: &Store, job: &Job) -> miette::Result<Consent> {
        let estimate = job.estimates.last().ok_or_else(|| {
            miette!(help = "`leadhand enter JOB estimate` makes one.", "there is no estimate to agree to")
        })?;
        let technician = terms::beside(store.path())?.technician;
        let taken_by = self.taken_by.or((!technician.is_empty()).then_some(technician)).ok_or_else(|| {
            miette!(
                help = "Give --taken-by NAME, or set technician in shop.toml.",
                "it is not known who took the consent"
            )
        })?;
        let means: Means = one_of("means", &self.by)?;
        if means == Means::Telephone && self.number.is_none() {
            return Err(miette!(
                help = "Give --number NUMBER.",
                "the number that was called belongs to a consent"
            ));
        }
        let agreed = job.agreed().map_or(Decimal::ZERO, |agreed| agreed.total);
        let lines: Vec<&str> = estimate.lines.iter().map(|line| line.what.as_str()).collect();
        Ok(Consent {
            given: !self.refused,
            when: wall_clock::now(),
            who: self.who,
            means,
            number: self.number,
            taken_by,
            work: self.work.unwrap_or_else(|| lines.join(", ")),
            extra: estimate.total() - agreed,
            total: estimate.total(),
            currency: estimate.currency,
            words: None,
        })
    }
}

fn recurs(how: &str) -> miette::Result<bool> {
    match how {
        "sometimes" => Ok(true),
        "always" => Ok(false),
        _ => Err(miette!(help = "Write sometimes or always.", "`{how}` is neither")),
    }
}

/// The model of a job's machine, if it comes with the program.
fn machine(job: &Job) -> miette::Result<Option<Arc<Appliance>>> {
    Ok(shelf::shipped()?.iter().find(|appliance| job.appliance.as_ref() == Some(&appliance.id)).cloned())
}

/// Something that was set. A screw that the machine's model knows is where it is in the words that a job goes on with.
fn adjusted(job: &Job, setting: String, before: String, after: String) -> miette::Result<What> {
    let appliance = machine(job)?;
    let known = appliance.as_deref().and_then(|appliance| dialogue::positions(appliance, &setting));
    let Some((name, positions)) = known else { return Ok(What::Adjusted { setting, before, after }) };
    for place in [&before, &after] {
        if !positions.contains(place) {
            return Err(miette!(
                help = format!("Write one of: {}.", positions.join(", ")),
                "where the {name} is cannot be told from `{place}`"
            ));
        }
    }
    Ok(What::Adjusted { setting: name.to_owned(), before, after })
}

/// A part of the job's machine, where its model is at hand.
fn replaced(job: &Job, part: &str) -> miette::Result<PartId> {
    let part = PartId::from(part);
    let Some(appliance) = machine(job)? else { return Ok(part) };
    if appliance.parts.iter().any(|known| known.id == part) {
        return Ok(part);
    }
    let known: Vec<&str> = appliance.parts.iter().map(|part| part.id.as_str()).collect();
    Err(miette!(help = format!("It has: {}.", known.join(", ")), "{} has no part `{part}`", appliance.name))
}

/// One of the names that an entry may hold.
fn one_of<T: DeserializeOwned>(what: &str, text: &str) -> miette::Result<T> {
    serde_json::from_value(serde_json::Value::String(text.to_owned()))
        .map_err(|why| miette!("that is no {what}: {why}"))
}

fn priced(text: &str) -> Result<(String, Decimal), String> {
    let (part, price) = text.rsplit_once('=').ok_or("write it as PART=PRICE, such as Belt=18.90")?;
    let price: Decimal = price.trim().parse().map_err(|_| format!("`{price}` is no price"))?;
    if price.is_sign_negative() {
        return Err(format!("`{price}` is below nothing"));
    }
    Ok((part.trim().to_owned(), price))
}

/// "0.12 ohms": digits and a unit of the safety test.
fn measured(text: &str) -> miette::Result<Quantity> {
    let wrong = || {
        miette!(
            help = "Write it as \"0.12 ohms\", \"2 megohms\" or \"0.3 milliamps\".",
            "`{text}` is no measured value"
        )
    };
    let (number, unit) = text.trim().split_once(' ').ok_or_else(wrong)?;
    let number: Digits = number.parse().into_diagnostic()?;
    let (prefix, unit) = match unit.trim() {
        "ohm" | "ohms" => (crate::quantity::Prefix::One, Unit::Ohms),
        "megohm" | "megohms" => (crate::quantity::Prefix::Mega, Unit::Ohms),
        "milliamp" | "milliamps" => (crate::quantity::Prefix::Milli, Unit::Amps),
        "volt" | "volts" => (crate::quantity::Prefix::One, Unit::Volts),
        _ => return Err(wrong()),
    };
    Ok(Quantity { number, prefix, unit: Some(unit) })
}
