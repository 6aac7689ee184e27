//! A measurement: what the meter is set to, and where it is put.

use serde::{Deserialize, Serialize};

use crate::circuit::{Current, Mode};
use crate::id::{ElementId, PointId};
use crate::quantity::Unit;

/// A meter, and where it is put.
#[derive(Clone, Debug)]
pub struct Measurement {
    /// What the meter is set to.
    pub function: Function,
    /// Where it is put.
    pub at: Site,
    /// The range to choose by hand, as said: "twenty kilohms".
    pub range: Option<String>,
    /// The most that range shows before overload, in ohms.
    pub most_ohms: Option<f64>,
    /// Elements lifted off for it, so that nothing beside the part is measured.
    pub lifts: Vec<ElementId>,
}

impl Measurement {
    /// The two points that leads go to; `None` where a clamp goes round a wire and nothing is touched.
    pub const fn points(&self) -> Option<(&PointId, &PointId)> {
        match &self.at {
            Site::Across(from, to) => Some((from, to)),
            Site::Around { .. } => None,
        }
    }
}

/// Where a meter is put.
#[derive(Clone, Debug)]
pub enum Site {
    /// The first lead here, the second there.
    Across(PointId, PointId),
    /// The clamp round a wire.
    Around {
        /// The element whose current flows in it.
        element: ElementId,
        /// The wire, as said: "the black wire".
        wire: String,
    },
}

/// What the meter is set to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Function {
    /// Alternating volts.
    AcVolts,
    /// Alternating volts at an input of low impedance, under which ghost voltages collapse.
    LowImpedanceVolts,
    /// Direct volts.
    DcVolts,
    /// Resistance.
    Ohms,
    /// Resistance with the beeper.
    Continuity,
    /// Capacitance.
    Farads,
    /// The clamp: current in a wire, nothing touched.
    Amps,
}

impl Function {
    /// The unit a reading without one is in.
    pub const fn unit(self) -> Unit {
        match self.mode() {
            Some(mode) => mode.unit(),
            None => Unit::Amps,
        }
    }

    /// The mode of the meter's leads; `None` for its clamp.
    pub const fn mode(self) -> Option<Mode> {
        match self {
            Self::AcVolts => Some(Mode::AcVolts),
            Self::LowImpedanceVolts => Some(Mode::LowImpedanceVolts),
            Self::DcVolts => Some(Mode::DcVolts),
            Self::Ohms => Some(Mode::Ohms),
            Self::Continuity => Some(Mode::Continuity),
            Self::Farads => Some(Mode::Farads),
            Self::Amps => None,
        }
    }

    /// What flows while it measures.
    pub const fn current(self) -> Current {
        match self.mode() {
            Some(mode) => mode.current(),
            None => Current::Alternating,
        }
    }

    /// Does the meter itself send the current, so that the supply must be off?
    pub const fn wants_dead(self) -> bool {
        matches!(self.mode(), Some(mode) if mode.wants_dead())
    }
}
