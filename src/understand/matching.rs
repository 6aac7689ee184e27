//! Words against an automaton: every path that they can take, and what the paths mean together.

use std::collections::BTreeMap;

use super::automaton::{Automaton, StateIndex};
use super::heard::Candidate;
use super::intent::Intent;
use super::meaning::meaning;

/// One way through an automaton, from its start to an end.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    /// The words taken.
    pub words: Vec<String>,
    /// The tags met, in order, those of the end included.
    pub tags: Vec<String>,
    /// Natural logarithm of the path's probability.
    pub weight: f64,
}

/// A piece of an utterance and the ways it may be worded: each is words in order, perhaps none.
pub type Wordings = Vec<Vec<String>>;

/// More unfinished paths than this are not followed; the least probable are dropped.
const MOST_PATHS: usize = 512;

/// Every path whose words are one wording of each piece, in order. Case does not matter.
pub fn paths(automaton: &Automaton, pieces: &[Wordings]) -> Vec<Path> {
    let reached = reached(automaton, pieces);
    let finish = |(state, path): &(StateIndex, Path)| {
        let ends = automaton.state(*state).ends.iter();
        ends.map(|end| {
            let mut path = path.clone();
            path.tags.extend(end.tags.iter().cloned());
            path.weight += f64::from(end.weight);
            path
        })
        .collect::<Vec<_>>()
    };
    reached.iter().flat_map(finish).collect()
}

/// Once these words were said: how probable it is, before anything more is heard, that the utterance ends with them.
/// Zero where the grammar does not accept them.
pub fn ends_with(automaton: &Automaton, words: &[String]) -> f64 {
    let (mut ends, mut all) = (0.0, 0.0);
    for (state, path) in reached(automaton, &plain(words)) {
        let state = automaton.state(state);
        let sum = |weights: &mut dyn Iterator<Item = f32>| {
            path.weight.exp() * weights.map(|w| f64::from(w).exp()).sum::<f64>()
        };
        let here = sum(&mut state.ends.iter().map(|end| end.weight));
        ends += here;
        all += here + sum(&mut state.arcs.iter().map(|arc| arc.weight));
    }
    if all > 0.0 { ends / all } else { 0.0 }
}

/// The words that may follow these, the likeliest first, each once.
pub fn next_words<'a>(automaton: &'a Automaton, words: &[String]) -> Vec<&'a str> {
    let mut weights: BTreeMap<&str, f64> = BTreeMap::new();
    for (state, path) in reached(automaton, &plain(words)) {
        for arc in &automaton.state(state).arcs {
            *weights.entry(&arc.word).or_default() += (path.weight + f64::from(arc.weight)).exp();
        }
    }
    let mut words: Vec<_> = weights.into_iter().collect();
    words.sort_by(|(_, a), (_, b)| b.total_cmp(a));
    words.into_iter().map(|(word, _)| word).collect()
}

/// Does an utterance of the grammar begin with these words?
pub fn begins(automaton: &Automaton, words: &[String]) -> bool {
    !reached(automaton, &plain(words)).is_empty()
}

/// The words of a text as the weights write it, without the commas between them.
pub fn words(text: &str) -> Vec<String> {
    let plain = text.split_whitespace().map(|word| word.trim_matches(',').to_owned());
    plain.filter(|word| !word.is_empty()).collect()
}

fn plain(words: &[String]) -> Vec<Wordings> {
    words.iter().map(|word| vec![vec![word.clone()]]).collect()
}

/// Every state that one wording of each piece, in order, leads to, the most probable first.
fn reached(automaton: &Automaton, pieces: &[Wordings]) -> Vec<(StateIndex, Path)> {
    if automaton.is_empty() {
        return Vec::new();
    }
    let start = Path { words: Vec::new(), tags: Vec::new(), weight: 0.0 };
    let mut reached = vec![(automaton.start(), start)];
    for wordings in pieces {
        let step = |at: &(StateIndex, Path)| {
            wordings.iter().flat_map(|words| follow(automaton, at.clone(), words)).collect::<Vec<_>>()
        };
        reached = reached.iter().flat_map(step).collect();
        reached.sort_by(|(_, a), (_, b)| b.weight.total_cmp(&a.weight));
        reached.truncate(MOST_PATHS);
    }
    reached
}

/// All ways to go on from one path through words in order.
fn follow(automaton: &Automaton, from: (StateIndex, Path), words: &[String]) -> Vec<(StateIndex, Path)> {
    words.iter().fold(vec![from], |reached, word| {
        let step = |(state, path): &(StateIndex, Path)| {
            let arcs = automaton.state(*state).arcs.iter().filter(|arc| arc.word.eq_ignore_ascii_case(word));
            arcs.map(|arc| {
                let mut path = path.clone();
                path.words.push(arc.word.clone());
                path.tags.extend(arc.tags.iter().cloned());
                path.weight += f64::from(arc.weight);
                (arc.to, path)
            })
            .collect::<Vec<_>>()
        };
        reached.iter().flat_map(step).collect()
    })
}

/// What paths mean: each meaning once, with the sum of its paths' probabilities and the words of the best, best first.
/// Paths that mean nothing are left out.
pub fn candidates(paths: impl IntoIterator<Item = Path>) -> Vec<Candidate> {
    let mut meanings: BTreeMap<Intent, (f64, f64, Vec<String>)> = BTreeMap::new();
    for path in paths {
        let Some(intent) = meaning(&path.tags) else { continue };
        let entry = meanings.entry(intent).or_insert((0.0, f64::NEG_INFINITY, Vec::new()));
        entry.0 += path.weight.exp();
        if path.weight > entry.1 {
            (entry.1, entry.2) = (path.weight, path.words);
        }
    }
    let candidate = |(intent, (probability, _, words)): (Intent, (f64, f64, Vec<String>))| Candidate {
        words: words.join(" "),
        intent,
        probability: probability as f32,
    };
    let mut candidates: Vec<Candidate> = meanings.into_iter().map(candidate).collect();
    candidates.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    candidates
}
