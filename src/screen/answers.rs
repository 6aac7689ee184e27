//! What can be answered by touch: the words that would be said, one button each.

use crate::dialogue::Listening;
use crate::quantity::{Prefix, Unit};
use crate::understand::numerals::unit_words;
use crate::understand::situation::{Kind, Situation};

/// Answers to the open question.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Answers {
    /// Whole answers: one touch sends one.
    pub whole: Vec<String>,
    /// Words to put an answer together from: nothing is sent before "send" is touched.
    pub pieces: Vec<String>,
    /// Is it a number that is asked for?
    pub number: bool,
}

/// What can be answered to a question; `pair` names the points that it is about. The answer to a hazard is never one touch: it
/// is put together, as it is said.
pub fn answers(listening: &Listening, pair: Option<[&str; 2]>) -> Answers {
    let situation = &listening.situation;
    let (whole, pieces, number) = match situation.kind {
        Kind::Opening | Kind::Observe => (first_ways(situation), vec![], false),
        Kind::Interview => {
            ([words(&["yes", "no", "not sure"]), first_ways(situation)].concat(), vec![], false)
        }
        Kind::YesNo | Kind::Confirm => (words(&["yes", "no"]), vec![], situation.kind == Kind::Confirm),
        Kind::Step if listening.topic == "paused" => (words(&["resume"]), vec![], false),
        Kind::Step => (words(&["done"]), vec![], false),
        Kind::Acknowledge => (vec![], acknowledgement(pair), false),
        Kind::Reading => (reading(situation), units(situation), true),
        Kind::Digits | Kind::Plate | Kind::StopOnly | Kind::Anything => (vec![], vec![], false),
    };
    Answers { whole, pieces, number }
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|&word| word.to_owned()).collect()
}

fn first_ways(situation: &Situation) -> Vec<String> {
    situation.choices.iter().filter_map(|choice| choice.say.first().cloned()).collect()
}

/// "live", then the points, or "and clear" where there are none.
fn acknowledgement(pair: Option<[&str; 2]>) -> Vec<String> {
    pair.map_or(words(&["live", "and clear"]), |[from, to]| words(&["live", from, to]))
}

fn reading(situation: &Situation) -> Vec<String> {
    let ohms = situation.units.is_empty() || situation.units.contains(&Unit::Ohms);
    if ohms { words(&["over limit"]) } else { vec![] }
}

fn units(situation: &Situation) -> Vec<String> {
    let mut found = Vec::new();
    for unit in &situation.units {
        found.push(unit_words(Prefix::One, Some(*unit)));
        if *unit == Unit::Ohms {
            found.push(unit_words(Prefix::Kilo, Some(*unit)));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::understand::situation::{Choice, SpokenPoint};
    use crate::understand::{open, typed};

    fn question(kind: Kind, topic: &str) -> Listening {
        let situation = Situation {
            kind,
            points: ["line one", "line two"]
                .map(|name| SpokenPoint { point: name.into(), say: vec![name.to_owned()] })
                .to_vec(),
            units: vec![Unit::Ohms],
            choices: vec![Choice { name: "fine".into(), say: vec!["looks fine".into(), "fine".into()] }],
            ..Situation::default()
        };
        Listening { situation, topic: topic.to_owned() }
    }

    #[test]
    fn a_whole_answer_is_one_that_would_be_understood() {
        for (kind, topic, wanted) in [
            (Kind::Observe, "check x", &["looks fine"][..]),
            (Kind::YesNo, "closing vent", &["yes", "no"]),
            (Kind::Confirm, "confirm x", &["yes", "no"]),
            (Kind::Step, "isolate", &["done"]),
            (Kind::Interview, "replaced", &["yes", "no", "not sure", "looks fine"]),
            (Kind::Step, "paused", &["resume"]),
            (Kind::Reading, "check x", &["over limit"]),
            (Kind::Anything, "note", &[]),
        ] {
            let question = question(kind, topic);
            let found = answers(&question, None);
            assert_eq!(found.whole, wanted, "{topic}");
            for words in &found.whole {
                assert!(typed(&open(&question.situation), words).understood().is_some(), "{words}");
            }
        }
    }

    #[test]
    fn the_answer_to_a_hazard_is_put_together() {
        let question = question(Kind::Acknowledge, "ack x");
        let automaton = open(&question.situation);
        for pair in [None, Some(["line one", "line two"])] {
            let found = answers(&question, pair);
            assert!(found.whole.is_empty());
            for piece in &found.pieces {
                assert!(typed(&automaton, piece).understood().is_none(), "{piece} alone");
            }
            let together = found.pieces.join(" ");
            assert!(typed(&automaton, &together).understood().is_some(), "{together}");
        }
    }
}
