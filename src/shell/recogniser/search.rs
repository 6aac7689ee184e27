//! Best-first search for the utterances of a grammar that the weights find most probable.
//!
//! A hypothesis is a row of tokens and a path through the automaton. Its score is the logarithm of the weights'
//! probability plus the scaled logarithm of the grammar's; neither ever rises as the row grows, so complete
//! utterances come off the heap best first (uniform-cost search). Two bounds end it: so little probability is left on
//! the heap that it cannot matter, or the decoder was asked as often as it may be.

use std::collections::{BTreeMap, BTreeSet, BinaryHeap};
use std::rc::Rc;

use super::RecogniserError;
use super::decoder::{Decoder, Remembering};
use super::spelling::{Place, Spelled, Step};
use crate::shell::weights::{Manifest, TokenId};
use crate::understand::automaton::{Arc, End, StateIndex};
use crate::understand::heard::{Candidate, Heard};
use crate::understand::intent::Intent;

/// How far the search goes and how its scores are weighed.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// What the grammar's log-probabilities are multiplied by. Below one because the weights have learned much of
    /// the same prior in fitting.
    pub prior_scale: f32,
    /// How probable an utterance outside the grammar is before anything is heard, against the same one inside.
    pub outside_odds: f32,
    /// The search ends when this share of the probability found is left on the heap.
    pub left: f32,
    /// The decoder is asked at most so often (about a millisecond each).
    pub most_asked: usize,
    /// A token less probable than this (natural logarithm) is not followed.
    pub least: f32,
}

impl Default for Settings {
    fn default() -> Self {
        Self { prior_scale: 0.3, outside_odds: 0.1, left: 0.01, most_asked: 80, least: -14.0 }
    }
}

/// What a search found.
#[derive(Clone, Debug, Default)]
pub struct Found {
    /// The meanings with their probabilities.
    pub heard: Heard,
    /// The utterances behind them, best first: words, log-probability by the weights, by the grammar.
    pub paths: Vec<(String, f32, f32)>,
    /// How often the decoder was asked.
    pub asked: usize,
    /// Did the bound on asking end the search?
    pub bound_met: bool,
}

/// What a row of tags means; `None` for a row that means nothing we take.
pub type Meaning<'m> = &'m dyn Fn(&[String]) -> Option<Intent>;

/// Searches one utterance.
pub fn search<D: Decoder>(
    spelled: &Spelled,
    decoder: &mut Remembering<D>,
    manifest: &Manifest,
    settings: Settings,
    meaning: Meaning,
) -> Result<Found, RecogniserError> {
    let (free, nothing) = free(decoder, manifest)?;
    let mut search = Search { spelled, manifest, settings, heap: BinaryHeap::new(), on_heap: 0.0, pushed: 0 };
    search.push(Hypothesis {
        score: 0.0,
        sound: 0.0,
        order: 0,
        tokens: Vec::new(),
        path: None,
        at: At::Between { state: spelled.automaton().start(), comma: true },
    });
    let (complete, bound_met) = search.run(decoder)?;
    let mut found = weigh(&complete, settings, meaning, nothing);
    found.heard.free = manifest.text(&free);
    found.asked = decoder.asked();
    found.bound_met = bound_met;
    Ok(found)
}

/// The decode without a grammar, most probable token by token, and the probability of "nothing for us".
fn free<D: Decoder>(
    decoder: &mut Remembering<D>,
    manifest: &Manifest,
) -> Result<(Vec<TokenId>, f32), RecogniserError> {
    /// Nobody says more in one breath; the weights have 64 positions for text.
    const LONGEST: usize = 48;
    let special = manifest.special;
    let mut tokens = Vec::new();
    let nothing = decoder.next(&[])?[special.nothing as usize].exp();
    while tokens.len() < LONGEST {
        let next = decoder.next(&tokens)?;
        let best = next.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(token, _)| token);
        if best as TokenId >= special.end {
            break;
        }
        tokens.push(best as TokenId);
    }
    Ok((tokens, nothing))
}

struct Search<'s, 'a> {
    spelled: &'s Spelled<'a>,
    manifest: &'s Manifest,
    settings: Settings,
    heap: BinaryHeap<Hypothesis<'a>>,
    /// The probability on the heap.
    on_heap: f64,
    pushed: usize,
}

/// A beginning of an utterance, or a whole one.
#[derive(Clone)]
struct Hypothesis<'a> {
    /// Sound and scaled grammar together.
    score: f32,
    /// Log-probability by the weights.
    sound: f32,
    /// Decides between equal scores, so that a run repeats.
    order: usize,
    tokens: Vec<TokenId>,
    path: Option<Rc<Link<'a>>>,
    at: At<'a>,
}

/// An arc taken, and those before it.
struct Link<'a> {
    arc: &'a Arc,
    before: Option<Rc<Link<'a>>>,
}

#[derive(Clone)]
enum At<'a> {
    /// Between words; a comma cannot follow a comma, nor begin.
    Between { state: StateIndex, comma: bool },
    /// Inside a word.
    Inside(Place),
    /// At the end.
    Over(&'a End),
}

impl<'a> Search<'_, 'a> {
    /// More hypotheses than this are never looked at, whatever the automaton.
    const MOST: usize = 50_000;

    fn push(&mut self, mut hypothesis: Hypothesis<'a>) {
        self.on_heap += f64::from(hypothesis.score).exp();
        self.pushed += 1;
        hypothesis.order = self.pushed;
        self.heap.push(hypothesis);
    }

    /// Whole utterances, best first, and whether a bound was met.
    fn run<D: Decoder>(
        &mut self,
        decoder: &mut Remembering<D>,
    ) -> Result<(Vec<Hypothesis<'a>>, bool), RecogniserError> {
        let mut complete = Vec::new();
        let mut found = 0.0;
        for _ in 0..Self::MOST {
            let Some(best) = self.heap.pop() else { return Ok((complete, false)) };
            if self.on_heap <= found * f64::from(self.settings.left) {
                return Ok((complete, false));
            }
            self.on_heap -= f64::from(best.score).exp();
            if matches!(best.at, At::Over(_)) {
                found += f64::from(best.score).exp();
                complete.push(best);
            } else if decoder.asked() < self.settings.most_asked || decoder.knows(&best.tokens) {
                let next = decoder.next(&best.tokens)?;
                self.follow(&best, &next);
            } else {
                return Ok((complete, true));
            }
        }
        Ok((complete, true))
    }

    fn follow(&mut self, from: &Hypothesis<'a>, next: &[f32]) {
        let special = self.manifest.special;
        let spelled = self.spelled;
        let place = match &from.at {
            At::Over(_) => return,
            At::Inside(place) => place.clone(),
            At::Between { state, comma } => {
                if !comma && !spelled.has_comma(*state) {
                    self.step(
                        from,
                        next,
                        special.comma,
                        0.0,
                        At::Between { state: *state, comma: true },
                        None,
                    );
                }
                for end in &spelled.automaton().state(*state).ends {
                    let prior = spelled.relative(*state, end.weight);
                    self.step(from, next, special.end, prior, At::Over(end), None);
                }
                spelled.before(*state)
            }
        };
        for (token, step) in spelled.steps(&place) {
            match step {
                Step::Inside(place) => self.step(from, next, token, 0.0, At::Inside(place), None),
                Step::Over(arc) => {
                    let at = At::Between { state: arc.to, comma: token == special.comma };
                    let prior = spelled.relative(place.state(), arc.weight);
                    self.step(from, next, token, prior, at, Some(arc));
                }
            }
        }
    }

    fn step(
        &mut self,
        from: &Hypothesis<'a>,
        next: &[f32],
        token: TokenId,
        prior: f32,
        at: At<'a>,
        arc: Option<&'a Arc>,
    ) {
        let probability = next[token as usize];
        if probability < self.settings.least {
            return;
        }
        let mut tokens = from.tokens.clone();
        if token != self.manifest.special.end {
            tokens.push(token);
        }
        let path =
            arc.map(|arc| Rc::new(Link { arc, before: from.path.clone() })).or_else(|| from.path.clone());
        let sound = from.sound + probability;
        let score = from.score + probability + self.settings.prior_scale * prior;
        self.push(Hypothesis { score, sound, order: 0, tokens, path, at });
    }
}

impl Hypothesis<'_> {
    fn words_and_tags(&self) -> (String, Vec<String>) {
        let mut arcs = Vec::new();
        let mut link = self.path.as_ref();
        while let Some(taken) = link {
            arcs.push(taken.arc);
            link = taken.before.as_ref();
        }
        arcs.reverse();
        let words: Vec<&str> = arcs.iter().map(|arc| arc.word.as_str()).collect();
        let mut tags: Vec<String> = arcs.iter().flat_map(|arc| arc.tags.iter().cloned()).collect();
        if let At::Over(end) = self.at {
            tags.extend(end.tags.iter().cloned());
        }
        (words.join(" "), tags)
    }
}

/// Whole utterances to meanings: those that mean the same are added up, and the share outside is set beside them.
///
/// Inside and outside are compared by the sound alone, since the weights' probabilities sum to one over everything
/// that could be said; the grammar's prior only divides the inside.
fn weigh(complete: &[Hypothesis], settings: Settings, meaning: Meaning, nothing: f32) -> Found {
    let mut paths = Vec::new();
    let mut inside = 0.0_f64;
    let mut counted = BTreeSet::new();
    let mut meanings: BTreeMap<Intent, (String, f64)> = BTreeMap::new();
    for hypothesis in complete {
        let (words, tags) = hypothesis.words_and_tags();
        let scale = settings.prior_scale.max(f32::MIN_POSITIVE);
        paths.push((words.clone(), hypothesis.sound, (hypothesis.score - hypothesis.sound) / scale));
        let Some(intent) = meaning(&tags) else { continue };
        if counted.insert(&hypothesis.tokens) {
            inside += f64::from(hypothesis.sound).exp();
        }
        // The first is the best, so its words stay.
        meanings.entry(intent).or_insert((words, 0.0)).1 += f64::from(hypothesis.score).exp();
    }
    let nothing = f64::from(nothing);
    let beyond = nothing + f64::from(settings.outside_odds) * (1.0 - inside - nothing).max(0.0);
    let outside = if inside > 0.0 { beyond / (inside + beyond) } else { 1.0 };
    let sum: f64 = meanings.values().map(|(_, weight)| weight).sum();
    let share = |weight: f64| (weight / sum * (1.0 - outside)) as f32;
    let mut candidates: Vec<Candidate> = meanings
        .into_iter()
        .map(|(intent, (words, weight))| Candidate { words, intent, probability: share(weight) })
        .collect();
    candidates.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let heard = Heard { candidates, outside: outside as f32, free: String::new() };
    Found { heard, paths, asked: 0, bound_met: false }
}

impl PartialEq for Hypothesis<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Hypothesis<'_> {}

impl PartialOrd for Hypothesis<'_> {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Hypothesis<'_> {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.score.total_cmp(&other.score).then(other.order.cmp(&self.order))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shell::recogniser::decoder::LogProbabilities;
    use crate::shell::weights::Weights;
    use crate::understand::automaton::{Automaton, State};

    /// A decoder that believes in a few sentences, each with a probability; the rest is "nothing for us".
    struct Sentences<'m> {
        manifest: &'m Manifest,
        sentences: Vec<(Vec<TokenId>, f32)>,
    }

    impl<'m> Sentences<'m> {
        fn new(manifest: &'m Manifest, sentences: &[(&str, f32)]) -> Self {
            let spell = |(words, p): &(&str, f32)| {
                let tokens = words.split(' ').flat_map(|w| manifest.spelling(w).unwrap().to_vec());
                (tokens.chain([manifest.special.end]).collect(), *p)
            };
            Self { manifest, sentences: sentences.iter().map(spell).collect() }
        }
    }

    impl Decoder for Sentences<'_> {
        fn next(&mut self, so_far: &[TokenId]) -> Result<LogProbabilities, RecogniserError> {
            let mut next = vec![1e-9; self.manifest.token_count()];
            for (tokens, p) in self.sentences.iter().filter(|(tokens, _)| tokens.starts_with(so_far)) {
                next[tokens[so_far.len()] as usize] += p;
            }
            if so_far.is_empty() {
                let sum: f32 = self.sentences.iter().map(|(_, p)| p).sum();
                next[self.manifest.special.nothing as usize] += (1.0 - sum).max(0.0);
            }
            let sum: f32 = next.iter().sum();
            Ok(next.iter().map(|p| (p / sum).ln()).collect())
        }
    }

    /// A grammar of sentences, all as likely, each word its own tag.
    fn grammar(sentences: &[&str]) -> Automaton {
        let mut states = vec![State::default()];
        for sentence in sentences {
            let mut at = 0;
            for word in sentence.split(' ') {
                let to = StateIndex(states.len() as u32);
                states.push(State::default());
                states[at].arcs.push(Arc {
                    word: word.to_owned(),
                    weight: -1.0,
                    tags: vec![word.to_owned()],
                    to,
                });
                at = to.0 as usize;
            }
            states[at].ends.push(End { weight: 0.0, tags: Vec::new() });
        }
        Automaton::new(states)
    }

    fn find(said: &[(&str, f32)], open: &[&str], settings: Settings) -> Found {
        let manifest = Manifest::read(&Weights::folder()).unwrap();
        let automaton = grammar(open);
        let spelled = Spelled::new(&automaton, &manifest).unwrap();
        let mut decoder = Remembering::new(Sentences::new(&manifest, said));
        // "oh" and "zero" mean the same here; a single "sixty" means nothing.
        let meaning = |tags: &[String]| match tags {
            [only] if only == "sixty" => None,
            _ => Some(Intent::Digits(tags.join(" ").replace("oh", "zero"))),
        };
        search(&spelled, &mut decoder, &manifest, settings, &meaning).unwrap()
    }

    fn check(said: &[(&str, f32)], open: &[&str], expected: &[(&str, f32)], outside: f32) {
        let heard = find(said, open, Settings::default()).heard;
        let found: Vec<(&str, f32)> =
            heard.candidates.iter().map(|c| (c.words.as_str(), c.probability)).collect();
        assert_eq!(found.len(), expected.len(), "{said:?}: {heard:?}");
        for ((words, p), (expected, q)) in found.iter().zip(expected) {
            assert!(words == expected && (p - q).abs() < 0.02, "{said:?}: {heard:?}");
        }
        assert!((heard.outside - outside).abs() < 0.02, "{said:?}: {heard:?}");
    }

    #[test]
    fn meanings_come_with_their_probabilities() {
        let open = ["fifteen ohms", "fifty ohms", "one oh", "one zero", "sixty"];
        check(&[("fifteen ohms", 1.0)], &open, &[("fifteen ohms", 1.0)], 0.0);
        check(
            &[("fifteen ohms", 0.3), ("fifty ohms", 0.7)],
            &open,
            &[("fifty ohms", 0.7), ("fifteen ohms", 0.3)],
            0.0,
        );
        // A comma is heard silently, and two ways of saying one thing are one candidate.
        check(&[("fifteen , ohms", 1.0)], &open, &[("fifteen ohms", 1.0)], 0.0);
        check(&[("one oh", 0.4), ("one zero", 0.6)], &open, &[("one zero", 1.0)], 0.0);
    }

    #[test]
    fn what_lies_outside_is_told_apart() {
        let open = ["fifteen ohms", "sixty"];
        // Nothing for us; a word that the grammar does not open; a way of saying that means nothing.
        check(&[], &open, &[], 1.0);
        check(&[("what setting", 1.0)], &open, &[], 1.0);
        check(&[("sixty", 1.0)], &open, &[], 1.0);
        check(&[("fifteen ohms", 0.5)], &open, &[("fifteen ohms", 0.5)], 0.5);
        // Outside the grammar is a tenth as likely as inside before anything is heard.
        check(&[("fifteen ohms", 0.5), ("fifteen volts", 0.5)], &open, &[("fifteen ohms", 0.909)], 0.091);
    }

    #[test]
    fn the_bound_ends_the_search_with_what_it_has() {
        let open = ["one two three four five six seven eight", "one five"];
        let said = [("one two three four five six seven eight", 0.9), ("one five", 0.1)];
        let found = find(&said, &open, Settings { most_asked: 9, ..Settings::default() });
        // The decode without grammar has asked all along the best one, so that one is found; the other is not.
        assert_eq!(found.heard.candidates.len(), 1, "{found:?}");
        assert!(found.asked == 9 && found.bound_met, "{found:?}");
    }

    #[test]
    fn a_word_that_the_weights_do_not_know_is_named() {
        let manifest = Manifest::read(&Weights::folder()).unwrap();
        let automaton = grammar(&["fifteen compressors"]);
        let problem = Spelled::new(&automaton, &manifest).err().unwrap().to_string();
        assert_eq!(problem, "the weights do not know the word `compressors`");
    }
}
