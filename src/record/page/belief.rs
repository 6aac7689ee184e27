//! Belief over time as small multiples: one row a cause, one bar a step, so that no colour has to be told apart.

use maud::{Markup, html};

use super::percent;
use crate::record::report::belief::{History, Line};
use crate::record::report::capitalised;

/// Width of a row of bars, in its own units.
const WIDTH: f64 = 300.0;
/// Height of a row of bars.
const HEIGHT: f64 = 30.0;
/// No bar is wider than this.
const WIDEST: f64 = 28.0;

/// The section; nothing if nothing was believed.
pub fn section(history: &History) -> Markup {
    html! {
        @if !history.steps.is_empty() {
            section aria-labelledby="belief" {
                h2 #belief { "How the conclusion came about" }
                p.lead { "How probable each cause was at the start and after each reading, by its number above." }
                table.belief {
                    thead {
                        tr { th scope="col" { "Cause" } th scope="col" { (numbers(&history.steps)) } th scope="col" { "At the end" } }
                    }
                    tbody {
                        @for (index, cause) in history.causes.iter().enumerate() {
                            tr .first[index == 0] {
                                th scope="row" { (capitalised(&cause.name)) }
                                td { (bars(cause, &history.steps)) }
                                td.end { (percent(cause.permille.last().copied().unwrap_or(0))) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The numbers of the steps, above their bars.
fn numbers(steps: &[String]) -> Markup {
    let pitch = pitch(steps.len());
    html! {
        svg viewBox={ "0 0 " (WIDTH) " 12" } role="img" aria-label="after reading" {
            @for (index, step) in steps.iter().enumerate() {
                @let (x, anchor) = if index == 0 { (0.0, "start") } else { ((index as f64 + 0.5) * pitch - 1.0, "middle") };
                text.tick x=(format!("{x:.1}")) y="10" text-anchor=(anchor) { (step) }
            }
        }
    }
}

fn bars(cause: &Line, steps: &[String]) -> Markup {
    let pitch = pitch(steps.len());
    let said: Vec<String> = steps
        .iter()
        .zip(&cause.permille)
        .map(|(step, permille)| format!("{step}: {}", percent(*permille)))
        .collect();
    html! {
        svg viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } role="img" aria-label=(said.join(", ")) {
            line.axis x1="0" x2=(format!("{:.1}", pitch * steps.len() as f64)) y1=(HEIGHT - 0.5) y2=(HEIGHT - 0.5) {}
            @for (index, permille) in cause.permille.iter().enumerate() {
                @let height = f64::from(*permille) / 1000.0 * (HEIGHT - 2.0);
                rect.bar x=(format!("{:.1}", index as f64 * pitch)) y=(format!("{:.1}", HEIGHT - 1.0 - height))
                    width=(format!("{:.1}", pitch - 2.0)) height=(format!("{height:.1}")) {}
            }
        }
    }
}

fn pitch(steps: usize) -> f64 {
    (WIDTH / steps.max(1) as f64).min(WIDEST)
}
