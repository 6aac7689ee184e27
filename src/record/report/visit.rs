//! Who was visited, which machine it was, what was fitted and set, and how the time went: the facts beside the readings.

use crate::diagnose::history::Told;
use crate::id::PartId;
use crate::model::appliance::Appliance;
use crate::record::entry::{Condition, CustomerField, PartUsed, PlateField};
use crate::record::job::{Job, Photograph, Setback};
use crate::record::pace::Part;
use crate::record::report::figure;
use crate::record::safety_test::{Outcome, SafetyTest, Step};

/// The facts of a visit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Visit {
    /// About the customer: what, and the words.
    pub customer: Vec<(&'static str, String)>,
    /// From the machine's plate and papers.
    pub plate: Vec<(&'static str, String)>,
    /// Questions to the customer with their answers.
    pub interview: Vec<(String, String)>,
    /// The photographs.
    pub photographs: Vec<Photograph>,
    /// The parts fitted, and those that were wrong, as sentences.
    pub parts: Vec<String>,
    /// What was set, as sentences.
    pub adjustments: Vec<String>,
    /// Every step of the safety test after the repair.
    pub tests: Vec<Tested>,
    /// Runs after the repair and what did not help, as sentences.
    pub runs: Vec<String>,
    /// How the time went, in minutes; parts that took none are left out.
    pub pace: Vec<(&'static str, f64)>,
    /// Was personal data removed?
    pub forgotten: bool,
}

/// One step of the safety test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tested {
    /// The step.
    pub step: Step,
    /// How it went: "within the limit, 0.12 Ω (installation tester)"; "not tested" where nothing is on record.
    pub said: String,
    /// How it went.
    pub outcome: Outcome,
}

impl Visit {
    /// The facts of a job; parts keep the names of the record without their appliance model.
    pub fn new(job: &Job, appliance: Option<&Appliance>) -> Self {
        let customer = |(field, name)| Some((name, job.customer.get(&field)?.clone()));
        let plate = |(field, name)| Some((name, job.plate.get(&field)?.clone()));
        let name =
            |part: &PartId| appliance.map_or_else(|| part.to_string(), |appliance| appliance.part_name(part));
        let rated = job.rated.iter().map(|(part, value)| ("Rated", format!("{} {value}", name(part))));
        let told = |told: &Told| {
            let (question, answer) = match told {
                Told::Recurs(Some(true)) => ("Does it come and go?", "it comes and goes".to_owned()),
                Told::Recurs(Some(false)) => ("Does it come and go?", "it is always there".to_owned()),
                Told::Replaced(Some(part)) => ("Replaced for it already?", name(part)),
                Told::Recurs(None) | Told::Replaced(None) => return None,
            };
            Some((question.to_owned(), answer))
        };
        let tried = |setback: &Setback| {
            format!("Done for “{}”, and it did not help", super::cause_name(&setback.cause, appliance))
        };
        let minutes = |(part, name)| {
            let minutes = job.pace.spent(part).as_secs_f64() / 60.0;
            (minutes > 0.05).then_some((name, minutes))
        };
        Self {
            customer: CustomerField::ALL.into_iter().filter_map(customer).collect(),
            plate: PlateField::ALL.into_iter().filter_map(plate).chain(rated).collect(),
            interview: job.told.iter().filter_map(told).chain(job.interview.iter().cloned()).collect(),
            photographs: job.photographs.clone(),
            parts: job.parts.iter().map(part).collect(),
            adjustments: job
                .adjustments
                .iter()
                .map(|(setting, before, after)| format!("{setting}: before {before}, now {after}"))
                .collect(),
            tests: Step::ALL.into_iter().map(|step| tested(step, job.safety_tests.get(&step))).collect(),
            runs: job.runs.iter().map(run).chain(job.setbacks.iter().map(tried)).collect(),
            pace: Part::ALL.into_iter().filter_map(minutes).collect(),
            forgotten: job.forgotten,
        }
    }

    /// The value of a fact about the customer or the machine, by its name on the page.
    pub fn fact(&self, name: &str) -> Option<&str> {
        self.customer
            .iter()
            .chain(&self.plate)
            .find(|(known, _)| *known == name)
            .map(|(_, value)| value.as_str())
    }
}

fn part(part: &PartUsed) -> String {
    let number = |what: &str, number: &Option<String>| {
        number.as_ref().map(|number| format!(", {what} {number}")).unwrap_or_default()
    };
    let count = if part.count == 1 { String::new() } else { format!("{} × ", part.count) };
    let condition = match part.condition {
        Condition::New => "new",
        Condition::Used => "used",
        Condition::Rebuilt => "rebuilt",
    };
    let (old, new) = (number("old number", &part.old), number("new number", &part.new));
    let fate =
        if part.fitted { format!("fitted, {condition}") } else { "the wrong part, not fitted".to_owned() };
    format!("{count}{}: {fate}{old}{new}", part.part)
}

fn run((how, well): &(String, bool)) -> String {
    format!(
        "{}: {}",
        how.trim_end_matches('.'),
        if *well { "the complaint was gone" } else { "the complaint was still there" }
    )
}

fn tested(step: Step, test: Option<&SafetyTest>) -> Tested {
    let Some(test) = test else {
        return Tested { step, said: "not tested".to_owned(), outcome: Outcome::NotTested };
    };
    let words = match test.outcome {
        Outcome::WithinLimit if step.limit().is_none() => "said to be in order",
        Outcome::OutsideLimit if step.limit().is_none() => "NOT in order: to stay disconnected, and marked",
        Outcome::WithinLimit => "said to be within the limit",
        Outcome::OutsideLimit => "OUTSIDE the limit: to stay disconnected, and marked",
        Outcome::NotTested => "not tested",
    };
    let value = test.value.map(|value| match value.unit {
        Some(unit) => format!(", {}", figure::as_said(value, unit)),
        None => format!(", {value}"),
    });
    let by = test.by.as_ref().map(|by| format!(" ({by})"));
    let said = format!("{words}{}{}", value.unwrap_or_default(), by.unwrap_or_default());
    Tested { step, said, outcome: test.outcome }
}
