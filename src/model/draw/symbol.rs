//! What each kind of element looks like, after IEC 60617, and the value written under it.

use maud::{Markup, html};

use super::px;
use crate::circuit::Kind;

/// Half the width of a symbol.
pub(super) const HALF: f64 = 22.0;

/// Less than this is a wire, a fuse or a joint, not a resistor, in ohms.
const JOINT: f64 = 2.0;

/// The symbol, with its middle at `x`, `y`.
pub(super) fn symbol(kind: &Kind, x: f64, y: f64) -> Markup {
    let path = |d: String| html! { path.part d=(d) {} };
    let start = format!("M{} {}", px(x - HALF), px(y));
    match kind {
        Kind::Resistance { ohms } if *ohms < JOINT => html! {
            (rect(x, y, 7.0))
            (path(format!("{start}h44")))
        },
        Kind::Resistance { .. } => rect(x, y, 9.0),
        Kind::Sensor { .. } => html! {
            (rect(x, y, 9.0))
            (path(format!("M{} {}h8l26 -32", px(x - 20.0), px(y + 16.0))))
        },
        Kind::Winding { .. } => path(format!(
            "{start}a5.5 5.5 0 0 1 11 0a5.5 5.5 0 0 1 11 0a5.5 5.5 0 0 1 11 0a5.5 5.5 0 0 1 11 0"
        )),
        Kind::Capacitor { .. } => path(format!("{start}h18m0 -12v24m8 -24v24m0 -12h18")),
        Kind::Source { .. } => html! {
            circle.part cx=(px(x)) cy=(px(y)) r="15" {}
            (path(format!("{start}h7m30 0h7")))
            (path(format!("M{} {}q6 -10 12 0t12 0", px(x - 12.0), px(y))))
        },
        Kind::DirectSource { .. } => html! {
            circle.part cx=(px(x)) cy=(px(y)) r="15" {}
            (path(format!("{start}h7m30 0h7")))
            (path(format!("M{} {}h20m-20 6h20", px(x - 10.0), px(y - 3.0))))
        },
        Kind::Contact { closed, .. } => contact(x, y, *closed),
        Kind::Thermostat { closed, .. } => html! {
            (contact(x, y, *closed))
            text x=(px(x)) y=(px(y - 14.0)) text-anchor="middle" { "ϑ" }
        },
        Kind::Diode { .. } => path(format!("{start}h12v-10l20 10l-20 10v-10m20 -10v20m0 -10h12")),
        Kind::Open => path(format!("{start}h14m3 -8l10 16m0 -16l-10 16m13 -8h14")),
    }
}

fn rect(x: f64, y: f64, half_height: f64) -> Markup {
    html! {
        rect.part x=(px(x - HALF)) y=(px(y - half_height)) width=(px(2.0 * HALF)) height=(px(2.0 * half_height)) {}
    }
}

/// A lever between two terminals, down if it is closed.
fn contact(x: f64, y: f64, closed: bool) -> Markup {
    let lever = if closed { "l32 -2" } else { "l29 -15" };
    html! {
        path.part d={ "M" (px(x - HALF)) " " (px(y)) "h6" (lever) "M" (px(x + HALF)) " " (px(y)) "h-6v-3" } {}
    }
}

/// The value, short.
pub(super) fn value(kind: &Kind) -> String {
    match kind {
        Kind::Resistance { ohms } if *ohms < JOINT => String::new(),
        Kind::Resistance { ohms } => short(*ohms, "Ω"),
        Kind::Sensor { law, celsius } => format!("{} at {celsius} °C", short(law.ohms(*celsius), "Ω")),
        Kind::Winding { dc_ohms, ac_ohms, .. } => {
            format!("{} (Z {})", short(*dc_ohms, "Ω"), short(ac_ohms.norm(), "Ω"))
        }
        Kind::Capacitor { farads } => short(*farads, "F"),
        Kind::Source { volts, .. } => short(volts.norm(), "V"),
        Kind::DirectSource { volts, .. } => short(*volts, "V DC"),
        Kind::Contact { closed, .. } | Kind::Thermostat { closed, .. } => {
            if *closed {
                "closed".into()
            } else {
                "open".into()
            }
        }
        Kind::Diode { volts, .. } => short(*volts, "V"),
        Kind::Open => "open".into(),
    }
}

/// Three digits and a prefix.
fn short(value: f64, unit: &str) -> String {
    let prefixes = [(1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"), (1e-12, "p")];
    let fitting = prefixes.iter().find(|(factor, _)| value.abs() >= *factor);
    let (factor, prefix) = fitting.copied().unwrap_or((1.0, ""));
    let scaled = value / factor;
    let places = match scaled.abs() {
        s if s >= 100.0 => 0,
        s if s >= 10.0 => 1,
        _ => 2,
    };
    format!("{scaled:.places$} {prefix}{unit}")
}
