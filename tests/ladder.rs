//! What happens where no answer comes: asked again, then with an example, then by key, and then quiet. Every question of
//! every machine, and no example that gives the answer away.

use std::collections::BTreeSet;

use leadhand::dialogue::{Input, Listening};
use leadhand::model;
use leadhand::model::appliance::{Appliance, CheckKind, Function, Prediction};
use leadhand::quantity::Unit;
use leadhand::shell::conversation::Turn;
use leadhand::understand::heard::Heard;
use leadhand::understand::situation::Kind;
use leadhand::understand::{open, typed};

use crate::world::{World, words_for};

const KEYS: &str = "I do not hear you well. Use a key, the pedal, or come closer.";

/// Every question that is asked while each fault of a machine is found, once, with the world in which it is open.
fn questions(machine: &str, mut ask: impl FnMut(&Appliance, World, &Listening)) {
    let appliance = model::by_name(machine).expect("a shipped model");
    let mut asked = BTreeSet::new();
    for fault in &appliance.faults {
        let complaint = fault.weight.keys().next().expect("a fault has a complaint");
        let said = &appliance.complaint(complaint).expect("of this machine").say[0];
        let mut world = World::new(machine, said, Some(fault.id.as_str()));
        let mut at = Some(world.begin());
        while let Some(open) = at {
            if asked.insert(open.topic.clone()) {
                ask(&appliance, world.clone(), &open);
            }
            at = world.usually(&open);
        }
    }
}

fn said(turn: &Turn) -> Vec<&str> {
    turn.lines.iter().map(|line| line.text.as_str()).collect()
}

fn unclear() -> Input {
    Input::Heard(Heard { outside: 0.2, ..Heard::default() })
}

/// The example among the lines of a turn.
fn example<'t>(lines: &[&'t str]) -> &'t str {
    let found = lines.iter().find_map(|line| line.strip_prefix("For example: "));
    found.unwrap_or_else(|| panic!("no example: {lines:?}"))
}

#[test]
fn every_question_of_every_machine_is_asked_again_by_the_ladder() {
    let mut asked = Asked::default();
    for (machine, _) in model::shipped() {
        questions(machine, |appliance, world, at| {
            let topic = format!("{machine}: {}", at.topic);
            asked.mumbled += mumbled(world.clone(), at, &topic);
            *(match nodded(world.clone(), at, &topic) {
                Some(true) => &mut asked.nodded,
                Some(false) => &mut asked.in_words,
                None => &mut asked.others,
            }) += 1;
            let waits = silent(world.clone(), at, &topic);
            *(if waits { &mut asked.waiting } else { &mut asked.working }) += 1;
            if at.situation.kind == Kind::Reading {
                untold(appliance, world, at, &topic);
                asked.readings += 1;
            }
        });
    }
    println!("ladder: {asked:?}");
    assert!(
        asked.mumbled > 300 && asked.waiting > 200 && asked.working > 50 && asked.readings > 150,
        "{asked:?}"
    );
    assert!(asked.nodded > 30 && asked.in_words > 30 && asked.others > 150, "{asked:?}");
}

/// How many questions were put to which proof.
#[derive(Debug, Default)]
struct Asked {
    mumbled: usize,
    /// Where an answer is waited for.
    waiting: usize,
    /// Where work takes as long as it takes.
    working: usize,
    readings: usize,
    /// Where a plain yes is "done".
    nodded: usize,
    /// Where it does not count.
    in_words: usize,
    /// Where nothing is to be done.
    others: usize,
}

/// Mumbling is asked for again in words, then with an example, then by key, then no more.
fn mumbled(mut world: World, at: &Listening, topic: &str) -> usize {
    for rung in 1..=6 {
        let turn = world.turn(unclear());
        let lines = said(&turn);
        match rung {
            1 => assert_eq!(lines[0], "Once more, please.", "{topic}"),
            2 => assert_eq!(lines[0], format!("For example: {}", example(&lines)), "{topic}"),
            3 => assert_eq!(lines[0], KEYS, "{topic}"),
            _ => assert!(lines.is_empty(), "{topic}: never a loop: {lines:?}"),
        }
        assert_eq!(turn.listening.map(|listening| listening.topic), Some(at.topic.clone()), "{topic}");
    }
    1
}

/// A plain yes is "done" where nothing can happen to anybody. Where supply or jumper hang on it, and at a hazard, it does not
/// count, and it is said which words do. `None` where nothing is to be done or answered so.
fn nodded(mut world: World, at: &Listening, topic: &str) -> Option<bool> {
    let kind = at.topic.split(' ').next().unwrap_or_default();
    let counts = match (at.situation.kind, kind) {
        (Kind::Step, "state" | "before" | "fixed") => true,
        (Kind::Step | Kind::Acknowledge, _) => false,
        _ => return None,
    };
    for words in ["yes", "okay"] {
        let mut world = world.clone();
        let turn = world.say(at, words);
        let lines = said(&turn);
        let stays = turn.listening.as_ref().is_some_and(|next| next.topic == at.topic);
        assert_eq!(stays, !counts, "{topic}: {words}: {lines:?}");
        if at.situation.kind == Kind::Acknowledge {
            assert_eq!(lines[0], "That is not the answer I need. Nothing is switched on.", "{topic}");
            assert!(lines.last().is_some_and(|line| line.contains("the word live")), "{topic}: {lines:?}");
        } else if stays {
            assert_eq!(lines[0], "A plain yes does not count here. Say done.", "{topic}");
        }
    }
    if !counts && at.situation.kind == Kind::Step {
        let turn = world.say(at, "done");
        assert!(turn.listening.is_some_and(|next| next.topic != at.topic), "{topic}: the word counts");
    }
    Some(counts)
}

/// Silence climbs the same ladder where an answer is waited for; true where one is.
fn silent(mut world: World, at: &Listening, topic: &str) -> bool {
    // Nothing more than this is said to it, so the question itself is known.
    let question = world.say(at, "say again");
    let (question, waits) = (said(&question).join(" "), question.wake_after.is_some());
    if !waits {
        assert_eq!(at.situation.kind, Kind::Step, "{topic}: only work takes as long as it takes");
        return false;
    }
    let first = world.turn(Input::Silence);
    assert_eq!(said(&first).join(" "), question, "{topic}: asked again");
    let second = world.turn(Input::Silence);
    if second.lines[0].text.starts_with("Stopped.") {
        return true;
    }
    assert_eq!(said(&second).join(" "), format!("For example: {} {question}", example(&said(&second))));
    let third = world.turn(Input::Silence);
    assert_eq!((said(&third), third.wake_after), (vec![KEYS], None), "{topic}: nobody waits any more");
    let answered = world.say(at, "say again");
    assert_eq!(said(&answered).join(" "), question, "{topic}: and an answer is still an answer");
    true
}

/// Nothing that is said before a reading gives it away. An example may be heard: as an answer it must prove nothing.
fn untold(appliance: &Appliance, mut world: World, at: &Listening, topic: &str) {
    let mut lines = Vec::new();
    let asked = ["say again", "where is that", "what setting", "why this one", "how many more", "help"];
    for words in asked {
        lines.extend(said(&world.say(at, words)).into_iter().map(str::to_owned));
    }
    world.turn(unclear());
    let turn = world.turn(unclear());
    let example = example(&said(&turn)).trim_end_matches('.').to_owned();
    let grammar = open(&at.situation);
    for words in example.split(", or ") {
        assert!(!typed(&grammar, words).candidates.is_empty(), "{topic}: `{words}` is no answer");
    }
    lines.push(example);
    let (kind, rest) = at.topic.split_once(' ').unwrap_or((&at.topic, ""));
    let hoped: Vec<String> = match kind {
        "dead" | "charge" | "leads" => vec!["zero".into()],
        "source" | "source-again" => {
            let (least, most) = appliance.known_source_volts;
            (least as u32..=most as u32).map(|volts| words_for(volts.into(), Unit::Volts)).collect()
        }
        _ => expected(appliance, rest).into_iter().collect(),
    };
    for (line, hoped) in lines.iter().flat_map(|line| hoped.iter().map(move |hoped| (line, hoped))) {
        assert!(!line.to_lowercase().contains(hoped.as_str()), "{topic}: `{line}` gives `{hoped}` away");
    }
}

/// What a good machine shows there, as said.
fn expected(appliance: &Appliance, check: &str) -> Option<String> {
    let check = appliance.check(&check.into())?;
    let unit = match &check.kind {
        CheckKind::Measure(m) if m.function == Function::Continuity => return None,
        CheckKind::Measure(m) => m.function.unit(),
        CheckKind::Gauge(gauge) => gauge.unit,
        CheckKind::Observe(_) => return None,
    };
    match appliance.predict(check, None) {
        Prediction::Value { nominal, .. } => Some(words_for(nominal, unit)),
        Prediction::Overload => Some("over limit".into()),
        Prediction::Outcomes(_) => None,
    }
}
