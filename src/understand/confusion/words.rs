//! What an utterance is easily heard for, word by word.

use super::TEENS_AND_TENS;
use crate::understand::numerals::{SMALL, TENS};

/// Words taken for one another, beside teens and tens (common practice).
const PAIRS: [(&str, &str); 6] = [
    ("M", "N"),
    ("kilohms", "ohms"),
    ("megohms", "ohms"),
    ("megohms", "kilohms"),
    ("milliamps", "amps"),
    ("open", "closed"),
];

/// Words that are easily lost, and as easily heard where nobody said them.
const LOST: [&str; 4] = ["point", "minus", "k", "meg"];

/// A digit word: zero to nine, and "oh".
fn is_digit(word: &str) -> bool {
    word == "oh" || SMALL[..10].contains(&word)
}

/// Every utterance that differs from this one by one confusion: a word for its neighbour, a word lost or added, a digit
/// doubled or said once. Most of them no grammar accepts.
pub fn misheard<'w>(words: &[&'w str]) -> Vec<Vec<&'w str>> {
    let mut all = Vec::new();
    let mut add =
        |before: &[&'w str], put: &[&'w str], after: &[&'w str]| all.push([before, put, after].concat());
    for at in 0..words.len() {
        let (before, word, after) = (&words[..at], words[at], &words[at + 1..]);
        let numbers = TEENS_AND_TENS.map(|(teen, ten)| (SMALL[teen as usize], TENS[ten as usize / 10]));
        for (a, b) in numbers.into_iter().chain(PAIRS) {
            if word == a {
                add(before, &[b], after);
            }
            if word == b {
                add(before, &[a], after);
            }
        }
        let digit = is_digit(word);
        let doubled = digit && after.first() == Some(&word);
        if doubled || LOST.contains(&word) {
            add(before, &[], after);
        }
        if digit && !doubled {
            add(before, &[word, word], after);
        }
        for lost in LOST {
            add(before, &[lost, word], after);
        }
    }
    for lost in LOST {
        add(words, &[lost], &[]);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::super::rivals;
    use super::*;
    use crate::understand::intent::Intent;
    use crate::understand::situation::Situation;
    use crate::understand::{open, typed};

    /// The utterances that a reading's grammar accepts, of those that this one is heard for.
    fn accepted(words: &str) -> Vec<String> {
        let points = ["L", "M", "N"].map(|name| crate::understand::situation::SpokenPoint {
            point: name.into(),
            say: vec![name.to_owned()],
        });
        let automaton = open(&Situation { points: points.to_vec(), ..Situation::default() });
        let words: Vec<&str> = words.split(' ').collect();
        let all = misheard(&words).into_iter().map(|words| words.join(" "));
        all.filter(|words| !typed(&automaton, words).candidates.is_empty()).collect()
    }

    #[test]
    fn each_class_has_its_rivals() {
        let check = |words: &str, rival: &str| {
            assert!(accepted(words).iter().any(|found| found == rival), "{words}: {:?}", accepted(words));
        };
        for (teen, ten) in
            [("thirteen", "thirty"), ("fourteen", "forty"), ("fifteen", "fifty"), ("sixteen", "sixty")]
        {
            check(&format!("{teen} ohms"), &format!("{ten} ohms"));
            check(&format!("{ten} ohms"), &format!("{teen} ohms"));
        }
        check("one two two ohms", "one two ohms");
        check("one two ohms", "one two two ohms");
        check("eight point eight ohms", "eight eight ohms");
        check("eight eight ohms", "eight point eight ohms");
        check("eight kilohms", "eight ohms");
        check("eight ohms", "eight kilohms");
        check("eight k", "eight");
        check("minus eighteen", "eighteen");
        check("L to N one ohms", "L to M one ohms");
        check("M to L one ohms", "N to L one ohms");
        check("open", "closed");
        // What is not in a class has no rival in the grammar but a lost or added scale or sign.
        assert_eq!(
            accepted("seventy ohms"),
            [
                "seventeen ohms",
                "point seventy ohms",
                "minus seventy ohms",
                "seventy kilohms",
                "seventy megohms"
            ]
        );
    }

    #[test]
    fn words_and_values_are_one_table() {
        // Every rival value of a reading is also the value of a rival wording, of the number as it is or digit by digit.
        let automaton = open(&Situation::default());
        let reading = |words: &str| match typed(&automaton, words).candidates.into_iter().next()?.intent {
            Intent::Report(report) => Some(report.reading),
            _ => None,
        };
        for (words, digits) in [
            ("fifteen ohms", "one five ohms"),
            ("two hundred thirteen ohms", "two one three ohms"),
            ("one twenty two ohms", "one two two ohms"),
            ("eight point five kilohms", "eight point five kilohms"),
            ("minus eighteen", "minus one eight"),
            ("open", "open"),
        ] {
            assert_eq!(reading(words), reading(digits));
            let rivals_of = accepted(words).into_iter().chain(accepted(digits));
            let heard: Vec<_> = rivals_of.filter_map(|rival| reading(&rival)).collect();
            for rival in rivals(reading(words).unwrap()) {
                assert!(heard.iter().any(|heard| heard == &rival), "{words}: {rival} is not among {heard:?}");
            }
        }
    }
}
