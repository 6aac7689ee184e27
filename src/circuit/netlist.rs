//! Nodes and the elements between them.
//!
//! Knows what an element is to direct and to alternating current; does not solve.

use std::collections::BTreeSet;

use num_complex::Complex64;

use crate::circuit::law::Law;
use crate::circuit::solve::Current;
use crate::circuit::spread::Spread;
use crate::circuit::thermostat::Bimetal;
use crate::id::{ElementId, NodeId};

/// What an open contact, a blown fuse or a broken wire still lets through, in ohms.
pub const OPEN_OHMS: f64 = 1e12;

/// What a short circuit or a jumper still resists, in ohms.
pub const SHORT_OHMS: f64 = 1e-3;

/// Where the copper of a winding has the resistance that its sheet gives, in degrees Celsius.
pub const ROOM_CELSIUS: f64 = 20.0;

/// A circuit: elements between named nodes, one of which is the reference.
#[derive(Clone, Debug, PartialEq)]
pub struct Netlist {
    /// The node that voltages are counted from; the chassis of an appliance.
    pub reference: NodeId,
    /// The supply's frequency, in hertz.
    pub hertz: f64,
    /// The elements, in the order of the file.
    pub elements: Vec<Element>,
}

/// Something between two nodes.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// Its name.
    pub id: ElementId,
    /// The first node; a source is positive here.
    pub from: NodeId,
    /// The second node.
    pub to: NodeId,
    /// What it is.
    pub kind: Kind,
    /// How far its value may be from the nominal one.
    pub spread: Spread,
}

/// What an element is.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// The same to direct and to alternating current: a heater, a wire, a whole fuse, leakage to the chassis.
    Resistance {
        /// In ohms.
        ohms: f64,
    },
    /// A coil or a motor: an ohmmeter reads the copper, the supply sees the impedance. Both are given at
    /// [`ROOM_CELSIUS`]; the copper in both grows with the winding's temperature.
    Winding {
        /// Direct-current resistance, in ohms.
        dc_ohms: f64,
        /// Impedance at the supply's frequency, in ohms.
        ac_ohms: Complex64,
        /// Temperature, in degrees Celsius.
        celsius: f64,
    },
    /// A resistance that follows its temperature: a thermistor, a platinum sensor.
    Sensor {
        /// How.
        law: Law,
        /// Temperature, in degrees Celsius.
        celsius: f64,
    },
    /// A capacitor, or the stray capacitance between two wires. One that leaks has a resistance beside it.
    Capacitor {
        /// In farads.
        farads: f64,
    },
    /// An alternating supply.
    Source {
        /// Phasor of the voltage, first node against second, in volts (root mean square).
        volts: Complex64,
        /// Internal resistance, in ohms; zero is an ideal source.
        ohms: f64,
    },
    /// A direct supply: what a control board feeds to its sensors and relays. To alternating current it is its
    /// internal resistance alone.
    DirectSource {
        /// Voltage, first node against second, in volts.
        volts: f64,
        /// Internal resistance, in ohms; zero is an ideal source.
        ohms: f64,
    },
    /// A switch, relay contact, plug or jumper.
    Contact {
        /// Resistance when closed, in ohms.
        ohms: f64,
        /// Is it closed, or let close by what it follows?
        closed: bool,
        /// What moves it, if no hand does.
        follows: Option<Follow>,
    },
    /// A contact that a temperature moves: a thermostat, a limit.
    Thermostat {
        /// Resistance when closed, in ohms.
        ohms: f64,
        /// Where it opens and closes.
        bimetal: Bimetal,
        /// Is it closed?
        closed: bool,
    },
    /// A diode, conducting from its first node to its second. Only direct current through it is worked out.
    Diode {
        /// What it takes for itself when it conducts, in volts.
        volts: f64,
        /// Resistance when it conducts, in ohms.
        ohms: f64,
    },
    /// Nothing but [`OPEN_OHMS`].
    Open,
}

impl Kind {
    /// A winding at [`ROOM_CELSIUS`].
    pub const fn winding(dc_ohms: f64, ac_ohms: Complex64) -> Self {
        Self::Winding { dc_ohms, ac_ohms, celsius: ROOM_CELSIUS }
    }

    /// The same part with its value multiplied: ohms, farads, or the volts of a supply.
    #[must_use]
    fn times(self, by: f64) -> Self {
        match self {
            Self::Resistance { ohms } => Self::Resistance { ohms: ohms * by },
            Self::Winding { dc_ohms, ac_ohms, celsius } => {
                Self::Winding { dc_ohms: dc_ohms * by, ac_ohms: ac_ohms * by, celsius }
            }
            Self::Sensor { law, celsius } => Self::Resistance { ohms: law.ohms(celsius) * by },
            Self::Capacitor { farads } => Self::Capacitor { farads: farads * by },
            Self::Source { volts, ohms } => Self::Source { volts: volts * by, ohms },
            Self::DirectSource { volts, ohms } => Self::DirectSource { volts: volts * by, ohms },
            Self::Contact { ohms, closed, follows } => Self::Contact { ohms: ohms * by, closed, follows },
            Self::Thermostat { ohms, bimetal, closed } => {
                Self::Thermostat { ohms: ohms * by, bimetal, closed }
            }
            Self::Diode { .. } | Self::Open => self,
        }
    }

    /// The same part at another temperature, in degrees Celsius. What does not feel it stays as it is.
    #[must_use]
    pub fn warmed(self, to: f64) -> Self {
        match self {
            Self::Winding { dc_ohms, ac_ohms, .. } => Self::Winding { dc_ohms, ac_ohms, celsius: to },
            Self::Sensor { law, .. } => Self::Sensor { law, celsius: to },
            Self::Thermostat { ohms, bimetal, closed } => {
                Self::Thermostat { ohms, bimetal, closed: bimetal.is_closed(to, closed) }
            }
            Self::Resistance { .. }
            | Self::Capacitor { .. }
            | Self::Source { .. }
            | Self::DirectSource { .. }
            | Self::Contact { .. }
            | Self::Diode { .. }
            | Self::Open => self,
        }
    }
}

/// A contact that is moved by the current in another element: a relay, a motor's centrifugal switch.
#[derive(Clone, Debug, PartialEq)]
pub struct Follow {
    /// The element whose current moves the contact.
    pub driver: ElementId,
    /// The current from which it moves, in amperes.
    pub amps: f64,
    /// Does the current open it? Otherwise it closes it.
    pub opens: bool,
}

impl Netlist {
    /// An empty circuit.
    pub fn new(reference: &str, hertz: f64) -> Self {
        Self { reference: reference.into(), hertz, elements: Vec::new() }
    }

    /// The same circuit with one element more, exact in its value.
    #[must_use]
    pub fn with(mut self, id: &str, from: &str, to: &str, kind: Kind) -> Self {
        self.elements.push(Element {
            id: id.into(),
            from: from.into(),
            to: to.into(),
            kind,
            spread: Spread::EXACT,
        });
        self
    }

    /// The same circuit with a resistance more, exact in its value.
    #[must_use]
    pub fn with_ohms(self, id: &str, from: &str, to: &str, ohms: f64) -> Self {
        self.with(id, from, to, Kind::Resistance { ohms })
    }

    /// The same circuit with an ideal source more: root-mean-square volts and phase in degrees.
    #[must_use]
    pub fn with_volts(self, id: &str, from: &str, to: &str, volts: f64, degrees: f64) -> Self {
        let volts = Complex64::from_polar(volts, degrees.to_radians());
        self.with(id, from, to, Kind::Source { volts, ohms: 0.0 })
    }

    /// Every node, the reference included, in alphabetical order.
    pub fn nodes(&self) -> BTreeSet<&NodeId> {
        let ends = self.elements.iter().flat_map(|e| [&e.from, &e.to]);
        ends.chain([&self.reference]).collect()
    }

    /// The element of this name.
    pub fn element(&self, id: &ElementId) -> Option<&Element> {
        self.elements.iter().find(|e| e.id == *id)
    }

    /// The same circuit with every element's value multiplied by its factor. Diodes and opens have none.
    #[must_use]
    pub fn varied(mut self, factor: impl Fn(&Element) -> f64) -> Self {
        for element in &mut self.elements {
            let by = factor(element);
            element.kind = element.kind.clone().times(by);
        }
        self
    }

    /// The same circuit with every source gone: the plug is out, each of its pins hangs free.
    #[must_use]
    pub fn unplugged(mut self) -> Self {
        for element in &mut self.elements {
            if element.is_source() {
                element.kind = Kind::Open;
            }
        }
        self
    }
}

impl Element {
    /// Does its current stand among the unknowns?
    pub(crate) const fn is_source(&self) -> bool {
        matches!(self.kind, Kind::Source { .. } | Kind::DirectSource { .. })
    }

    /// Admittance, in siemens; `None` for a source, whose current is an unknown of its own. A diode counts as blocking.
    pub(crate) fn admittance(&self, current: Current, hertz: f64) -> Option<Complex64> {
        let conductance = |ohms: f64| Complex64::new(1.0 / ohms, 0.0);
        Some(match (&self.kind, current) {
            (Kind::Source { .. } | Kind::DirectSource { .. }, _) => return None,
            (
                Kind::Resistance { ohms }
                | Kind::Contact { ohms, closed: true, .. }
                | Kind::Thermostat { ohms, closed: true, .. },
                _,
            ) => conductance(*ohms),
            (Kind::Sensor { law, celsius }, _) => conductance(law.ohms(*celsius)),
            (Kind::Winding { dc_ohms, celsius, .. }, Current::Direct) => {
                conductance(copper(*dc_ohms, *celsius))
            }
            (Kind::Winding { dc_ohms, ac_ohms, celsius }, Current::Alternating) => {
                (ac_ohms + (copper(*dc_ohms, *celsius) - dc_ohms)).inv()
            }
            (Kind::Capacitor { farads }, Current::Alternating) => {
                Complex64::new(0.0, std::f64::consts::TAU * hertz * farads)
            }
            (Kind::Capacitor { .. }, Current::Direct)
            | (
                Kind::Contact { closed: false, .. }
                | Kind::Thermostat { closed: false, .. }
                | Kind::Diode { .. }
                | Kind::Open,
                _,
            ) => conductance(OPEN_OHMS),
        })
    }
}

/// What copper of so many ohms at [`ROOM_CELSIUS`] has at another temperature.
fn copper(ohms: f64, celsius: f64) -> f64 {
    Law::Copper { ohms, celsius: ROOM_CELSIUS }.ohms(celsius)
}
