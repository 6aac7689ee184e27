//! Values to plain words: the inverse of [`super::number`].
//!
//! Voices read figures and symbols badly; they are given words only. Said back to us, the words are the same value.

use crate::quantity::{Decimal, Prefix, Quantity, Unit};

pub(super) const SMALL: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
pub(super) const TENS: [&str; 10] =
    ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

/// A number as it is naturally said: "eight point eight zero", "one hundred twenty", "minus eighteen".
///
/// Whole parts of a million and more are said digit by digit.
pub fn number_words(number: Decimal) -> String {
    spell(number, |whole| match whole.parse() {
        Ok(n @ 0..1_000_000) => natural(n),
        _ => digits(whole),
    })
}

/// A number digit by digit, for a careful read-back: "one zero point seven", "minus one eight".
pub fn digit_by_digit(number: Decimal) -> String {
    spell(number, digits)
}

/// A quantity in plain words: "eight point eight kilohms", "minus eighteen degrees fahrenheit".
pub fn quantity_words(quantity: Quantity) -> String {
    with_unit(number_words(quantity.number), quantity)
}

/// A quantity digit by digit: "one two zero volts".
pub fn quantity_digits(quantity: Quantity) -> String {
    with_unit(digit_by_digit(quantity.number), quantity)
}

fn with_unit(number: String, quantity: Quantity) -> String {
    let unit = unit_words(quantity.prefix, quantity.unit);
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

/// A scale and unit in plain words: "kilohms", "degrees celsius", "p s i"; empty for a bare number.
pub fn unit_words(prefix: Prefix, unit: Option<Unit>) -> String {
    let Some(unit) = unit else { return bare_prefix(prefix).to_owned() };
    match (prefix, unit) {
        (Prefix::Kilo, Unit::Ohms) => "kilohms".to_owned(),
        (Prefix::Mega, Unit::Ohms) => "megohms".to_owned(),
        (prefix, unit) => format!("{}{}", prefix_word(prefix), plural(unit)),
    }
}

const fn bare_prefix(prefix: Prefix) -> &'static str {
    match prefix {
        Prefix::Kilo => "k",
        Prefix::Mega => "meg",
        other => prefix_word(other),
    }
}

const fn prefix_word(prefix: Prefix) -> &'static str {
    match prefix {
        Prefix::Micro => "micro",
        Prefix::Milli => "milli",
        Prefix::One => "",
        Prefix::Kilo => "kilo",
        Prefix::Mega => "mega",
    }
}

const fn plural(unit: Unit) -> &'static str {
    match unit {
        Unit::Volts => "volts",
        Unit::Ohms => "ohms",
        Unit::Amps => "amps",
        Unit::Watts => "watts",
        Unit::Farads => "farads",
        Unit::Hertz => "hertz",
        Unit::Seconds => "seconds",
        Unit::Degrees => "degrees",
        Unit::Celsius => "degrees celsius",
        Unit::Fahrenheit => "degrees fahrenheit",
        Unit::Psi => "p s i",
        Unit::Percent => "percent",
    }
}

fn spell(number: Decimal, whole_words: impl Fn(&str) -> String) -> String {
    let text = number.to_string();
    let unsigned = text.trim_start_matches('-');
    let (whole, fraction) = unsigned.split_once('.').unwrap_or((unsigned, ""));
    let mut words = Vec::new();
    if number.is_negative() {
        words.push("minus".to_owned());
    }
    words.push(whole_words(whole));
    if !fraction.is_empty() {
        words.push("point".to_owned());
        words.push(digits(fraction));
    }
    words.join(" ")
}

/// Signs one by one, for a read-back: "A one three". What is neither letter nor digit is left out.
pub fn sign_by_sign(text: &str) -> String {
    let word = |sign: char| match sign.to_digit(10) {
        Some(digit) => Some(SMALL[digit as usize].to_owned()),
        None => sign.is_ascii_alphabetic().then(|| sign.to_ascii_uppercase().to_string()),
    };
    text.chars().filter_map(word).collect::<Vec<_>>().join(" ")
}

fn digits(text: &str) -> String {
    let words: Vec<&str> = text.bytes().map(|b| SMALL[usize::from(b - b'0')]).collect();
    words.join(" ")
}

/// A number below a million.
fn natural(n: usize) -> String {
    let joined = |head: String, rest: usize| {
        if rest == 0 { head } else { format!("{head} {}", natural(rest)) }
    };
    match n {
        0..20 => SMALL[n].to_owned(),
        20..100 => joined(TENS[n / 10].to_owned(), n % 10),
        100..1000 => joined(format!("{} hundred", SMALL[n / 100]), n % 100),
        _ => joined(format!("{} thousand", natural(n / 1000)), n % 1000),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decimal(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    #[test]
    fn numbers_are_said_naturally_or_digit_by_digit() {
        for (number, natural, one_by_one) in [
            ("8.80", "eight point eight zero", "eight point eight zero"),
            ("120", "one hundred twenty", "one two zero"),
            ("8800", "eight thousand eight hundred", "eight eight zero zero"),
            ("-18", "minus eighteen", "minus one eight"),
            ("0.05", "zero point zero five", "zero point zero five"),
            (
                "999999",
                "nine hundred ninety nine thousand nine hundred ninety nine",
                "nine nine nine nine nine nine",
            ),
            ("1000000", "one zero zero zero zero zero zero", "one zero zero zero zero zero zero"),
        ] {
            assert_eq!(number_words(decimal(number)), natural);
            assert_eq!(digit_by_digit(decimal(number)), one_by_one);
        }
    }

    #[test]
    fn units_are_words_never_symbols() {
        let say = |n, prefix, unit| quantity_words(Quantity { number: decimal(n), prefix, unit });
        assert_eq!(say("8.8", Prefix::Kilo, Some(Unit::Ohms)), "eight point eight kilohms");
        assert_eq!(say("-18", Prefix::One, Some(Unit::Fahrenheit)), "minus eighteen degrees fahrenheit");
        assert_eq!(say("3.3", Prefix::Milli, Some(Unit::Amps)), "three point three milliamps");
        assert_eq!(say("71", Prefix::One, None), "seventy one");
        assert_eq!(say("8.8", Prefix::Kilo, None), "eight point eight k");
    }
}
