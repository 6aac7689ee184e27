//! A circuit as seen from all its nodes at once, for one set of values: the part of a survey that runs thousands of times.

use num_complex::Complex64;

use crate::circuit::netlist::Kind;
use crate::circuit::solve::{Current, Solution, driving};
use crate::id::NodeId;

/// What a source without internal resistance has here, in ohms: nodal equations want one, and no reading feels it.
const IDEAL_OHMS: f64 = 1e-6;

/// An element as nodal equations see it.
struct Branch {
    /// The rows of its ends; `None` for the reference.
    ends: [Option<usize>; 2],
    /// Its admittance at its nominal value, in siemens.
    admittance: Complex64,
    /// Current that it drives into its first node, in amperes.
    drives: Complex64,
    /// What a factor on its value multiplies.
    scales: Scales,
}

#[derive(Clone, Copy)]
enum Scales {
    Impedance,
    Admittance,
    Drive,
}

/// A settled circuit, ready to be solved again and again with other values.
pub(super) struct Branches {
    size: usize,
    branches: Vec<Branch>,
}

/// For one set of values: the voltage of each node without a meter, and what an ampere into one does to another.
pub(super) struct Ports {
    size: usize,
    volts: Vec<Complex64>,
    /// The inverse of the nodal matrix, row by row.
    impedance: Vec<Complex64>,
}

impl Branches {
    pub(super) fn of(solution: &Solution) -> Self {
        let Solution { netlist, current, rows, .. } = solution;
        let row = |node: &NodeId| rows.get(node).copied();
        let branches = netlist.elements.iter().map(|element| {
            let ends = [row(&element.from), row(&element.to)];
            let none = Complex64::ZERO;
            if let Some(admittance) = element.admittance(*current, netlist.hertz) {
                Branch { ends, admittance, drives: none, scales: scales(&element.kind, *current) }
            } else {
                let (volts, ohms) = driving(&element.kind, *current);
                let admittance = Complex64::from(1.0 / ohms.max(IDEAL_OHMS));
                Branch { ends, admittance, drives: volts * admittance, scales: Scales::Drive }
            }
        });
        Self { size: rows.len(), branches: branches.collect() }
    }

    /// Solves with the value of each element (by its place) multiplied by a factor; `None` if such values have no solution.
    pub(super) fn ports(&self, factor: impl Fn(usize) -> f64) -> Option<Ports> {
        let size = self.size;
        let mut matrix = vec![Complex64::ZERO; size * size];
        let mut right = vec![Complex64::ZERO; size];
        for (nth, branch) in self.branches.iter().enumerate() {
            let factor = factor(nth);
            let (admittance, drives) = match branch.scales {
                Scales::Impedance => (branch.admittance / factor, branch.drives),
                Scales::Admittance => (branch.admittance * factor, branch.drives),
                Scales::Drive => (branch.admittance, branch.drives * factor),
            };
            let [from, to] = branch.ends;
            if let Some(a) = from {
                matrix[a * size + a] += admittance;
                right[a] += drives;
            }
            if let Some(b) = to {
                matrix[b * size + b] += admittance;
                right[b] -= drives;
            }
            if let (Some(a), Some(b)) = (from, to) {
                matrix[a * size + b] -= admittance;
                matrix[b * size + a] -= admittance;
            }
        }
        invert(&mut matrix, size)?;
        let volts =
            matrix.chunks_exact(size).map(|row| row.iter().zip(&right).map(|(z, amps)| z * amps).sum());
        Some(Ports { size, volts: volts.collect(), impedance: matrix })
    }
}

fn scales(kind: &Kind, current: Current) -> Scales {
    match (kind, current) {
        (Kind::Capacitor { .. }, Current::Alternating) => Scales::Admittance,
        _ => Scales::Impedance,
    }
}

impl Ports {
    /// Voltage of a row; the reference is at zero.
    pub(super) fn volts(&self, row: Option<usize>) -> Complex64 {
        row.map_or(Complex64::ZERO, |row| self.volts[row])
    }

    /// Impedance between two rows.
    pub(super) fn impedance(&self, a: Option<usize>, b: Option<usize>) -> Complex64 {
        let at = |a: Option<usize>, b: Option<usize>| match (a, b) {
            (Some(a), Some(b)) => self.impedance[a * self.size + b],
            _ => Complex64::ZERO,
        };
        at(a, a) + at(b, b) - at(a, b) - at(b, a)
    }
}

/// Inverts a symmetric matrix in place (Gauss and Jordan). The pivots stay on the diagonal, which is sound for admittances:
/// their real part is never negative. `None` if one vanishes.
fn invert(matrix: &mut [Complex64], size: usize) -> Option<()> {
    let mut pivot_row = vec![Complex64::ZERO; size];
    for k in 0..size {
        let pivot = matrix[k * size + k].inv();
        if !pivot.is_finite() {
            return None;
        }
        pivot_row.copy_from_slice(&matrix[k * size..(k + 1) * size]);
        for (i, row) in matrix.chunks_exact_mut(size).enumerate() {
            if i == k {
                for value in row.iter_mut() {
                    *value *= pivot;
                }
                row[k] = pivot;
                continue;
            }
            let factor = row[k] * pivot;
            // Most pairs of nodes are not neighbours, and early pivots leave many rows alone.
            if factor == Complex64::ZERO {
                continue;
            }
            for (value, above) in row.iter_mut().zip(&pivot_row) {
                *value -= factor * above;
            }
            row[k] = -factor;
        }
    }
    Some(())
}
