//! A length of copper wire: its resistance, and what it picks up from the wire beside it.

use crate::circuit::law::Law;

/// Resistivity of annealed copper at 20 °C, in ohm metres (IEC 60028: 1/58 Ω·mm²/m).
const COPPER_OHM_METRES: f64 = 1.0 / 58.0e6;

/// Capacitance between two wires side by side in a cord or harness, in farads a metre (from memory: 50 to 100 pF).
const STRAY_FARADS_A_METRE: f64 = 50e-12;

/// A wire by its cross-section and length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wire {
    /// Cross-section, in square metres.
    area: f64,
    /// Length, in metres.
    metres: f64,
}

impl Wire {
    /// Solid wire by its American gauge number: diameter 0.127 mm · 92^((36 − n)/39) (ASTM B258).
    pub fn gauge(awg: u8, metres: f64) -> Self {
        let diameter = 0.127e-3 * 92_f64.powf((36.0 - f64::from(awg)) / 39.0);
        Self { area: std::f64::consts::PI / 4.0 * diameter * diameter, metres }
    }

    /// Wire by its cross-section in square millimetres.
    pub fn square_millimetres(area: f64, metres: f64) -> Self {
        Self { area: area * 1e-6, metres }
    }

    /// Resistance of its copper at a temperature in degrees Celsius, in ohms.
    pub fn ohms(self, celsius: f64) -> f64 {
        let cold = COPPER_OHM_METRES * self.metres / self.area;
        Law::Copper { ohms: cold, celsius: 20.0 }.ohms(celsius)
    }

    /// Capacitance to a wire that runs beside it all its length, in farads.
    pub fn stray_farads(self) -> f64 {
        STRAY_FARADS_A_METRE * self.metres
    }
}
