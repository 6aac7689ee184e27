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
                Edit::Leak { node, ohms } => self.elements.push(Element {
                    id: format!("leak at {node}").as_str().into(),
                    from: node.clone(),
                    to: self.reference.clone(),
                    kind: Kind::Resistance { ohms: *ohms },
                    // A leak is what it is: nobody knows it better than by a factor of three.
                    spread: Spread { down: 3_f64.ln(), up: 3_f64.ln(), together: None },
                }),
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

/// The impedance of a winding drifts in proportion to its copper.
fn drifted(kind: &Kind, ohms: f64) -> Kind {
    match kind {
        Kind::Winding { dc_ohms, ac_ohms } => {
            Kind::Winding { dc_ohms: ohms, ac_ohms: ac_ohms * (ohms / dc_ohms) }
        }
        Kind::Contact { closed, follows, .. } => {
            Kind::Contact { ohms, closed: *closed, follows: follows.clone() }
        }
        Kind::Source { volts, .. } => Kind::Source { volts: *volts, ohms },
        Kind::Resistance { .. } | Kind::Capacitor { .. } | Kind::Open => Kind::Resistance { ohms },
    }
}
