//! Which findings are not to be believed, and why: the meter, or the one reading.

use crate::id::CheckId;

use super::Diagnosis;
use super::belief::{self, Belief};
use super::evidence::{Evidence, Found};
use super::instrument::Instrument;
use super::likelihood::wrong_reading;
use super::trouble::{Question, Trouble};

/// Something that would make findings say nothing of the machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// A lead or its fuse is open: touch the leads together.
    LeadOpen,
    /// The meter is on volts where ohms were asked for: look at the dial, and take it again.
    OnVolts,
    /// No cause explains this finding: take it again.
    Unexplained(CheckId),
}

/// From this probability on a doubt is worth the minute that it takes to settle; a wrong remedy costs hours.
pub const DOUBTFUL: f64 = 0.2;

/// Every doubt from [`DOUBTFUL`] on, most probable first.
pub fn doubts(trouble: &Trouble, evidence: &Evidence) -> Vec<(Doubt, f64)> {
    let belief = Belief::given(trouble, evidence);
    let unexplained = |(place, found): (usize, Found)| {
        let question = &trouble.questions[place];
        (Doubt::Unexplained(question.check.clone()), wrong(&belief, &found, question))
    };
    let meter = [(Doubt::LeadOpen, Instrument::LeadOpen), (Doubt::OnVolts, Instrument::OnVolts)];
    let meter = meter.map(|(doubt, instrument)| (doubt, belief.instrument(instrument)));
    let all = meter.into_iter().chain(evidence.of_machine(trouble).into_iter().map(unexplained));
    let mut all: Vec<(Doubt, f64)> = all.filter(|(_, p)| *p >= DOUBTFUL).collect();
    all.sort_by(|a, b| b.1.total_cmp(&a.1));
    all
}

impl Diagnosis {
    /// The checks of which something that was found looks as it would with the meter standing so.
    pub fn spoilt_by(&self, instrument: Instrument) -> Vec<CheckId> {
        let looks = |(check, found): &(&CheckId, &Found)| {
            let asked = self.trouble().question(check).map(|question| &question.asked);
            asked.is_some_and(|asked| {
                found.alternatives.iter().any(|a| instrument.may_have_shown(&a.finding, asked))
            })
        };
        self.evidence.iter().filter(looks).map(|(check, _)| check.clone()).collect()
    }
}

/// How probable it is that a finding is one of those that say nothing: under each cause, the part of its likelihood that is
/// owed to wrong readings.
fn wrong(belief: &Belief, found: &Found, question: &Question) -> f64 {
    let share = belief::wrong_share(found, question);
    let nothing = found.alternatives.iter();
    let nothing: f64 =
        nothing.map(|a| a.probability * wrong_reading(&a.finding, &question.asked, share)).sum();
    let with = |instrument| {
        let explained = belief::likelihoods(found, question, instrument);
        let believed = belief.with(instrument).into_iter().zip(explained).filter(|(p, _)| *p > 0.0);
        believed.map(|(p, l)| p * nothing / l).sum::<f64>()
    };
    Instrument::ALL.into_iter().map(with).sum()
}
