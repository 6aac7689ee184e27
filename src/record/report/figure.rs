//! Numbers as a technician writes them: three figures, a prefix, a unit.

use crate::quantity::{Prefix, Quantity, Unit};

/// One number: `8.8 kΩ`.
pub fn figure(value: f64, unit: Unit) -> String {
    let prefix = prefix(value, unit);
    join(&digits(value / prefix.factor()), prefix, unit)
}

/// From one number to another, in the prefix of the larger: `10.2 to 11.9 Ω`.
pub fn range(low: f64, high: f64, unit: Unit) -> String {
    let prefix = prefix(low.abs().max(high.abs()), unit);
    let (low, high) = (digits(low / prefix.factor()), digits(high / prefix.factor()));
    let text = if low == high { low } else { format!("{low} to {high}") };
    join(&text, prefix, unit)
}

/// A number with the digits as they were said, in `unit` where none was said.
pub fn as_said(quantity: Quantity, unit: Unit) -> String {
    let unit = quantity.unit.or(Some(unit));
    Quantity { unit, ..quantity }.to_string().replace(' ', "\u{a0}").replace('-', "−")
}

fn join(number: &str, prefix: Prefix, unit: Unit) -> String {
    let symbol = unit.symbol();
    let space = if symbol.starts_with('°') || symbol == "%" { "" } else { "\u{a0}" };
    format!("{number}{space}{}{symbol}", prefix.symbol())
}

/// Hand-held meters show ohms, volts and seconds below one without a prefix.
fn prefix(value: f64, unit: Unit) -> Prefix {
    let scaled = matches!(unit, Unit::Ohms | Unit::Volts | Unit::Watts | Unit::Hertz);
    match value.abs() {
        v if scaled && v >= 0.9995e6 => Prefix::Mega,
        v if scaled && v >= 0.9995e3 => Prefix::Kilo,
        v if unit == Unit::Farads && v < 1e-3 => Prefix::Micro,
        v if unit == Unit::Amps && v > 0.0 && v < 0.1 => Prefix::Milli,
        _ => Prefix::One,
    }
}

/// Three figures, but no digits that say nothing, and a true minus sign.
fn digits(value: f64) -> String {
    let places = match value.abs() {
        v if v >= 99.95 => 0,
        v if v >= 9.995 => 1,
        _ => 2,
    };
    let text = format!("{value:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.replace('-', "−") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_as_a_technician_writes_them() {
        for (value, unit, expected) in [
            (8800.0, Unit::Ohms, "8.8 kΩ"),
            (10.7, Unit::Ohms, "10.7 Ω"),
            (0.05, Unit::Ohms, "0.05 Ω"),
            (0.0, Unit::Volts, "0 V"),
            (-0.001, Unit::Volts, "0 V"),
            (999.6, Unit::Ohms, "1 kΩ"),
            (1e7, Unit::Ohms, "10 MΩ"),
            (120.4, Unit::Volts, "120 V"),
            (-18.0, Unit::Celsius, "−18°C"),
            (0.016, Unit::Amps, "16 mA"),
            (2.4, Unit::Seconds, "2.4 s"),
        ] {
            assert_eq!(figure(value, unit).replace('\u{a0}', " "), expected);
        }
        let range = |low, high, unit| range(low, high, unit).replace('\u{a0}', " ");
        assert_eq!(range(10.2, 11.9, Unit::Ohms), "10.2 to 11.9 Ω");
        assert_eq!(range(0.0, 1.0, Unit::Ohms), "0 to 1 Ω");
        assert_eq!(range(7900.0, 10_000.0, Unit::Ohms), "7.9 to 10 kΩ");
        assert_eq!(range(5.0, 5.0, Unit::Psi), "5 psi");
    }
}
