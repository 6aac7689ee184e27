//! What a meter would show between every two of some nodes, with bands from samples.
//!
//! One factorisation of a circuit gives every pair: between any two nodes a circuit is a voltage behind an impedance
//! (Thévenin), and both stand in the inverse of its matrix. Nominal values are asked of the factors pair by pair, which
//! loses no digits where all nodes float far from the reference; samples, where only ratios count, take the inverse.
//! Tolerances are sampled: a Latin hypercube (McKay, Beckman and
//! Conover 1979) with a fixed seed, so that the same circuit always gets the same band, and a part has the same value in
//! every state and under every fault of one sample. Contacts stand where they stand at nominal values.

mod ports;

use nalgebra::DVector;
use num_complex::Complex64;

use crate::circuit::check::Flaw;
use crate::circuit::meter::{Meter, Mode};
use crate::circuit::netlist::{Element, Netlist};
use crate::circuit::probe::{Band, NINETY_FIVE, Shown, farads};
use crate::circuit::solve::Solution;
use crate::id::NodeId;
use ports::{Branches, Ports};

/// So many samples of all tolerances.
#[derive(Clone, Debug)]
pub struct Samples(Vec<f64>);

/// What a meter shows between every two of some nodes.
#[derive(Clone, Debug)]
pub struct Survey {
    /// The nodes, as they were given.
    pub nodes: Vec<NodeId>,
    /// What is shown, by the places of the two nodes; the first place is the smaller.
    pub shown: Vec<((usize, usize), Shown)>,
}

impl Survey {
    /// What is shown between the nodes at two places; `None` if one is not there, or both are one.
    pub fn between(&self, a: usize, b: usize) -> Option<&Shown> {
        let pair = (a.min(b), a.max(b));
        self.shown.iter().find(|(at, _)| *at == pair).map(|(_, shown)| shown)
    }
}

impl Netlist {
    /// Measures between every two of the nodes. The plug is pulled if the mode wants it; diodes count as blocking. Nodes
    /// that are not there are left out.
    ///
    /// # Errors
    /// What keeps the circuit from being solved.
    pub fn survey(
        &self,
        mode: Mode,
        nodes: &[NodeId],
        meter: &Meter,
        samples: &Samples,
    ) -> Result<Survey, Vec<Flaw>> {
        let circuit = if mode.wants_dead() { self.clone().unplugged() } else { self.clone() };
        Ok(circuit.solve(mode.current())?.survey(mode, nodes, meter, samples))
    }
}

impl Solution {
    fn survey(&self, mode: Mode, nodes: &[NodeId], meter: &Meter, samples: &Samples) -> Survey {
        let there = nodes.iter().filter(|node| self.volts(node).is_some());
        let nodes: Vec<NodeId> = there.cloned().collect();
        let pairs: Vec<(usize, usize)> =
            (0..nodes.len()).flat_map(|a| (a + 1..nodes.len()).map(move |b| (a, b))).collect();
        let rows: Vec<Option<usize>> = nodes.iter().map(|node| self.rows.get(node).copied()).collect();
        let read = |ports: &Ports| -> Vec<f64> {
            let reading = |&(a, b): &(usize, usize)| {
                let (a, b) = (rows[a], rows[b]);
                let volts = ports.volts(a) - ports.volts(b);
                reading(mode, volts, ports.impedance(a, b), meter, self.netlist.hertz)
            };
            pairs.iter().map(reading).collect()
        };
        let branches = Branches::of(self);
        let nominal = pairs.iter().map(|&(a, b)| self.reading(mode, &nodes[a], &nodes[b], meter));
        let nominal: Vec<f64> = nominal.collect();
        let middle = branches.ports(|_| 1.0).as_ref().map_or_else(|| nominal.clone(), read);
        // Sums of the logarithm of what a sample reads over what is nominal, and of its square.
        let mut sums = vec![(0.0, 0.0); pairs.len()];
        let drawn: Vec<Vec<f64>> = self.netlist.elements.iter().map(|e| samples.factors(e)).collect();
        for ports in (0..samples.0.len()).filter_map(|nth| branches.ports(|element| drawn[element][nth])) {
            for ((sum, middle), sampled) in sums.iter_mut().zip(&middle).zip(read(&ports)) {
                let off = (sampled / middle).ln();
                if off.is_finite() {
                    *sum = (sum.0 + off, sum.1 + off * off);
                }
            }
        }
        let count = samples.0.len().max(1) as f64;
        let band = |nominal: f64, (sum, squares): (f64, f64)| {
            if !nominal.is_finite() || nominal > meter.most(mode) {
                return Shown::Overload;
            }
            let mean = sum / count;
            let wide = NINETY_FIVE * (squares / count - mean * mean).max(0.0).sqrt();
            let (down, up) = ((wide - mean).max(0.0), (wide + mean).max(0.0));
            Shown::Value(Band::new(nominal, down, up, meter, mode))
        };
        let shown =
            pairs.iter().zip(nominal.iter().zip(sums)).map(|(pair, (n, sums))| (*pair, band(*n, sums)));
        Survey { shown: shown.collect(), nodes }
    }

    /// What stands on the display, were it endless.
    fn reading(&self, mode: Mode, from: &NodeId, to: &NodeId, meter: &Meter) -> f64 {
        let answer = self.answer(from, to);
        let between = |unknowns: &DVector<Complex64>| self.at(from, unknowns) - self.at(to, unknowns);
        reading(mode, between(&self.unknowns), between(&answer), meter, self.netlist.hertz)
    }
}

/// What stands on the display, were it endless, with the leads on a voltage behind an impedance; infinite where there is no
/// number.
fn reading(mode: Mode, volts: Complex64, impedance: Complex64, meter: &Meter, hertz: f64) -> f64 {
    match mode {
        Mode::AcVolts | Mode::LowImpedanceVolts | Mode::DcVolts => {
            (volts / (1.0 + meter.input(mode, hertz) * impedance)).norm()
        }
        Mode::Ohms | Mode::Continuity => impedance.re.max(0.0),
        Mode::Farads => farads(impedance.inv(), hertz).unwrap_or(f64::INFINITY),
    }
}

impl Samples {
    /// As many as a service meter's prediction needs: the width of a band is then good to a few per cent.
    pub const USUAL: usize = 64;

    /// So many samples; none gives bands of the meter alone.
    pub fn new(count: usize) -> Self {
        Self((0..count).map(|n| quantile((n as f64 + 0.5) / count as f64)).collect())
    }

    /// What an element's value is multiplied by, in each sample. Elements that move together get the same order.
    fn factors(&self, element: &Element) -> Vec<f64> {
        let spread = element.spread;
        let seed = match spread.together {
            Some(group) => u64::from(group),
            // FNV-1a (Fowler, Noll and Vo): another name, another order.
            None => element.id.as_str().bytes().fold(0xCBF2_9CE4_8422_2325, |hash, byte| {
                (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01B3)
            }),
        };
        let factor = |normal: f64| {
            let width = if normal < 0.0 { spread.down } else { spread.up };
            (normal * width / NINETY_FIVE).exp()
        };
        shuffled(&self.0, seed).into_iter().map(factor).collect()
    }
}

impl Default for Samples {
    fn default() -> Self {
        Self::new(Self::USUAL)
    }
}

/// The same numbers in an order that the seed decides: Fisher and Yates with SplitMix64 (Steele, Lea and Flood 2014).
fn shuffled(numbers: &[f64], mut seed: u64) -> Vec<f64> {
    let mut next = || {
        seed = seed.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = seed;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    };
    let mut numbers = numbers.to_vec();
    for last in (1..numbers.len()).rev() {
        numbers.swap(last, (next() % (last as u64 + 1)) as usize);
    }
    numbers
}

/// Where the standard normal distribution reaches a probability; by halving.
fn quantile(probability: f64) -> f64 {
    let (mut low, mut high) = (-8.0, 8.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if libm::erfc(-middle / std::f64::consts::SQRT_2) / 2.0 < probability {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}
