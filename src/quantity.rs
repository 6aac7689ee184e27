//! Numbers with units, the digits kept as they were said.
//!
//! `8.80` is not `8.8`: the last digit said is what the meter can resolve.

use std::fmt;

use serde::{Deserialize, Serialize};

/// A decimal number exactly as it was said or shown.
///
/// Invariant: at most [`Decimal::MOST_DIGITS`] digits, at most as many of them after the point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Decimal {
    negative: bool,
    digits: u64,
    places: u8,
}

impl Decimal {
    /// The longest number that is kept: no meter shows more.
    pub const MOST_DIGITS: u8 = 15;

    /// `digits` with the point `places` from the right; `None` if it is longer than any meter shows.
    pub fn new(negative: bool, digits: u64, places: u8) -> Option<Self> {
        let fits = digits < 10_u64.pow(u32::from(Self::MOST_DIGITS)) && places <= Self::MOST_DIGITS;
        fits.then_some(Self { negative, digits, places })
    }

    /// A whole number.
    pub const fn whole(n: u32) -> Self {
        Self { negative: false, digits: n as u64, places: 0 }
    }

    /// Is there a minus sign?
    pub const fn is_negative(self) -> bool {
        self.negative
    }

    /// The digits without the point and the sign.
    pub const fn digits(self) -> u64 {
        self.digits
    }

    /// How many digits stand after the point.
    pub const fn places(self) -> u8 {
        self.places
    }

    /// The same number with the other sign.
    #[must_use]
    pub const fn negated(self) -> Self {
        Self { negative: !self.negative, ..self }
    }

    /// The nearest floating-point number.
    pub fn to_f64(self) -> f64 {
        // Parsing rounds once; multiplying by a power of ten would round twice.
        self.to_string().parse().expect("a decimal prints as a number")
    }

    /// What one step of the last digit is worth.
    pub fn resolution(self) -> f64 {
        10_f64.powi(-i32::from(self.places))
    }
}

/// With its sign and all digits said: `-0.50`.
impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.negative {
            f.write_str("-")?;
        }
        let places = usize::from(self.places);
        let text = format!("{:0width$}", self.digits, width = places + 1);
        let (whole, fraction) = text.split_at(text.len() - places);
        f.write_str(whole)?;
        if fraction.is_empty() { Ok(()) } else { write!(f, ".{fraction}") }
    }
}

/// A text that is not a decimal number of a length we keep.
#[derive(Debug, thiserror::Error)]
#[error("`{0}` is not a decimal number of at most {max} digits", max = Decimal::MOST_DIGITS)]
pub struct NotDecimal(String);

impl std::str::FromStr for Decimal {
    type Err = NotDecimal;

    fn from_str(text: &str) -> Result<Self, NotDecimal> {
        let parse = || {
            let (negative, rest) = text.strip_prefix('-').map_or((false, text), |rest| (true, rest));
            let (whole, fraction) = rest.split_once('.').unwrap_or((rest, ""));
            let all_digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
            if !all_digits(whole) || !all_digits(fraction) || whole.is_empty() {
                return None;
            }
            Self::new(
                negative,
                format!("{whole}{fraction}").parse().ok()?,
                u8::try_from(fraction.len()).ok()?,
            )
        };
        parse().ok_or_else(|| NotDecimal(text.to_owned()))
    }
}

impl TryFrom<String> for Decimal {
    type Error = NotDecimal;

    fn try_from(text: String) -> Result<Self, NotDecimal> {
        text.parse()
    }
}

impl From<Decimal> for String {
    fn from(decimal: Decimal) -> Self {
        decimal.to_string()
    }
}

/// What is measured, in the unit that is spoken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unit {
    /// Electric potential difference.
    Volts,
    /// Resistance.
    Ohms,
    /// Current.
    Amps,
    /// Power.
    Watts,
    /// Capacitance.
    Farads,
    /// Frequency.
    Hertz,
    /// Time.
    Seconds,
    /// Temperature, scale not said.
    Degrees,
    /// Temperature in degrees Celsius.
    Celsius,
    /// Temperature in degrees Fahrenheit.
    Fahrenheit,
    /// Pressure in pounds-force per square inch.
    Psi,
    /// Parts in a hundred.
    Percent,
}

impl Unit {
    /// The unit's symbol for the screen and the page; never for the ear.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Volts => "V",
            Self::Ohms => "Ω",
            Self::Amps => "A",
            Self::Watts => "W",
            Self::Farads => "F",
            Self::Hertz => "Hz",
            Self::Seconds => "s",
            Self::Degrees => "°",
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
            Self::Psi => "psi",
            Self::Percent => "%",
        }
    }
}

/// The scale word before a unit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Prefix {
    /// A millionth.
    Micro,
    /// A thousandth.
    Milli,
    /// The unit itself.
    #[default]
    One,
    /// A thousand.
    Kilo,
    /// A million.
    Mega,
}

impl Prefix {
    /// What a number with this prefix is multiplied by.
    pub const fn factor(self) -> f64 {
        match self {
            Self::Micro => 1e-6,
            Self::Milli => 1e-3,
            Self::One => 1.0,
            Self::Kilo => 1e3,
            Self::Mega => 1e6,
        }
    }

    /// The prefix's symbol for the screen and the page; never for the ear.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Micro => "µ",
            Self::Milli => "m",
            Self::One => "",
            Self::Kilo => "k",
            Self::Mega => "M",
        }
    }
}

/// A number with its scale and, where it was said, its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Quantity {
    /// The digits as said.
    pub number: Decimal,
    /// The scale word said, or none.
    #[serde(default)]
    pub prefix: Prefix,
    /// The unit said; `None` where the speaker left it to the context.
    #[serde(default)]
    pub unit: Option<Unit>,
}

impl Quantity {
    /// What is left of it, with as many digits, when something of the same unit is taken away: never less than nothing.
    #[must_use]
    pub fn less(self, away: Self) -> Self {
        let places = usize::from(self.number.places());
        let left = (self.value() - away.value()).max(0.0) / self.prefix.factor();
        let number = format!("{left:.places$}").parse().unwrap_or(self.number);
        Self { number, ..self }
    }

    /// A number in a unit, without a prefix.
    pub const fn new(number: Decimal, unit: Unit) -> Self {
        Self { number, prefix: Prefix::One, unit: Some(unit) }
    }

    /// The value in the unit without its prefix (8.8 kΩ is 8800).
    pub fn value(self) -> f64 {
        // Kilo and mega shift the decimal point exactly; going through f64 factors would not.
        let exponent = match self.prefix {
            Prefix::Micro => -6,
            Prefix::Milli => -3,
            Prefix::One => 0,
            Prefix::Kilo => 3,
            Prefix::Mega => 6,
        };
        format!("{}e{exponent}", self.number).parse().expect("a decimal with an exponent is a number")
    }

    /// What one step of the last digit said is worth, in the unit without its prefix.
    pub fn resolution(self) -> f64 {
        self.number.resolution() * self.prefix.factor()
    }
}

/// For the screen and the page: `8.8 kΩ`.
impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = self.unit.map_or("", Unit::symbol);
        let symbol = self.prefix.symbol();
        let space = if unit.starts_with('°') || unit == "%" || (unit.is_empty() && symbol.is_empty()) {
            ""
        } else {
            " "
        };
        write!(f, "{}{space}{symbol}{unit}", self.number)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_survive_printing_and_parsing() {
        for text in ["0", "0.50", "8.80", "-18", "8800", "0.003", "123456789012345"] {
            assert_eq!(text.parse::<Decimal>().unwrap().to_string(), text);
        }
        for text in ["", "-", ".5", "1e3", "1.2.3", "1234567890123456", "½"] {
            assert!(text.parse::<Decimal>().is_err(), "{text}");
        }
    }

    #[test]
    fn kilo_moves_the_point_exactly() {
        let q = |n: &str, prefix| Quantity { number: n.parse().unwrap(), prefix, unit: Some(Unit::Ohms) };
        assert_eq!(q("8.8", Prefix::Kilo).value(), 8800.0);
        assert_eq!(q("0.3", Prefix::Mega).value(), 300_000.0);
        assert_eq!(q("3.3", Prefix::Milli).value(), 0.0033);
        assert_eq!(q("8.8", Prefix::Kilo).to_string(), "8.8 kΩ");
        assert!((q("8.80", Prefix::Kilo).resolution() - 10.0).abs() < 1e-9);
    }
}
