//! Every shipped grammar keeps what its documentation comments promise.

use leadhand::understand::grammars::{FILES, compile_rule};
use leadhand::understand::situation::{Choice, Kind, Situation, SpokenPoint};
use leadhand::understand::{open, srgs, typed};

/// A situation of our own: the points and choices that the examples name.
pub fn situation(kind: Kind) -> Situation {
    let point = |name: &str, say: &[&str]| SpokenPoint {
        point: name.into(),
        say: say.iter().map(|phrase| (*phrase).to_owned()).collect(),
    };
    let choice = |name: &str, say: &[&str]| Choice {
        name: name.to_owned(),
        say: say.iter().map(|phrase| (*phrase).to_owned()).collect(),
    };
    Situation {
        kind,
        points: vec![
            point("l", &["L", "lima", "line", "L one", "line one"]),
            point("n", &["N", "november", "neutral"]),
            point("h", &["H", "hotel"]),
            point("m", &["M", "mike"]),
            point("t", &["T", "tango"]),
            point("v", &["V", "victor"]),
            point("t4", &["terminal four"]),
        ],
        asked: Some(("l".into(), "h".into())),
        units: Vec::new(),
        choices: vec![
            choice("dryer", &["dryer", "electric dryer"]),
            choice("no-heat", &["does not heat", "no heat"]),
        ],
    }
}

#[test]
fn examples_match_and_counter_examples_do_not() {
    let (mut examples, mut broken) = (0, Vec::new());
    for (file, text) in FILES {
        let grammar = srgs::parse(file, text).unwrap();
        for (name, rule) in &grammar.rules {
            let positive = rule.examples.positive.iter().map(|phrase| (phrase, true));
            let negative = rule.examples.negative.iter().map(|phrase| (phrase, false));
            let automaton = compile_rule(&situation(Kind::Anything), file, Some(name)).unwrap();
            for (phrase, matches) in positive.chain(negative) {
                let pieces = typed::pieces(phrase);
                let found = !leadhand::understand::matching::paths(&automaton, &pieces).is_empty();
                if found != matches {
                    broken.push(format!("{file} ${name}: {phrase}"));
                }
                examples += 1;
            }
        }
        let (has, misses) = grammar.rules.values().fold((false, false), |(has, misses), rule| {
            (has || !rule.examples.positive.is_empty(), misses || !rule.examples.negative.is_empty())
        });
        assert!(has && misses, "{file} shows what matches and what does not");
    }
    assert_eq!(broken, Vec::<String>::new(), "examples that do not match, or counter-examples that do");
    println!("{examples} examples in {} grammars", FILES.len());
}

#[test]
fn sizes() {
    for kind in [
        Kind::Opening,
        Kind::Reading,
        Kind::Confirm,
        Kind::Acknowledge,
        Kind::Observe,
        Kind::Step,
        Kind::YesNo,
        Kind::Digits,
        Kind::Plate,
        Kind::StopOnly,
        Kind::Anything,
    ] {
        let start = std::time::Instant::now();
        let automaton = open(&situation(kind));
        let arcs: usize = (0..automaton.len())
            .map(|i| automaton.state(leadhand::understand::automaton::StateIndex(i as u32)).arcs.len())
            .sum();
        println!("{kind:?}: {} states, {arcs} arcs, {:?}", automaton.len(), start.elapsed());
    }
}
