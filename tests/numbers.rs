//! Spoken numbers against the outside world, and against ourselves the other way round.

// Printed counts; data from beside the project.
#![allow(clippy::print_stdout, clippy::disallowed_methods, clippy::unwrap_used)]

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;

use leadhand::quantity::{Decimal, Prefix, Quantity, Unit};
use leadhand::reading::Reading;
use leadhand::understand::automaton::{Automaton, StateIndex};
use leadhand::understand::grammars::compile_rule;
use leadhand::understand::intent::Intent;
use leadhand::understand::matching::{candidates, paths};
use leadhand::understand::number::{Accumulator, NumberWord, Refusal, read};
use leadhand::understand::numerals::{digit_by_digit, number_words, quantity_digits, quantity_words};
use leadhand::understand::situation::{Kind, Situation};
use leadhand::understand::{open, typed};
use proptest::prelude::*;

/// Open test data beside the project, where it is there.
fn data(folder: &str) -> Option<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    ["../shared/data", "../../shared/data"]
        .iter()
        .map(|up| root.join(up).join(folder))
        .find(|path| path.is_dir())
}

/// The cases of a NeMo file (Apache-2.0): spoken form and written form.
fn nemo(file: &str) -> Vec<(String, String)> {
    let Some(folder) = data("itn/nemo_en") else {
        println!("skipped: {file}: the open number cases are not beside the project");
        return Vec::new();
    };
    let text = std::fs::read_to_string(folder.join(file)).unwrap();
    text.lines().filter_map(|line| line.split_once('~')).map(|(s, w)| (s.to_owned(), w.to_owned())).collect()
}

/// Do the words read as the figures, the digits after the point kept as said?
fn check(words: &str, figures: &str) {
    let with_zero = figures.replacen("-.", "-0.", 1);
    let with_zero = if with_zero.starts_with('.') { format!("0{with_zero}") } else { with_zero };
    assert_eq!(read(words).map(|number| number.to_string()), Ok(with_zero), "{words}");
}

/// Source: NVIDIA NeMo-text-processing, English inverse text normalisation cases.
#[test]
fn nemo_numbers_are_read_with_their_digits() {
    let (mut read_right, mut refused) = (0, 0);
    for (words, figures) in [nemo("test_cases_cardinal.txt"), nemo("test_cases_decimal.txt")].concat() {
        let plain = figures.trim_start_matches('-').bytes().all(|b| b.is_ascii_digit() || b == b'.');
        if !plain {
            continue; // "5.2 million" stays a scale word there, "zero" stays a word.
        }
        // More digits than a meter shows, and scale words that no meter needs.
        let beyond = ["quadrillion", "sextillion", "crore"].iter().any(|word| words.contains(word));
        if beyond {
            assert!(matches!(read(&words), Err(Refusal::NotANumber(_))), "{words}");
            refused += 1;
        } else {
            check(&words, &figures);
            read_right += 1;
        }
    }
    println!("NeMo plain numbers: {read_right} read, {refused} beyond what we keep, refused");
}

/// Source: the same set's measures. Only the number counts: the unit text there loses the case of prefixes.
#[test]
fn nemo_measures_begin_with_a_number_that_we_read() {
    let mut read_right = 0;
    for (words, written) in nemo("test_cases_measure.txt") {
        let figures = written.split(' ').next().unwrap();
        let number = words.split(' ').take_while(|word| NumberWord::from_word(word).is_some());
        let number = number.collect::<Vec<_>>().join(" ");
        if !figures.bytes().all(|b| b.is_ascii_digit() || b"-.".contains(&b)) || number.is_empty() {
            continue;
        }
        check(&number, figures);
        read_right += 1;
    }
    println!("NeMo measures: {read_right} numbers read");
}

/// Source: the crate text2num, where it is known right: whole numbers and plain decimals in natural form.
#[test]
fn text2num_agrees_on_natural_numbers() {
    let english = text2num::Language::english();
    let agree = |figures: String| {
        let number: Decimal = figures.parse().unwrap();
        let words = number_words(number);
        assert_eq!(text2num::text2digits(&words, &english).ok(), Some(figures), "{words}");
        assert_eq!(read(&words), Ok(number));
    };
    (0..10_000).for_each(|n| agree(n.to_string()));
    (10_000..1_000_000).step_by(997).for_each(|n| agree(n.to_string()));
    for words in ["sixty fifteen", "ten five", "hundred hundred", "thousand thousand two hundred"] {
        assert!(text2num::text2digits(words, &english).is_err() && read(words).is_err(), "{words}");
    }
}

/// Source: num2words 0.5.14 (PyPI), 0 to 9999, decimals and negative numbers.
#[test]
fn num2words_are_read_as_the_numbers_they_came_from() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let own = root.join(".venv/bin/python3");
    let python = if own.exists() { own } else { PathBuf::from("python3") };
    let output = Command::new(python).arg(root.join("tests/reference/spoken_numbers.py")).output();
    let Some(output) = output.ok().filter(|output| output.status.success()) else {
        println!("skipped: num2words is not installed (0 of about 12,800 cases)");
        return;
    };
    let text = String::from_utf8(output.stdout).unwrap();
    for line in text.lines() {
        let (figures, words) = line.split_once('\t').unwrap();
        let number = read(&words.replace(',', "")).unwrap_or_else(|refusal| panic!("{words}: {refusal}"));
        assert_eq!(number.to_f64().to_string(), figures.parse::<f64>().unwrap().to_string(), "{words}");
    }
    println!("num2words: {} cases read", text.lines().count());
}

/// Follows one arc after the other as the picks say, and ends where it may.
fn walk(automaton: &Automaton, picks: &[u16]) -> Option<(Vec<String>, Vec<String>)> {
    let (mut words, mut tags) = (Vec::new(), Vec::new());
    let mut at = automaton.start();
    for &pick in picks {
        let state = automaton.state(at);
        let pick = usize::from(pick) % (state.arcs.len() + state.ends.len());
        let Some(arc) = state.arcs.get(pick) else {
            tags.extend(state.ends[pick - state.arcs.len()].tags.clone());
            return Some((words, tags));
        };
        words.push(arc.word.clone());
        tags.extend(arc.tags.clone());
        at = arc.to;
    }
    None
}

static NUMBER: LazyLock<Automaton> =
    LazyLock::new(|| compile_rule(&Situation::default(), "number.abnf", None).unwrap());

static READING: LazyLock<Automaton> =
    LazyLock::new(|| open(&Situation { kind: Kind::Reading, ..Situation::default() }));

fn decimals() -> impl Strategy<Value = Decimal> {
    let digits = prop_oneof![0..10_000_u64, 0..10_u64.pow(15)];
    (any::<bool>(), digits, 0..=6_u8)
        .prop_map(|(minus, digits, places)| Decimal::new(minus, digits, places).unwrap())
}

/// What a meter shows and the grammar has words for.
fn quantities() -> impl Strategy<Value = Quantity> {
    let units = [
        (Prefix::One, Unit::Ohms),
        (Prefix::Kilo, Unit::Ohms),
        (Prefix::Mega, Unit::Ohms),
        (Prefix::One, Unit::Volts),
        (Prefix::Milli, Unit::Volts),
        (Prefix::One, Unit::Amps),
        (Prefix::Milli, Unit::Amps),
        (Prefix::One, Unit::Degrees),
        (Prefix::One, Unit::Fahrenheit),
        (Prefix::One, Unit::Celsius),
        (Prefix::One, Unit::Seconds),
        (Prefix::One, Unit::Psi),
        (Prefix::One, Unit::Watts),
        (Prefix::Micro, Unit::Farads),
        (Prefix::One, Unit::Percent),
        (Prefix::One, Unit::Hertz),
    ];
    let number = (any::<bool>(), 0..1_000_000_u64, 0..=4_u8);
    (number, prop::sample::select(units.to_vec())).prop_map(|((minus, digits, places), (prefix, unit))| {
        Quantity { number: Decimal::new(minus, digits, places).unwrap(), prefix, unit: Some(unit) }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn what_is_said_reads_back_as_the_same_digits(number in decimals()) {
        prop_assert_eq!(read(&number_words(number)), Ok(number));
        prop_assert_eq!(read(&digit_by_digit(number)), Ok(number));
    }

    #[test]
    fn the_grammar_and_the_accumulator_agree(picks in prop::collection::vec(any::<u16>(), 40)) {
        let automaton = &*NUMBER;
        let Some((words, tags)) = walk(automaton, &picks) else { return Ok(()) };
        let spoken = words.join(" ");
        let number = read(&spoken);
        prop_assert!(number.is_ok(), "{spoken}: {number:?}");
        let mut instructions = tags.iter().map(|tag| NumberWord::from_tag(tag).unwrap());
        let tagged = instructions.try_fold(Accumulator::default(), Accumulator::then);
        prop_assert_eq!(tagged.and_then(Accumulator::finish), number.clone(), "{}", spoken);

        let pieces: Vec<_> = words.iter().map(|word| vec![vec![word.clone()]]).collect();
        prop_assert_eq!(candidates(paths(automaton, &pieces)).len(), 1, "{} has one meaning", spoken);

        let again = read(&number_words(number.clone().unwrap()));
        prop_assert_eq!(again, number);
    }

    #[test]
    fn a_quantity_said_back_is_the_same_quantity(quantity in quantities()) {
        for spoken in [quantity_words(quantity), quantity_digits(quantity), quantity.to_string()] {
            let heard = typed(&READING, &spoken);
            let intents: Vec<_> = heard.candidates.iter().map(|candidate| &candidate.intent).collect();
            match intents.as_slice() {
                [Intent::Report(report)] => prop_assert_eq!(report.reading, Reading::Value(quantity), "{}", spoken),
                other => prop_assert!(false, "{spoken}: {other:?}"),
            }
        }
    }
}

#[test]
fn the_walk_ends_only_where_the_grammar_does() {
    let automaton = &*NUMBER;
    assert!(automaton.state(StateIndex(0)).ends.is_empty(), "no number is silent");
    assert_eq!(walk(automaton, &[0]), None);
}
