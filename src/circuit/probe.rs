//! The meter's leads on two points, or its clamp round a wire: what it shows, and how sure that is.
//!
//! How parts' tolerances move a reading is found with the adjoint circuit (Director and Rohrer 1969): because the matrix
//! is symmetric, the answer to one ampere at the leads gives the reading's sensitivity to every element at once. The
//! sensitivities are logarithmic, so a band around ten megohms is as sound as one around an ohm. To first order; a band
//! that would be wider than [`WIDEST`] is cut there. [`crate::circuit::survey`] samples instead.

use std::collections::BTreeMap;

use nalgebra::DVector;
use num_complex::Complex64;

use crate::circuit::check::Flaw;
use crate::circuit::meter::{Meter, Mode};
use crate::circuit::netlist::{Element, Kind, Netlist};
use crate::circuit::solve::{Current, Solution};
use crate::circuit::spread::Spread;
use crate::id::{ElementId, NodeId};

/// The widest that parts alone may make a band, as a natural logarithm: a factor of about twenty.
pub const WIDEST: f64 = 3.0;

/// A 95 % interval is this many standard deviations either way.
pub(crate) const NINETY_FIVE: f64 = 1.96;

/// What the meter shows.
#[derive(Clone, Debug, PartialEq)]
pub enum Shown {
    /// A number.
    Value(Band),
    /// More than it can show; on farads also: too much leaks for a number.
    Overload,
}

impl Shown {
    /// The most likely number; infinite for overload.
    pub const fn nominal(&self) -> f64 {
        match self {
            Self::Value(band) => band.nominal,
            Self::Overload => f64::INFINITY,
        }
    }
}

/// A number that is shown, and how sure it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Most likely: every part at its nominal value.
    pub nominal: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
    /// By how many per cent the reading grows when an element's value grows by one per cent. Empty if it was not asked for.
    pub influence: BTreeMap<ElementId, f64>,
}

impl Band {
    /// The interval that parts (as natural logarithms down and up) and the meter make together.
    pub(crate) fn new(nominal: f64, down: f64, up: f64, meter: &Meter, mode: Mode) -> Self {
        let beyond = match mode {
            Mode::AcVolts => meter.pickup_volts,
            Mode::Ohms | Mode::Continuity => meter.leads_ohms,
            Mode::LowImpedanceVolts | Mode::DcVolts | Mode::Farads => 0.0,
        };
        Self::around(nominal, down, up, meter.half_width(mode, nominal), beyond)
    }

    fn around(nominal: f64, down: f64, up: f64, half_width: f64, beyond: f64) -> Self {
        // Accuracy is a rectangle (JCGM 100:2008, 4.3.7): its standard deviation is its half width over root three.
        let accuracy = NINETY_FIVE * half_width / 3_f64.sqrt();
        let below = nominal * (1.0 - (-down.min(WIDEST)).exp());
        let above = nominal * up.min(WIDEST).exp_m1();
        Self {
            nominal,
            low: (nominal - below.hypot(accuracy)).max(0.0),
            high: nominal + above.hypot(accuracy) + beyond,
            influence: BTreeMap::new(),
        }
    }
}

impl Netlist {
    /// One measurement, from the circuit as it stands: the plug is pulled if the mode wants it. `None` if there is no such
    /// node.
    ///
    /// # Errors
    /// What keeps the circuit from being solved.
    pub fn read(
        &self,
        mode: Mode,
        from: &NodeId,
        to: &NodeId,
        meter: &Meter,
    ) -> Result<Option<Shown>, Vec<Flaw>> {
        let circuit = if mode.wants_dead() { self.clone().unplugged() } else { self.clone() };
        let diodes = circuit.elements.iter().any(|e| matches!(e.kind, Kind::Diode { .. }));
        match mode {
            Mode::Ohms | Mode::Continuity if diodes => circuit.read_diodes(mode, from, to, meter),
            _ => Ok(circuit.solve(mode.current())?.probe(mode, from, to, meter)),
        }
    }

    /// Ohms where a diode may conduct depend on which way and how hard the meter drives: here it is in the circuit, red
    /// lead on `from`.
    fn read_diodes(
        mut self,
        mode: Mode,
        from: &NodeId,
        to: &NodeId,
        meter: &Meter,
    ) -> Result<Option<Shown>, Vec<Flaw>> {
        let nodes = self.nodes();
        if !nodes.contains(from) || !nodes.contains(to) || from == to {
            return Ok((from == to && nodes.contains(from))
                .then(|| Shown::Value(Band::new(0.0, 0.0, 0.0, meter, mode))));
        }
        let id = ElementId::from("the meter");
        let kind = Kind::DirectSource { volts: meter.open_volts, ohms: meter.open_volts / meter.test_amps };
        let (from, to) = (from.clone(), to.clone());
        self.elements.push(Element { id: id.clone(), from, to, kind, spread: Spread::EXACT });
        let solution = self.solve(Current::Direct)?;
        let amps = solution.amps(&id).expect("the meter is in its circuit").re.abs();
        let leads = &self.elements[self.elements.len() - 1];
        let ohms = solution.across(leads, &solution.unknowns).re.abs() / amps;
        if ohms > meter.most_ohms {
            return Ok(Some(Shown::Overload));
        }
        Ok(Some(Shown::Value(Band::new(ohms, 0.0, 0.0, meter, mode))))
    }
}

impl Solution {
    /// What the meter shows with its first lead (the red one) on `from` and its second on `to`; `None` if there is no
    /// such node. The circuit must have been solved for [`Mode::current`], and with its plug out if [`Mode::wants_dead`].
    pub fn probe(&self, mode: Mode, from: &NodeId, to: &NodeId, meter: &Meter) -> Option<Shown> {
        self.volts_between(from, to)?;
        let answer = self.answer(from, to);
        let impedance = self.between(from, to, &answer);
        let (nominal, influence) = match mode {
            Mode::AcVolts | Mode::LowImpedanceVolts | Mode::DcVolts => {
                self.volts_read(mode, from, to, meter, answer, impedance)
            }
            Mode::Ohms | Mode::Continuity => {
                (impedance.re.max(0.0), self.influence(&answer, &answer, impedance))
            }
            Mode::Farads => {
                // What is read is the admittance: a hundredth more impedance is a hundredth less of it.
                let admittance = impedance.inv();
                let Some(farads) = farads(admittance, self.netlist.hertz) else {
                    return Some(Shown::Overload);
                };
                let share = |element: &Element| {
                    let across = self.across(element, &answer);
                    let change = -across * across * self.slope(element) * admittance * admittance;
                    change.im / admittance.im
                };
                (farads, self.netlist.elements.iter().map(|e| (e.id.clone(), share(e))).collect())
            }
        };
        Some(self.shown(nominal, influence, meter, mode))
    }

    /// What the clamp shows round one end of an element; `None` if there is no such element.
    pub fn clamp(&self, id: &ElementId, meter: &Meter) -> Option<Shown> {
        let amps = self.amps(id)?;
        if amps.norm() > meter.most_amps {
            return Some(Shown::Overload);
        }
        let element = self.netlist.element(id)?;
        // The answer of the current: of a source's own unknown, or of the voltage over the element times its admittance.
        let own = element.admittance(self.current, self.netlist.hertz);
        let answer = match (own, self.source_row(id)) {
            (None, Some(row)) => self.answer_at(row),
            _ => self.answer(&element.from, &element.to) * own.unwrap_or(Complex64::ZERO),
        };
        let mut influence = self.influence_of(&answer, &self.unknowns, amps);
        if own.is_some() {
            let itself = influence.entry(id.clone()).or_default();
            *itself += if matches!(element.kind, Kind::Capacitor { .. }) { 1.0 } else { -1.0 };
        }
        let (down, up) = self.spread(&influence);
        let mut band = Band::around(amps.norm(), down, up, meter.amps_half_width(amps.norm()), 0.0);
        band.influence = influence;
        Some(Shown::Value(band))
    }

    fn volts_read(
        &self,
        mode: Mode,
        from: &NodeId,
        to: &NodeId,
        meter: &Meter,
        answer: DVector<Complex64>,
        impedance: Complex64,
    ) -> (f64, BTreeMap<ElementId, f64>) {
        // The meter is one admittance more between the leads: Sherman and Morrison's formula for a change of rank one.
        let input = meter.input(mode, self.netlist.hertz);
        let loading = 1.0 + input * impedance;
        let volts = self.between(from, to, &self.unknowns) / loading;
        let unknowns = &self.unknowns - &answer * (input * volts);
        (volts.norm(), self.influence_of(&(answer / loading), &unknowns, volts))
    }

    fn shown(&self, nominal: f64, influence: BTreeMap<ElementId, f64>, meter: &Meter, mode: Mode) -> Shown {
        if nominal > meter.most(mode) {
            return Shown::Overload;
        }
        let (down, up) = self.spread(&influence);
        Shown::Value(Band { influence, ..Band::new(nominal, down, up, meter, mode) })
    }

    fn between(&self, from: &NodeId, to: &NodeId, unknowns: &DVector<Complex64>) -> Complex64 {
        self.at(from, unknowns) - self.at(to, unknowns)
    }

    /// Every element's influence on an impedance.
    fn influence(
        &self,
        answer: &DVector<Complex64>,
        unknowns: &DVector<Complex64>,
        impedance: Complex64,
    ) -> BTreeMap<ElementId, f64> {
        let change = |e: &Element| self.across(e, answer) * self.across(e, unknowns) * self.slope(e);
        let each = self.netlist.elements.iter();
        each.map(|e| (e.id.clone(), share(change(e), Complex64::from(impedance.re)))).collect()
    }

    /// Every element's influence on a voltage or current whose adjoint answer this is.
    fn influence_of(
        &self,
        answer: &DVector<Complex64>,
        unknowns: &DVector<Complex64>,
        reading: Complex64,
    ) -> BTreeMap<ElementId, f64> {
        let change = |element: &Element| match (&element.kind, self.current) {
            (Kind::Source { volts, .. }, Current::Alternating) => {
                self.source_row(&element.id).map_or(Complex64::ZERO, |row| answer[row] * volts)
            }
            (Kind::DirectSource { volts, .. }, Current::Direct) => {
                self.source_row(&element.id).map_or(Complex64::ZERO, |row| answer[row] * *volts)
            }
            (Kind::Source { .. } | Kind::DirectSource { .. }, _) => Complex64::ZERO,
            _ => self.across(element, answer) * self.across(element, unknowns) * self.slope(element),
        };
        self.netlist.elements.iter().map(|e| (e.id.clone(), share(change(e), reading))).collect()
    }

    /// How much the product of both answers over an element moves when the logarithm of its value grows by one: its
    /// admittance, with the sign of a value that lets less through (ohms) or more (farads).
    fn slope(&self, element: &Element) -> Complex64 {
        let admittance = element.admittance(self.current, self.netlist.hertz).unwrap_or(Complex64::ZERO);
        match (&element.kind, self.current) {
            (Kind::Capacitor { .. }, Current::Alternating) => -admittance,
            _ => admittance,
        }
    }

    /// How far the parts' tolerances move a reading down and up, as natural logarithms.
    fn spread(&self, influence: &BTreeMap<ElementId, f64>) -> (f64, f64) {
        let mut together: BTreeMap<u8, (f64, f64)> = BTreeMap::new();
        let (mut down, mut up) = (0.0, 0.0);
        for element in &self.netlist.elements {
            let share = influence.get(&element.id).copied().unwrap_or(0.0);
            let (mut less, mut more) = (share * element.spread.down, share * element.spread.up);
            if share < 0.0 {
                (less, more) = (-more, -less);
            }
            if let Some(group) = element.spread.together {
                let sum = together.entry(group).or_default();
                *sum = (sum.0 + less * share.signum(), sum.1 + more * share.signum());
            } else {
                (down, up) = (down + less * less, up + more * more);
            }
        }
        for (less, more) in together.into_values() {
            (down, up) = (down + less * less, up + more * more);
        }
        (f64::sqrt(down), f64::sqrt(up))
    }
}

/// Farads of an admittance at a frequency; `None` where more leaks than is stored, so that no meter finds a number.
pub(crate) fn farads(admittance: Complex64, hertz: f64) -> Option<f64> {
    (admittance.im > admittance.re).then(|| admittance.im / (std::f64::consts::TAU * hertz))
}

/// The part of a change that lengthens a phasor, as a share of its length.
fn share(change: Complex64, phasor: Complex64) -> f64 {
    let length = phasor.norm_sqr();
    if length > 0.0 { (phasor.conj() * change).re / length } else { 0.0 }
}
