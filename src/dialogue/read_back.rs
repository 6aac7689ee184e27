//! When is what was heard put to the question before it counts? Where it would change what happens next.
//!
//! A reading is always read back. As a rule that rides in the next sentence, and the technician goes on or puts it right;
//! only where something hangs on it is it read back digit by digit and a yes waited for.

use crate::reading::Finding;
use crate::understand::heard::{Candidate, Heard};

/// When a reading waits for a yes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum ReadBack {
    /// Where what else may have been meant would lead elsewhere.
    #[default]
    WhereItMatters,
    /// Always. For comparison, and where nothing else will do.
    Always,
    /// Never. For comparison only.
    Never,
}

/// What was read back and denied since the question was asked: it is hardly what is said again, however much it sounds so.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Denied<T>(Vec<T>);

impl<T> Default for Denied<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<T: PartialEq> Denied<T> {
    /// Whoever denies more is asked about the first once more.
    const MOST: usize = 3;
    /// So often what was read back rightly is denied (assumed, as of what is nodded through).
    const BY_MISTAKE: f32 = 0.02;

    /// This too; what was denied longest ago is forgotten where it becomes too much.
    pub(super) fn and(mut self, value: T) -> Self {
        self.0.retain(|known| *known != value);
        self.0.push(value);
        let over = self.0.len().saturating_sub(Self::MOST);
        self.0.drain(..over);
        self
    }

    /// Was this denied?
    pub(super) fn has(&self, value: &T) -> bool {
        self.0.contains(value)
    }

    /// What an utterance most probably says, of all that `says` finds in it.
    pub(super) fn likeliest<'h>(
        &self,
        heard: &'h Heard,
        says: impl Fn(&Candidate) -> Option<T>,
    ) -> Option<(T, &'h Candidate)> {
        let mut said: Vec<(T, &Candidate, f32)> = Vec::new();
        for candidate in &heard.candidates {
            let Some(value) = says(candidate) else { continue };
            let meant = if self.has(&value) { Self::BY_MISTAKE } else { 1.0 - Self::BY_MISTAKE };
            let weight = candidate.probability * meant;
            match said.iter_mut().find(|(known, ..)| *known == value) {
                Some((.., sum)) => *sum += weight,
                None => said.push((value, candidate, weight)),
            }
        }
        // They come in order, so that the first of equals is kept.
        let best = said.into_iter().reduce(|best, other| if other.2 > best.2 { other } else { best });
        best.map(|(value, candidate, _)| (value, candidate))
    }
}

/// What was heard, and what may have been meant instead.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Meant {
    /// What was heard, and how probably it was meant.
    pub(super) heard: (Finding, f32),
    /// The recogniser's other candidates.
    pub(super) others: Vec<(Finding, f32)>,
    /// What is easily confused with what was heard, and is no candidate: it shares what is left of the probability.
    pub(super) confused: Vec<Finding>,
}

impl ReadBack {
    /// From this probability on that something else was meant, and that it leads elsewhere, a yes is worth asking for:
    /// `leadhand simulate --read-back` shows what the choice brings.
    pub const WORTH_ASKING: f32 = 0.03;

    /// Is a yes to be waited for? `elsewhere` tells whether a finding would lead to another verdict, remedy or next check
    /// than what was heard; it is asked only where that decides.
    pub(super) fn asks(self, meant: &Meant, elsewhere: impl Fn(&Finding) -> bool) -> bool {
        match self {
            Self::Always => true,
            Self::Never => false,
            Self::WhereItMatters => {
                meant.in_doubt() >= Self::WORTH_ASKING && meant.at_stake(elsewhere) >= Self::WORTH_ASKING
            }
        }
    }
}

impl Meant {
    /// How probable it is that something else was meant.
    fn in_doubt(&self) -> f32 {
        1.0 - self.heard.1
    }

    /// How probable it is that something else was meant that leads elsewhere. What nobody can name may lead anywhere.
    fn at_stake(&self, elsewhere: impl Fn(&Finding) -> bool) -> f32 {
        let named: f32 = self.others.iter().map(|(_, probability)| probability).sum();
        let leads: f32 = self
            .others
            .iter()
            .filter(|(other, _)| elsewhere(other))
            .map(|(_, probability)| probability)
            .sum();
        let unnamed = (self.in_doubt() - named).max(0.0);
        let astray = self.confused.iter().filter(|other| elsewhere(other)).count();
        let share = if self.confused.is_empty() { 1.0 } else { astray as f32 / self.confused.len() as f32 };
        leads + unnamed * share
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::understand::intent::Intent;

    fn named(name: &str) -> Finding {
        Finding::Outcome(name.to_owned())
    }

    fn meant(heard: f32, others: &[(&str, f32)], confused: &[&str]) -> Meant {
        Meant {
            heard: (named("heard"), heard),
            others: others.iter().map(|(name, probability)| (named(name), *probability)).collect(),
            confused: confused.iter().map(|name| named(name)).collect(),
        }
    }

    #[test]
    fn a_yes_is_asked_for_where_something_hangs_on_it() {
        // What begins with "far" leads elsewhere.
        let far = |finding: &Finding| matches!(finding, Finding::Outcome(name) if name.starts_with("far"));
        for (what, meant, asks) in [
            ("heard surely", meant(0.99, &[("far", 0.01)], &[]), false),
            ("a candidate that leads elsewhere", meant(0.9, &[("far", 0.1)], &[]), true),
            ("a candidate that leads the same way", meant(0.9, &[("near", 0.1)], &[]), false),
            ("many that lead the same way", meant(0.5, &[("near", 0.3), ("nearer", 0.2)], &[]), false),
            (
                "several that lead elsewhere",
                meant(0.9, &[("near", 0.06), ("far", 0.02), ("farther", 0.02)], &[]),
                true,
            ),
            ("nobody knows what else", meant(0.9, &[], &[]), true),
            ("its class leads the same way", meant(0.9, &[], &["near", "nearer"]), false),
            ("its class leads elsewhere", meant(0.9, &[], &["near", "far"]), true),
            (
                "little of its class leads elsewhere",
                meant(0.95, &[], &["near", "nearer", "nearest", "far"]),
                false,
            ),
            ("the candidates are all there is", meant(0.9, &[("near", 0.1)], &["far"]), false),
        ] {
            assert_eq!(ReadBack::WhereItMatters.asks(&meant, far), asks, "{what}");
            assert!(ReadBack::Always.asks(&meant, far) && !ReadBack::Never.asks(&meant, far), "{what}");
        }
    }

    #[test]
    fn what_was_denied_is_weighed_little() {
        let heard = |candidates: &[(&str, f32)]| Heard {
            candidates: candidates
                .iter()
                .map(|(words, probability)| Candidate {
                    words: (*words).to_owned(),
                    intent: Intent::Yes,
                    probability: *probability,
                })
                .collect(),
            ..Heard::default()
        };
        let two = heard(&[("fifteen", 0.9), ("fifty", 0.08)]);
        let sure = heard(&[("fifteen", 0.99), ("fifty", 0.005)]);
        let says = |candidate: &Candidate| Some(candidate.words.clone());
        for (heard, denied, expected) in [
            (&two, &[][..], "fifteen"),
            (&two, &["fifteen"], "fifty"),
            (&two, &["fifty"], "fifteen"),
            (&two, &["fifteen", "fifty"], "fifteen"),
            (&sure, &["fifteen"], "fifteen"),
            // Of more than three the first is forgotten.
            (&two, &["fifteen", "a", "b", "c"], "fifteen"),
        ] {
            let all = denied.iter().fold(Denied::default(), |all, one| all.and((*one).to_owned()));
            let (value, candidate) = all.likeliest(heard, says).expect("something was heard");
            assert_eq!((value.as_str(), candidate.words.as_str()), (expected, expected), "{denied:?}");
        }
        assert!(Denied::<String>::default().likeliest(&two, |_| None).is_none());
    }

    #[test]
    fn what_was_heard_surely_is_not_reckoned_through() {
        let sure = meant(1.0, &[], &["far"]);
        assert!(!ReadBack::WhereItMatters.asks(&sure, |_| unreachable!("no plan for a sure reading")));
    }
}
