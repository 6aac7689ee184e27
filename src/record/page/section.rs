//! The sections of the page, in the order they are read.

use maud::{Markup, html};

use super::{clock, percent, plot, sentence};
use crate::diagnose::verdict::Verdict;
use crate::model::appliance::Provenance;
use crate::record::entry::ClosingAnswer;
use crate::record::job::{Remark, Standing, Utterance, Voice};
use crate::record::report::guard::{Guard, Guarded};
use crate::record::report::row::{Live, Row};
use crate::record::report::{Closed, Conclusion, Report};

/// What was found to be wrong and what is advised.
pub fn conclusion(report: &Report) -> Markup {
    html! {
        section.conclusion aria-labelledby="conclusion" {
            h2 #conclusion { "What was found" }
            @match &report.conclusion {
                Conclusion::None => p.cause { "Nothing was concluded." }
                Conclusion::NothingWrong { permille } => {
                    p.cause { "Nothing electrical was found to be wrong." }
                    p.sureness { "Probability, given the readings below: " (percent(*permille)) }
                }
                Conclusion::NotSure { likeliest } => {
                    p.cause { "The readings do not single out a cause." }
                    @if let Some((cause, permille)) = likeliest {
                        p { "Most likely: " (cause) " (" (percent(*permille)) "). No remedy was advised on this ground." }
                    }
                }
                Conclusion::Remedy { cause, permille, remedy, sold, behind, caution, change, origin } => {
                    p.cause { (sentence(cause)) }
                    p.sureness { "Probability that the remedy is the right one, given the readings below: " (percent(*permille)) }
                    dl.advice {
                        (advice("Advised", Some(remedy)))
                        (advice("How it is sold", sold.as_ref()))
                        (advice("Cause behind it", behind.as_ref()))
                        (advice("Caution", caution.as_ref()))
                        (advice("Where it comes from", origin.as_ref()))
                        (advice("Could still change it", change.as_ref()))
                        (advice("Repair or replace", report.worth.as_ref()))
                    }
                }
            }
            (still_open(report))
        }
    }
}

/// What was not done is not to be looked for at the end of the page.
fn still_open(report: &Report) -> Markup {
    let items: Vec<&str> = report
        .closing
        .iter()
        .filter(|(_, closed)| *closed == Closed::Answered(ClosingAnswer::NotDone))
        .map(|(item, _)| item.trim_end_matches('.'))
        .collect();
    html! {
        @if !items.is_empty() {
            p.still-open { strong { "Not done before leaving: " } (items.join("; ")) "." }
        }
    }
}

fn advice(name: &str, text: Option<&String>) -> Markup {
    html! {
        @if let Some(text) = text {
            div { dt { (name) } dd { (sentence(text)) } }
        }
    }
}

/// Every finding beside what was expected.
pub fn readings(report: &Report) -> Markup {
    html! {
        section aria-labelledby="readings" {
            h2 #readings { "Readings" }
            @if report.rows.is_empty() {
                p { "Nothing was measured or observed." }
            } @else {
                p.lead { "“Expected” is what this kind of machine shows when nothing is wrong." }
                ol.rows { @for row in &report.rows { (reading(row)) } }
            }
            @for withdrawn in &report.withdrawn {
                p.earlier { "Taken back, and not taken again: " (withdrawn) }
            }
        }
    }
}

fn reading(row: &Row) -> Markup {
    html! {
        li.row {
            div.what {
                h3 { span.number { (row.number) " " } (row.title) }
                @if let Some(how) = &row.how { p.how { (how) } }
            }
            p.found { (row.found) }
            p class=(class(row.verdict)) { span.sign aria-hidden="true" { (sign(row.verdict)) " " } (words(row.verdict)) }
            div.expected {
                @if let Some(expected) = &row.expected {
                    p { "Expected: " (expected) @if let Some(provenance) = row.provenance { " (" (source(provenance)) ")" } }
                } @else {
                    p { "What to expect is not on record." }
                }
                @if let Some(plot) = &row.plot { (plot::svg(plot, row)) }
            }
            (asides(row))
        }
    }
}

fn asides(row: &Row) -> Markup {
    html! {
        div.asides {
            p { "Heard at " (clock(row.at)) ": “" (row.words) "” (" (percent(row.permille)) ")" }
            @for earlier in &row.earlier {
                p.earlier {
                    "Before that: " (earlier.found) ", heard as “" (earlier.words) "”, "
                    @match earlier.standing { Standing::Corrected => "corrected", _ => "taken back" }
                }
            }
            @match &row.live {
                None => {}
                Some(Live::Acknowledged { hazard, words }) => {
                    p.live { strong { "Live check." } " Said: “" (hazard) "” Answered: “" (words) "”" }
                }
                Some(Live::NotOnRecord) => {
                    p.live { strong { "Live check." } " No acknowledgement of the hazard is on record." }
                }
            }
        }
    }
}

/// A verdict as people say it.
pub const fn words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::InLimits => "as expected",
        Verdict::OutOfLimits => "not as expected",
        Verdict::Open => "open: no path where one must be",
        Verdict::Shorted => "shorted: hardly any resistance",
        Verdict::Odd => "unusual: see the machine’s data sheet",
        Verdict::CannotTell => "cannot tell",
    }
}

const fn class(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::InLimits => "verdict good",
        Verdict::OutOfLimits | Verdict::Open | Verdict::Shorted => "verdict bad",
        Verdict::Odd => "verdict odd",
        Verdict::CannotTell => "verdict",
    }
}

const fn sign(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::InLimits => "✓",
        Verdict::OutOfLimits | Verdict::Open | Verdict::Shorted => "✕",
        Verdict::Odd => "!",
        Verdict::CannotTell => "?",
    }
}

/// Where a band comes from.
pub const fn source(provenance: Provenance) -> &'static str {
    match provenance {
        Provenance::Plate => "by its plate or data sheet",
        Provenance::Computed => "computed",
        Provenance::ClassDefault => "usual for such machines",
    }
}

/// How the work was kept safe.
pub fn safety(report: &Report) -> Markup {
    html! {
        section aria-labelledby="safety" {
            h2 #safety { "How the work was kept safe" }
            @if report.guarded.is_empty() {
                p { "Nothing about the supply is on record: it was treated as live throughout." }
            } @else {
                ol.timeline { @for guarded in &report.guarded { (guard(guarded)) } }
            }
        }
    }
}

fn guard(guarded: &Guarded) -> Markup {
    html! {
        li {
            span.at { (clock(guarded.at)) }
            @match &guarded.what {
                Guard::Supply { words, live, why } => span {
                    strong .live[*live] { (words) } ": " (why)
                }
                Guard::Proof { place, readings } => span { (place) ": " (readings.join("; ")) }
                Guard::Acknowledged { hazard, words } => span {
                    strong.live { "Hazard spoken" } ": “" (hazard) "” Answered: “" (words) "”"
                }
            }
        }
    }
}

/// What must not be forgotten before leaving.
pub fn closing(report: &Report) -> Markup {
    html! {
        @if !report.closing.is_empty() {
            section aria-labelledby="closing" {
                h2 #closing { "Before leaving" }
                ul.closing {
                    @for (item, closed) in &report.closing {
                        li {
                            span { (item) }
                            span class=(if done(*closed) { "answer" } else { "answer undone" }) { (answer(*closed)) }
                        }
                    }
                }
            }
        }
    }
}

/// A closing item's answer as people say it.
pub const fn answer(closed: Closed) -> &'static str {
    match closed {
        Closed::Answered(ClosingAnswer::Done) => "done",
        Closed::Answered(ClosingAnswer::NotApplicable) => "does not apply",
        Closed::Answered(ClosingAnswer::NotDone) => "not done",
        Closed::NotAnswered => "not answered",
    }
}

const fn done(closed: Closed) -> bool {
    matches!(closed, Closed::Answered(ClosingAnswer::Done | ClosingAnswer::NotApplicable))
}

/// What no multimeter can tell.
pub const SAFETY_TEST: &str = "Safety test after repair (protective conductor, insulation, leakage current): not tested by \
    this program. It needs other instruments and the rules of the place.";

/// The usual cautions of a report.
pub const CAUTIONS: [&str; 3] = [
    "This report keeps what the technician measured, saw and did. It is no certificate, and claims conformity with no standard.",
    "Local codes, the maker’s instructions and licensed practice come first.",
    "Work inside the machine is for people trained for it, with the supply cut off and proved dead.",
];

/// What was not tested: said as that, never as passed.
pub fn not_tested(report: &Report) -> Markup {
    html! {
        section aria-labelledby="not-tested" {
            h2 #not-tested { "Not tested" }
            ul {
                @for title in &report.left_out { li { (title) ": not tested; left out by the technician" } }
                @if !report.not_made.is_empty() {
                    li { "Checks of this machine that were not made: " (report.not_made.join("; ")) }
                }
                li { (SAFETY_TEST) }
            }
        }
    }
}

/// Notes or refusals, if there are any.
pub fn remarks(title: &str, remarks: &[Remark]) -> Markup {
    html! {
        @if !remarks.is_empty() {
            section {
                h2 { (title) }
                ul.timeline {
                    @for remark in remarks { li { span.at { (clock(remark.at)) } span { (remark.text) } } }
                }
            }
        }
    }
}

/// The usual cautions.
pub fn cautions(report: &Report) -> Markup {
    html! {
        section.cautions aria-labelledby="cautions" {
            h2 #cautions { "Please note" }
            ul {
                @for caution in CAUTIONS { li { (caution) } }
                @for limit in &report.limits { li { (limit) } }
            }
        }
    }
}

/// Every word said and heard, folded away.
pub fn conversation(report: &Report) -> Markup {
    html! {
        @if !report.conversation.is_empty() {
            section {
                details {
                    summary { "The conversation, word for word" }
                    ol.conversation { @for utterance in &report.conversation { (turn(utterance)) } }
                }
            }
        }
    }
}

fn turn(utterance: &Utterance) -> Markup {
    let (who, class) = match utterance.voice {
        Voice::Program => ("Leadhand", "turn"),
        Voice::Hazard => ("Leadhand, hazard voice", "turn hazard"),
        Voice::Technician { .. } => ("Technician", "turn technician"),
    };
    html! {
        li class=(class) {
            span.at { (clock(utterance.at)) }
            span {
                b { (who) } " " (utterance.words)
                @if let Voice::Technician { permille, understood } = utterance.voice {
                    " " span.sureness {
                        "(" @if understood { (percent(permille)) } @else { "not understood" } ")"
                    }
                }
            }
        }
    }
}
