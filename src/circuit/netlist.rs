//! Nodes and the elements between them.
//!
//! Knows what an element is to direct and to alternating current; does not solve.

use std::collections::BTreeSet;

use num_complex::Complex64;

use crate::circuit::solve::Current;
use crate::circuit::spread::Spread;
use crate::id::{ElementId, NodeId};

/// What an open contact, a blown fuse or a broken wire still lets through, in ohms.
pub const OPEN_OHMS: f64 = 1e12;

/// What a short circuit or a jumper still resists, in ohms.
pub const SHORT_OHMS: f64 = 1e-3;

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
    /// A coil or a motor: an ohmmeter reads the copper, the supply sees the impedance.
    Winding {
        /// Direct-current resistance, in ohms.
        dc_ohms: f64,
        /// Impedance at the supply's frequency, in ohms.
        ac_ohms: Complex64,
    },
    /// A capacitor, or the stray capacitance between two wires.
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
    /// A switch, thermostat, relay contact, plug or jumper.
    Contact {
        /// Resistance when closed, in ohms.
        ohms: f64,
        /// Is it closed, or let close by what it follows?
        closed: bool,
        /// What moves it, if no hand does.
        follows: Option<Follow>,
    },
    /// Nothing but [`OPEN_OHMS`].
    Open,
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

    /// The same circuit with every source gone: the plug is out, each of its pins hangs free.
    #[must_use]
    pub fn unplugged(mut self) -> Self {
        for element in &mut self.elements {
            if matches!(element.kind, Kind::Source { .. }) {
                element.kind = Kind::Open;
            }
        }
        self
    }
}

impl Element {
    /// Admittance, in siemens; `None` for a source, whose current is an unknown of its own.
    pub(crate) fn admittance(&self, current: Current, hertz: f64) -> Option<Complex64> {
        let conductance = |ohms: f64| Complex64::new(1.0 / ohms, 0.0);
        Some(match (&self.kind, current) {
            (Kind::Source { .. }, _) => return None,
            (Kind::Resistance { ohms } | Kind::Contact { ohms, closed: true, .. }, _) => conductance(*ohms),
            (Kind::Winding { dc_ohms, .. }, Current::Direct) => conductance(*dc_ohms),
            (Kind::Winding { ac_ohms, .. }, Current::Alternating) => ac_ohms.inv(),
            (Kind::Capacitor { farads }, Current::Alternating) => {
                Complex64::new(0.0, std::f64::consts::TAU * hertz * farads)
            }
            (Kind::Capacitor { .. }, Current::Direct)
            | (Kind::Contact { closed: false, .. } | Kind::Open, _) => conductance(OPEN_OHMS),
        })
    }
}
