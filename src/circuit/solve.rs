//! The equations of a circuit and their solution.
//!
//! Unknowns are the voltages of all nodes but the reference, then the currents of the sources. The matrix is symmetric,
//! so one factorisation answers both "what is the voltage here" and "what would a current here do there".

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector, Dyn, LU};
use num_complex::Complex64;

use crate::circuit::check::Flaw;
use crate::circuit::netlist::{Element, Kind, Netlist};
use crate::id::{ElementId, NodeId};

/// What flows: the supply's current, or the ohmmeter's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Current {
    /// Direct.
    Direct,
    /// Alternating at the supply's frequency.
    Alternating,
}

/// Contacts that follow a current are settled within this many rounds, or left as they are.
const MOST_ROUNDS: usize = 8;

/// A circuit and everything that flows in it.
#[derive(Clone, Debug)]
pub struct Solution {
    pub(crate) netlist: Netlist,
    pub(crate) current: Current,
    pub(crate) rows: BTreeMap<NodeId, usize>,
    factors: LU<Complex64, Dyn, Dyn>,
    pub(crate) unknowns: DVector<Complex64>,
}

impl Netlist {
    /// Solves the circuit, letting contacts that follow a current find their places, from a machine at rest.
    ///
    /// # Errors
    /// Every flaw of the circuit, by the names of its parts.
    pub fn solve(&self, current: Current) -> Result<Solution, Vec<Flaw>> {
        self.check_equations()?;
        self.check_diodes(current)?;
        let mut settled = self.at_rest();
        for _ in 0..MOST_ROUNDS {
            let solution = settled.solve_as_is(current)?;
            let moved = settled.follow(self, &solution);
            if !moved {
                return Ok(solution);
            }
        }
        settled.solve_as_is(current)
    }

    /// Nothing flows yet: contacts that a current closes are open, those that it opens are as the state wants them. A
    /// contact that holds itself must first be started.
    fn at_rest(&self) -> Self {
        let mut resting = self.clone();
        for element in &mut resting.elements {
            if let Kind::Contact { closed, follows: Some(follow), .. } = &mut element.kind {
                *closed = *closed && follow.opens;
            }
        }
        resting
    }

    fn check_diodes(&self, current: Current) -> Result<(), Vec<Flaw>> {
        let driven = self.elements.iter().any(|e| matches!(e.kind, Kind::Source { .. }));
        let diodes = self.elements.iter().filter(|e| matches!(e.kind, Kind::Diode { .. }));
        let diodes: Vec<ElementId> = diodes.map(|e| e.id.clone()).collect();
        if driven && current == Current::Alternating && !diodes.is_empty() {
            return Err(vec![Flaw::Rectifier(diodes)]);
        }
        Ok(())
    }

    fn solve_as_is(&self, current: Current) -> Result<Solution, Vec<Flaw>> {
        let nodes = self.nodes().into_iter().filter(|node| **node != self.reference);
        let rows: BTreeMap<NodeId, usize> = nodes.cloned().zip(0..).collect();
        let (matrix, right) = self.equations(&rows, current);
        let factors = matrix.lu();
        let unknowns = factors.solve(&right).filter(|x| x.iter().all(|v| v.is_finite()));
        let Some(unknowns) = unknowns else {
            return Err(vec![Flaw::NoSolution(self.reactive())]);
        };
        Ok(Solution { netlist: self.clone(), current, rows, factors, unknowns })
    }

    /// The matrix and the right-hand side.
    fn equations(
        &self,
        rows: &BTreeMap<NodeId, usize>,
        current: Current,
    ) -> (DMatrix<Complex64>, DVector<Complex64>) {
        let size = rows.len() + self.elements.iter().filter(|e| e.is_source()).count();
        let mut matrix = DMatrix::<Complex64>::zeros(size, size);
        let mut right = DVector::<Complex64>::zeros(size);
        let mut source_row = rows.len();
        for element in &self.elements {
            let ends = [(rows.get(&element.from), 1.0), (rows.get(&element.to), -1.0)];
            if let Some(admittance) = element.admittance(current, self.hertz) {
                for (row, sign) in ends {
                    for (column, other) in ends {
                        if let (Some(&row), Some(&column)) = (row, column) {
                            matrix[(row, column)] += admittance * (sign * other);
                        }
                    }
                }
            } else {
                let (volts, ohms) = driving(&element.kind, current);
                for (row, sign) in ends {
                    if let Some(&row) = row {
                        matrix[(row, source_row)] += Complex64::from(sign);
                        matrix[(source_row, row)] += Complex64::from(sign);
                    }
                }
                // v(from) - v(to) - ohms * (current through the source from `from` to `to`) = volts
                matrix[(source_row, source_row)] -= Complex64::from(ohms);
                right[source_row] = volts;
                source_row += 1;
            }
        }
        (matrix, right)
    }

    /// Moves the contacts that follow a current and lets diodes conduct or block; says whether any moved.
    fn follow(&mut self, wanted: &Self, solution: &Solution) -> bool {
        let mut moved = false;
        for (element, wanted) in self.elements.iter_mut().zip(&wanted.elements) {
            let kind = match &wanted.kind {
                Kind::Contact { ohms, closed, follows: Some(follow) } => {
                    let flows = solution.amps(&follow.driver).is_some_and(|amps| amps.norm() >= follow.amps);
                    let closed = *closed && flows != follow.opens;
                    Kind::Contact { ohms: *ohms, closed, follows: Some(follow.clone()) }
                }
                Kind::Diode { volts, ohms } => diode(element, *volts, *ohms, solution),
                _ => continue,
            };
            moved |= kind != element.kind;
            element.kind = kind;
        }
        moved
    }

    fn reactive(&self) -> Vec<ElementId> {
        let reacts = |e: &&Element| matches!(e.kind, Kind::Winding { .. } | Kind::Capacitor { .. });
        self.elements.iter().filter(reacts).map(|e| e.id.clone()).collect()
    }
}

/// Voltage and internal resistance of a source, as far as this current comes from it.
pub(crate) fn driving(kind: &Kind, current: Current) -> (Complex64, f64) {
    match (kind, current) {
        (Kind::Source { volts, ohms }, Current::Alternating) => (*volts, *ohms),
        (Kind::DirectSource { volts, ohms }, Current::Direct) => (Complex64::from(*volts), *ohms),
        (Kind::Source { ohms, .. } | Kind::DirectSource { ohms, .. }, _) => (Complex64::ZERO, *ohms),
        _ => unreachable!("only sources drive"),
    }
}

/// A diode that conducts is a source that takes its voltage from whatever flows.
fn diode(now: &Element, volts: f64, ohms: f64, solution: &Solution) -> Kind {
    let conducts = match now.kind {
        Kind::DirectSource { .. } => solution.amps(&now.id).is_some_and(|amps| amps.re > 0.0),
        _ => solution.across(now, &solution.unknowns).re > volts,
    };
    if conducts { Kind::DirectSource { volts, ohms } } else { Kind::Diode { volts, ohms } }
}

impl Solution {
    /// Voltage of a node against the reference; `None` if there is no such node.
    pub fn volts(&self, node: &NodeId) -> Option<Complex64> {
        if *node == self.netlist.reference {
            return Some(Complex64::ZERO);
        }
        self.rows.get(node).map(|&row| self.unknowns[row])
    }

    /// Voltage of one node against another; `None` if there is no such node.
    pub fn volts_between(&self, from: &NodeId, to: &NodeId) -> Option<Complex64> {
        Some(self.volts(from)? - self.volts(to)?)
    }

    /// Current through an element from its first node to its second; `None` if there is no such element.
    pub fn amps(&self, id: &ElementId) -> Option<Complex64> {
        let element = self.netlist.element(id)?;
        if let Some(admittance) = element.admittance(self.current, self.netlist.hertz) {
            return Some(self.across(element, &self.unknowns) * admittance);
        }
        self.source_row(id).map(|row| self.unknowns[row])
    }

    /// The element of this name as it stands once everything has settled.
    pub fn element(&self, id: &ElementId) -> Option<&Element> {
        self.netlist.element(id)
    }

    /// Is the contact closed, once everything has settled?
    pub fn is_closed(&self, id: &ElementId) -> bool {
        let element = self.netlist.element(id);
        element.is_some_and(|e| {
            matches!(e.kind, Kind::Contact { closed: true, .. } | Kind::Thermostat { closed: true, .. })
        })
    }

    /// The unknowns' answer to one ampere sent in at `from` and taken out at `to`.
    pub(crate) fn answer(&self, from: &NodeId, to: &NodeId) -> DVector<Complex64> {
        let mut right = DVector::<Complex64>::zeros(self.unknowns.len());
        for (node, sign) in [(from, 1.0), (to, -1.0)] {
            if let Some(&row) = self.rows.get(node) {
                right[row] += Complex64::from(sign);
            }
        }
        self.factors.solve(&right).expect("the factors have solved the circuit before")
    }

    /// The unknowns' answer to one volt, or one ampere, on the right-hand side of one row.
    pub(crate) fn answer_at(&self, row: usize) -> DVector<Complex64> {
        let mut right = DVector::<Complex64>::zeros(self.unknowns.len());
        right[row] = Complex64::ONE;
        self.factors.solve(&right).expect("the factors have solved the circuit before")
    }

    /// Difference of a vector of unknowns over an element's ends.
    pub(crate) fn across(&self, element: &Element, unknowns: &DVector<Complex64>) -> Complex64 {
        self.at(&element.from, unknowns) - self.at(&element.to, unknowns)
    }

    /// A node's entry in a vector of unknowns; zero for the reference.
    pub(crate) fn at(&self, node: &NodeId, unknowns: &DVector<Complex64>) -> Complex64 {
        self.rows.get(node).map_or(Complex64::ZERO, |&row| unknowns[row])
    }

    /// Where a source's current stands among the unknowns.
    pub(crate) fn source_row(&self, id: &ElementId) -> Option<usize> {
        let mut sources = self.netlist.elements.iter().filter(|e| e.is_source());
        sources.position(|e| e.id == *id).map(|nth| self.rows.len() + nth)
    }
}
