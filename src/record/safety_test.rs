//! The safety test after a repair: its steps, and what is on record of each.
//!
//! What was not tested is "not tested". The limits are those that one region prints; elsewhere the rules of the place
//! hold, and the steps stay.

use serde::{Deserialize, Serialize};

use crate::quantity::Quantity;

/// A step of the test, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Step {
    /// Looking it over: cord, plug, strain relief, covers, guards.
    Visual,
    /// The protective conductor, from plug to metal.
    ProtectiveConductor,
    /// The insulation, with a tester of several hundred volts; a multimeter cannot do it.
    Insulation,
    /// The current in the protective conductor.
    ProtectiveCurrent,
    /// The current from metal that can be touched.
    TouchCurrent,
    /// The machine does what it should.
    Function,
}

impl Step {
    /// All steps, in order.
    pub const ALL: [Self; 6] = [
        Self::Visual,
        Self::ProtectiveConductor,
        Self::Insulation,
        Self::ProtectiveCurrent,
        Self::TouchCurrent,
        Self::Function,
    ];

    /// For the page.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Visual => "Visual inspection",
            Self::ProtectiveConductor => "Protective conductor",
            Self::Insulation => "Insulation resistance",
            Self::ProtectiveCurrent => "Protective-conductor current",
            Self::TouchCurrent => "Touch current",
            Self::Function => "Function",
        }
    }

    /// The limit for a machine with a protective conductor (class I), as printed in the limit table of DIN VDE
    /// 0701-0702:2008 for Europe; other places have limits of their own.
    pub const fn limit(self) -> Option<&'static str> {
        match self {
            Self::ProtectiveConductor => {
                Some("at most 0.3 Ω up to 5 m of cord, 0.1 Ω more per further 7.5 m, 1.0 Ω in all")
            }
            Self::Insulation => Some("at least 1.0 MΩ; with heating elements at least 0.3 MΩ"),
            Self::ProtectiveCurrent => {
                Some("at most 3.5 mA; heating above 3.5 kW: 1 mA per kW, at most 10 mA")
            }
            Self::TouchCurrent => Some("at most 0.5 mA"),
            Self::Visual | Self::Function => None,
        }
    }
}

/// How a step went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// The technician measured or looked, and says it is within the limit.
    WithinLimit,
    /// The technician measured or looked, and says it is not: the machine stays disconnected and is marked.
    OutsideLimit,
    /// Not tested.
    NotTested,
}

/// What is on record of one step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SafetyTest {
    /// The step.
    pub step: Step,
    /// How it went.
    pub outcome: Outcome,
    /// What the tester showed.
    #[serde(default)]
    pub value: Option<Quantity>,
    /// By which instrument, and under whose rules.
    #[serde(default)]
    pub by: Option<String>,
}
