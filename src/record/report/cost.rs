//! What was estimated and what the customer agreed to, as it is written on paper.

use crate::money::Locale;
use crate::record::consent::Consent;
use crate::record::estimate::Estimate;
use crate::record::job::Job;

/// What was estimated and agreed to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cost {
    /// The lines of the last estimate: kind, what, how many, price of one, price.
    pub lines: Vec<[String; 5]>,
    /// Sum before tax, each tax, and the total: what, amount.
    pub sums: Vec<(String, String)>,
    /// The last day on which it holds.
    pub valid_until: Option<String>,
    /// What was agreed to or refused, in order, as sentences.
    pub consents: Vec<String>,
    /// What has still to be agreed to before it is done.
    pub open: Option<String>,
}

impl Cost {
    /// The cost of a job.
    pub fn new(job: &Job) -> Self {
        let locale = job.estimates.last().map(|estimate| estimate.locale.clone()).unwrap_or_default();
        let consents = job.consents.iter().map(|given| consent(given, &locale)).collect();
        let Some(estimate) = job.estimates.last() else { return Self { consents, ..Self::default() } };
        let open = job.excess().map(|excess| match excess.agreed {
            None => "The customer has not agreed to it yet.".to_owned(),
            Some(agreed) => format!(
                "Agreed to so far is {}; {} more is to be asked for before the work is done.",
                estimate.shown(agreed),
                estimate.shown(excess.extra())
            ),
        });
        Self {
            lines: lines(estimate),
            sums: sums(estimate),
            valid_until: estimate.valid_until.clone(),
            consents,
            open,
        }
    }

    /// Is anything about money on record?
    pub const fn is_empty(&self) -> bool {
        self.lines.is_empty() && self.consents.is_empty()
    }
}

fn lines(estimate: &Estimate) -> Vec<[String; 5]> {
    let line = |line: &crate::record::estimate::Line| {
        [
            line.kind.name().to_owned(),
            line.what.clone(),
            estimate.locale.number(line.count.normalize()),
            estimate.shown(line.each),
            estimate.shown(estimate.line(line)),
        ]
    };
    estimate.lines.iter().map(line).collect()
}

fn sums(estimate: &Estimate) -> Vec<(String, String)> {
    let mut sums = vec![("Before tax".to_owned(), estimate.shown(estimate.net()))];
    for tax in &estimate.taxes {
        let rate = estimate.locale.number(tax.percent.normalize());
        sums.push((format!("{}, {rate}\u{a0}%", tax.name), estimate.shown(estimate.tax(tax))));
    }
    if estimate.taxes.is_empty() {
        sums.push(("Tax".to_owned(), "none set".to_owned()));
    }
    sums.push(("Total".to_owned(), estimate.shown(estimate.total())));
    sums
}

fn consent(consent: &Consent, locale: &Locale) -> String {
    let amount = |amount| locale.money(amount, consent.currency);
    let number = consent.number.as_ref().map(|number| format!(" ({number})")).unwrap_or_default();
    let words = consent.words.as_ref().map(|words| format!(" Heard: “{words}”.")).unwrap_or_default();
    format!(
        "{}: {} {} {}{number} to {}, {} more, {} in all; taken by {}.{words}",
        consent.when,
        consent.who,
        if consent.given { "agreed" } else { "did not agree" },
        consent.means.name(),
        consent.work,
        amount(consent.extra),
        amount(consent.total),
        consent.taken_by,
    )
}
