//! What a meter shows, as the technician reports it.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::quantity::{Quantity, Unit};

/// What was read from the meter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reading {
    /// A number.
    Value(Quantity),
    /// "O L", "over limit", "open line", "open": more than the meter can show.
    Overload,
    /// "closed", "continuity", "beep": the beeper sounds.
    Closed,
    /// The number will not settle.
    Unstable,
}

impl Reading {
    /// The number, if it is one.
    pub const fn quantity(self) -> Option<Quantity> {
        match self {
            Self::Value(quantity) => Some(quantity),
            Self::Overload | Self::Closed | Self::Unstable => None,
        }
    }
}

/// For the screen and the page.
impl fmt::Display for Reading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Value(quantity) => quantity.fmt(f),
            Self::Overload => f.write_str("OL"),
            Self::Closed => f.write_str("closed"),
            Self::Unstable => f.write_str("unstable"),
        }
    }
}

/// What a check brought to light.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Finding {
    /// What the meter showed.
    Reading(Reading),
    /// Which of the outcomes of an observation was seen, by its name in the appliance model.
    Outcome(String),
}

impl Finding {
    /// The same without what the leads have: `touched` is what the meter showed with its leads together.
    #[must_use]
    pub fn without_leads(self, touched: Reading) -> Self {
        let ohms = |quantity: &Quantity| matches!(quantity.unit, None | Some(Unit::Ohms));
        match (self, touched) {
            (Self::Reading(Reading::Value(shown)), Reading::Value(leads)) if ohms(&shown) && ohms(&leads) => {
                Self::Reading(Reading::Value(shown.less(leads)))
            }
            (other, _) => other,
        }
    }
}

/// For the screen and the page.
impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Reading(reading) => reading.fmt(f),
            Self::Outcome(name) => f.write_str(name),
        }
    }
}
