//! A grammar as one weighted automaton over words.
//!
//! States and arcs without empty transitions. The recogniser walks it word by word; whatever tags lie along the way
//! are the meaning. Knows nothing of tokens or sound.
//!
//! Invariant: the weights (natural logarithms of probabilities) of a state's arcs and of its end sum to at most one.

/// What the search multiplies a grammar's log-probabilities by before it adds them to those of the sound. Below one because
/// the recogniser's weights have learned much of the same prior in fitting.
pub const PRIOR_SCALE: f32 = 0.3;

/// A state of an automaton, as an index into its table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StateIndex(pub u32);

/// A word and where it leads.
#[derive(Clone, Debug, PartialEq)]
pub struct Arc {
    /// The word as the weights spell it: "seventy", "L", "to".
    pub word: String,
    /// Natural logarithm of the prior probability of taking this arc.
    pub weight: f32,
    /// The tags met on the way through this word, in order.
    pub tags: Vec<String>,
    /// The state reached.
    pub to: StateIndex,
}

/// What may end here, and how likely that is before anything is heard.
#[derive(Clone, Debug, PartialEq)]
pub struct End {
    /// Natural logarithm of the prior probability of ending here.
    pub weight: f32,
    /// Tags met between the last word and the end.
    pub tags: Vec<String>,
}

/// A state: what may follow, and whether the utterance may end here.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct State {
    /// What may follow.
    pub arcs: Vec<Arc>,
    /// The ways in which the utterance may end here.
    pub ends: Vec<End>,
}

/// A grammar over words. State 0 is the start.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Automaton {
    states: Vec<State>,
}

impl Automaton {
    /// Takes a table of states, the first being the start.
    ///
    /// # Panics
    /// If an arc leads out of the table: that is a bug of the compiler, not of a grammar.
    pub fn new(states: Vec<State>) -> Self {
        let inside = |arc: &Arc| (arc.to.0 as usize) < states.len();
        assert!(states.iter().flat_map(|s| &s.arcs).all(inside), "every arc leads to a state of the table");
        Self { states }
    }

    /// Where every utterance begins.
    pub const fn start(&self) -> StateIndex {
        StateIndex(0)
    }

    /// What may follow, and whether the utterance may end.
    pub fn state(&self, index: StateIndex) -> &State {
        &self.states[index.0 as usize]
    }

    /// How many states there are.
    pub fn len(&self) -> usize {
        self.states.len()
    }

    /// Is there no state at all?
    pub fn is_empty(&self) -> bool {
        self.states.is_empty()
    }

    /// Every word that can be heard, sorted, once.
    pub fn words(&self) -> Vec<&str> {
        let mut words: Vec<&str> =
            self.states.iter().flat_map(|s| &s.arcs).map(|arc| arc.word.as_str()).collect();
        words.sort_unstable();
        words.dedup();
        words
    }
}
