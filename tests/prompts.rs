//! Every line of every job: words only, short, the number last, and never an answer to our own question.

use std::collections::{BTreeMap, BTreeSet};

use leadhand::model;
use leadhand::model::appliance::Appliance;
use leadhand::say::Manner;
use leadhand::shell::conversation::Turn;
use leadhand::shell::voice::check_words;
use leadhand::understand::situation::{Kind, Situation};
use leadhand::understand::{open, typed};

use crate::world::World;

/// The most words of a routine sentence.
const MOST_WORDS: usize = 12;
/// The most where there is more to say than what to do.
const MOST_TELLING: usize = 20;

/// What there may be more to say of than what to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Telling {
    /// Something can hurt, and these words answer it.
    Hazard,
    /// Why: what is believed, and from what.
    Reason,
    /// What not to do, and whose rules hold.
    Caution,
}

/// What is said to anything at any time to be told a reason.
const REASONS: [&str; 3] = ["why", "why this one", "what do we know"];
/// The same for everything else that can be asked.
const ASKED: [&str; 7] =
    ["help", "where is that", "what setting", "how many more", "what do you expect", "mark photo", "shorter"];

/// At so many faults of a machine all of that is asked.
const ASKING: usize = 4;

/// Why a line of this machine may run on, if it may; `answers` is what was said before it.
pub fn telling(appliance: &Appliance, line: &str, hazard: bool, answers: &str) -> Option<Telling> {
    let is = |text: &Option<String>| text.as_deref() == Some(line);
    let reason = REASONS.contains(&answers)
        || line.contains(" sure: ")
        || appliance.checks.iter().any(|check| is(&check.why_live))
        || appliance.remedies.iter().any(|remedy| is(&remedy.cause));
    let caution = appliance.refuses.iter().any(|refusal| refusal == line)
        || appliance.remedies.iter().any(|remedy| is(&remedy.caution))
        || answers == "help";
    let answered = line.contains("answer with the word live");
    match (hazard || answered, reason, caution) {
        (true, ..) => Some(Telling::Hazard),
        (_, true, _) => Some(Telling::Reason),
        (_, _, true) => Some(Telling::Caution),
        _ => None,
    }
}

/// A sentence of a routine line that is too long to listen to, or whose number does not stand last.
pub fn unfit(appliance: &Appliance, line: &str) -> Option<String> {
    let mut sentences = line.split_inclusive(['.', '?', ':']);
    let long = line.split_inclusive(['.', '?']).find(|s| s.split_whitespace().count() > MOST_WORDS);
    long.or_else(|| sentences.find(|sentence| !number_last(appliance, sentence))).map(str::to_owned)
}

/// Does nothing but its unit follow a number? A name may hold one, and so may how often something is done.
fn number_last(appliance: &Appliance, sentence: &str) -> bool {
    let mut text =
        format!(" {} ", sentence.to_lowercase().trim_end_matches(['.', '?', ':', ' ']).replace(',', " ,"));
    let points = appliance.points.iter().map(|point| point.name.to_lowercase());
    let mut names: Vec<String> = points.chain(NAMES.map(str::to_owned)).collect();
    names.sort_by_key(|name| std::cmp::Reverse(name.len()));
    for name in names {
        text = text.replace(&format!(" {name} "), " it ");
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    let among =
        |list: &str, at: usize| words.get(at).is_some_and(|word| list.split(' ').any(|known| known == *word));
    // "One" alone is as good as "a".
    let counts = |at: usize| among(NUMBERS, at) || among(UNITS, at);
    let is_number = |at: &usize| {
        among(NUMBERS, *at) && (words[*at] != "one" || counts(at + 1) || *at > 0 && counts(at - 1))
    };
    let last = (0..words.len()).rev().find(is_number);
    last.is_none_or(|last| (last + 1..words.len()).all(|at| among(UNITS, at)))
}

/// What holds a number that is none to be kept in mind.
const NAMES: [&str; 1] = ["three oven cycles"];

const NUMBERS: &str = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen \
                       seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred thousand";

const UNITS: &str = "ohms kilohms megohms volts millivolts amps milliamps watts microfarads hertz degrees fahrenheit celsius \
                     minute minutes seconds percent psi c turn turns point half dollars euros cents";

/// A line that was said: whether as a hazard, and after which words.
type Said = BTreeMap<String, (bool, String)>;

fn keep(said: &mut Said, turn: &Turn, answers: &str) {
    for line in &turn.lines {
        said.entry(line.text.clone()).or_insert((line.manner == Manner::Hazard, answers.to_owned()));
    }
}

/// Every line said while every fault of a machine is found, and whatever is asked at any time at every question.
fn lines(appliance: &Appliance, machine: &str) -> Said {
    let (mut said, mut topics) = (Said::new(), BTreeSet::new());
    for (nth, fault) in appliance.faults.iter().enumerate() {
        let complaint = fault.weight.keys().next().expect("a fault has a complaint");
        let complaint = &appliance.complaint(complaint).expect("of this machine").say[0];
        let mut world = World::new(machine, complaint, Some(fault.id.as_str()));
        let mut at = Some(world.begin());
        while let Some(open) = at {
            if nth < ASKING && topics.insert(open.topic.clone()) {
                for words in REASONS.into_iter().chain(ASKED) {
                    keep(&mut said, &world.clone().say(&open, words), words);
                }
            }
            let turn = world.usual_turn(&open);
            keep(&mut said, &turn, "");
            at = turn.listening;
        }
    }
    said
}

#[test]
fn every_line_can_be_spoken_is_short_and_answers_nothing() {
    let stop = open(&Situation { kind: Kind::StopOnly, ..Situation::default() });
    let acknowledge = open(&Situation { kind: Kind::Acknowledge, ..Situation::default() });
    let (mut count, mut unfits) = (BTreeMap::new(), BTreeSet::new());
    for (machine, _) in model::shipped() {
        let appliance = model::by_name(machine).expect("a shipped model");
        for (line, (hazard, answers)) in lines(&appliance, machine) {
            check_words(&line).unwrap_or_else(|why| panic!("{line}: {why}"));
            for sentence in line.split_inclusive(['.', '?']) {
                let clauses = sentence.split(':').map(|clause| clause.split_whitespace().count());
                if clauses.max() > Some(MOST_TELLING) && answers != "help" {
                    unfits.insert(sentence.to_owned());
                }
                for grammar in [&stop, &acknowledge] {
                    let heard = typed(grammar, sentence);
                    assert!(heard.candidates.is_empty(), "our own words answer us: {sentence}: {heard:?}");
                }
            }
            let telling = telling(&appliance, &line, hazard, &answers);
            if telling.is_none() {
                unfits.extend(unfit(&appliance, &line));
            }
            *count.entry(telling).or_insert(0) += 1;
        }
    }
    println!("prompts: {count:?} lines can be spoken");
    assert!(unfits.is_empty(), "too long, or the number is not last: {unfits:#?}");
    assert!(count[&None] > 1000 && count.len() == 4, "{count:?}");
}

#[test]
fn a_line_that_runs_on_or_goes_on_behind_its_number_is_seen() {
    let dryer = model::by_name("dryer-240").expect("shipped");
    for line in [
        "Take the small cover off the terminal block and put it on the floor behind you.",
        "Three findings are taken.",
        "Wait five minutes and read again.",
        "You have two turns left that way.",
    ] {
        assert!(unfit(&dryer, line).is_some(), "{line}");
        assert_eq!(telling(&dryer, line, false, ""), None);
        assert_eq!(telling(&dryer, line, true, ""), Some(Telling::Hazard));
        assert_eq!(telling(&dryer, line, false, "why"), Some(Telling::Reason));
    }
    for line in [
        "Wait five minutes. Then read again.",
        "Ohms: line one to line two. What do you read?",
        "Ten point seven kilohms.",
        "Findings taken: three.",
        "This one cannot be left out.",
    ] {
        assert_eq!(unfit(&dryer, line), None);
    }
}

#[test]
fn a_line_that_cannot_be_spoken_is_refused() {
    for line in ["10.7 ohms", "8.8 kΩ", "120 V", ""] {
        assert!(check_words(line).is_err(), "{line}");
    }
}
