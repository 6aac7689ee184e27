//! Which node is a rail, which chain of elements a rung, and where each of them goes.

use std::collections::{BTreeMap, BTreeSet};

use crate::circuit::{Element, Kind};
use crate::id::NodeId;

/// Rails from left to right and the rungs between them.
pub(super) struct Ladder<'a> {
    pub(super) rails: Vec<Rail<'a>>,
    pub(super) rungs: Vec<Rung<'a>>,
    /// How many rows of rungs there are.
    pub(super) rows: usize,
    /// How many elements wide it is.
    pub(super) columns: f64,
}

/// A node where more than two elements meet, or only one.
pub(super) struct Rail<'a> {
    pub(super) node: &'a NodeId,
    /// Where it stands, in widths of an element.
    pub(super) column: f64,
}

/// A chain of elements from one rail to another.
pub(super) struct Rung<'a> {
    /// The place of its left rail, and of its right one.
    pub(super) left: usize,
    pub(super) right: usize,
    /// Its elements from left to right.
    pub(super) elements: Vec<&'a Element>,
    /// The nodes between them.
    pub(super) inner: Vec<&'a NodeId>,
    pub(super) row: usize,
}

/// A chain before it is known where its rails stand.
struct Chain<'a> {
    nodes: Vec<&'a NodeId>,
    elements: Vec<&'a Element>,
}

impl<'a> Ladder<'a> {
    /// Lays out the elements. `reference` is a rail in any case.
    pub(super) fn lay_out(elements: &[&'a Element], reference: &'a NodeId) -> Self {
        let junctions = junctions(elements, reference);
        let chains = chains(elements, &junctions);
        let potential = potentials(elements, reference);
        let ends: BTreeSet<&NodeId> =
            chains.iter().flat_map(|chain| [chain.nodes[0], chain.last()]).collect();
        let mut order: Vec<&NodeId> = ends.into_iter().collect();
        order.sort_by(|a, b| potential[b].total_cmp(&potential[a]).then(a.cmp(b)));
        let place: BTreeMap<&NodeId, usize> = order.iter().copied().zip(0..).collect();
        let rungs = chains.into_iter().map(|chain| chain.rung(&place)).collect::<Vec<_>>();
        let mut ladder = Self {
            rails: order.iter().map(|node| Rail { node, column: 0.0 }).collect(),
            rungs,
            rows: 0,
            columns: 0.0,
        };
        ladder.space_rails();
        ladder.stack_rungs();
        ladder
    }

    /// Every rail as far right of those before it as the rungs between them are long.
    fn space_rails(&mut self) {
        for right in 0..self.rails.len() {
            let before = if right == 0 { 0.0 } else { self.rails[right - 1].column + 0.75 };
            let ending = self.rungs.iter().filter(|rung| rung.right == right);
            let longest = ending.map(|rung| self.rails[rung.left].column + rung.elements.len() as f64);
            self.rails[right].column = longest.fold(before, f64::max);
        }
        self.columns = self.rails.last().map_or(0.0, |rail| rail.column);
    }

    /// The widest first, every rung into the first row where it lies beside no other: so few rails cross a rung.
    fn stack_rungs(&mut self) {
        self.rungs.sort_by_key(|rung| (std::cmp::Reverse(rung.right - rung.left), rung.left));
        let mut rows: Vec<Vec<(usize, usize)>> = Vec::new();
        for rung in &mut self.rungs {
            let free =
                |row: &Vec<(usize, usize)>| row.iter().all(|(l, r)| rung.right <= *l || *r <= rung.left);
            let row = rows.iter().position(free).unwrap_or(rows.len());
            if row == rows.len() {
                rows.push(Vec::new());
            }
            rows[row].push((rung.left, rung.right));
            rung.row = row;
        }
        self.rows = rows.len();
    }

    /// The rows in which rungs meet a rail, from the top.
    pub(super) fn rungs_at(&self, rail: &Rail) -> Vec<usize> {
        let meets = |place: usize| self.rails[place].node == rail.node;
        let there = self.rungs.iter().filter(|rung| meets(rung.left) || meets(rung.right));
        there.map(|rung| rung.row).collect::<BTreeSet<_>>().into_iter().collect()
    }
}

impl<'a> Chain<'a> {
    fn last(&self) -> &'a NodeId {
        self.nodes[self.nodes.len() - 1]
    }

    /// Turned so that it runs from left to right.
    fn rung(mut self, place: &BTreeMap<&NodeId, usize>) -> Rung<'a> {
        let ends = |chain: &Self| (place[chain.nodes[0]], place[chain.last()]);
        if ends(&self).0 > ends(&self).1 {
            self.nodes.reverse();
            self.elements.reverse();
        }
        let (left, right) = ends(&self);
        let inner = self.nodes[1..self.nodes.len() - 1].to_vec();
        Rung { left, right, elements: self.elements, inner, row: 0 }
    }
}

/// Nodes where chains end.
fn junctions<'a>(elements: &[&'a Element], reference: &'a NodeId) -> BTreeSet<&'a NodeId> {
    let mut meeting: BTreeMap<&NodeId, usize> = BTreeMap::new();
    for end in elements.iter().flat_map(|e| [&e.from, &e.to]) {
        *meeting.entry(end).or_default() += 1;
    }
    let ends = meeting.into_iter().filter(|(_, count)| *count != 2).map(|(node, _)| node);
    ends.chain([reference]).collect()
}

/// Follows elements from junction to junction. A ring that comes back to its junction is cut in its middle, one without any
/// is cut where it is found.
fn chains<'a>(elements: &[&'a Element], junctions: &BTreeSet<&'a NodeId>) -> Vec<Chain<'a>> {
    let mut left: Vec<&Element> = elements.to_vec();
    let mut chains = Vec::new();
    while !left.is_empty() {
        let at_junction = left.iter().position(|e| junctions.contains(&e.from) || junctions.contains(&e.to));
        let first = left.remove(at_junction.unwrap_or(0));
        let (start, mut at) = if junctions.contains(&first.from) || at_junction.is_none() {
            (&first.from, &first.to)
        } else {
            (&first.to, &first.from)
        };
        let mut chain = Chain { nodes: vec![start, at], elements: vec![first] };
        while !junctions.contains(at) && at != start {
            let Some(next) = left.iter().position(|e| e.from == *at || e.to == *at) else { break };
            let next = left.remove(next);
            at = if next.from == *at { &next.to } else { &next.from };
            chain.nodes.push(at);
            chain.elements.push(next);
        }
        if chain.last() == start {
            let middle = chain.elements.len().div_ceil(2);
            let nodes = chain.nodes.split_off(middle);
            let rest = chain.elements.split_off(middle);
            chain.nodes.push(nodes[0]);
            chains.push(Chain { nodes, elements: rest });
        }
        chains.push(chain);
    }
    chains.retain(|chain| !chain.elements.is_empty());
    chains
}

/// Which way current runs, roughly: what each node would stand at if everything were closed and alike. Sources hold their
/// first node, the reference is at zero, everything else lies between its neighbours.
fn potentials<'a>(elements: &[&'a Element], reference: &'a NodeId) -> BTreeMap<&'a NodeId, f64> {
    let mut held: BTreeMap<&NodeId, f64> = BTreeMap::from([(reference, 0.0)]);
    for element in elements {
        let volts = match element.kind {
            Kind::Source { volts, .. } => volts.re,
            Kind::DirectSource { volts, .. } => volts,
            _ => continue,
        };
        held.entry(&element.from).or_insert(volts);
    }
    let mut potentials: BTreeMap<&NodeId, f64> = held.clone();
    let mut meeting: BTreeMap<&NodeId, Vec<&NodeId>> = BTreeMap::new();
    for element in elements {
        for (end, other) in [(&element.from, &element.to), (&element.to, &element.from)] {
            potentials.entry(end).or_insert(0.0);
            meeting.entry(end).or_default().push(other);
        }
    }
    // Averages settle long before; the bound only keeps a drawing from taking a second.
    for _ in 0..400 {
        for (node, others) in &meeting {
            if !held.contains_key(node) {
                let sum: f64 = others.iter().map(|other| potentials[other]).sum();
                potentials.insert(node, sum / others.len() as f64);
            }
        }
    }
    potentials
}
