//! The meter: what it loads, how far it reaches, how well it reads.
//!
//! Knows ranges and accuracy; does not know where its leads are.

use num_complex::Complex64;

use crate::circuit::solve::Current;
use crate::quantity::{Prefix, Unit};

/// What the meter is set to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mode {
    /// Alternating volts at the high-impedance input.
    AcVolts,
    /// Alternating volts at an input of some kilohms, which lets ghost voltages collapse.
    LowImpedanceVolts,
    /// Direct volts.
    DcVolts,
    /// Resistance.
    Ohms,
    /// Resistance with the beeper: [`Meter::beeps`].
    Continuity,
    /// Capacitance.
    Farads,
}

impl Mode {
    /// What flows while it measures.
    pub const fn current(self) -> Current {
        match self {
            Self::AcVolts | Self::LowImpedanceVolts | Self::Farads => Current::Alternating,
            Self::DcVolts | Self::Ohms | Self::Continuity => Current::Direct,
        }
    }

    /// The unit that it shows.
    pub const fn unit(self) -> Unit {
        match self {
            Self::AcVolts | Self::LowImpedanceVolts | Self::DcVolts => Unit::Volts,
            Self::Ohms | Self::Continuity => Unit::Ohms,
            Self::Farads => Unit::Farads,
        }
    }

    /// The last digit on its lowest range.
    const fn finest(self) -> f64 {
        match self {
            Self::AcVolts | Self::LowImpedanceVolts | Self::DcVolts => FINEST_VOLTS,
            Self::Ohms | Self::Continuity => FINEST_OHMS,
            Self::Farads => FINEST_FARADS,
        }
    }

    /// Does the meter itself send the current, so that the plug must be out?
    pub const fn wants_dead(self) -> bool {
        matches!(self, Self::Ohms | Self::Continuity | Self::Farads)
    }
}

/// A hand-held multimeter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meter {
    /// Input resistance on volts, in ohms.
    pub input_ohms: f64,
    /// Input capacitance on volts, in farads.
    pub input_farads: f64,
    /// Input resistance on volts at low impedance, in ohms.
    pub low_input_ohms: f64,
    /// The most it shows on volts.
    pub most_volts: f64,
    /// The most it shows on ohms; above it shows overload.
    pub most_ohms: f64,
    /// The most it shows on amperes, round one wire.
    pub most_amps: f64,
    /// The most it shows on farads.
    pub most_farads: f64,
    /// What it sends through an unknown resistance, at the most, in amperes: on the lowest range.
    pub test_amps: f64,
    /// What stands at its open leads on ohms, in volts.
    pub open_volts: f64,
    /// Below so many ohms the beeper sounds for certain.
    pub beep_ohms: f64,
    /// What the leads pick up from the wires around them on alternating volts, at most; at least it is nothing.
    pub pickup_volts: f64,
    /// Resistance of both leads and their tips, at most; at least it is nothing.
    pub leads_ohms: f64,
    /// How well it reads alternating volts.
    pub volts_accuracy: Accuracy,
    /// How well it reads direct volts.
    pub dc_volts_accuracy: Accuracy,
    /// How well it reads ohms.
    pub ohms_accuracy: Accuracy,
    /// How well its clamp reads amperes.
    pub amps_accuracy: Accuracy,
    /// How well it reads farads.
    pub farads_accuracy: Accuracy,
    /// Counts of the display: 6000 shows 5.999, 59.99, 599.9.
    pub counts: f64,
}

/// Plus or minus a part of the reading and some counts of the last digit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Accuracy {
    /// Per cent of the reading.
    pub percent: f64,
    /// Counts of the last digit.
    pub counts: f64,
}

/// The last digit on the lowest range, volts and ohms alike: 0.1 Ω of 600.0 Ω; on volts the 6.000 V range.
const FINEST_VOLTS: f64 = 0.001;
const FINEST_OHMS: f64 = 0.1;
const FINEST_AMPS: f64 = 0.01;
const FINEST_FARADS: f64 = 1e-12;

impl Meter {
    /// What a service meter of the middle class does: 10 MΩ and 100 pF on volts, about 3 kΩ at low impedance, ±(1 % + 3)
    /// on alternating and ±(0.5 % + 2) on direct volts, ±(0.9 % + 3) on ohms, ±(2 % + 5) with its clamp and on farads,
    /// 6000 counts, overload above 40 MΩ, half a milliampere and three volts on ohms, leads of 0.4 Ω and half a volt of
    /// pick-up at most, a beep below 20 Ω. Class figures (common practice); the volts accuracy is the worked example of a
    /// maker's application note, the low impedance is of a maker's note on ghost voltages.
    pub const SERVICE: Self = Self {
        input_ohms: 10e6,
        input_farads: 100e-12,
        low_input_ohms: 3e3,
        most_volts: 1000.0,
        most_ohms: 40e6,
        most_amps: 400.0,
        most_farads: 10e-3,
        test_amps: 0.5e-3,
        open_volts: 3.0,
        beep_ohms: 20.0,
        pickup_volts: 0.5,
        leads_ohms: 0.4,
        volts_accuracy: Accuracy { percent: 1.0, counts: 3.0 },
        dc_volts_accuracy: Accuracy { percent: 0.5, counts: 2.0 },
        ohms_accuracy: Accuracy { percent: 0.9, counts: 3.0 },
        amps_accuracy: Accuracy { percent: 2.0, counts: 5.0 },
        farads_accuracy: Accuracy { percent: 2.0, counts: 5.0 },
        counts: 6000.0,
    };

    /// The same meter after its leads were read with their tips together: what they have is subtracted.
    #[must_use]
    pub const fn zeroed(self) -> Self {
        Self { leads_ohms: 0.0, ..self }
    }

    /// Admittance of the volts input, in siemens.
    pub fn input(&self, mode: Mode, hertz: f64) -> Complex64 {
        let capacitance = std::f64::consts::TAU * hertz * self.input_farads;
        match mode {
            Mode::LowImpedanceVolts => Complex64::new(1.0 / self.low_input_ohms, capacitance),
            Mode::DcVolts => Complex64::new(1.0 / self.input_ohms, 0.0),
            _ => Complex64::new(1.0 / self.input_ohms, capacitance),
        }
    }

    /// Does the beeper sound on so many ohms?
    pub fn beeps(&self, ohms: f64) -> bool {
        ohms < self.beep_ohms
    }

    /// Half width of the accuracy band around a number in the unit of a mode.
    pub fn half_width(&self, mode: Mode, value: f64) -> f64 {
        let accuracy = match mode {
            Mode::AcVolts | Mode::LowImpedanceVolts => self.volts_accuracy,
            Mode::DcVolts => self.dc_volts_accuracy,
            Mode::Ohms | Mode::Continuity => self.ohms_accuracy,
            Mode::Farads => self.farads_accuracy,
        };
        accuracy.half_width(value, resolution(value, mode.finest(), self.counts))
    }

    /// Half width of the accuracy band of the clamp around a number of amperes.
    pub fn amps_half_width(&self, amps: f64) -> f64 {
        self.amps_accuracy.half_width(amps, resolution(amps, FINEST_AMPS, self.counts))
    }

    /// A number as it stands on the display, with its unit: `8.80 kΩ`.
    pub fn display(&self, mode: Mode, value: f64) -> String {
        if value > self.most(mode) {
            return "OL".into();
        }
        let count = resolution(value, mode.finest(), self.counts);
        // The prefix belongs to the range, not to the number: the 6.000 kΩ range shows 0.800 kΩ in no meter of ours.
        let (factor, prefix) = match count * self.counts {
            most if mode == Mode::Farads && most < 1e-6 => (1e-9, "n"),
            most if mode == Mode::Farads && most < 1e-3 => (1e-6, Prefix::Micro.symbol()),
            most if most > 1e6 => (1e6, Prefix::Mega.symbol()),
            most if most > 1e3 && mode.unit() == Unit::Ohms => (1e3, Prefix::Kilo.symbol()),
            _ => (1.0, ""),
        };
        let places = (factor / count).log10().round().max(0.0) as usize;
        format!("{:.places$} {prefix}{}", value / factor, mode.unit().symbol())
    }

    /// The most that the mode can show, in its unit.
    pub const fn most(&self, mode: Mode) -> f64 {
        match mode {
            Mode::AcVolts | Mode::LowImpedanceVolts | Mode::DcVolts => self.most_volts,
            Mode::Ohms | Mode::Continuity => self.most_ohms,
            Mode::Farads => self.most_farads,
        }
    }
}

impl Accuracy {
    /// Half width of the band around a reading, given what one count is worth.
    pub fn half_width(self, reading: f64, count: f64) -> f64 {
        reading.abs() * self.percent / 100.0 + self.counts * count
    }
}

/// What one count is worth on the lowest range that can show the value.
pub fn resolution(value: f64, finest: f64, counts: f64) -> f64 {
    let mut count = finest;
    // Twelve decades are more than any meter has.
    for _ in 0..12 {
        if value.abs() < count * counts {
            break;
        }
        count *= 10.0;
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn accuracy_is_as_makers_print_it() {
        // Worked examples of makers' notes: per cent, counts, reading, one count, half width.
        for (percent, counts, reading, count, expected) in [
            (1.0, 3.0, 120.0, 0.1, 1.5),         // application note, 6000 counts, 600.0 V range
            (1.0, 2.0, 100.0, 0.1, 1.2),         // maker's question page: 98.8 to 101.2 V
            (0.5, 1.0, 1.755, 0.001, 0.009_775), // maker's question page: printed as 0.010
            (0.08, 2.0, 2.000, 0.001, 0.0036),   // maker's note: 1.9964 to 2.0036 V
            (0.7, 2.0, 120.0, 0.1, 1.04),        // forum: 118.96 to 121.04 V
        ] {
            let half_width = Accuracy { percent, counts }.half_width(reading, count);
            assert!((half_width - expected).abs() < 1e-9, "{reading}: {half_width}");
        }
        assert!((Meter::SERVICE.half_width(Mode::AcVolts, 120.0) - 1.5).abs() < 1e-9);
    }

    #[test]
    fn a_range_is_the_lowest_that_shows_the_value() {
        for (value, expected) in [(0.0, 0.1), (599.9, 0.1), (600.0, 1.0), (8800.0, 10.0), (1e6, 1000.0)] {
            let count = resolution(value, FINEST_OHMS, 6000.0);
            assert!((count - expected).abs() < 1e-9 * expected, "{value}: {count}");
        }
    }
}
