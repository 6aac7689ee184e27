//! A report as one self-contained page: no scripts, nothing from elsewhere, all text escaped.
//!
//! The same report gives the same bytes.

mod belief;
pub(super) mod document;
pub mod plot;
pub(super) mod section;

use maud::{Markup, html};

use crate::record::job::Stage;
use crate::record::paper;
use crate::record::report::{Report, capitalised};
use crate::time::Timestamp;

/// The report as an HTML document.
pub fn html(report: &Report) -> String {
    let title = format!("Job {}: {}", report.header.job, report.machine);
    let body = html! {
        main {
            (head(report))
            (section::conclusion(report))
            (section::readings(report))
            (belief::section(&report.history))
            (section::safety(report))
            (paper::html::sections(&paper::visit(report)))
            (section::closing(report))
            (section::not_tested(report))
            (section::remarks("Notes", &report.notes))
            (section::remarks("Refused", &report.refusals))
            (section::cautions(report))
            (section::conversation(report))
        }
        (foot(report))
    };
    document::document(title, "light dark", &body)
}

fn head(report: &Report) -> Markup {
    let minutes = report.took.as_secs().div_ceil(60);
    html! {
        header {
            p.kind { "Service report" }
            h1 { (report.machine) }
            @if let Some(complaint) = &report.complaint {
                p.complaint { "Complaint: " (complaint) }
            }
            dl.facts {
                div { dt { "Job" } dd { (report.header.job) } }
                div { dt { "Opened" } dd { (report.header.opened) } }
                div { dt { "Took" } dd { (minutes) @if minutes == 1 { " minute" } @else { " minutes" } } }
                div { dt { "State" } dd { (stage(report.stage)) } }
            }
        }
    }
}

const fn stage(stage: Stage) -> &'static str {
    match stage {
        Stage::Open => "Open: nothing advised yet",
        Stage::Advised => "Open: remedy advised, job not closed",
        Stage::Finished => "Closed",
    }
}

fn foot(report: &Report) -> Markup {
    html! {
        footer {
            p {
                "Made by Leadhand " (report.version) " from the job record, which is only ever added to. "
                "Fingerprint of its last entry:"
            }
            p.fingerprint { (report.fingerprint) }
        }
    }
}

/// Thousandths as a percentage: never "100 %" or "0 %" of what is not certain.
pub fn percent(permille: u16) -> String {
    match permille {
        0 => "under 0.1\u{a0}%".to_owned(),
        1..10 => format!("0.{permille}\u{a0}%"),
        991..1000 => format!("99.{}\u{a0}%", permille - 990),
        1000.. => "over 99.9\u{a0}%".to_owned(),
        _ => format!("{}\u{a0}%", (permille + 5) / 10),
    }
}

/// Minutes and seconds since the job was opened: `3:07`.
pub fn clock(at: Timestamp) -> String {
    let seconds = at.as_millis() / 1000;
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// A sentence out of a phrase.
pub(super) fn sentence(phrase: &str) -> String {
    let phrase = capitalised(phrase);
    if phrase.ends_with(['.', '!', '?']) { phrase } else { format!("{phrase}.") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_probability_is_never_shown_as_certain() {
        for (permille, expected) in [
            (0, "under 0.1 %"),
            (4, "0.4 %"),
            (10, "1 %"),
            (14, "1 %"),
            (15, "2 %"),
            (500, "50 %"),
            (984, "98 %"),
            (990, "99 %"),
            (991, "99.1 %"),
            (999, "99.9 %"),
            (1000, "over 99.9 %"),
        ] {
            assert_eq!(percent(permille).replace('\u{a0}', " "), expected);
        }
    }
}
