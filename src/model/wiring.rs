//! The circuit of an appliance, in each of its states and under each of its faults.

use std::collections::{BTreeMap, BTreeSet};

use crate::circuit::{Edit, Kind, Netlist};
use crate::id::{ElementId, FaultId, NodeId, PointId, StateId};
use crate::model::appliance::{Provenance, State};

/// A netlist, and what states and faults do to it.
#[derive(Clone, Debug)]
pub(crate) struct Wiring {
    /// Every contact open, every source there.
    pub(crate) netlist: Netlist,
    /// Where leads go.
    pub(crate) nodes: BTreeMap<PointId, NodeId>,
    /// The contacts that a state closes.
    pub(crate) closed: BTreeMap<StateId, BTreeSet<ElementId>>,
    /// What a fault changes.
    pub(crate) edits: BTreeMap<FaultId, Vec<Edit>>,
    /// Where the value of an element comes from.
    pub(crate) provenance: BTreeMap<ElementId, Provenance>,
}

impl Wiring {
    /// The circuit in a state, with nothing wrong or under a fault.
    pub(crate) fn circuit(&self, state: &State, fault: Option<&FaultId>) -> Netlist {
        let mut netlist = self.netlist.clone();
        let closed_here = self.closed.get(&state.id);
        for element in &mut netlist.elements {
            if let Kind::Contact { closed, .. } = &mut element.kind {
                *closed = closed_here.is_some_and(|ids| ids.contains(&element.id));
            }
        }
        let edits = fault.and_then(|fault| self.edits.get(fault)).map_or(&[][..], Vec::as_slice);
        let netlist = netlist.edited(edits);
        if state.energised { netlist } else { netlist.unplugged() }
    }
}
