//! A number being said: what has been said so far, and therefore what may follow.

use super::NumberWord;
use crate::quantity::Decimal;

/// Why words are not a number.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// A word that is no number word.
    #[error("`{0}` is not a number word")]
    NotANumber(String),
    /// A number word that cannot follow what was said: "sixty" then "fifteen".
    #[error("{0} cannot follow here")]
    CannotFollow(NumberWord),
    /// The words stop where another must come: "eight point".
    #[error("the number is not finished")]
    Incomplete,
    /// More digits than any meter shows.
    #[error("the number has more than {} digits", Decimal::MOST_DIGITS)]
    TooLong,
}

/// A number being said.
///
/// Whole parts are said in three ways that never mix: naturally ("one hundred twenty"), a digit before a pair
/// ("one twenty", "one oh six" being digits), or digit by digit ("one two zero").
#[derive(Clone, Debug, Default)]
pub struct Accumulator {
    negative: bool,
    /// Groups closed by a scale word: 12 thousand is 12 000.
    closed: u64,
    /// Zeros of the last scale word, if any was said: the next must be smaller.
    scale: Option<u8>,
    /// The group being said.
    group: u64,
    /// Digits after the point.
    places: u8,
    last: Last,
}

/// What the last word left open.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Last {
    /// Nothing has been said, but perhaps the sign.
    #[default]
    Nothing,
    /// A single zero.
    Zero,
    /// A single digit: a pair, another digit, "hundred" or a scale may follow.
    Digit,
    /// Tens: a digit may follow.
    Tens,
    /// A finished pair: "hundred" or a scale may follow.
    Pair,
    /// "hundred" or a scale: what is smaller may follow.
    Round,
    /// "and" after a round number: what is smaller must follow.
    And,
    /// A natural number that has had its hundreds: only a scale, the point or a half may follow.
    Full,
    /// Tens after hundreds: a digit may follow too.
    FullTens,
    /// A digit and then tens ("one twenty"): a digit may follow.
    GroupedTens,
    /// A digit and then a finished pair.
    Grouped,
    /// Digits one by one.
    Digits,
    /// The point: something must follow.
    Point,
    /// Digits after the point.
    Fraction,
    /// Tens after the point ("point twenty"): a digit may follow.
    FractionTens,
    /// Nothing more.
    Closed,
}

impl Accumulator {
    /// Takes one more word.
    ///
    /// # Errors
    /// [`Refusal::CannotFollow`] if no number goes on like this, [`Refusal::TooLong`] if it grows past what is kept.
    pub fn then(mut self, word: NumberWord) -> Result<Self, Refusal> {
        let last = match word {
            NumberWord::Minus if self.last == Last::Nothing && !self.negative => {
                self.negative = true;
                Some(Last::Nothing)
            }
            NumberWord::Digit(n) => self.digit(n),
            NumberWord::Teen(n) => self.pair(n, false),
            NumberWord::Tens(n) => self.pair(n, true),
            NumberWord::Hundred => self.hundred(),
            NumberWord::Scale(power) => self.scale(power),
            NumberWord::And => (self.last == Last::Round).then_some(Last::And),
            NumberWord::Point => self.may_end_whole().then_some(Last::Point),
            NumberWord::Half if self.may_end_whole() && self.last != Last::Nothing => {
                Some(self.fraction(5, 1, Last::Closed))
            }
            NumberWord::Half | NumberWord::Minus => None,
        };
        self.last = last.ok_or(Refusal::CannotFollow(word))?;
        self.decimal().map(|_| self)
    }

    /// The number, if it may end here.
    ///
    /// # Errors
    /// [`Refusal::Incomplete`] after nothing, a bare sign, "and" or "point".
    pub fn finish(self) -> Result<Decimal, Refusal> {
        match self.last {
            Last::Nothing | Last::And | Last::Point => Err(Refusal::Incomplete),
            _ => self.decimal(),
        }
    }

    fn decimal(&self) -> Result<Decimal, Refusal> {
        let digits = self.closed.checked_add(self.group).ok_or(Refusal::TooLong)?;
        Decimal::new(self.negative, digits, self.places).ok_or(Refusal::TooLong)
    }

    /// May the point or a half follow? Before anything is said the point may: "point five".
    fn may_end_whole(&self) -> bool {
        !matches!(self.last, Last::And | Last::Point | Last::Fraction | Last::FractionTens | Last::Closed)
    }

    fn digit(&mut self, n: u8) -> Option<Last> {
        let (shift, last) = match (self.last, n) {
            (Last::Nothing, 0) => (1, Last::Zero),
            (Last::Nothing, _) => (1, Last::Digit),
            // After a scale word a digit may still become hundreds: "one thousand two hundred".
            (Last::Round, 1..) if self.group == 0 => (1, Last::Digit),
            (Last::Tens, 1..) => (1, Last::Pair),
            (Last::Round | Last::And | Last::FullTens, 1..) => (1, Last::Full),
            (Last::GroupedTens, 1..) => (1, Last::Grouped),
            (Last::Digit | Last::Digits, _) if self.scale.is_none() => (10, Last::Digits),
            (Last::Point | Last::Fraction, _) => return Some(self.fraction(n, 1, Last::Fraction)),
            (Last::FractionTens, 1..) => (1, Last::Closed),
            _ => return None,
        };
        self.group = self.group * shift + u64::from(n);
        Some(last)
    }

    fn pair(&mut self, n: u8, tens: bool) -> Option<Last> {
        let (shift, last) = match self.last {
            Last::Nothing => (1, if tens { Last::Tens } else { Last::Pair }),
            Last::Round if self.group == 0 => (1, if tens { Last::Tens } else { Last::Pair }),
            Last::Round | Last::And => (1, if tens { Last::FullTens } else { Last::Full }),
            Last::Digit if self.scale.is_none() => {
                (100, if tens { Last::GroupedTens } else { Last::Grouped })
            }
            Last::Point => {
                return Some(self.fraction(n, 2, if tens { Last::FractionTens } else { Last::Closed }));
            }
            _ => return None,
        };
        self.group = self.group * shift + u64::from(n);
        Some(last)
    }

    fn hundred(&mut self) -> Option<Last> {
        // After a scale word the group must stay below a thousand: "one thousand twelve hundred" is no number.
        let room = if self.scale.is_some() { 9 } else { 99 };
        let counts = matches!(self.last, Last::Digit | Last::Tens | Last::Pair) && self.group <= room;
        counts.then(|| {
            self.group *= 100;
            Last::Round
        })
    }

    fn scale(&mut self, power: u8) -> Option<Last> {
        let counts = matches!(
            self.last,
            Last::Digit | Last::Tens | Last::Pair | Last::Round | Last::Full | Last::FullTens
        );
        let fits = (1..1000).contains(&self.group) && self.scale.is_none_or(|last| power < last);
        (counts && fits).then(|| {
            self.closed += self.group * 10_u64.pow(u32::from(power));
            self.scale = Some(power);
            self.group = 0;
            Last::Round
        })
    }

    fn fraction(&mut self, n: u8, digits: u8, last: Last) -> Last {
        // No overflow: every step keeps the whole below 10^15.
        let shift = 10_u64.pow(u32::from(digits));
        self.group = self.group * shift + u64::from(n);
        self.closed *= shift;
        self.places += digits;
        last
    }
}
