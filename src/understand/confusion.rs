//! Confusion classes: readings that are easily heard for one another.
//!
//! One table for the dialogue (which rivals would change what happens next?), the recogniser and the tests.
//! Sources: teens and tens, dropped digits: research on spoken numbers (ISMP column 2021 on 15 and 50; common
//! practice); a lost scale word or minus: common practice.

mod words;

use crate::quantity::{Decimal, Prefix, Quantity, Unit};
use crate::reading::Reading;

pub use words::misheard;

/// Teens and the tens they are taken for.
pub const TEENS_AND_TENS: [(u64, u64); 7] =
    [(13, 30), (14, 40), (15, 50), (16, 60), (17, 70), (18, 80), (19, 90)];

/// The readings that this one is easily heard for: a teen for a ten, a digit doubled or said once, a point, a scale word or
/// a minus lost. What may be lost may also be heard where nobody said it, so that of two rivals each has the other.
pub fn rivals(reading: Reading) -> Vec<Reading> {
    let quantity = match reading {
        Reading::Value(quantity) => quantity,
        Reading::Overload => return vec![Reading::Closed],
        Reading::Closed => return vec![Reading::Overload],
        Reading::Unstable => return Vec::new(),
    };
    let Quantity { number, prefix, unit } = quantity;
    let signed = matches!(unit, None | Some(Unit::Degrees | Unit::Celsius | Unit::Fahrenheit | Unit::Volts));
    let mut numbers = teens_and_tens(number);
    numbers.extend(doubled(number));
    numbers.extend(points(number));
    numbers.extend((signed && number.digits() > 0).then(|| number.negated()));
    let scales: &[Prefix] = match unit {
        Some(Unit::Ohms) => &[Prefix::One, Prefix::Kilo, Prefix::Mega],
        Some(Unit::Amps | Unit::Volts) => &[Prefix::Milli, Prefix::One],
        _ => &[],
    };
    let scales = scales.iter().filter(|scale| scales.contains(&prefix) && **scale != prefix);
    let numbers = numbers.into_iter().map(|number| Quantity { number, ..quantity });
    let scales = scales.map(|scale| Quantity { prefix: *scale, ..quantity });
    numbers.chain(scales).map(Reading::Value).collect()
}

/// The same number with other digits.
fn with_digits(number: Decimal, digits: u64) -> Option<Decimal> {
    Decimal::new(number.is_negative(), digits, number.places())
}

/// A teen for a ten at the end of the whole part, or the other way.
fn teens_and_tens(number: Decimal) -> Vec<Decimal> {
    let scale = 10_u64.pow(u32::from(number.places()));
    let (whole, fraction) = (number.digits() / scale, number.digits() % scale);
    let (rest, last) = (whole / 100 * 100, whole % 100);
    let partner = |(teen, ten)| match last {
        _ if last == teen => Some(ten),
        _ if last == ten => Some(teen),
        _ => None,
    };
    let partners = TEENS_AND_TENS.into_iter().filter_map(partner);
    partners.filter_map(|other| with_digits(number, (rest + other) * scale + fraction)).collect()
}

/// A digit said twice for once, or once for twice, before or after the point.
fn doubled(number: Decimal) -> Vec<Decimal> {
    let shown = number.to_string();
    let (whole, fraction) = shown.split_once('.').unwrap_or((&shown, ""));
    let texts = once_or_twice(whole).into_iter().map(|whole| match fraction {
        "" => whole,
        _ => format!("{whole}.{fraction}"),
    });
    let texts =
        texts.chain(once_or_twice(fraction).into_iter().map(|fraction| format!("{whole}.{fraction}")));
    let numbers = texts.filter_map(|text| text.parse().ok());
    numbers.filter(|other| *other != number).collect()
}

/// The text with each run of one digit once shorter and once longer.
fn once_or_twice(text: &str) -> Vec<String> {
    let mut at = 0;
    let mut all = Vec::new();
    for run in text.as_bytes().chunk_by(|a, b| a == b).filter(|run| run[0].is_ascii_digit()) {
        let from = at + usize::from(text.starts_with('-'));
        at += run.len();
        let (before, run, after) = (&text[..from], &text[from..from + run.len()], &text[from + run.len()..]);
        if run.len() > 1 {
            all.push(format!("{before}{}{after}", &run[1..]));
        }
        all.push(format!("{before}{run}{}{after}", &run[..1]));
    }
    all
}

/// The point lost; or heard in a whole number, wherever its digits leave room for one.
fn points(number: Decimal) -> Vec<Decimal> {
    let long = number.digits().to_string().len();
    let with_places =
        |places: usize| Decimal::new(number.is_negative(), number.digits(), u8::try_from(places).ok()?);
    match usize::from(number.places()) {
        0 => (1..=long).filter_map(with_places).collect(),
        // "Point zero five" has more left than "five".
        places if places <= long => with_places(0).into_iter().collect(),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Prefix::{Kilo, One};

    fn value(number: &str, prefix: Prefix, unit: Unit) -> Reading {
        Reading::Value(Quantity { number: number.parse().unwrap(), prefix, unit: Some(unit) })
    }

    #[test]
    fn rivals_of_a_reading() {
        let check = |number: &str, prefix, unit, expected: &[&str]| {
            let rivals = rivals(value(number, prefix, unit));
            let shown: Vec<String> = rivals.iter().map(ToString::to_string).collect();
            assert_eq!(shown, expected, "{number}");
        };
        check("15", One, Unit::Farads, &["50 F", "115 F", "155 F", "1.5 F", "0.15 F"]);
        check("70", One, Unit::Farads, &["17 F", "770 F", "700 F", "7.0 F", "0.70 F"]);
        let longer = ["2213.5 F", "2113.5 F", "2133.5 F", "213.55 F"];
        check("213.5", One, Unit::Farads, &[&["230.5 F"][..], &longer, &["2135 F"]].concat());
        check("122", One, Unit::Farads, &["1122 F", "12 F", "1222 F", "12.2 F", "1.22 F", "0.122 F"]);
        check("8.5", Kilo, Unit::Ohms, &["88.5 kΩ", "8.55 kΩ", "85 kΩ", "8.5 Ω", "8.5 MΩ"]);
        check("-8", One, Unit::Celsius, &["-88°C", "-0.8°C", "8°C"]);
        check("7", One, Unit::Ohms, &["77 Ω", "0.7 Ω", "7 kΩ", "7 MΩ"]);
    }

    #[test]
    fn of_two_rivals_each_has_the_other() {
        let numbers = ["0", "7", "15", "50", "122", "213.5", "107", "10.7", "1100", "0.05", "-18"];
        let numbers = numbers.map(|number| [Prefix::One, Prefix::Kilo].map(|prefix| (number, prefix)));
        for (number, prefix) in numbers.into_iter().flatten() {
            for unit in [Unit::Ohms, Unit::Volts, Unit::Celsius, Unit::Amps] {
                let reading = value(number, prefix, unit);
                let rivals_of = rivals(reading);
                assert!(!rivals_of.contains(&reading), "{reading} is its own rival");
                for rival in rivals_of {
                    assert!(rivals(rival).contains(&reading), "{rival} lacks {reading}");
                }
            }
        }
        assert_eq!(rivals(Reading::Unstable), []);
    }
}
