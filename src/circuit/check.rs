//! What is wrong with a circuit, said before it is solved and by the names of its parts.
//!
//! Knows topology and signs of values; does not solve.

use std::collections::{BTreeMap, BTreeSet};

use crate::circuit::netlist::{Element, Kind, Netlist};
use crate::id::{ElementId, NodeId};

/// Why a circuit cannot be solved, or not as meant.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, thiserror::Error)]
pub enum Flaw {
    /// No element touches the reference.
    #[error("nothing is connected to the reference node `{0}`")]
    NoReference(NodeId),
    /// A node that no chain of elements ties to the reference.
    #[error("node `{node}` hangs loose: only {} there, and no way from it to the reference", list(.elements))]
    LooseNode {
        /// The node.
        node: NodeId,
        /// What touches it.
        elements: Vec<ElementId>,
    },
    /// A node that only one element touches and where no lead goes.
    #[error("nothing else meets {} at node `{node}`", list(.elements))]
    DeadEnd {
        /// The node.
        node: NodeId,
        /// What touches it.
        elements: Vec<ElementId>,
    },
    /// Sources without internal resistance in a ring: their voltages contradict or repeat each other.
    #[error("{} form a loop of ideal sources; give one an internal resistance", list(.0))]
    SourceLoop(Vec<ElementId>),
    /// Nothing but closed contacts and wires from one end of a supply to the other.
    #[error("`{source_id}` is shorted by {}", list(.by))]
    ShortedSupply {
        /// The supply.
        source_id: ElementId,
        /// The way from its first node to its second.
        by: Vec<ElementId>,
    },
    /// Both ends on one node.
    #[error("both ends of `{0}` are on node `{1}`")]
    BothEnds(ElementId, NodeId),
    /// Two elements of one name.
    #[error("the name `{0}` is given to two elements")]
    Twice(ElementId),
    /// A value that no part has.
    #[error("`{0}` has an impossible value: {1}")]
    Value(ElementId, &'static str),
    /// A contact that follows an element that is not there.
    #[error("contact `{0}` follows `{1}`, which is not in the circuit")]
    Driver(ElementId, ElementId),
    /// Alternating current meets a diode: what comes out is no sine.
    #[error("alternating current through {}: what a diode lets through is not worked out", list(.0))]
    Rectifier(Vec<ElementId>),
    /// The equations contradict each other: an inductance and a capacitance without resistance, in resonance.
    #[error("the circuit has no single solution; look for a resonance without resistance among {}", list(.0))]
    NoSolution(Vec<ElementId>),
}

impl Flaw {
    /// The elements to look at.
    pub fn elements(&self) -> &[ElementId] {
        match self {
            Self::NoReference(_) => &[],
            Self::LooseNode { elements, .. }
            | Self::DeadEnd { elements, .. }
            | Self::SourceLoop(elements)
            | Self::Rectifier(elements)
            | Self::ShortedSupply { by: elements, .. }
            | Self::NoSolution(elements) => elements,
            Self::BothEnds(element, _)
            | Self::Value(element, _)
            | Self::Driver(element, _)
            | Self::Twice(element) => std::slice::from_ref(element),
        }
    }
}

fn list(ids: &[ElementId]) -> String {
    let names: Vec<String> = ids.iter().map(|id| format!("`{id}`")).collect();
    names.join(", ")
}

impl Netlist {
    /// Everything wrong with the circuit, before any equation is written. A shorted supply can be solved, and under a fault
    /// it is what is wanted, but no machine in order has one.
    ///
    /// # Errors
    /// The flaws, by the names of the parts.
    pub fn check(&self) -> Result<(), Vec<Flaw>> {
        let flaws = self.check_equations().err().into_iter().flatten().chain(self.shorted_supplies());
        let flaws: Vec<Flaw> = flaws.collect();
        if flaws.is_empty() { Ok(()) } else { Err(flaws) }
    }

    /// What would leave the equations without one solution.
    pub(crate) fn check_equations(&self) -> Result<(), Vec<Flaw>> {
        let mut flaws = Vec::new();
        let mut seen = BTreeSet::new();
        for element in &self.elements {
            if !seen.insert(&element.id) {
                flaws.push(Flaw::Twice(element.id.clone()));
            }
            if element.from == element.to {
                flaws.push(Flaw::BothEnds(element.id.clone(), element.from.clone()));
            }
            flaws.extend(value_flaw(element).map(|why| Flaw::Value(element.id.clone(), why)));
            if let Kind::Contact { follows: Some(follow), .. } = &element.kind
                && self.element(&follow.driver).is_none()
            {
                flaws.push(Flaw::Driver(element.id.clone(), follow.driver.clone()));
            }
        }
        flaws.extend(self.loose_nodes());
        flaws.extend(self.source_loop());
        if flaws.is_empty() { Ok(()) } else { Err(flaws) }
    }

    fn loose_nodes(&self) -> Vec<Flaw> {
        let touching = |node: &NodeId| -> Vec<ElementId> {
            let there = self.elements.iter().filter(|e| e.from == *node || e.to == *node);
            there.map(|e| e.id.clone()).collect()
        };
        if touching(&self.reference).is_empty() {
            return vec![Flaw::NoReference(self.reference.clone())];
        }
        let mut tied = Groups::default();
        for element in &self.elements {
            tied.join(&element.from, &element.to);
        }
        let loose = self.nodes().into_iter().filter(|node| !tied.same(node, &self.reference));
        loose.map(|node| Flaw::LooseNode { node: node.clone(), elements: touching(node) }).collect()
    }

    fn shorted_supplies(&self) -> Vec<Flaw> {
        let sources = self.elements.iter().filter(|e| e.is_source());
        let shorted = |source: &Element| {
            let by = self.joints_between(&source.from, &source.to)?;
            Some(Flaw::ShortedSupply { source_id: source.id.clone(), by })
        };
        sources.filter_map(shorted).collect()
    }

    /// The closed contacts and wires that lead from one node to another, if nothing else is on the way; breadth first, so
    /// the fewest.
    fn joints_between(&self, from: &NodeId, to: &NodeId) -> Option<Vec<ElementId>> {
        let joint = |e: &&Element| match e.kind {
            Kind::Resistance { ohms }
            | Kind::Contact { ohms, closed: true, .. }
            | Kind::Thermostat { ohms, closed: true, .. } => ohms <= MOST_JOINT_OHMS,
            _ => false,
        };
        let joints: Vec<&Element> = self.elements.iter().filter(joint).collect();
        let mut ways: BTreeMap<&NodeId, Vec<ElementId>> = BTreeMap::from([(from, Vec::new())]);
        let mut front = vec![from];
        while !front.is_empty() && !ways.contains_key(to) {
            let mut next = Vec::new();
            for node in front {
                for joint in joints.iter().filter(|e| e.from == *node || e.to == *node) {
                    let other = if joint.from == *node { &joint.to } else { &joint.from };
                    if !ways.contains_key(other) {
                        let mut way = ways[node].clone();
                        way.push(joint.id.clone());
                        ways.insert(other, way);
                        next.push(other);
                    }
                }
            }
            front = next;
        }
        ways.remove(to).filter(|way| !way.is_empty())
    }

    fn source_loop(&self) -> Option<Flaw> {
        let ideal = |e: &&Element| {
            let (Kind::Source { ohms, .. } | Kind::DirectSource { ohms, .. }) = e.kind else { return false };
            ohms == 0.0 && e.from != e.to
        };
        let sources: Vec<&Element> = self.elements.iter().filter(ideal).collect();
        let mut tied = Groups::default();
        let closing = sources.iter().find(|e| !tied.join(&e.from, &e.to))?;
        // A source is in the ring if the ring's last source finds its ends tied only with it.
        let without = |gone: &ElementId| {
            let mut tied = Groups::default();
            for e in sources.iter().filter(|e| e.id != *gone && e.id != closing.id) {
                tied.join(&e.from, &e.to);
            }
            tied.same(&closing.from, &closing.to)
        };
        let ring = sources.iter().filter(|e| e.id == closing.id || !without(&e.id));
        Some(Flaw::SourceLoop(ring.map(|e| e.id.clone()).collect()))
    }
}

/// More than this is a load, or a bad contact: not a short, in ohms.
const MOST_JOINT_OHMS: f64 = 0.5;

/// No appliance is colder, and the laws of copper and platinum end here, in degrees Celsius.
const COLDEST: f64 = -200.0;

fn value_flaw(element: &Element) -> Option<&'static str> {
    let positive = |value: f64| value.is_finite() && value > 0.0;
    let sound = match &element.kind {
        Kind::Resistance { ohms } | Kind::Contact { ohms, .. } => positive(*ohms),
        Kind::Thermostat { ohms, bimetal, .. } => {
            positive(*ohms) && bimetal.opens.is_finite() && bimetal.closes.is_finite()
        }
        Kind::Winding { dc_ohms, ac_ohms, celsius } => {
            positive(*dc_ohms) && positive(ac_ohms.norm()) && ac_ohms.re >= 0.0 && *celsius > COLDEST
        }
        Kind::Sensor { law, celsius } => law.is_sound() && *celsius > COLDEST && positive(law.ohms(*celsius)),
        Kind::Capacitor { farads } => positive(*farads),
        Kind::Source { volts, ohms } => volts.is_finite() && ohms.is_finite() && *ohms >= 0.0,
        Kind::DirectSource { volts, ohms } => volts.is_finite() && ohms.is_finite() && *ohms >= 0.0,
        Kind::Diode { volts, ohms } => positive(*volts) && positive(*ohms),
        Kind::Open => true,
    };
    (!sound).then_some("ohms and farads are above zero, volts are finite")
}

/// Which nodes are tied together.
#[derive(Default)]
struct Groups<'a>(BTreeMap<&'a NodeId, &'a NodeId>);

impl<'a> Groups<'a> {
    fn root(&self, node: &'a NodeId) -> &'a NodeId {
        let mut at = node;
        while let Some(next) = self.0.get(at) {
            at = next;
        }
        at
    }

    /// Ties two nodes; false if they were tied before.
    fn join(&mut self, a: &'a NodeId, b: &'a NodeId) -> bool {
        let (a, b) = (self.root(a), self.root(b));
        a != b && self.0.insert(a, b).is_none()
    }

    fn same(&self, a: &'a NodeId, b: &'a NodeId) -> bool {
        self.root(a) == self.root(b)
    }
}
