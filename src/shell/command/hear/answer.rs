//! What `leadhand hear` prints of a file: one JSON object, or one line.

use std::fmt;
use std::path::Path;
use std::time::Duration;

use serde::Serialize;

use crate::id::PointId;
use crate::quantity::{Quantity, Unit};
use crate::reading::Reading;
use crate::understand::heard::{Candidate, Heard};
use crate::understand::intent::{Elsewhere, Intent, Named};

/// What was heard in a file.
#[derive(Debug, Serialize)]
pub struct Answer {
    file: String,
    /// The words, by the grammar where it was understood, else as a decode without grammar wrote them.
    text: String,
    #[serde(flatten)]
    meant: Meant,
    probability: f32,
    alternatives: Vec<Alternative>,
    /// The share of the probability outside the grammar.
    outside: f32,
    /// From the sound in memory to the answer, in milliseconds.
    ms: f64,
}

/// Another meaning it may have had.
#[derive(Debug, Serialize)]
struct Alternative {
    text: String,
    #[serde(flatten)]
    meant: Meant,
    probability: f32,
}

/// A meaning, flat, as programs like it.
#[derive(Debug, Default, Serialize)]
struct Meant {
    kind: Kind,
    /// In SI base units; degrees as said.
    value: Option<f64>,
    unit: Option<&'static str>,
    /// The number and unit as said.
    said: Option<String>,
    points: Option<[PointId; 2]>,
    correction: bool,
    /// What was commanded or answered.
    #[serde(skip_serializing_if = "Option::is_none")]
    command: Option<String>,
    /// Digits as said, or the signs of a plate.
    #[serde(skip_serializing_if = "Option::is_none")]
    digits: Option<String>,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
enum Kind {
    Reading,
    Open,
    Closed,
    Unstable,
    Command,
    Digits,
    Plate,
    #[default]
    None,
}

impl Answer {
    /// Of what was heard, and how long it took.
    pub fn new(file: &Path, heard: &Heard, took: Duration) -> Self {
        let understood = heard.understood();
        let others = &heard.candidates[usize::from(understood.is_some()).min(heard.candidates.len())..];
        Self {
            file: file.display().to_string(),
            text: understood.map_or_else(|| heard.free.clone(), |best| best.words.clone()),
            meant: understood.map(Meant::of).unwrap_or_default(),
            probability: understood.map_or(0.0, |best| best.probability),
            alternatives: others.iter().map(Alternative::of).collect(),
            outside: heard.outside,
            ms: (took.as_secs_f64() * 1e4).round() / 10.0,
        }
    }
}

impl Alternative {
    fn of(candidate: &Candidate) -> Self {
        Self {
            text: candidate.words.clone(),
            meant: Meant::of(candidate),
            probability: candidate.probability,
        }
    }
}

impl Meant {
    fn of(candidate: &Candidate) -> Self {
        let command = |name: String| Self { kind: Kind::Command, command: Some(name), ..Self::default() };
        let signs = |kind, signs: &str| Self { kind, digits: Some(signs.to_owned()), ..Self::default() };
        match &candidate.intent {
            Intent::Report(report) => Self {
                points: report.points.clone().map(|(a, b)| [a, b]),
                correction: report.correction,
                ..Self::reading(report.reading)
            },
            Intent::Digits(digits) => signs(Kind::Digits, digits),
            Intent::Plate(plate) => signs(Kind::Plate, plate),
            Intent::Rescale(prefix, unit) => Self {
                correction: true,
                said: Some(format!("{}{}", prefix.symbol(), unit.symbol())),
                ..command("rescale".to_owned())
            },
            Intent::Rated(part, value) => Self {
                said: Some(value.to_string()),
                value: Some(si_value(*value)),
                unit: value.unit.map(si_unit),
                ..command(format!("rated {part}"))
            },
            Intent::Acknowledge(crate::understand::intent::Acknowledgement::LiveAt(a, b)) => {
                Self { points: Some([a.clone(), b.clone()]), ..command("live-at".to_owned()) }
            }
            Intent::Acknowledge(_) => command("live-and-clear".to_owned()),
            Intent::Anytime(word) => command(name_of(word)),
            Intent::Known(Named::Across(a, b), reading) => {
                Self { points: Some([a.clone(), b.clone()]), ..Self::reading(*reading) }
            }
            Intent::Known(Named::Check(check), reading) => {
                Self { command: Some(format!("known {check}")), ..Self::reading(*reading) }
            }
            Intent::Scratch(Named::Across(a, b)) => {
                Self { points: Some([a.clone(), b.clone()]), ..command("scratch".to_owned()) }
            }
            Intent::Scratch(Named::Check(check)) => command(format!("scratch {check}")),
            Intent::Elsewhere(Elsewhere::Across(a, b)) => Self {
                points: Some([a.clone(), b.clone()]),
                correction: true,
                ..command("elsewhere".to_owned())
            },
            Intent::Elsewhere(Elsewhere::Instead { not, but }) => Self {
                points: Some([not.clone(), but.clone()]),
                correction: true,
                ..command("instead".to_owned())
            },
            Intent::Trouble(trouble) => command(format!("trouble {}", name_of(trouble))),
            Intent::Control(control) => command(format!("control {}", name_of(control))),
            Intent::Beyond(beyond) => command(format!("beyond {}", name_of(beyond))),
            Intent::Dictate(what) => command(format!("dictate {}", name_of(what))),
            Intent::Chose(name) => command(name.clone()),
            Intent::ChoseBoth(first, second) => command(format!("{first} {second}")),
            Intent::Yes => command("yes".to_owned()),
            Intent::No => command("no".to_owned()),
            Intent::Done => command("done".to_owned()),
        }
    }

    fn reading(reading: Reading) -> Self {
        let kind = match reading {
            Reading::Value(_) => Kind::Reading,
            Reading::Overload => Kind::Open,
            Reading::Closed => Kind::Closed,
            Reading::Unstable => Kind::Unstable,
        };
        let quantity = reading.quantity();
        Self {
            kind,
            value: quantity.map(si_value),
            unit: quantity.and_then(|q| q.unit).map(si_unit),
            said: quantity.map(|q| q.to_string()),
            ..Self::default()
        }
    }
}

/// The name by which an anytime word is written in files.
fn name_of(word: &impl Serialize) -> String {
    let value = serde_json::to_value(word).unwrap_or_default();
    value.as_str().unwrap_or_default().to_owned()
}

/// Pascals in a pound-force per square inch (NIST SP 811, appendix B.8).
const PASCALS: f64 = 6894.757;

fn si_value(quantity: Quantity) -> f64 {
    match quantity.unit {
        Some(Unit::Psi) => quantity.value() * PASCALS,
        _ => quantity.value(),
    }
}

const fn si_unit(unit: Unit) -> &'static str {
    match unit {
        Unit::Volts => "volts",
        Unit::Ohms => "ohms",
        Unit::Amps => "amps",
        Unit::Watts => "watts",
        Unit::Farads => "farads",
        Unit::Hertz => "hertz",
        Unit::Seconds => "seconds",
        Unit::Degrees => "degrees",
        Unit::Celsius => "celsius",
        Unit::Fahrenheit => "fahrenheit",
        Unit::Psi => "pascals",
        Unit::Percent => "percent",
    }
}

/// One line: the file, what was meant, how sure that is, and what else it may have been.
impl fmt::Display for Answer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: ", self.file)?;
        if self.meant.kind == Kind::None {
            write!(f, "not understood (without grammar: {:?})", self.text)?;
        } else {
            write!(f, "{} ({:.2})", self.meant, self.probability)?;
        }
        for other in self.alternatives.iter().take(3) {
            write!(f, "; or {} ({:.2})", other.meant, other.probability)?;
        }
        write!(f, "  [{:.0} ms]", self.ms)
    }
}

impl fmt::Display for Meant {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.correction {
            f.write_str("corrected: ")?;
        }
        if let Some([a, b]) = &self.points {
            write!(f, "{a} to {b}, ")?;
        }
        let word = match self.kind {
            Kind::Open => "open",
            Kind::Closed => "closed",
            Kind::Unstable => "unstable",
            _ => "",
        };
        let parts = [self.command.as_deref(), self.said.as_deref(), self.digits.as_deref(), Some(word)];
        let said: Vec<&str> = parts.into_iter().flatten().filter(|part| !part.is_empty()).collect();
        f.write_str(&said.join(" "))
    }
}
