//! What can be the matter with the meter: one cause that spoils many readings.
//!
//! A lead that breaks inside, or the fuse of a lead, shows an overload on every pair of points; each alone looks like a
//! part that is open. So it is a hypothesis of its own, beside what can be the matter with the machine, and shared by all
//! readings. Touching the leads together settles it.

use serde::Serialize;

use crate::model::appliance::{Prediction, Provenance};
use crate::quantity::Unit;
use crate::reading::{Finding, Reading};

use super::likelihood::Asked;

/// How the meter stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Instrument {
    /// As it should.
    Sound,
    /// A lead or its fuse is open.
    LeadOpen,
    /// Ohms were asked for, and it is still on volts.
    OnVolts,
}

impl Instrument {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Sound, Self::LeadOpen, Self::OnVolts];

    /// How often it stands so, on a meter that was proved on a known source not long ago (working values, no source).
    pub const fn prior(self) -> f64 {
        match self {
            Self::Sound => 0.996,
            Self::LeadOpen => 0.002,
            Self::OnVolts => 0.002,
        }
    }

    /// What it shows whatever the machine does; `None` where it shows what the machine does.
    pub fn shows(self, asked: &Asked) -> Option<Prediction> {
        match (self, asked) {
            (Self::LeadOpen, Asked::Number(Unit::Ohms)) => Some(Prediction::Overload),
            // What does not beep reads as an overload.
            (Self::LeadOpen | Self::OnVolts, Asked::Beep) => Some(Prediction::Overload),
            (Self::LeadOpen, Asked::Number(Unit::Volts)) | (Self::OnVolts, Asked::Number(Unit::Ohms)) => {
                Some(about_zero(0.0))
            }
            _ => None,
        }
    }

    /// Does a finding look as it would with the meter standing so?
    pub fn may_have_shown(self, finding: &Finding, asked: &Asked) -> bool {
        match (self.shows(asked), finding) {
            (Some(Prediction::Overload), Finding::Reading(reading)) => *reading == Reading::Overload,
            (Some(_), Finding::Reading(Reading::Value(quantity))) => quantity.value().abs() < NOTHING,
            _ => false,
        }
    }

    /// What it shows in ohms with the leads touched together.
    pub fn touched(self) -> Prediction {
        match self {
            // Leads have 0.1 to 0.4 Ω (common practice).
            Self::Sound => about_zero(0.2),
            Self::LeadOpen => Prediction::Overload,
            Self::OnVolts => about_zero(0.0),
        }
    }
}

/// Good leads have less than this, in ohms (0.1 to 0.4 are usual; common practice).
const GOOD_LEADS_OHMS: f64 = 2.0;

/// Is this what a meter on ohms shows with good leads touched together?
pub fn good_leads(shown: Reading) -> bool {
    match shown {
        Reading::Value(quantity) => quantity.value() < GOOD_LEADS_OHMS,
        Reading::Closed => true,
        Reading::Overload | Reading::Unstable => false,
    }
}

/// Volts and ohms below this count as nothing (pick-up, leads; common practice).
const NOTHING: f64 = 3.0;

fn about_zero(nominal: f64) -> Prediction {
    Prediction::Value { nominal, low: 0.0, high: 2.0 * nominal, provenance: Provenance::ClassDefault }
}
