//! The number words of English, each as one instruction.

use std::fmt;

use super::Refusal;

/// One number word: one instruction on the accumulator.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum NumberWord {
    /// "zero" to "nine".
    Digit(u8),
    /// "ten" to "nineteen".
    Teen(u8),
    /// "twenty" to "ninety": the value, not the digit.
    Tens(u8),
    /// "hundred".
    Hundred,
    /// A power of ten that groups thousands: "thousand" is 3, "million" is 6.
    Scale(u8),
    /// "point", "decimal".
    Point,
    /// "and a half".
    Half,
    /// "and", between hundreds or thousands and the rest.
    And,
    /// "minus", "negative".
    Minus,
}

impl NumberWord {
    /// Every word of a text as an instruction; hyphens part words, "and a half" is one instruction.
    ///
    /// # Errors
    /// The first word that is no number word.
    pub fn all(text: &str) -> Result<Vec<Self>, Refusal> {
        let mut words = text.split([' ', '-']).filter(|word| !word.is_empty()).peekable();
        let mut instructions = Vec::new();
        while let Some(word) = words.next() {
            if word == "and" && words.next_if_eq(&"a").is_some() {
                let half = words.next().is_some_and(|word| word == "half");
                instructions.push(half.then_some(Self::Half).ok_or(Refusal::NotANumber("a".to_owned()))?);
            } else {
                instructions.push(Self::from_word(word).ok_or_else(|| Refusal::NotANumber(word.to_owned()))?);
            }
        }
        Ok(instructions)
    }

    /// The instruction for a single lower-case word.
    ///
    /// "tree", "fower", "fife", "niner" and "decimal" are the spoken figures of ICAO Annex 10 volume II, 5.2.1.4.3.1.
    pub fn from_word(word: &str) -> Option<Self> {
        Some(match word {
            "zero" | "oh" | "o" | "nought" => Self::Digit(0),
            "one" => Self::Digit(1),
            "two" => Self::Digit(2),
            "three" | "tree" => Self::Digit(3),
            "four" | "fower" => Self::Digit(4),
            "five" | "fife" => Self::Digit(5),
            "six" => Self::Digit(6),
            "seven" => Self::Digit(7),
            "eight" => Self::Digit(8),
            "nine" | "niner" => Self::Digit(9),
            "ten" => Self::Teen(10),
            "eleven" => Self::Teen(11),
            "twelve" => Self::Teen(12),
            "thirteen" => Self::Teen(13),
            "fourteen" => Self::Teen(14),
            "fifteen" => Self::Teen(15),
            "sixteen" => Self::Teen(16),
            "seventeen" => Self::Teen(17),
            "eighteen" => Self::Teen(18),
            "nineteen" => Self::Teen(19),
            "twenty" => Self::Tens(20),
            "thirty" => Self::Tens(30),
            "forty" => Self::Tens(40),
            "fifty" => Self::Tens(50),
            "sixty" => Self::Tens(60),
            "seventy" => Self::Tens(70),
            "eighty" => Self::Tens(80),
            "ninety" => Self::Tens(90),
            "hundred" => Self::Hundred,
            "thousand" => Self::Scale(3),
            "million" => Self::Scale(6),
            "billion" => Self::Scale(9),
            "trillion" => Self::Scale(12),
            "point" | "decimal" | "dot" => Self::Point,
            "and" => Self::And,
            "minus" | "negative" => Self::Minus,
            _ => return None,
        })
    }

    /// The instruction that a grammar's tag writes: `7`, `13`, `70`, `hundred`, `thousand`, `point`, `half`, `minus`.
    pub fn from_tag(tag: &str) -> Option<Self> {
        match tag {
            "hundred" => Some(Self::Hundred),
            "thousand" => Some(Self::Scale(3)),
            "point" => Some(Self::Point),
            "half" => Some(Self::Half),
            "minus" => Some(Self::Minus),
            _ => match tag.parse().ok()? {
                n @ 0..=9 => Some(Self::Digit(n)),
                n @ 10..=19 => Some(Self::Teen(n)),
                n @ 20..=90 if n % 10 == 0 => Some(Self::Tens(n)),
                _ => None,
            },
        }
    }

    /// The digit itself, for a word that is one digit.
    pub(super) fn single_digit(self) -> Option<char> {
        match self {
            Self::Digit(digit) => Some(char::from(b'0' + digit)),
            _ => None,
        }
    }
}

/// For messages: what kind of word it is.
impl fmt::Display for NumberWord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Digit(n) | Self::Teen(n) | Self::Tens(n) => n.fmt(f),
            Self::Hundred => f.write_str("hundred"),
            Self::Scale(power) => write!(f, "a scale word of {power} zeros"),
            Self::Point => f.write_str("point"),
            Self::Half => f.write_str("and a half"),
            Self::And => f.write_str("and"),
            Self::Minus => f.write_str("minus"),
        }
    }
}
