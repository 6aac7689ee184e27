//! What a system wrote, brought to the words that were said, so that each is judged by the value and not by its spelling.
//!
//! Figures, units and signs become words in `understand::typed`, as for typed text; here only goes what free recognisers do
//! beyond that: annotations, joined letters, a figure for "to" between two points, hyphens between digits. Where a text
//! can be read in several ways, the one that was said counts: the stock systems get every doubt.

use leadhand::understand::automaton::Automaton;
use leadhand::understand::intent::Intent;
use leadhand::understand::typed;

use crate::grammar::Opened;

/// What a text means: the meaning wanted, if it can be read so; otherwise the best there is.
pub fn meaning(opened: Opened, automaton: &Automaton, text: &str, wanted: Option<&Intent>) -> Option<Intent> {
    let mut meanings = Vec::new();
    for text in readings(opened, automaton, text) {
        meanings.extend(typed(automaton, &text).candidates.into_iter().map(|candidate| candidate.intent));
    }
    let place = meanings.iter().position(|meaning| Some(meaning) == wanted).unwrap_or(0);
    (place < meanings.len()).then(|| meanings.swap_remove(place))
}

/// The ways in which a text may be read.
pub fn readings(opened: Opened, automaton: &Automaton, text: &str) -> Vec<String> {
    let plain = without_annotations(text).replace(['"', '“', '”', '♪', '’'], " ");
    let plain = plain.replace("O.L.", "OL").replace("O-L", "OL").replace("A.C.", "AC");
    let mut ways = vec![plain.clone()];
    let spaced = spaced(&plain);
    ways.push(points_joined(&spaced));
    if opened == Opened::Plate {
        ways.push(letter_by_letter(automaton, &spaced));
    }
    if matches!(opened, Opened::Digits | Opened::Plate) {
        // "1, 2" and "1-2" are digits one after the other; "1.2" is not.
        ways.push(ways[ways.len() - 1].replace(',', " "));
    }
    ways.dedup();
    ways
}

/// Without what stands in brackets: "[BLANK_AUDIO]", "(music)".
fn without_annotations(text: &str) -> String {
    let mut depth = 0_usize;
    let mut keep = |c: char| {
        match c {
            '[' | '(' | '*' if depth == 0 => depth = 1,
            ']' | ')' | '*' if depth == 1 => {
                depth = 0;
                return false;
            }
            _ => {}
        }
        depth == 0
    };
    text.chars().filter(|c| keep(*c)).collect()
}

/// Hyphens between words and digits become spaces; one before a number stays a minus.
fn spaced(text: &str) -> String {
    let mut before = ' ';
    let mut out = String::new();
    for c in text.chars() {
        let joins = matches!(c, '-' | '–') && before.is_alphanumeric();
        out.push(if joins || c == '/' { ' ' } else { c });
        before = c;
    }
    out
}

/// "L2H" and "LTH" and "L 2 H" are L to H.
fn points_joined(text: &str) -> String {
    let point = |c: char| "LNMHTV".contains(c.to_ascii_uppercase());
    let mut words = Vec::new();
    for word in text.split_whitespace() {
        let bare: Vec<char> = word.trim_matches(|c: char| !c.is_alphanumeric()).chars().collect();
        match bare.as_slice() {
            [a, '2', b] if point(*a) && point(*b) => words.push(format!("{a} to {b}")),
            [a, '2'] if point(*a) => words.push(format!("{a} to")),
            ['2', b] if point(*b) && !words.is_empty() => words.push(format!("to {b}")),
            ['2'] if words.last().is_some_and(|last| last.chars().count() == 1) => {
                words.push("to".to_owned());
            }
            _ => words.push(word.to_owned()),
        }
    }
    words.join(" ")
}

/// Words that the grammar does not know are spelled: "HTML" is h t m l.
fn letter_by_letter(automaton: &Automaton, text: &str) -> String {
    let known: Vec<String> = automaton.words().into_iter().map(str::to_lowercase).collect();
    let word = |word: &str| {
        let bare = word.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase();
        match bare.as_str() {
            "o" => "oscar".to_owned(),
            "alfa" | "juliett" | "whisky" | "xray" => bare,
            _ if known.contains(&bare) || bare.chars().all(|c| c.is_ascii_digit()) => bare,
            _ => bare
                .chars()
                .map(|c| if c == 'o' { "oscar".to_owned() } else { c.to_string() })
                .collect::<Vec<_>>()
                .join(" "),
        }
    };
    text.split_whitespace().map(word).collect::<Vec<_>>().join(" ")
}
