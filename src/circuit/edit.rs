//! A fault edits a netlist.
//!
//! Knows what breaks in a circuit; does not know parts or why they broke.

use crate::circuit::netlist::{Element, Kind, Netlist, SHORT_OHMS};
use crate::circuit::spread::Spread;
use crate::id::{ElementId, NodeId};

/// One change that a fault makes to a circuit.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// The element lets nothing through: a broken coil, a blown fuse, a contact stuck open, a dead leg of the supply.
    Open(ElementId),
    /// The element is bridged: a short between turns, a welded contact.
    Short(ElementId),
    /// The element has another value, in ohms.
    Drift {
        /// Which.
        element: ElementId,
        /// Its resistance now, in ohms.
        ohms: f64,
    },
    /// The element is as it should be, but at another temperature: a freezer too warm, a blocked vent.
    Warm {
        /// Which.
        element: ElementId,
        /// Its temperature now, in degrees Celsius.
        celsius: f64,
    },
    /// A capacitor has lost of what it holds.
    Fade {
        /// Which.
        element: ElementId,
        /// Its capacitance now, in farads.
        farads: f64,
    },
    /// Something lets current past the element: a capacitor that leaks, a contact bridged by carbon, a few turns shorted.
    Bridge {
        /// Which.
        element: ElementId,
        /// Resistance of the way past it, in ohms.
        ohms: f64,
    },
    /// A node leaks to the reference, the chassis.
    Leak {
        /// Where.
        node: NodeId,
        /// Resistance of the leak, in ohms.
        ohms: f64,
    },
}

impl Netlist {
    /// The same circuit under a fault. Edits of elements that are not there change nothing.
    #[must_use]
    pub fn edited(mut self, edits: &[Edit]) -> Self {
        for edit in edits {
            match edit {
                Edit::Open(id) => self.become_kind(id, |_| Kind::Open),
                Edit::Short(id) => self.become_kind(id, |_| Kind::Resistance { ohms: SHORT_OHMS }),
                Edit::Drift { element, ohms } => self.become_kind(element, |kind| drifted(kind, *ohms)),
                Edit::Warm { element, celsius } => {
                    self.become_kind(element, |kind| kind.clone().warmed(*celsius));
                }
                Edit::Fade { element, farads } => self.become_kind(element, |kind| faded(kind, *farads)),
                Edit::Bridge { element, ohms } => {
                    if let Some(bridged) = self.element(element) {
                        let name = format!("past {element}");
                        let leak = leak(&name, bridged.from.clone(), bridged.to.clone(), *ohms);
                        self.elements.push(leak);
                    }
                }
                Edit::Leak { node, ohms } => {
                    let name = format!("leak at {node}");
                    self.elements.push(leak(&name, node.clone(), self.reference.clone(), *ohms));
                }
            }
        }
        self
    }

    fn become_kind(&mut self, id: &ElementId, change: impl Fn(&Kind) -> Kind) {
        for element in self.elements.iter_mut().filter(|e| e.id == *id) {
            element.kind = change(&element.kind);
        }
    }
}

/// A leak is what it is: nobody knows it better than by a factor of three.
fn leak(id: &str, from: NodeId, to: NodeId, ohms: f64) -> Element {
    let spread = Spread { down: 3_f64.ln(), up: 3_f64.ln(), together: None };
    Element { id: id.into(), from, to, kind: Kind::Resistance { ohms }, spread }
}

fn faded(kind: &Kind, farads: f64) -> Kind {
    if matches!(kind, Kind::Capacitor { .. }) { Kind::Capacitor { farads } } else { kind.clone() }
}

/// The impedance of a winding drifts in proportion to its copper.
fn drifted(kind: &Kind, ohms: f64) -> Kind {
    match kind {
        Kind::Winding { dc_ohms, ac_ohms, celsius } => {
            Kind::Winding { dc_ohms: ohms, ac_ohms: ac_ohms * (ohms / dc_ohms), celsius: *celsius }
        }
        Kind::Contact { closed, follows, .. } => {
            Kind::Contact { ohms, closed: *closed, follows: follows.clone() }
        }
        Kind::Thermostat { bimetal, closed, .. } => {
            Kind::Thermostat { ohms, bimetal: *bimetal, closed: *closed }
        }
        Kind::Source { volts, .. } => Kind::Source { volts: *volts, ohms },
        Kind::DirectSource { volts, .. } => Kind::DirectSource { volts: *volts, ohms },
        Kind::Diode { volts, .. } => Kind::Diode { volts: *volts, ohms },
        Kind::Resistance { .. } | Kind::Sensor { .. } | Kind::Capacitor { .. } | Kind::Open => {
            Kind::Resistance { ohms }
        }
    }
}
