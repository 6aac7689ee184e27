//! A grammar's automaton, its words spelled in the tokens of the weights.
//!
//! The words that leave a state are kept sorted by their tokens, so words that begin alike lie side by side: a place
//! inside a word is a range of them and a depth. That is a trie without its nodes.

use std::ops::Range;

use super::RecogniserError;
use crate::shell::weights::{Manifest, TokenId};
use crate::understand::automaton::{Arc, Automaton, StateIndex};

/// An automaton and the spelling of its words.
pub struct Spelled<'a> {
    automaton: &'a Automaton,
    /// By state: the arcs, sorted by the tokens of their words.
    arcs: Vec<Vec<SpelledArc<'a>>>,
    /// By state: the greatest weight of an arc or an end.
    greatest: Vec<f32>,
    commas: Vec<bool>,
}

struct SpelledArc<'a> {
    tokens: &'a [TokenId],
    arc: &'a Arc,
}

/// Inside a word: the arcs of a state that agree with the tokens so far.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    state: StateIndex,
    arcs: Range<usize>,
    depth: usize,
}

impl Place {
    /// The state that the word leaves.
    pub const fn state(&self) -> StateIndex {
        self.state
    }
}

/// A step by one token: on inside a word, or over its end.
pub enum Step<'a> {
    /// The word goes on.
    Inside(Place),
    /// The word ends, and an arc was taken.
    Over(&'a Arc),
}

impl<'a> Spelled<'a> {
    /// Spells every word of a grammar, or names one that the weights do not know.
    pub fn new(automaton: &'a Automaton, manifest: &'a Manifest) -> Result<Self, RecogniserError> {
        let spell = |arc: &'a Arc| {
            let tokens = manifest.spelling(&arc.word);
            let unknown = || RecogniserError::UnknownWord { word: arc.word.clone() };
            tokens.map(|tokens| SpelledArc { tokens, arc }).ok_or_else(unknown)
        };
        let mut arcs = Vec::with_capacity(automaton.len());
        let mut greatest = Vec::with_capacity(automaton.len());
        let mut commas = Vec::with_capacity(automaton.len());
        for index in 0..automaton.len() {
            let state = automaton.state(StateIndex(index as u32));
            let mut spelled: Vec<_> = state.arcs.iter().map(spell).collect::<Result<_, _>>()?;
            spelled.sort_by_key(|arc| arc.tokens);
            arcs.push(spelled);
            let weights =
                state.arcs.iter().map(|arc| arc.weight).chain(state.ends.iter().map(|end| end.weight));
            greatest.push(weights.fold(f32::MIN, f32::max));
            commas.push(state.arcs.iter().any(|arc| arc.word == ","));
        }
        Ok(Self { automaton, arcs, greatest, commas })
    }

    /// The automaton that was spelled.
    pub const fn automaton(&self) -> &'a Automaton {
        self.automaton
    }

    /// The weight of a choice against the likeliest choice of its state: zero or less.
    ///
    /// Weights that sum to one would make every further word cost something, and a long number lose against a short
    /// one; the weights of the recogniser know already how long utterances are.
    pub fn relative(&self, state: StateIndex, weight: f32) -> f32 {
        (weight - self.greatest[state.0 as usize]).min(0.0)
    }

    /// Does the grammar itself say where a comma stands after this state?
    pub fn has_comma(&self, state: StateIndex) -> bool {
        self.commas[state.0 as usize]
    }

    /// The place before the first token of any word that leaves a state.
    pub fn before(&self, state: StateIndex) -> Place {
        Place { state, arcs: 0..self.arcs[state.0 as usize].len(), depth: 0 }
    }

    /// Every token that can follow at a place, with the steps it makes.
    pub fn steps(&self, place: &Place) -> Vec<(TokenId, Step<'a>)> {
        let arcs = &self.arcs[place.state.0 as usize];
        let mut steps = Vec::new();
        let mut at = place.arcs.start;
        while at < place.arcs.end {
            // Arcs whose word ended before this depth were stepped over; the rest have a token here.
            let Some(token) = arcs[at].tokens.get(place.depth).copied() else {
                at += 1;
                continue;
            };
            let alike = arcs[at..place.arcs.end].iter();
            let end = at + alike.take_while(|arc| arc.tokens.get(place.depth) == Some(&token)).count();
            let depth = place.depth + 1;
            let ending = arcs[at..end].iter().filter(|arc| arc.tokens.len() == depth);
            steps.extend(ending.map(|spelled| (token, Step::Over(spelled.arc))));
            if arcs[at..end].iter().any(|arc| arc.tokens.len() > depth) {
                steps.push((token, Step::Inside(Place { state: place.state, arcs: at..end, depth })));
            }
            at = end;
        }
        steps
    }
}
