//! Towards a live state: the jumper put in dead, the hazard spoken and answered, the supply switched on.

use crate::id::CheckId;
use crate::model::appliance::State;
use crate::record::entry::What;
use crate::safety::{Refusal, Supply};
use crate::say::Prompt;
use crate::understand::intent::{Acknowledgement, Intent};
use crate::understand::situation::Kind;

use super::super::bench::Bench;
use super::super::outbox::Outbox;
use super::making_safe::{MakingSafe, acknowledge};
use super::measuring::Measuring;
use super::{Answer, Phase, Question};

/// How far it has come, and for which check.
#[derive(Clone, Debug, PartialEq)]
pub(in super::super) enum GoingLive {
    /// A jumper goes in, proved dead.
    PuttingJumperIn(CheckId),
    /// The hazard is spoken and waits for its deliberate answer.
    Warning(CheckId),
    /// The machine is switched on.
    SwitchingOn(CheckId),
}

impl GoingLive {
    /// The first step towards a check's live state.
    pub(super) fn begin(bench: &Bench, check: CheckId) -> Phase {
        if bench.interlock.supply() == Supply::Unknown {
            return Phase::MakingSafe(MakingSafe::Isolating);
        }
        let needs_jumper = bench.state_of(bench.check(&check)).jumper.is_some();
        if needs_jumper == bench.interlock.jumper_in() {
            return Phase::GoingLive(Self::Warning(check));
        }
        // A jumper goes in or out only at dead work.
        match (bench.interlock.permit_dead().is_ok(), needs_jumper) {
            (true, true) => Phase::GoingLive(Self::PuttingJumperIn(check)),
            (true, false) => Phase::MakingSafe(MakingSafe::TakingJumperOut),
            (false, _) => Phase::MakingSafe(MakingSafe::Isolating),
        }
    }

    pub(in super::super) const fn check(&self) -> &CheckId {
        match self {
            Self::PuttingJumperIn(check) | Self::Warning(check) | Self::SwitchingOn(check) => check,
        }
    }

    fn state<'b>(&self, bench: &'b Bench) -> &'b State {
        bench.state_of(bench.check(self.check()))
    }

    /// What is dangerous in the state to come; that it is live always is.
    fn danger(&self, bench: &Bench) -> String {
        self.state(bench)
            .danger
            .clone()
            .unwrap_or_else(|| "The supply is on then. Fingers behind the guards.".into())
    }

    pub(in super::super) fn ask(&self, bench: &mut Bench, out: &mut Outbox) -> Result<Question, Refusal> {
        Ok(match self {
            Self::PuttingJumperIn(_) => {
                let permit = bench.interlock.permit_jumper_in()?;
                out.record(What::Jumper { fitted: true });
                let how = self.state(bench).jumper.clone().unwrap_or_default();
                out.say(&Prompt::JumperIn { how, permit });
                Question::new(bench.situation(Kind::Step), "jumper-in", "done").in_words()
            }
            Self::Warning(id) => {
                let check = bench.check(id).clone();
                bench.interlock.hazard_spoken();
                if let Some(why) = &check.why_live {
                    out.say(&Prompt::WhyLive(why.clone()));
                }
                if !std::mem::replace(&mut bench.warned, true) {
                    out.say(&Prompt::Protection);
                }
                if !bench.prepared.is_empty() {
                    out.say(&Prompt::CoversOff);
                }
                out.say(&Prompt::LiveHazard(self.danger(bench)));
                let mut situation = bench.situation(Kind::Acknowledge).carefully();
                if let Some((from, to)) = check.points() {
                    out.say(&Prompt::AskLiveAt { from: bench.point_name(from), to: bench.point_name(to) });
                    situation.asked = Some((from.clone(), to.clone()));
                } else {
                    out.say(&Prompt::AskLiveClear);
                }
                Question::new(situation, &format!("ack {id}"), "the word, then what I named")
            }
            Self::SwitchingOn(_) => {
                let permit = bench.interlock.permit_energise()?;
                bench.record_supply(out, "switched on for a live check");
                let state = self.state(bench);
                out.say(&Prompt::GoLive { make: state.make.clone(), permit });
                Question::new(bench.situation(Kind::Step), &format!("live {}", state.id), "done").in_words()
            }
        })
    }

    pub(in super::super) fn answer(self, bench: &mut Bench, out: &mut Outbox, answer: &Answer<'_>) -> Phase {
        match (&self, &answer.best.intent) {
            (Self::PuttingJumperIn(check), Intent::Done) => Phase::GoingLive(Self::Warning(check.clone())),
            (Self::Warning(check), Intent::Acknowledge(said)) if self.answers(bench, said) => {
                let hazard = self.danger(bench);
                if acknowledge(bench, out, answer, hazard) {
                    return Phase::GoingLive(Self::SwitchingOn(check.clone()));
                }
                Phase::GoingLive(self)
            }
            (Self::Warning(_), _) => {
                out.say(&Prompt::NotAcknowledged);
                Phase::GoingLive(self)
            }
            (Self::SwitchingOn(check), Intent::Done) => {
                bench.state = Some(self.state(bench).id.clone());
                Measuring::asking(check.clone())
            }
            _ => {
                out.say(&Prompt::NotHere);
                Phase::GoingLive(self)
            }
        }
    }

    /// Does an acknowledgement name what this step asked to be named?
    fn answers(&self, bench: &Bench, said: &Acknowledgement) -> bool {
        match (bench.check(self.check()).points(), said) {
            (Some(asked), Acknowledgement::LiveAt(a, b)) => asked == (a, b) || asked == (b, a),
            (None, Acknowledgement::LiveAndClear) => true,
            _ => false,
        }
    }
}
