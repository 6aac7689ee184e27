//! Every line of every job: words only, short, and never an answer to our own question.

use leadhand::model;
use leadhand::record::entry::What;
use leadhand::shell::voice::check_words;
use leadhand::understand::situation::{Kind, Situation};
use leadhand::understand::{open, typed};

use crate::world::World;

/// The most words of a sentence. Routine sentences are shorter; those that warn may need the room.
const MOST_WORDS: usize = 20;

/// Every line said while every fault of a machine is found.
fn lines(machine: &str) -> Vec<String> {
    let appliance = model::by_name(machine).expect("a shipped model");
    let mut lines = Vec::new();
    for fault in &appliance.faults {
        let complaint = fault.weight.keys().next().expect("a fault has a complaint");
        let said = &appliance.complaint(complaint).expect("of this machine").say[0];
        let world = World::new(machine, said, Some(fault.id.as_str())).work();
        lines.extend(world.entries().iter().filter_map(|entry| match &entry.what {
            What::Said { text, .. } => Some(text.clone()),
            _ => None,
        }));
    }
    lines.sort();
    lines.dedup();
    lines
}

#[test]
fn every_line_can_be_spoken_and_answers_nothing() {
    let stop = open(&Situation { kind: Kind::StopOnly, ..Situation::default() });
    let acknowledge = open(&Situation { kind: Kind::Acknowledge, ..Situation::default() });
    let mut count = 0;
    for line in model::shipped().into_iter().flat_map(|(machine, _)| lines(machine)) {
        check_words(&line).unwrap_or_else(|why| panic!("{line}: {why}"));
        for sentence in line.split_inclusive(['.', '?']) {
            assert!(sentence.split_whitespace().count() <= MOST_WORDS, "too long to listen to: {sentence}");
            for grammar in [&stop, &acknowledge] {
                let heard = typed(grammar, sentence);
                assert!(heard.candidates.is_empty(), "our own words answer us: {sentence}: {heard:?}");
            }
        }
        count += 1;
    }
    println!("prompts: {count} different lines can be spoken");
    assert!(count > 1500, "{count}");
}

#[test]
fn a_line_that_cannot_be_spoken_is_refused() {
    for line in ["10.7 ohms", "8.8 kΩ", "120 V", ""] {
        assert!(check_words(line).is_err(), "{line}");
    }
}
