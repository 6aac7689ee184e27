//! The shop's figures as one self-contained page, with plots.

use maud::{Markup, PreEscaped, html};
use plotters::prelude::*;

use super::{Figures, Minutes, Share};
use crate::record::page::document::document;

/// Width of a plot in pixels.
const WIDTH: u32 = 720;
/// Height of a row of a plot.
const ROW: u32 = 34;
/// More causes of one model than this are not drawn.
const MOST: usize = 12;

/// The page. `names` says how people call an appliance model, or a cause of one.
pub fn html(
    figures: &Figures,
    shop: &str,
    jobs: usize,
    names: &dyn Fn(&str, Option<&str>) -> String,
) -> String {
    let body = html! {
        main {
            header {
                p.kind { "Figures from the job record" }
                h1 { @if shop.is_empty() { "The shop" } @else { (shop) } }
                p.lead { "Closed jobs: " (jobs) "." }
            }
            (shares(figures))
            (minutes(figures, names))
            @for (model, causes) in &figures.causes {
                (faults(&names(model, None), &causes.iter().take(MOST)
                    .map(|(cause, count)| (names(model, Some(cause)), *count)).collect::<Vec<_>>()))
            }
        }
        footer { p { "Intervals are Wilson’s score intervals at 95 %. Few jobs say little: look at the width." } }
    };
    document("Shop figures", "light", &body)
}

fn shares(figures: &Figures) -> Markup {
    html! {
        section {
            h2 { "How often" }
            dl.facts {
                div { dt { "Mended on the first visit, with no callback" } dd { (share(figures.first_visits)) } }
                div { dt { "A wrong part on the way" } dd { (share(figures.wrong_parts)) } }
            }
        }
    }
}

fn share(share: Share) -> String {
    if share.of == 0 {
        return "no jobs yet".to_owned();
    }
    let (low, high) = share.interval();
    let percent = 100.0 * f64::from(share.count) / f64::from(share.of);
    format!(
        "{percent:.0} % ({} of {}; between {:.0} and {:.0} %)",
        share.count,
        share.of,
        100.0 * low,
        100.0 * high
    )
}

fn minutes(figures: &Figures, names: &dyn Fn(&str, Option<&str>) -> String) -> Markup {
    let rows: Vec<(String, Minutes)> =
        figures.minutes.iter().map(|(name, took)| (names(name, None), *took)).collect();
    html! {
        @if !rows.is_empty() {
            section {
                h2 { "Minutes a job" }
                p.lead { "Half of the jobs took between the ends of the bar; the mark is the middle one." }
                (PreEscaped(drawn(&rows.iter().map(|(name, _)| name.clone()).collect::<Vec<_>>(),
                    rows.iter().map(|(_, took)| took.high).max().unwrap_or(1),
                    &|row| { let took = rows[row].1; (took.low, took.high, Some(took.middle), format!("{} min, jobs {}", took.middle, took.jobs)) },
                    "Minutes a job, by appliance model")))
            }
        }
    }
}

fn faults(model: &str, causes: &[(String, u32)]) -> Markup {
    html! {
        section {
            h2 { "What fails: " (model) }
            (PreEscaped(drawn(&causes.iter().map(|(cause, _)| cause.clone()).collect::<Vec<_>>(),
                causes.iter().map(|(_, count)| *count).max().unwrap_or(1),
                &|row| (0, causes[row].1, None, causes[row].1.to_string()),
                &format!("Causes found, {model}"))))
        }
    }
}

/// A bar a row: from, to, a mark, and what is written behind it.
type Bar<'a> = &'a dyn Fn(usize) -> (u32, u32, Option<u32>, String);

/// Level bars, one a name, as SVG.
fn drawn(names: &[String], most: u32, bar: Bar<'_>, title: &str) -> String {
    let mut svg = String::new();
    {
        let height = ROW * names.len() as u32 + 8;
        let area = SVGBackend::with_string(&mut svg, (WIDTH, height)).into_drawing_area();
        for (row, name) in names.iter().enumerate() {
            // What cannot be drawn is left out; a page is never refused for it.
            let _ = one_row(&area, row, name, most, bar(row));
        }
        let _ = area.present();
    }
    // A drawing says in words what it is, for those who cannot see it.
    let label = html! { (title) }.into_string().replace('"', "&quot;");
    svg.replacen("<svg ", &format!("<svg role=\"img\" aria-label=\"{label}\" "), 1)
}

fn one_row(
    area: &DrawingArea<SVGBackend<'_>, plotters::coord::Shift>,
    row: usize,
    name: &str,
    most: u32,
    (from, to, mark, words): (u32, u32, Option<u32>, String),
) -> Result<(), Box<dyn std::error::Error>> {
    let left = 290;
    let scale = |value: u32| left + (f64::from(value) / f64::from(most.max(1)) * 280.0) as i32;
    let top = row as i32 * ROW as i32 + 6;
    let short: String = name.chars().take(46).collect();
    let text = ("sans-serif", 13).into_font().color(&RGBColor(27, 33, 38));
    area.draw(&Text::new(short, (0, top + 6), text.clone()))?;
    area.draw(&Rectangle::new(
        [(scale(from), top + 2), (scale(to).max(scale(from) + 2), top + 22)],
        RGBColor(159, 176, 184).filled(),
    ))?;
    if let Some(mark) = mark {
        area.draw(&Rectangle::new(
            [(scale(mark) - 1, top), (scale(mark) + 2, top + 24)],
            RGBColor(45, 106, 83).filled(),
        ))?;
    }
    area.draw(&Text::new(words, (scale(to) + 8, top + 6), text))?;
    Ok(())
}
