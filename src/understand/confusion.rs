//! Confusion classes: readings that are easily heard for one another.
//!
//! One table for the dialogue (which rivals would change what happens next?), the recogniser and the tests.
//! Sources: teens and tens, dropped digits: research on spoken numbers (ISMP column 2021 on 15 and 50; common
//! practice); a lost scale word or minus: common practice.

mod words;

use crate::quantity::{Decimal, Prefix, Quantity};
use crate::reading::Reading;

pub use words::misheard;

/// Teens and the tens they are taken for.
pub const TEENS_AND_TENS: [(u64, u64); 7] =
    [(13, 30), (14, 40), (15, 50), (16, 60), (17, 70), (18, 80), (19, 90)];

/// The readings that this one is easily heard for, or may have been heard instead of.
pub fn rivals(reading: Reading) -> Vec<Reading> {
    let quantity = match reading {
        Reading::Value(quantity) => quantity,
        Reading::Overload => return vec![Reading::Closed],
        Reading::Closed => return vec![Reading::Overload],
        Reading::Unstable => return Vec::new(),
    };
    let numbers = number_rivals(quantity.number);
    let with_number = |number| Quantity { number, ..quantity };
    let with_prefix = |prefix| Quantity { prefix, ..quantity };
    let scales = match quantity.prefix {
        Prefix::Kilo => vec![Prefix::One],
        Prefix::Mega => vec![Prefix::Kilo, Prefix::One],
        Prefix::Milli => vec![Prefix::One],
        Prefix::One | Prefix::Micro => Vec::new(),
    };
    let numbers = numbers.into_iter().map(with_number);
    numbers.chain(scales.into_iter().map(with_prefix)).map(Reading::Value).collect()
}

/// Numbers in the same class: teen for ten, a doubled digit once, the minus lost.
fn number_rivals(number: Decimal) -> Vec<Decimal> {
    let digits = number.digits();
    let whole_scale = 10_u64.pow(u32::from(number.places()));
    let (whole, fraction) = (digits / whole_scale, digits % whole_scale);
    let again =
        |whole: u64| Decimal::new(number.is_negative(), whole * whole_scale + fraction, number.places());
    let mut rivals: Vec<Decimal> = Vec::new();
    for (teen, ten) in TEENS_AND_TENS {
        let (rest, last) = (whole / 100 * 100, whole % 100);
        if last == teen {
            rivals.extend(again(rest + ten));
        }
        if last == ten {
            rivals.extend(again(rest + teen));
        }
    }
    rivals.extend(
        undoubled(digits).and_then(|fewer| Decimal::new(number.is_negative(), fewer, number.places())),
    );
    if number.is_negative() {
        rivals.push(number.negated());
    }
    rivals
}

/// The digits with the first doubled digit said once; `None` where no digit is doubled.
fn undoubled(digits: u64) -> Option<u64> {
    let text = digits.to_string();
    let at = text.as_bytes().windows(2).position(|pair| pair[0] == pair[1])?;
    let fewer = format!("{}{}", &text[..at], &text[at + 1..]);
    fewer.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Unit;

    #[test]
    fn rivals_of_a_reading() {
        let check = |number: &str, prefix, expected: &[&str]| {
            let quantity = Quantity { number: number.parse().unwrap(), prefix, unit: Some(Unit::Ohms) };
            let shown: Vec<String> =
                rivals(Reading::Value(quantity)).iter().map(ToString::to_string).collect();
            assert_eq!(shown, expected, "{number}");
        };
        check("15", Prefix::One, &["50 Ω"]);
        check("70", Prefix::One, &["17 Ω"]);
        check("213.5", Prefix::One, &["230.5 Ω"]);
        check("122", Prefix::One, &["12 Ω"]);
        check("8.5", Prefix::Kilo, &["8.5 Ω"]);
        check("-18", Prefix::One, &["-80 Ω", "18 Ω"]);
        check("71", Prefix::One, &[]);
    }
}
