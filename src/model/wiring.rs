//! The circuit of an appliance, in each of its states and under each of its faults.

use std::collections::{BTreeMap, BTreeSet};

use crate::circuit::netlist::ROOM_CELSIUS;
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
    /// How warm thermostats are in a state, in degrees Celsius; those that are not named are as warm as the room.
    pub(crate) celsius: BTreeMap<StateId, BTreeMap<ElementId, f64>>,
    /// What a fault changes.
    pub(crate) edits: BTreeMap<FaultId, Vec<Edit>>,
    /// The elements that lie elsewhere in each candidate; the first is the file's own and moves none.
    pub(crate) moves: Vec<Vec<Move>>,
    /// Where the value of an element comes from.
    pub(crate) provenance: BTreeMap<ElementId, Provenance>,
}

/// An element that lies between other nodes than the file says.
#[derive(Clone, Debug)]
pub(crate) struct Move {
    pub(crate) element: ElementId,
    pub(crate) between: (NodeId, NodeId),
}

impl Wiring {
    /// A candidate's circuit in a state, under none, one or several faults.
    pub(crate) fn circuit<'a>(
        &self,
        candidate: usize,
        state: &State,
        faults: impl IntoIterator<Item = &'a FaultId>,
    ) -> Netlist {
        let mut netlist = self.netlist.clone();
        for moved in self.moves.get(candidate).into_iter().flatten() {
            for element in netlist.elements.iter_mut().filter(|e| e.id == moved.element) {
                (element.from, element.to) = moved.between.clone();
            }
        }
        let closed_here = self.closed.get(&state.id);
        let celsius_here = self.celsius.get(&state.id);
        for element in &mut netlist.elements {
            let listed = closed_here.is_some_and(|ids| ids.contains(&element.id));
            match &mut element.kind {
                Kind::Contact { closed, .. } => *closed = listed,
                // Between its two temperatures it stays as the state has it.
                Kind::Thermostat { bimetal, closed, .. } => {
                    let celsius = celsius_here.and_then(|all| all.get(&element.id)).copied();
                    *closed = bimetal.is_closed(celsius.unwrap_or(ROOM_CELSIUS), listed);
                }
                _ => {}
            }
        }
        let edits: Vec<Edit> =
            faults.into_iter().filter_map(|fault| self.edits.get(fault)).flatten().cloned().collect();
        let netlist = netlist.edited(&edits);
        if state.energised { netlist } else { netlist.unplugged() }
    }
}
