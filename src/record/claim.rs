//! A warranty claim as a filled form: a schema of our own, `claim.schema.json`, to be carried into whatever form is asked for.

use serde::Serialize;

use super::entry::{CustomerField, PartUsed, PlateField};
use super::job::Job;
use super::report::Report;
use crate::diagnose::verdict::Verdict;

/// A warranty claim. What is not on record is an empty text, and named in `missing`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Claim {
    /// The job's number.
    pub job: String,
    /// The day of the visit, RFC 3339.
    pub visited: String,
    /// Who did the work.
    pub shop: String,
    /// The customer's name and the place.
    pub customer: String,
    /// Where the machine stands.
    pub place: String,
    /// The maker.
    pub maker: String,
    /// The maker's name of the model.
    pub model: String,
    /// The serial number.
    pub serial: String,
    /// The date of purchase.
    pub bought: String,
    /// The warranty it is under.
    pub warranty: String,
    /// The complaint, in words.
    pub complaint: String,
    /// The failure, by its name in the appliance model.
    pub failure_code: String,
    /// The failure, in words.
    pub failure: String,
    /// What was advised, in words.
    pub remedy: String,
    /// Was it done?
    pub done: bool,
    /// Minutes of checking and mending.
    pub labour_minutes: u64,
    /// The parts.
    pub parts: Vec<PartUsed>,
    /// The readings that are not as expected, with what was expected.
    pub evidence: Vec<Evidence>,
    /// SHA-256 of the last entry of the record that this was made from.
    pub fingerprint: String,
    /// What a claim usually needs and is not on record.
    pub missing: Vec<&'static str>,
}

/// A reading that speaks for the claim.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Evidence {
    /// What was checked.
    pub check: String,
    /// What was found.
    pub found: String,
    /// What was expected.
    pub expected: String,
}

impl Claim {
    /// The claim of a job.
    pub fn new(job: &Job, report: &Report, remedy: String) -> Self {
        let plate = |field: PlateField| job.plate.get(&field).cloned().unwrap_or_default();
        let customer = |field: CustomerField| job.customer.get(&field).cloned().unwrap_or_default();
        let minutes: f64 = report
            .visit
            .pace
            .iter()
            .filter(|(name, _)| matches!(*name, "checking" | "quoting and mending"))
            .map(|(_, minutes)| minutes)
            .sum();
        let failure = match &report.conclusion {
            super::report::Conclusion::Remedy { cause, .. } => cause.clone(),
            _ => String::new(),
        };
        let mut claim = Self {
            job: report.header.job.to_string(),
            visited: report.header.opened.rfc3339(),
            shop: report.shop.clone(),
            customer: customer(CustomerField::Name),
            place: customer(CustomerField::Place),
            maker: plate(PlateField::Maker),
            model: plate(PlateField::Model),
            serial: plate(PlateField::Serial),
            bought: plate(PlateField::Bought),
            warranty: plate(PlateField::Warranty),
            complaint: job
                .customer
                .get(&CustomerField::Complaint)
                .cloned()
                .or_else(|| report.complaint.clone())
                .unwrap_or_default(),
            failure_code: job.advised().map(|advice| advice.cause.clone()).unwrap_or_default(),
            failure,
            remedy,
            done: job.fixed == Some(true),
            labour_minutes: minutes.ceil() as u64,
            parts: job.parts.iter().filter(|part| part.fitted).cloned().collect(),
            evidence: evidence(report),
            fingerprint: report.fingerprint.clone(),
            missing: Vec::new(),
        };
        claim.missing = claim.lacks();
        claim
    }

    fn lacks(&self) -> Vec<&'static str> {
        let needed = [
            ("customer", self.customer.is_empty()),
            ("maker", self.maker.is_empty()),
            ("model", self.model.is_empty()),
            ("serial", self.serial.is_empty()),
            ("bought", self.bought.is_empty()),
            ("failure", self.failure.is_empty()),
            ("part numbers", self.parts.iter().any(|part| part.new.is_none())),
            ("parts", self.parts.is_empty()),
        ];
        needed.into_iter().filter(|(_, lacking)| *lacking).map(|(name, _)| name).collect()
    }

    /// As names with values, one a line of a form.
    pub fn lines(&self) -> Vec<(String, String)> {
        let serde_json::Value::Object(fields) = serde_json::to_value(self).expect("a claim is plain data")
        else {
            unreachable!("a struct is an object")
        };
        let mut lines = Vec::new();
        for (name, value) in fields {
            flat(&name, &value, &mut lines);
        }
        lines
    }
}

/// `parts.1.new` and so on: one line a value.
fn flat(name: &str, value: &serde_json::Value, lines: &mut Vec<(String, String)>) {
    match value {
        serde_json::Value::Object(fields) => {
            fields.iter().for_each(|(key, value)| flat(&format!("{name}.{key}"), value, lines));
        }
        serde_json::Value::Array(items) => {
            (1..).zip(items).for_each(|(n, value): (usize, _)| flat(&format!("{name}.{n}"), value, lines));
        }
        serde_json::Value::String(text) => lines.push((name.to_owned(), text.clone())),
        serde_json::Value::Null => lines.push((name.to_owned(), String::new())),
        other => lines.push((name.to_owned(), other.to_string())),
    }
}

fn evidence(report: &Report) -> Vec<Evidence> {
    report
        .rows
        .iter()
        .filter(|row| matches!(row.verdict, Verdict::OutOfLimits | Verdict::Open | Verdict::Shorted))
        .map(|row| Evidence {
            check: row.title.clone(),
            found: row.found.clone(),
            expected: row.expected.clone().unwrap_or_default(),
        })
        .collect()
}
