//! A reading on its line, with the expected band: a small drawing in the text.

use maud::{Markup, html};

use crate::record::report::row::{Band, Mark, Plot, Row};
use crate::record::report::scale::Scale;

/// Width of the drawing, in its own units (about a pixel each).
const WIDTH: f64 = 360.0;
/// Height of the drawing.
const HEIGHT: f64 = 56.0;
/// Free room left and right of the line, for the names of its ends.
const MARGIN: f64 = 22.0;
/// Width of the box for what is more than the meter can show, and of the gap before it.
const BEYOND: (f64, f64) = (34.0, 14.0);
/// Where the line lies.
const LINE: f64 = 34.0;
/// Half the height of the band.
const BAND: f64 = 8.0;
/// Where the names below the line stand.
const NAMES: f64 = LINE + BAND + 13.0;
/// A band narrower than this could not be seen.
const NARROWEST: f64 = 3.0;

/// The drawing, described in words for those who cannot see it.
pub fn svg(plot: &Plot, row: &Row) -> Markup {
    let beyond = plot.mark == Mark::Overload || plot.band == Band::Overload;
    let right = WIDTH - MARGIN - if beyond { BEYOND.0 + BEYOND.1 } else { 0.0 };
    let across = |value: f64| MARGIN + plot.scale.place(value) * (right - MARGIN);
    html! {
        svg.plot viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } role="img" aria-label=(label(plot, row)) {
            @if let Band::Between(low, high) = plot.band {
                @let (left, width) = (across(low), (across(high) - across(low)).max(NARROWEST));
                rect.band x=(px(left)) y=(px(LINE - BAND)) width=(px(width)) height=(px(2.0 * BAND)) {}
            }
            line.axis x1=(px(MARGIN)) x2=(px(right)) y1=(px(LINE)) y2=(px(LINE)) {}
            @for (place, text) in plot.scale.ticks() {
                @let x = MARGIN + place * (right - MARGIN);
                line.axis x1=(px(x)) x2=(px(x)) y1=(px(LINE - 3.0)) y2=(px(LINE + 3.0)) {}
                text.tick x=(px(x)) y=(px(NAMES)) text-anchor="middle" { (text) }
            }
            @if beyond { (overload_box(plot, right + BEYOND.1)) }
            @match plot.mark {
                Mark::At(value) => (mark(across(value), &row.found))
                Mark::Overload => (mark(right + BEYOND.1 + BEYOND.0 / 2.0, ""))
                Mark::Nowhere => {}
            }
        }
    }
}

fn overload_box(plot: &Plot, left: f64) -> Markup {
    let class = if plot.band == Band::Overload { "band" } else { "beyond" };
    html! {
        rect class=(class) x=(px(left)) y=(px(LINE - BAND)) width=(px(BEYOND.0)) height=(px(2.0 * BAND)) {}
        text.tick x=(px(left + BEYOND.0 / 2.0)) y=(px(NAMES)) text-anchor="middle" { "OL" }
    }
}

/// A pointer from above, with what was read beside it; the box for overload has its name below.
fn mark(x: f64, found: &str) -> Markup {
    let tip = LINE - BAND + 3.0;
    let points = format!(
        "{},{} {},{} {},{}",
        px(x),
        px(tip),
        px(x - 5.0),
        px(tip - 12.0),
        px(x + 5.0),
        px(tip - 12.0)
    );
    let anchor = if x > WIDTH * 0.75 { "end" } else { "start" };
    let beside = if anchor == "end" { x - 8.0 } else { x + 8.0 };
    html! {
        polygon.mark points=(points) {}
        text.value x=(px(beside)) y=(px(tip - 6.0)) text-anchor=(anchor) { (found) }
    }
}

fn label(plot: &Plot, row: &Row) -> String {
    let expected = row.expected.as_deref().unwrap_or("not known");
    format!("Read {}; expected {expected}; {}.", row.found, line(&plot.scale))
}

fn line(scale: &Scale) -> String {
    let ticks = scale.ticks();
    let ends = ticks.first().zip(ticks.last());
    let kind = if scale.is_in_decades() { "a line in decades" } else { "a line" };
    ends.map_or_else(|| kind.to_owned(), |(first, last)| format!("{kind} from {} to {}", first.1, last.1))
}

/// To a tenth of a unit: more cannot be seen.
fn px(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or_else(|| text.clone(), str::to_owned)
}
