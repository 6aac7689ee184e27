//! How a resistance follows its temperature, and back.
//!
//! Knows thermistors, platinum and copper; does not know circuits.

/// Zero degrees Celsius, in kelvins.
const KELVIN: f64 = 273.15;

/// Callendar and Van Dusen's coefficients for platinum (IEC 60751:2008).
const PLATINUM_A: f64 = 3.9083e-3;
const PLATINUM_B: f64 = -5.775e-7;
const PLATINUM_C: f64 = -4.183e-12;

/// Copper would have no resistance this far below zero Celsius, if it went on as straight as near the room's temperature
/// (the winding rule of UL and NEMA standards; IEC 60034-1 rounds to 235).
const COPPER_K: f64 = 234.5;

/// The law that a resistance follows when its temperature changes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// A thermistor by two figures: `ohms` at `celsius`, and Beta in kelvins. Some per cent off far from there.
    Beta {
        /// Resistance at `celsius`, in ohms.
        ohms: f64,
        /// Where it has that, in degrees Celsius; 25 for most.
        celsius: f64,
        /// Beta, in kelvins; negative where resistance rises with temperature.
        beta: f64,
    },
    /// A thermistor by Steinhart and Hart (1968): `1/T = a + b ln R + c (ln R)³`, T in kelvins, R in ohms.
    SteinhartHart {
        /// The constant term.
        a: f64,
        /// The factor of the logarithm.
        b: f64,
        /// The factor of its third power; above zero.
        c: f64,
    },
    /// A platinum sensor (IEC 60751), by its ohms at zero Celsius: 100 or 1000.
    Platinum {
        /// Resistance at zero degrees Celsius, in ohms.
        ohms: f64,
    },
    /// Copper, by its ohms at a temperature.
    Copper {
        /// Resistance at `celsius`, in ohms.
        ohms: f64,
        /// Where it has that, in degrees Celsius.
        celsius: f64,
    },
}

impl Law {
    /// Resistance at a temperature in degrees Celsius, in ohms.
    pub fn ohms(self, celsius: f64) -> f64 {
        match self {
            Self::Beta { ohms, celsius: at, beta } => {
                ohms * (beta * ((celsius + KELVIN).recip() - (at + KELVIN).recip())).exp()
            }
            Self::SteinhartHart { a, b, c } => {
                // The one real root of `c y³ + b y + a - 1/T = 0` (Cardano).
                let x = (a - (celsius + KELVIN).recip()) / (2.0 * c);
                let root = (b / (3.0 * c)).powi(3);
                let y = (root + x * x).sqrt();
                ((y - x).cbrt() - (y + x).cbrt()).exp()
            }
            Self::Platinum { ohms } => {
                let t = celsius;
                let cold = if t < 0.0 { PLATINUM_C * (t - 100.0) * t.powi(3) } else { 0.0 };
                ohms * (1.0 + PLATINUM_A * t + PLATINUM_B * t * t + cold)
            }
            Self::Copper { ohms, celsius: at } => ohms * (COPPER_K + celsius) / (COPPER_K + at),
        }
    }

    /// Temperature in degrees Celsius at which the resistance is so many ohms.
    pub fn celsius(self, ohms: f64) -> f64 {
        match self {
            Self::Beta { ohms: given, celsius, beta } => {
                ((celsius + KELVIN).recip() + (ohms / given).ln() / beta).recip() - KELVIN
            }
            Self::SteinhartHart { a, b, c } => {
                let ln = ohms.ln();
                (a + b * ln + c * ln.powi(3)).recip() - KELVIN
            }
            Self::Platinum { ohms: given } => Self::platinum(ohms / given),
            Self::Copper { ohms: given, celsius } => ohms / given * (COPPER_K + celsius) - COPPER_K,
        }
    }

    /// Above zero a quadratic; below it Newton's steps from there, which settle within a few rounds.
    fn platinum(ratio: f64) -> f64 {
        let root = (PLATINUM_A * PLATINUM_A - 4.0 * PLATINUM_B * (1.0 - ratio)).sqrt();
        let mut celsius = (root - PLATINUM_A) / (2.0 * PLATINUM_B);
        let unit = Self::Platinum { ohms: 1.0 };
        for _ in 0..8 {
            let slope = PLATINUM_A + 2.0 * PLATINUM_B * celsius;
            celsius -= (unit.ohms(celsius) - ratio) / slope;
        }
        celsius
    }

    /// Are its figures those of a part that can be?
    pub fn is_sound(self) -> bool {
        let positive = |value: f64| value.is_finite() && value > 0.0;
        match self {
            Self::Beta { ohms, celsius, beta } => {
                positive(ohms) && positive(celsius + KELVIN) && beta.is_finite() && beta != 0.0
            }
            Self::SteinhartHart { a, b, c } => a.is_finite() && positive(b) && positive(c),
            Self::Platinum { ohms } => positive(ohms),
            Self::Copper { ohms, celsius } => positive(ohms) && positive(celsius + COPPER_K),
        }
    }
}
