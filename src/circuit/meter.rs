//! The meter: what it loads, how far it reaches, how well it reads.
//!
//! Knows ranges and accuracy; does not know where its leads are.

use num_complex::Complex64;

/// A hand-held multimeter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meter {
    /// Input resistance on volts, in ohms.
    pub input_ohms: f64,
    /// Input capacitance on volts, in farads.
    pub input_farads: f64,
    /// The most it shows on volts.
    pub most_volts: f64,
    /// The most it shows on ohms; above it shows overload.
    pub most_ohms: f64,
    /// What the leads pick up from the wires around them on alternating volts, at most; at least it is nothing.
    pub pickup_volts: f64,
    /// Resistance of both leads and their tips, at most; at least it is nothing.
    pub leads_ohms: f64,
    /// How well it reads alternating volts.
    pub volts_accuracy: Accuracy,
    /// How well it reads ohms.
    pub ohms_accuracy: Accuracy,
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

impl Meter {
    /// What a service meter of the middle class does: 10 MΩ and 100 pF on volts, ±(1 % + 3) there and
    /// ±(0.9 % + 3) on ohms, 6000 counts, overload above 40 MΩ, leads of 0.4 Ω and half a volt of pick-up at most. Class figures (common practice);
    /// the volts accuracy is the worked example of a maker's application note.
    pub const SERVICE: Self = Self {
        input_ohms: 10e6,
        input_farads: 100e-12,
        most_volts: 1000.0,
        most_ohms: 40e6,
        pickup_volts: 0.5,
        leads_ohms: 0.4,
        volts_accuracy: Accuracy { percent: 1.0, counts: 3.0 },
        ohms_accuracy: Accuracy { percent: 0.9, counts: 3.0 },
        counts: 6000.0,
    };

    /// The same meter on its low-impedance volts function, which lets ghost voltages collapse: about 3 kΩ.
    pub const LOW_IMPEDANCE: Self = Self { input_ohms: 3e3, ..Self::SERVICE };

    /// Admittance of the volts input at a frequency, in siemens.
    pub fn input(&self, hertz: f64) -> Complex64 {
        Complex64::new(1.0 / self.input_ohms, std::f64::consts::TAU * hertz * self.input_farads)
    }

    /// Half width of the accuracy band around a number of volts.
    pub fn volts_half_width(&self, volts: f64) -> f64 {
        self.volts_accuracy.half_width(volts, resolution(volts, FINEST_VOLTS, self.counts))
    }

    /// Half width of the accuracy band around a number of ohms.
    pub fn ohms_half_width(&self, ohms: f64) -> f64 {
        self.ohms_accuracy.half_width(ohms, resolution(ohms, FINEST_OHMS, self.counts))
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
        assert!((Meter::SERVICE.volts_half_width(120.0) - 1.5).abs() < 1e-9);
    }

    #[test]
    fn a_range_is_the_lowest_that_shows_the_value() {
        for (value, expected) in [(0.0, 0.1), (599.9, 0.1), (600.0, 1.0), (8800.0, 10.0), (1e6, 1000.0)] {
            let count = resolution(value, FINEST_OHMS, 6000.0);
            assert!((count - expected).abs() < 1e-9 * expected, "{value}: {count}");
        }
    }
}
