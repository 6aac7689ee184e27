//! The meter's leads on two points: what it shows, and how sure that is.
//!
//! How parts' tolerances move a reading is found with the adjoint circuit (Director and Rohrer 1969): because the matrix
//! is symmetric, the answer to one ampere at the leads gives the reading's sensitivity to every element at once. The
//! sensitivities are logarithmic, so a band around ten megohms is as sound as one around an ohm. To first order; a band
//! that would be wider than [`WIDEST`] is cut there.

use std::collections::BTreeMap;

use num_complex::Complex64;

use crate::circuit::meter::Meter;
use crate::circuit::netlist::Kind;
use crate::circuit::solve::{Current, Solution};
use crate::id::{ElementId, NodeId};

/// The widest that parts alone may make a band, as a natural logarithm: a factor of about twenty.
pub const WIDEST: f64 = 3.0;

/// A 95 % interval is this many standard deviations either way.
const NINETY_FIVE: f64 = 1.96;

/// What the meter shows.
#[derive(Clone, Debug, PartialEq)]
pub enum Shown {
    /// A number.
    Value(Band),
    /// More than it can show.
    Overload,
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
    /// By how many per cent the reading grows when an element's value grows by one per cent.
    pub influence: BTreeMap<ElementId, f64>,
}

impl Solution {
    /// What a voltmeter shows between two nodes; `None` if there is no such node.
    pub fn probe_volts(&self, from: &NodeId, to: &NodeId, meter: &Meter) -> Option<Shown> {
        let open = self.volts_between(from, to)?;
        let answer = self.answer(from, to);
        let impedance = self.between(from, to, &answer);
        // The meter is one admittance more between the leads: Sherman and Morrison's formula for a change of rank one.
        let input = meter.input(self.netlist.hertz);
        let loading = 1.0 + input * impedance;
        let volts = open / loading;
        if volts.norm() > meter.most_volts {
            return Some(Shown::Overload);
        }
        let unknowns = &self.unknowns - &answer * (input * volts);
        let answer = answer / loading;
        let nominal = volts.norm();
        let mut influence = BTreeMap::new();
        for element in &self.netlist.elements {
            let change = if let Kind::Source { volts, .. } = element.kind {
                let row = self.source_row(&element.id).expect("the source is in its own circuit");
                answer[row] * volts
            } else {
                self.across(element, &answer) * self.across(element, &unknowns) * self.slope(element)
            };
            influence.insert(element.id.clone(), share(change, volts));
        }
        Some(Shown::Value(self.band(nominal, meter.volts_half_width(nominal), meter.pickup_volts, influence)))
    }

    /// What an ohmmeter shows between two nodes of a circuit that was solved for direct current with its plug out;
    /// `None` if there is no such node. `most_ohms` is the range chosen by hand, if one is.
    pub fn probe_ohms(
        &self,
        from: &NodeId,
        to: &NodeId,
        meter: &Meter,
        most_ohms: Option<f64>,
    ) -> Option<Shown> {
        self.volts_between(from, to)?;
        let answer = self.answer(from, to);
        let ohms = self.between(from, to, &answer).re.max(0.0);
        if ohms > most_ohms.unwrap_or(meter.most_ohms).min(meter.most_ohms) {
            return Some(Shown::Overload);
        }
        let mut influence = BTreeMap::new();
        for element in &self.netlist.elements {
            let across = self.across(element, &answer);
            let change = across * across * self.slope(element);
            influence.insert(element.id.clone(), share(change, Complex64::from(ohms)));
        }
        Some(Shown::Value(self.band(ohms, meter.ohms_half_width(ohms), meter.leads_ohms, influence)))
    }

    fn between(&self, from: &NodeId, to: &NodeId, unknowns: &nalgebra::DVector<Complex64>) -> Complex64 {
        self.at(from, unknowns) - self.at(to, unknowns)
    }

    /// How much the product of both answers over an element moves when the logarithm of its value grows by one: its
    /// admittance, with the sign of a value that lets less through (ohms) or more (farads).
    fn slope(&self, element: &crate::circuit::netlist::Element) -> Complex64 {
        let admittance = element.admittance(self.current, self.netlist.hertz).unwrap_or(Complex64::ZERO);
        match (&element.kind, self.current) {
            (Kind::Capacitor { .. }, Current::Alternating) => -admittance,
            _ => admittance,
        }
    }

    /// Parts' tolerances, the meter's accuracy and its leads make one interval.
    fn band(&self, nominal: f64, accuracy: f64, leads: f64, influence: BTreeMap<ElementId, f64>) -> Band {
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
        // Accuracy is a rectangle (JCGM 100:2008, 4.3.7): its standard deviation is its half width over root three.
        let accuracy = NINETY_FIVE * accuracy / 3_f64.sqrt();
        let below = nominal * (1.0 - (-down.sqrt().min(WIDEST)).exp());
        let above = nominal * up.sqrt().min(WIDEST).exp_m1();
        Band {
            nominal,
            low: (nominal - below.hypot(accuracy)).max(0.0),
            high: nominal + above.hypot(accuracy) + leads,
            influence,
        }
    }
}

/// The part of a change that lengthens a phasor, as a share of its length.
fn share(change: Complex64, phasor: Complex64) -> f64 {
    let length = phasor.norm_sqr();
    if length > 0.0 { (phasor.conj() * change).re / length } else { 0.0 }
}
