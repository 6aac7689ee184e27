//! Best-first search for the utterances of a grammar that the weights find most probable.
//!
//! A hypothesis is a row of tokens and a path through the automaton. Its score is the logarithm of the weights'
//! probability plus the scaled logarithm of the grammar's; neither ever rises as the row grows, so what is on the heap
//! bounds what can still be found. The search ends when so little probability is left there that it cannot matter
//! against what was found, or against what surely lies outside the grammar; or when the decoder was asked as often as
//! it may be: then what was not followed counts for nobody, and every candidate is that much less probable.
//!
//! Afterwards the best utterance's confusion class is scored too, however improbable the search found it.

use std::collections::{BTreeMap, BTreeSet, BinaryHeap};
use std::rc::Rc;

use super::RecogniserError;
use super::decoder::{Decoder, Remembering};
use super::spelling::{Place, Spelled, Step};
use crate::shell::weights::{Manifest, TokenId};
use crate::understand::automaton::{Arc, End, PRIOR_SCALE, StateIndex};
use crate::understand::confusion::misheard;
use crate::understand::heard::{Candidate, Heard};
use crate::understand::intent::Intent;
use crate::understand::matching;

/// How far the search goes and how its scores are weighed.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// What the grammar's log-probabilities are multiplied by; see [`PRIOR_SCALE`].
    pub prior_scale: f32,
    /// How probable an utterance outside the grammar is before anything is heard, against the same one inside.
    pub outside_odds: f32,
    /// The search ends when this share of the probability found is left on the heap.
    pub left: f32,
    /// The decoder is asked at most so often (one to two milliseconds each).
    pub most_asked: usize,
    /// A token less probable than this (natural logarithm) is not followed.
    pub least: f32,
    /// An utterance of the best one's confusion class is reported down to this share of the best one's probability.
    pub rival: f32,
    /// And for that the decoder is asked at most so often more.
    pub most_asked_for_rivals: usize,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            prior_scale: PRIOR_SCALE,
            outside_odds: 0.1,
            left: 0.01,
            most_asked: 60,
            least: -14.0,
            rival: 1e-3,
            most_asked_for_rivals: 20,
        }
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
    let free = free(decoder, manifest)?;
    let mut main = Search::new(spelled, manifest, settings);
    main.outside = f64::from(free.nothing);
    let text = manifest.text(&free.tokens);
    if matching::ends_with(spelled.automaton(), &matching::words(&text)) == 0.0 {
        main.outside += f64::from(settings.outside_odds * free.probability);
    }
    let mut complete = main.run(decoder)?;
    complete.sort_by(|a, b| b.cmp(a));
    if let Some(best) = complete.first() {
        let rivals = Search::of_rivals(best, spelled, manifest, settings).run(decoder)?;
        let known: BTreeSet<&[TokenId]> = complete.iter().map(|found| &*found.tokens).collect();
        let new: Vec<_> = rivals.into_iter().filter(|rival| !known.contains(&*rival.tokens)).collect();
        complete.extend(new);
    }
    let mut found = weigh(&complete, settings, meaning, free.nothing, main.not_followed);
    found.heard.free = text;
    found.asked = decoder.asked();
    found.bound_met = main.not_followed > 0.0;
    Ok(found)
}

/// What a decode without a grammar wrote, most probable token by token.
#[derive(Default)]
struct Free {
    tokens: Vec<TokenId>,
    probability: f32,
    /// The probability of "nothing for us".
    nothing: f32,
}

fn free<D: Decoder>(decoder: &mut Remembering<D>, manifest: &Manifest) -> Result<Free, RecogniserError> {
    /// Nobody says more in one breath; the weights have 64 positions for text.
    const LONGEST: usize = 48;
    let special = manifest.special;
    let nothing = decoder.next(&[])?[special.nothing as usize].exp();
    let mut free = Free { nothing, probability: 1.0, ..Free::default() };
    while free.tokens.len() < LONGEST {
        let next = decoder.next(&free.tokens)?;
        let best = next.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
        let (best, probability) = best.map_or((0, 0.0), |(token, log)| (token as TokenId, log.exp()));
        free.probability *= probability;
        if best >= special.end {
            break;
        }
        free.tokens.push(best);
    }
    Ok(free)
}

struct Search<'s, 'a> {
    spelled: &'s Spelled<'a>,
    manifest: &'s Manifest,
    settings: Settings,
    heap: BinaryHeap<Hypothesis<'a>>,
    /// The probability on the heap.
    on_heap: f64,
    pushed: usize,
    /// Only these rows of tokens, commas aside, and nothing less probable than this logarithm.
    only: Option<(Vec<Vec<TokenId>>, f32)>,
    /// What surely counts for something outside the grammar.
    outside: f64,
    /// The probability that was left on the heap when the bound on asking was met.
    not_followed: f64,
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

impl<'s, 'a> Search<'s, 'a> {
    /// More hypotheses than this are never looked at, whatever the automaton.
    const MOST: usize = 50_000;
    /// A hypothesis is followed to its likeliest continuation unless one on the heap is likelier by this much (a natural
    /// logarithm): a continuation costs the decoder one token, a change of hypothesis several.
    const AHEAD: f32 = 1.5;

    fn new(spelled: &'s Spelled<'a>, manifest: &'s Manifest, settings: Settings) -> Self {
        let heap = BinaryHeap::new();
        let mut search = Self {
            spelled,
            manifest,
            settings,
            heap,
            on_heap: 0.0,
            pushed: 0,
            only: None,
            outside: 0.0,
            not_followed: 0.0,
        };
        let at = At::Between { state: spelled.automaton().start(), comma: true };
        search.push(Hypothesis { score: 0.0, sound: 0.0, order: 0, tokens: Vec::new(), path: None, at });
        search
    }

    /// For what the best utterance is easily heard for, and nothing else.
    fn of_rivals(
        best: &Hypothesis,
        spelled: &'s Spelled<'a>,
        manifest: &'s Manifest,
        settings: Settings,
    ) -> Self {
        let (words, _) = best.words_and_tags();
        let spell = |words: Vec<&str>| -> Option<Vec<TokenId>> {
            let spelled = words.into_iter().filter(|word| *word != ",").map(|word| manifest.spelling(word));
            Some(spelled.collect::<Option<Vec<_>>>()?.concat())
        };
        let words: Vec<&str> = words.split(' ').collect();
        let rows = misheard(&words).into_iter().filter_map(spell).collect();
        let least = best.score + settings.rival.ln();
        Self { only: Some((rows, least)), ..Self::new(spelled, manifest, settings) }
    }

    fn push(&mut self, mut hypothesis: Hypothesis<'a>) {
        self.on_heap += f64::from(hypothesis.score).exp();
        self.pushed += 1;
        hypothesis.order = self.pushed;
        self.heap.push(hypothesis);
    }

    fn pop(&mut self) -> Option<Hypothesis<'a>> {
        let best = self.heap.pop()?;
        self.on_heap -= f64::from(best.score).exp();
        Some(best)
    }

    /// Whole utterances, the likeliest among the first.
    fn run<D: Decoder>(
        &mut self,
        decoder: &mut Remembering<D>,
    ) -> Result<Vec<Hypothesis<'a>>, RecogniserError> {
        let most_asked = match self.only {
            None => self.settings.most_asked,
            Some(_) => decoder.asked() + self.settings.most_asked_for_rivals,
        };
        // Every rival that is probable enough is wanted.
        let left = if self.only.is_none() { f64::from(self.settings.left) } else { 0.0 };
        let mut complete = Vec::new();
        let mut found = 0.0;
        let mut next = None;
        for _ in 0..Self::MOST {
            let Some(best) = next.take().or_else(|| self.pop()) else { break };
            let open = self.on_heap + f64::from(best.score).exp();
            if open <= (found + self.outside) * left {
                break;
            }
            if matches!(best.at, At::Over(_)) {
                found += f64::from(best.score).exp();
                complete.push(best);
            } else if decoder.asked() < most_asked || decoder.knows(&best.tokens) {
                next = self.follow(&best, &decoder.next(&best.tokens)?);
            } else {
                self.not_followed = open;
                break;
            }
        }
        Ok(complete)
    }

    /// Puts what may follow on the heap; gives the likeliest at once where it should be followed on.
    fn follow(&mut self, from: &Hypothesis<'a>, next: &[f32]) -> Option<Hypothesis<'a>> {
        let mut following = self.following(from, next);
        following.sort_by(|a, b| a.score.total_cmp(&b.score));
        let best = following.pop();
        for hypothesis in following {
            self.push(hypothesis);
        }
        let best = best?;
        if self.heap.peek().is_some_and(|other| other.score > best.score + Self::AHEAD) {
            self.push(best);
            return None;
        }
        Some(best)
    }

    fn following(&self, from: &Hypothesis<'a>, next: &[f32]) -> Vec<Hypothesis<'a>> {
        let special = self.manifest.special;
        let spelled = self.spelled;
        let mut following = Vec::new();
        let mut add = |token, prior, at, arc| following.extend(self.step(from, next, token, prior, at, arc));
        let place = match &from.at {
            At::Over(_) => return following,
            At::Inside(place) => place.clone(),
            At::Between { state, comma } => {
                if !comma && !spelled.has_comma(*state) {
                    add(special.comma, 0.0, At::Between { state: *state, comma: true }, None);
                }
                for end in &spelled.automaton().state(*state).ends {
                    let prior = spelled.relative(*state, end.weight);
                    add(special.end, prior, At::Over(end), None);
                }
                spelled.before(*state)
            }
        };
        for (token, step) in spelled.steps(&place) {
            match step {
                Step::Inside(place) => add(token, 0.0, At::Inside(place), None),
                Step::Over(arc) => {
                    let at = At::Between { state: arc.to, comma: token == special.comma };
                    let prior = spelled.relative(place.state(), arc.weight);
                    add(token, prior, at, Some(arc));
                }
            }
        }
        following
    }

    fn step(
        &self,
        from: &Hypothesis<'a>,
        next: &[f32],
        token: TokenId,
        prior: f32,
        at: At<'a>,
        arc: Option<&'a Arc>,
    ) -> Option<Hypothesis<'a>> {
        let probability = next[token as usize];
        if probability < self.settings.least {
            return None;
        }
        let mut tokens = from.tokens.clone();
        if token != self.manifest.special.end {
            tokens.push(token);
        }
        let sound = from.sound + probability;
        let score = from.score + probability + self.settings.prior_scale * prior;
        if let Some((rows, least)) = &self.only {
            let comma = self.manifest.special.comma;
            let plain = tokens.iter().filter(|token| **token != comma);
            let over = matches!(at, At::Over(_));
            let fits = |row: &Vec<TokenId>| {
                let so_far = plain.clone().count();
                row.iter().take(so_far).eq(plain.clone()) && (!over || row.len() == so_far)
            };
            if score < *least || !rows.iter().any(fits) {
                return None;
            }
        }
        let path =
            arc.map(|arc| Rc::new(Link { arc, before: from.path.clone() })).or_else(|| from.path.clone());
        Some(Hypothesis { score, sound, order: 0, tokens, path, at })
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
fn weigh(
    complete: &[Hypothesis],
    settings: Settings,
    meaning: Meaning,
    nothing: f32,
    not_followed: f64,
) -> Found {
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
    let sum: f64 = not_followed + meanings.values().map(|(_, weight)| weight).sum::<f64>();
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
    fn a_rival_is_reported_though_the_search_did_not_reach_it() {
        let open = ["fifteen ohms", "fifty ohms", "sixty ohms"];
        // Fifty is in the class of fifteen, sixty is not; each is far less than what the search leaves.
        check(
            &[("fifteen ohms", 0.992), ("fifty ohms", 0.004), ("sixty ohms", 0.004)],
            &open,
            &[("fifteen ohms", 0.996), ("fifty ohms", 0.004)],
            0.0,
        );
        // Below a thousandth nobody asks.
        check(&[("fifteen ohms", 0.9999), ("fifty ohms", 0.0001)], &open, &[("fifteen ohms", 1.0)], 0.0);
    }

    #[test]
    fn the_bound_ends_the_search_with_what_it_has() {
        let open = ["one two three four five six seven eight", "one five"];
        let said = [("one two three four five six seven eight", 0.9), ("one five", 0.1)];
        let found = find(&said, &open, Settings { most_asked: 9, ..Settings::default() });
        // The decode without grammar has asked all along the best one, so that one is found; the other is not, and its
        // share is nobody's.
        assert_eq!(found.heard.candidates.len(), 1, "{found:?}");
        assert!((found.heard.candidates[0].probability - 0.9).abs() < 0.02, "{found:?}");
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
