//! Spoken numbers as little programs.
//!
//! Each word is one instruction on an [`Accumulator`] that refuses any step leading to an impossible number:
//! "sixty fifteen" and "ten five" are errors, never a sum. Digits are kept as said: "eight point eight zero" is 8.80.
//! Knows nothing of units, points or sentences.

mod accumulator;
mod vocabulary;

pub use accumulator::{Accumulator, Refusal};
pub use vocabulary::NumberWord;

use crate::quantity::Decimal;

/// Reads words that are a number and nothing else.
///
/// # Errors
/// [`Refusal`] if a word is no number word, cannot stand where it stands, or the number is unfinished.
pub fn read(words: &str) -> Result<Decimal, Refusal> {
    NumberWord::all(words)?.into_iter().try_fold(Accumulator::default(), Accumulator::then)?.finish()
}

/// The digits that words stand for one after the other, as for a serial or telephone number: "zero four seven" is
/// `047`, "twenty one forty five" is `2145`, "eight hundred" is `800`. Words that are one number are that number.
///
/// Returns `None` where the words are neither.
pub fn read_digits(words: &[NumberWord]) -> Option<String> {
    let plain: Option<String> = words.iter().map(|w| w.single_digit()).collect();
    if plain.as_ref().is_some_and(|digits| !digits.is_empty()) {
        return plain;
    }
    let number = words
        .iter()
        .copied()
        .try_fold(Accumulator::default(), Accumulator::then)
        .and_then(Accumulator::finish);
    number.ok().map(|decimal| decimal.to_string()).or_else(|| in_groups(words))
}

/// Digits said in groups of one or two: "nineteen eighty four", "one eight hundred".
fn in_groups(words: &[NumberWord]) -> Option<String> {
    let mut digits = String::new();
    let mut rest = words;
    while let Some((&first, after)) = rest.split_first() {
        rest = after;
        match (first, after.first()) {
            (NumberWord::Tens(tens), Some(&NumberWord::Digit(ones @ 1..))) => {
                digits.push_str(&(tens + ones).to_string());
                rest = &after[1..];
            }
            (NumberWord::Digit(n) | NumberWord::Teen(n) | NumberWord::Tens(n), _) => {
                digits.push_str(&n.to_string());
            }
            (NumberWord::Hundred, _) if !digits.is_empty() => digits.push_str("00"),
            (NumberWord::Scale(3), _) if !digits.is_empty() => digits.push_str("000"),
            _ => return None,
        }
    }
    (!digits.is_empty()).then_some(digits)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(cases: &[(&str, &str)]) {
        for (words, number) in cases {
            assert_eq!(read(words).map(|n| n.to_string()), Ok((*number).to_owned()), "{words}");
        }
    }

    #[test]
    fn natural_numbers() {
        check(&[
            ("zero", "0"),
            ("seventy one", "71"),
            ("seventy-one", "71"),
            ("one hundred twenty", "120"),
            ("one hundred and five", "105"),
            ("eighty eight hundred", "8800"),
            ("twelve hundred and fifty", "1250"),
            ("twelve thousand", "12000"),
            ("eight thousand eight hundred", "8800"),
            ("one hundred forty seven thousand four hundred fifty one", "147451"),
            ("two million three", "2000003"),
            ("minus eighteen", "-18"),
            ("negative eighteen", "-18"),
        ]);
    }

    #[test]
    fn numbers_as_a_meter_is_read() {
        check(&[
            ("one twenty", "120"),
            ("two forty", "240"),
            ("one oh six", "106"),
            ("one fifteen", "115"),
            ("one twenty one", "121"),
            ("one twenty point five", "120.5"),
            ("one two zero", "120"),
            ("four seven zero", "470"),
            ("four seven zero point two", "470.2"),
            ("point five", "0.5"),
            ("oh point two", "0.2"),
            ("eight point eight zero", "8.80"),
            ("eight point eighty", "8.80"),
            ("twelve point ninety nine", "12.99"),
            ("two and a half", "2.5"),
            ("one hundred and a half", "100.5"),
            ("niner decimal fife tree", "9.53"),
            ("nought point two", "0.2"),
        ]);
    }

    #[test]
    fn impossible_sequences_are_refused() {
        for words in [
            "",
            "sixty fifteen",
            "ten five",
            "twenty ten",
            "twenty zero",
            "fifty three zero",
            "five hundred hundred",
            "hundred",
            "thousand thousand",
            "one thousand two thousand",
            "one thousand twelve hundred",
            "minus",
            "minus minus two",
            "five minus two",
            "point",
            "eight point",
            "eight point point two",
            "eight point two hundred",
            "eight point two and a half",
            "two and",
            "two and five",
            "and a half",
            "zero hundred",
            "zero eight",
            "one twenty thousand",
            "one two twenty",
            "one two hundred",
            "point fifteen two",
            "two and a half five",
            "one two three four five six seven eight nine one two three four five six seven",
        ] {
            assert!(read(words).is_err(), "{words:?} is {:?}", read(words));
        }
        assert_eq!(read("five ohms"), Err(Refusal::NotANumber("ohms".to_owned())));
    }

    #[test]
    fn digits_for_plates_and_telephones() {
        let digits = |text: &str| read_digits(&NumberWord::all(text).unwrap());
        for (words, said) in [
            ("zero four seven", "047"),
            ("one two one", "121"),
            ("thirteen", "13"),
            ("one twenty one", "121"),
            ("twenty one forty five", "2145"),
            ("one eight hundred five five five", "1800555"),
            ("eight point five", "8.5"),
        ] {
            assert_eq!(digits(words).as_deref(), Some(said), "{words}");
        }
        for words in ["", "hundred", "point", "five minus two"] {
            assert_eq!(digits(words), None, "{words}");
        }
    }
}
