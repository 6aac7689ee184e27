//! The states of an automaton being built: equal futures are one state, equal first words one arc.

use std::collections::BTreeMap;

use super::super::automaton::{Arc, Automaton, End, State, StateIndex};

/// Tags in order.
pub type Tags = Vec<String>;

/// What may come next, with its probabilities: a state that has no number yet.
#[derive(Clone, Debug, Default)]
pub struct Next {
    /// By label: the probability, and the state reached.
    arcs: BTreeMap<u32, (f64, u32)>,
    /// By tags: the probability of ending.
    ends: BTreeMap<u32, f64>,
}

impl Next {
    fn is_dead(&self) -> bool {
        self.arcs.is_empty() && self.ends.is_empty()
    }

    /// What makes two states one: weights are compared to within about one part in a hundred.
    fn key(&self) -> Key {
        let coarse = |p: f64| (p.ln() * 100.0).round() as i32;
        let arcs = self.arcs.iter().map(|(&label, &(p, to))| (label, coarse(p), to)).collect();
        (arcs, self.ends.iter().map(|(&tags, &p)| (tags, coarse(p))).collect())
    }
}

type Key = (Vec<(u32, i32, u32)>, Vec<(u32, i32)>);

/// All states so far.
#[derive(Default)]
pub struct Table {
    states: Vec<Next>,
    by_key: BTreeMap<Key, u32>,
    /// Words with their tags, numbered; the empty word labels ends.
    labels: Vec<(String, Tags)>,
    by_label: BTreeMap<(String, Tags), u32>,
    /// Mixtures already made: states with their shares in thousandths.
    mixed: BTreeMap<Vec<(u32, u32)>, u32>,
}

impl Table {
    /// How many states there are.
    pub fn len(&self) -> usize {
        self.states.len()
    }

    /// The state where the utterance ends.
    pub fn end(&mut self) -> u32 {
        let label = self.label("", &Tags::new());
        self.intern(Next { arcs: BTreeMap::new(), ends: BTreeMap::from([(label, 1.0)]) })
    }

    /// A word with its tags, then a state; nothing at all if that state leads nowhere.
    pub fn word(&mut self, word: &str, tags: &Tags, then: u32) -> Next {
        if self.states[then as usize].is_dead() {
            return Next::default();
        }
        let label = self.label(word, tags);
        Next { arcs: BTreeMap::from([(label, (1.0, then))]), ends: BTreeMap::new() }
    }

    /// Tags without a word, then a state: the tags join whatever comes next.
    pub fn tagged(&mut self, tags: &Tags, then: u32) -> Next {
        let next = self.states[then as usize].clone();
        if tags.is_empty() {
            return next;
        }
        let arcs = next.arcs.into_iter().map(|(label, arc)| (self.prefixed(tags, label), arc)).collect();
        let ends = next.ends.into_iter().map(|(label, p)| (self.prefixed(tags, label), p)).collect();
        Next { arcs, ends }
    }

    /// One of several, each with its probability. Arcs of one label become one arc to a mixture of their states.
    pub fn mix(&mut self, parts: Vec<(f64, Next)>) -> Next {
        let mut arcs: BTreeMap<u32, Vec<(f64, u32)>> = BTreeMap::new();
        let mut ends: BTreeMap<u32, f64> = BTreeMap::new();
        for (share, next) in parts.into_iter().filter(|(share, _)| *share > 0.0) {
            for (label, (p, to)) in next.arcs {
                arcs.entry(label).or_default().push((share * p, to));
            }
            for (label, p) in next.ends {
                *ends.entry(label).or_default() += share * p;
            }
        }
        let joined = arcs.into_iter().map(|(label, targets)| {
            let total: f64 = targets.iter().map(|(p, _)| p).sum();
            (label, (total, self.mixture(&targets, total)))
        });
        Next { arcs: joined.collect(), ends }
    }

    /// One state for several, each with its share.
    fn mixture(&mut self, targets: &[(f64, u32)], total: f64) -> u32 {
        let mut shares: BTreeMap<u32, f64> = BTreeMap::new();
        for (p, to) in targets {
            *shares.entry(*to).or_default() += p / total;
        }
        if shares.len() == 1 {
            return targets[0].1;
        }
        let key = shares.iter().map(|(&to, share)| (to, (share * 1000.0).round() as u32)).collect();
        if let Some(&state) = self.mixed.get(&key) {
            return state;
        }
        let parts = shares.iter().map(|(&to, &share)| (share, self.states[to as usize].clone())).collect();
        let next = self.mix(parts);
        let state = self.intern(next);
        self.mixed.insert(key, state);
        state
    }

    /// The number of a state, old or new.
    pub fn intern(&mut self, next: Next) -> u32 {
        let fresh = u32::try_from(self.states.len()).expect("states are bounded far below u32");
        let state = *self.by_key.entry(next.key()).or_insert(fresh);
        if state == fresh {
            self.states.push(next);
        }
        state
    }

    fn label(&mut self, word: &str, tags: &Tags) -> u32 {
        let label = (word.to_owned(), tags.clone());
        let fresh = u32::try_from(self.labels.len()).expect("labels are bounded far below u32");
        let number = *self.by_label.entry(label.clone()).or_insert(fresh);
        if number == fresh {
            self.labels.push(label);
        }
        number
    }

    fn prefixed(&mut self, tags: &Tags, label: u32) -> u32 {
        let (word, after) = self.labels[label as usize].clone();
        let all = tags.iter().cloned().chain(after).collect();
        self.label(&word, &all)
    }

    /// The states reached from a start, renumbered in the order they are met.
    pub fn automaton(mut self, start: Next) -> Automaton {
        let start = self.intern(start);
        let mut order = vec![start];
        let mut numbers = BTreeMap::from([(start, 0_u32)]);
        let mut done = 0;
        while let Some(&state) = order.get(done) {
            for &(_, to) in self.states[state as usize].arcs.values() {
                numbers.entry(to).or_insert_with(|| {
                    order.push(to);
                    u32::try_from(order.len() - 1).expect("states are bounded far below u32")
                });
            }
            done += 1;
        }
        Automaton::new(order.iter().map(|&state| self.state(state, &numbers)).collect())
    }

    fn state(&self, state: u32, numbers: &BTreeMap<u32, u32>) -> State {
        let next = &self.states[state as usize];
        let arc = |(label, (p, to)): (&u32, &(f64, u32))| {
            let (word, tags) = self.labels[*label as usize].clone();
            Arc { word, weight: p.ln() as f32, tags, to: StateIndex(numbers[to]) }
        };
        let end = |(label, p): (&u32, &f64)| End {
            weight: p.ln() as f32,
            tags: self.labels[*label as usize].1.clone(),
        };
        State { arcs: next.arcs.iter().map(arc).collect(), ends: next.ends.iter().map(end).collect() }
    }
}
