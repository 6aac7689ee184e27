//! What the recogniser made of an utterance: values with probabilities, best first.

use serde::{Deserialize, Serialize};

use super::intent::{Anytime, Intent};

/// An utterance, recognised under a situation.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Heard {
    /// Different meanings, best first; two ways of saying one thing are one candidate. Probabilities include
    /// the share outside: they and `outside` sum to at most one.
    pub candidates: Vec<Candidate>,
    /// The share of the probability that lies outside the grammar (a remark, another word, noise).
    pub outside: f32,
    /// What a decode without any grammar wrote, for the log.
    pub free: String,
}

/// One meaning, with the words that said it best.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Candidate {
    /// The words, as written by the grammar.
    pub words: String,
    /// What they mean.
    pub intent: Intent,
    /// How probable it is that this was meant.
    pub probability: f32,
}

impl Candidate {
    /// Does it put right a reading that was read back?
    pub const fn is_correction(&self) -> bool {
        matches!(&self.intent, Intent::Report(report) if report.correction)
    }
}

impl Heard {
    /// Below this probability of the best candidate the answer is "not understood", never a guess: a value taken wrongly
    /// costs a technician more than saying it again.
    pub const WORKING_THRESHOLD: f32 = 0.7;

    /// From this probability on, a reading that is too doubtful to be taken is put back to whoever said it: a yes is shorter
    /// than the reading, and heard more surely. (Rejection, explicit and implicit confirmation by thresholds: Jurafsky and
    /// Martin, "Speech and Language Processing", on dialogue systems; from memory.)
    pub const WORTH_PUTTING_BACK: f32 = 0.4;

    /// A share outside the grammar above which an utterance is a remark, not an answer.
    const REMARK: f32 = 0.5;

    /// Does most of it lie outside the grammar?
    pub fn is_remark(&self) -> bool {
        self.outside > Self::REMARK
    }

    /// The best candidate, if it is probable enough to be acted on.
    pub fn understood(&self) -> Option<&Candidate> {
        self.candidates.first().filter(|best| best.probability >= Self::WORKING_THRESHOLD)
    }

    /// The best candidate, if it is too doubtful to be acted on and probable enough to be put back.
    pub fn doubtful(&self) -> Option<&Candidate> {
        let doubtful = Self::WORTH_PUTTING_BACK..Self::WORKING_THRESHOLD;
        self.candidates.first().filter(|best| doubtful.contains(&best.probability) && !self.is_remark())
    }

    /// Was "stop" understood?
    pub fn says_stop(&self) -> bool {
        self.says(Anytime::Stop)
    }

    /// Was this word understood?
    pub fn says(&self, word: Anytime) -> bool {
        self.understood().is_some_and(|best| best.intent == Intent::Anytime(word))
    }

    /// What two independent opinions agree on: every meaning is as probable as the more doubtful of them finds it. "Stop"
    /// needs only one.
    #[must_use]
    pub fn agreeing_with(mut self, other: &Self) -> Self {
        for candidate in &mut self.candidates {
            if candidate.intent == Intent::Anytime(Anytime::Stop) {
                continue;
            }
            let again = other.candidates.iter().find(|other| other.intent == candidate.intent);
            candidate.probability = candidate.probability.min(again.map_or(0.0, |again| again.probability));
        }
        self.candidates.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        self.candidates.retain(|candidate| candidate.probability > 0.0);
        let inside: f32 = self.candidates.iter().map(|candidate| candidate.probability).sum();
        self.outside = self.outside.max(other.outside).min(1.0 - inside.min(1.0));
        self
    }

    /// One sure candidate: what typed words and keys give.
    pub fn surely(words: &str, intent: Intent) -> Self {
        let candidate = Candidate { words: words.to_owned(), intent, probability: 1.0 };
        Self { candidates: vec![candidate], outside: 0.0, free: words.to_owned() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(candidates: &[(Intent, f32)], outside: f32) -> Heard {
        let candidate = |(intent, probability): &(Intent, f32)| Candidate {
            words: String::new(),
            intent: intent.clone(),
            probability: *probability,
        };
        Heard { candidates: candidates.iter().map(candidate).collect(), outside, free: String::new() }
    }

    #[test]
    fn two_opinions_count_as_the_more_doubtful() {
        let stop = Intent::Anytime(Anytime::Stop);
        let check = |a: &[(Intent, f32)], b: &[(Intent, f32)], expected: &[(Intent, f32)]| {
            let agreed = heard(a, 0.1).agreeing_with(&heard(b, 0.1));
            let found: Vec<_> = agreed.candidates.iter().map(|c| (c.intent.clone(), c.probability)).collect();
            assert_eq!(found, expected);
        };
        check(&[(Intent::Yes, 0.9)], &[(Intent::Yes, 0.8)], &[(Intent::Yes, 0.8)]);
        check(&[(Intent::Yes, 0.9)], &[(Intent::No, 0.9)], &[]);
        check(&[(Intent::Yes, 0.9)], &[], &[]);
        check(
            &[(Intent::Yes, 0.6), (Intent::No, 0.3)],
            &[(Intent::No, 0.7), (Intent::Yes, 0.2)],
            &[(Intent::No, 0.3), (Intent::Yes, 0.2)],
        );
        // Stopping is always safe.
        check(&[(stop.clone(), 0.9)], &[(Intent::Yes, 0.9)], &[(stop, 0.9)]);
    }
}
