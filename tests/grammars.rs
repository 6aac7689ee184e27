//! Every shipped grammar keeps what its documentation comments promise.

#![allow(clippy::print_stdout)] // Printed counts.

mod recommendation;

use std::collections::BTreeSet;

use leadhand::quantity::Unit;
use leadhand::understand::automaton::StateIndex;
use leadhand::understand::grammars::{FILES, compile_rule};
use leadhand::understand::intent::{Acknowledgement, Elsewhere, Intent, Named};
use leadhand::understand::situation::{Choice, Kind, Situation, SpokenPoint};
use leadhand::understand::{matching, open, srgs, try_open, typed};

const KINDS: [Kind; 12] = [
    Kind::Opening,
    Kind::Interview,
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
];

/// A situation of our own: the points and choices that the examples name.
fn situation(kind: Kind) -> Situation {
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
        with: vec![choice("sometimes", &["sometimes", "now and then"])],
        rated: vec![choice("heater", &["heater"])],
        named: vec![choice("heater", &["heater"])],
        ..Situation::default()
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
                let found = !matching::paths(&automaton, &pieces).is_empty();
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

/// The words that the weights were fitted to write: `models/speech/words.txt`.
#[test]
fn every_word_is_one_that_the_recogniser_knows() {
    let known: BTreeSet<&str> = include_str!("../models/speech/words.txt").lines().collect();
    for kind in KINDS {
        let automaton = open(&situation(kind));
        let unknown: Vec<&str> = automaton.words().into_iter().filter(|word| !known.contains(word)).collect();
        assert!(unknown.is_empty(), "{kind:?}: {unknown:?}");
    }
    assert!(!known.contains("kilovolts"));
}

/// What a typed line means in a situation, all meanings, best first, in the short form of [`brief`].
fn meanings(kind: Kind, text: &str) -> Vec<String> {
    typed(&open(&situation(kind)), text).candidates.iter().map(|candidate| brief(&candidate.intent)).collect()
}

/// An intent on one line.
fn brief(intent: &Intent) -> String {
    match intent {
        Intent::Report(report) => {
            let points = report.points.as_ref().map_or(String::new(), |(a, b)| format!("{a}-{b} "));
            format!("{}{points}{}", if report.correction { "corrected " } else { "" }, report.reading)
        }
        Intent::Rescale(prefix, unit) => format!("rescale {}{}", prefix.symbol(), unit.symbol()),
        Intent::Acknowledge(Acknowledgement::LiveAt(a, b)) => format!("live at {a} {b}"),
        Intent::Acknowledge(Acknowledgement::LiveAndClear) => "live and clear".to_owned(),
        Intent::Anytime(word) => format!("{word:?}").to_lowercase(),
        Intent::Known(named, reading) => format!("known {} {reading}", name(named)),
        Intent::Scratch(named) => format!("scratch {}", name(named)),
        Intent::Elsewhere(Elsewhere::Across(a, b)) => format!("moved to {a} {b}"),
        Intent::Elsewhere(Elsewhere::Instead { not, but }) => format!("not {not} but {but}"),
        other => format!("{other:?}"),
    }
}

fn name(named: &Named) -> String {
    match named {
        Named::Check(check) => check.to_string(),
        Named::Across(a, b) => format!("{a}-{b}"),
    }
}

#[track_caller]
fn check(kind: Kind, cases: &[(&str, &str)]) {
    for (text, meaning) in cases {
        let expected: Vec<&str> = if meaning.is_empty() { Vec::new() } else { vec![meaning] };
        assert_eq!(meanings(kind, text), expected, "{kind:?}: {text}");
    }
}

#[test]
fn readings_mean_what_was_said() {
    check(
        Kind::Reading,
        &[
            ("L to H, seventy one ohms", "l-h 71 Ω"),
            ("l to h 71 ohms", "l-h 71 Ω"),
            ("line one to neutral, one twenty volts a c", "l-n 120 V"),
            ("lima to hotel, o l", "l-h OL"),
            ("H to M, eight point eight k", "h-m 8.8 kΩ"),
            ("H-M", ""),
            ("8,800", "8800"),
            ("8.80 kΩ", "8.80 kΩ"),
            ("-18 °F", "-18°F"),
            ("minus eighteen degrees celsius", "-18°C"),
            ("forty degrees", "40°"),
            ("t to terminal four closed", "t-t4 closed"),
            ("3.3mA", "3.3 mA"),
            ("two and a half amps", "2.5 A"),
            ("1.2 meg", "1.2 MΩ"),
            ("twenty p s i", "20 psi"),
            ("it is open", "OL"),
            ("no reading", "OL"),
            ("jumping around", "unstable"),
            ("no, fifteen", "corrected 15"),
            ("correction, L to M, fifty ohms", "corrected l-m 50 Ω"),
            ("i said fifty", "corrected 50"),
            ("not fifteen, fifty ohms", "corrected 50 Ω"),
            ("not fifteen fifty ohms", "corrected 50 Ω"),
            ("make that kilohms", "rescale kΩ"),
            ("no, make that millivolts", "rescale mV"),
            ("done", "Done"),
            ("what do you expect?", "expect"),
            ("not H, M", "not h but m"),
            ("no, L to M", "moved to l m"),
            ("not H, H", ""),
            ("no, L to L", ""),
            ("i know the heater is 71 ohms", "known heater 71 Ω"),
            ("heater reads open", "known heater OL"),
            ("i know L to H is 71 ohms", "known l-h 71 Ω"),
            ("i know L to H", ""),
            ("scratch the heater reading", "scratch heater"),
            ("scratch L to H", "scratch l-h"),
            ("scratch the motor reading", ""),
            ("meter fuse is open", "Trouble(Fuse)"),
            ("it lights", "Trouble(Tester)"),
            ("how many more", "howmany"),
            ("slower", "slower"),
            ("say more", "fuller"),
            ("mark photo", "photo"),
            ("floor is wet", "wet"),
            ("open the microwave", "Beyond(Microwave)"),
            ("jumper the door switch", "Beyond(Protection)"),
            ("open the door", ""),
            ("L to L, five ohms", ""),
            ("sixty fifteen", ""),
            ("yes", ""),
            ("", ""),
            ("do you take card or cash", ""),
        ],
    );
}

#[test]
fn answers_mean_what_was_said() {
    check(
        Kind::Confirm,
        &[
            ("yes", "Yes"),
            ("Correct.", "Yes"),
            ("negative", "No"),
            ("no", "No"),
            ("no, fifteen ohms", "corrected 15 Ω"),
            ("negative five", "-5"),
            ("stop", "stop"),
            ("done", ""),
        ],
    );
    check(Kind::YesNo, &[("no", "No"), ("why", "why"), ("no, fifteen", "")]);
    check(
        Kind::Step,
        &[
            ("ready", "Done"),
            ("can't reach it", "skip"),
            ("unplugged", "poweroff"),
            ("plug is in my hand", "Control(Mine)"),
            ("they hold the plug", "Control(Others)"),
            ("L to H, seventy one ohms", "l-h 71 Ω"),
            ("no, fifteen ohms", "corrected 15 Ω"),
            ("fifteen ohms", ""),
            ("yes", "Yes"),
            ("yep", "Yes"),
            ("Okay.", "Yes"),
            ("no", ""),
        ],
    );
    check(Kind::Observe, &[("no heat", "Chose(\"no-heat\")"), ("heat", "")]);
    check(
        Kind::Opening,
        &[
            ("electric dryer", "Chose(\"dryer\")"),
            ("no heat, hardly ever", ""),
            ("no heat, now and then", "ChoseBoth(\"no-heat\", \"sometimes\")"),
            ("sometimes no heat", "ChoseBoth(\"sometimes\", \"no-heat\")"),
            ("sometimes", ""),
            ("oven", ""),
        ],
    );
    check(
        Kind::Interview,
        &[
            ("yes", "Yes"),
            ("nothing", "No"),
            ("not sure", "skip"),
            ("i do not know", "skip"),
            ("dryer", "Chose(\"dryer\")"),
            ("sometimes", ""),
            ("done", ""),
        ],
    );
    check(
        Kind::Digits,
        &[("0 4 7", "Digits(\"047\")"), ("047", "Digits(\"047\")"), ("enter 13", "Digits(\"13\")")],
    );
    check(
        Kind::Plate,
        &[("W13A", "Plate(\"W13A\")"), ("whiskey one three alpha", "Plate(\"W13A\")"), ("enter", "")],
    );
}

#[test]
fn only_the_deliberate_answer_acknowledges_a_hazard() {
    check(
        Kind::Acknowledge,
        &[
            ("live at L and N", "live at l n"),
            ("live L N", "live at l n"),
            ("live lima november", "live at l n"),
            ("live and clear", "live and clear"),
            ("hold", "hold"),
            ("stop", "stop"),
            ("live at L and L", ""),
            ("live", ""),
            ("yes", "Yes"),
            ("okay", "Yes"),
            ("L to N", ""),
            ("one twenty volts", ""),
            ("next", ""),
            ("resume", ""),
            ("i know the heater is 71 ohms", ""),
            ("no, L to N", ""),
            ("slower", ""),
        ],
    );
    check(Kind::StopOnly, &[("stop", "stop"), ("stop stop", "stop"), ("hold", ""), ("live and clear", "")]);
    for kind in KINDS {
        let accepts = !meanings(kind, "live and clear").is_empty();
        assert_eq!(accepts, kind == Kind::Acknowledge, "{kind:?}");
        assert_eq!(meanings(kind, "stop"), ["stop"], "{kind:?} can be stopped");
    }
}

#[test]
fn units_that_make_no_sense_now_are_heard_but_are_not_likely() {
    let volts = Situation { units: vec![Unit::Volts], ..situation(Kind::Reading) };
    let weight = |text: &str| {
        let paths = matching::paths(&open(&volts), &typed::pieces(text));
        paths.iter().map(|path| path.weight.exp()).sum::<f64>()
    };
    assert!(weight("L to H, five volts") > 20.0 * weight("L to H, five ohms"));
    assert!(weight("L to H, five ohms") > 0.0);
    assert!(weight("L to H, five volts") > 4.0 * weight("H to L, five volts"));
    assert!(weight("H to L, five volts") > weight("M to T, five volts"));
    // "nothing" on a voltage range would be zero volts, not an open circuit.
    for text in ["nothing", "open", "closed"] {
        assert!(weight(text) == 0.0, "{text}");
    }
    assert!(weight("o l") > 0.0);
}

#[test]
fn names_that_cannot_be_heard_are_named() {
    let known =
        open(&situation(Kind::Anything)).words().iter().map(|word| (*word).to_owned()).collect::<Vec<_>>();
    let knows = |word: &str| known.iter().any(|known| known == word);
    assert!(try_open(&situation(Kind::Reading), |_| true).is_ok());
    let mut odd = situation(Kind::Reading);
    odd.points[0].say.push("the sprocket".to_owned());
    let message =
        try_open(&odd, |word| word == "the" || knows(word) || word == "dryer").unwrap_err().to_string();
    assert_eq!(
        message,
        "the recogniser does not know the word `sprocket` of `the sprocket`, a way to say `l`"
    );
    odd.points[0].say = vec![" ".to_owned()];
    let message = try_open(&odd, |_| true).unwrap_err().to_string();
    assert_eq!(message, "one of the ways to say `l` has no words");
}

#[test]
fn automata_are_small_and_their_weights_are_probabilities() {
    for kind in KINDS {
        let automaton = open(&situation(kind));
        let mut arcs = 0;
        for index in 0..automaton.len() {
            let state = automaton.state(StateIndex(index as u32));
            let weights =
                state.arcs.iter().map(|arc| arc.weight).chain(state.ends.iter().map(|end| end.weight));
            let total: f32 = weights.map(f32::exp).sum();
            assert!(total < 1.001, "{kind:?} state {index}: {total}");
            assert!(!state.arcs.is_empty() || !state.ends.is_empty(), "{kind:?} state {index} leads nowhere");
            arcs += state.arcs.len();
        }
        println!("{kind:?}: {} states, {arcs} arcs", automaton.len());
        assert!(automaton.len() < 1000, "{kind:?} has {} states", automaton.len());
    }
}
