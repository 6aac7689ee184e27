//! Isolating the machine and proving it dead: known source, every pair of the work, known source again.

use crate::id::PointId;
use crate::quantity::Unit;
use crate::reading::Reading;
use crate::record::entry::What;
use crate::safety::evidence::{self, Source, Work};
use crate::safety::{ProofStage, Refusal, Supply};
use crate::say::Prompt;
use crate::understand::intent::{Acknowledgement, Anytime, Control, Intent};
use crate::understand::situation::Kind;

use super::super::bench::Bench;
use super::super::outbox::Outbox;
use super::{Answer, Phase, Question, measuring};

/// How far it has come.
#[derive(Clone, Debug, PartialEq)]
pub(in super::super) enum MakingSafe {
    /// Is the meter fit?
    AskingMeter,
    /// Cut the supply off.
    Isolating,
    /// The live source is to be touched.
    WarningOfSource,
    /// First reading of the known source.
    ReadingSource,
    /// The pair of the work with this index.
    ReadingWork {
        /// Volts of the known source.
        source: f64,
        /// Index of the pair.
        pair: usize,
    },
    /// Second reading of the known source.
    ReadingSourceAgain {
        /// Volts of the first reading.
        source: f64,
    },
    /// A jumper is in and comes out before anything else.
    TakingJumperOut,
}

impl MakingSafe {
    /// Is something to be done, so that a reading answers nothing?
    pub(super) const fn is_action(&self) -> bool {
        matches!(self, Self::Isolating | Self::TakingJumperOut)
    }

    pub(in super::super) fn ask(&self, bench: &mut Bench, out: &mut Outbox) -> Result<Question, Refusal> {
        Ok(match self {
            Self::AskingMeter => {
                out.say(&Prompt::AskMeter);
                Question::new(bench.situation(Kind::YesNo), "meter", "yes")
            }
            Self::Isolating => isolate(bench, out),
            Self::WarningOfSource => {
                bench.interlock.hazard_spoken();
                out.say(&Prompt::SourceHazard { source: bench.appliance.known_source.clone() });
                Question::new(
                    bench.situation(Kind::Acknowledge).carefully(),
                    "source-ack",
                    "the word, then that you are clear",
                )
            }
            Self::ReadingSource => ask_source(bench, out, false)?,
            Self::ReadingSourceAgain { .. } => ask_source(bench, out, true)?,
            Self::ReadingWork { pair, .. } => {
                let permit = bench.interlock.permit_absence()?;
                let (from, to) = bench.appliance.prove_dead[*pair].clone();
                let (a, b) = (bench.point_name(&from), bench.point_name(&to));
                out.say(&Prompt::ReadAbsence { from: a, to: b, permit });
                let topic = format!("dead {from} {to}");
                let situation = bench.reading_situation(Some((from, to)), vec![Unit::Volts]).carefully();
                Question::new(situation, &topic, "zero volts")
            }
            Self::TakingJumperOut => {
                let permit = bench.interlock.permit_jumper_out()?;
                out.say(&Prompt::JumperOut { permit });
                Question::new(bench.situation(Kind::Step), "jumper-out", "done")
            }
        })
    }

    pub(in super::super) fn answer(self, bench: &mut Bench, out: &mut Outbox, answer: &Answer<'_>) -> Phase {
        match (&self, &answer.best.intent) {
            (Self::AskingMeter, Intent::Yes) => Phase::MakingSafe(Self::Isolating),
            (Self::AskingMeter, Intent::No) => {
                out.say(&Prompt::MeterNotFit);
                Phase::MakingSafe(self)
            }
            (Self::Isolating, Intent::Control(Control::Others)) => {
                out.say(&Prompt::PlugNotHeld);
                Phase::MakingSafe(self)
            }
            (
                Self::AskingMeter
                | Self::ReadingSource
                | Self::ReadingWork { .. }
                | Self::ReadingSourceAgain { .. },
                Intent::Trouble(trouble),
            ) => {
                out.say(&Prompt::Trouble(*trouble));
                Phase::MakingSafe(self)
            }
            (
                Self::Isolating,
                Intent::Done
                | Intent::Yes
                | Intent::Anytime(Anytime::PowerOff)
                | Intent::Control(Control::Mine),
            ) => {
                bench.interlock.isolated();
                bench.record_supply(out, "the technician cut it off");
                Phase::MakingSafe(Self::WarningOfSource)
            }
            (Self::WarningOfSource, Intent::Acknowledge(Acknowledgement::LiveAndClear)) => {
                let source = bench.appliance.known_source.clone();
                let hazard = Prompt::SourceHazard { source }.line().text;
                let counts = acknowledge(bench, out, answer, hazard);
                Phase::MakingSafe(if counts { Self::ReadingSource } else { self })
            }
            (Self::WarningOfSource, _) => {
                out.say(&Prompt::NotAcknowledged);
                Phase::MakingSafe(self)
            }
            (
                Self::ReadingSource | Self::ReadingWork { .. } | Self::ReadingSourceAgain { .. },
                Intent::Report(report),
            ) => {
                if answer.best.probability < SURE {
                    out.say(&Prompt::SayAgain);
                    return Phase::MakingSafe(self);
                }
                if let Self::ReadingWork { pair, .. } = &self
                    && let (from, to) = &bench.appliance.prove_dead[*pair]
                    && measuring::names_other_points(report, (from, to))
                {
                    let (from, to) = (bench.point_name(from), bench.point_name(to));
                    out.say(&Prompt::OtherPoints { from, to });
                    return Phase::MakingSafe(self);
                }
                let Some(volts) = volts(report.reading) else {
                    out.say(&Prompt::OtherUnit(Unit::Volts));
                    return Phase::MakingSafe(self);
                };
                self.read(bench, out, report.reading, volts)
            }
            (Self::TakingJumperOut, Intent::Done | Intent::Yes) => {
                // Refused only if the proof was spoiled meanwhile; asking again then starts from isolation.
                if bench.interlock.jumper_out().is_err() {
                    return Phase::MakingSafe(Self::Isolating);
                }
                out.record(What::Jumper { fitted: false });
                measuring::next(bench, out)
            }
            _ => {
                out.say(&Prompt::NotHere);
                Phase::MakingSafe(self)
            }
        }
    }

    fn read(self, bench: &mut Bench, out: &mut Outbox, reading: Reading, volts: f64) -> Phase {
        out.say(&Prompt::ReadBack { reading, beeps: false });
        let proof = |stage, points: Option<(PointId, PointId)>| What::Proof { stage, points, reading };
        match self {
            Self::ReadingSource => {
                out.record(proof(ProofStage::KnownSource, None));
                let source = evidence::judge_source(volts, bench.appliance.known_source_volts);
                let kept = bench.interlock.source_read(source);
                match (source, kept) {
                    (Source::Good, Ok(())) => Phase::MakingSafe(Self::ReadingWork { source: volts, pair: 0 }),
                    (Source::Bad, Ok(())) => {
                        out.say(&Prompt::SourceBad);
                        Phase::MakingSafe(self)
                    }
                    (_, Err(_)) => Phase::MakingSafe(Self::Isolating),
                }
            }
            Self::ReadingWork { source, pair } => {
                out.record(proof(ProofStage::Work, Some(bench.appliance.prove_dead[pair].clone())));
                let work = evidence::judge_work(volts);
                let kept = bench.interlock.work_read(work);
                if work == Work::Voltage || kept.is_err() {
                    out.say(&Prompt::NotDead);
                    bench.doubt(out, "voltage at the work");
                    return Phase::MakingSafe(Self::Isolating);
                }
                let pair = pair + 1;
                if pair < bench.appliance.prove_dead.len() {
                    Phase::MakingSafe(Self::ReadingWork { source, pair })
                } else {
                    Phase::MakingSafe(Self::ReadingSourceAgain { source })
                }
            }
            Self::ReadingSourceAgain { source: first } => {
                out.record(proof(ProofStage::KnownSourceAgain, None));
                let kept = bench.interlock.source_read_again(evidence::judge_source_again(volts, first));
                if kept.is_err() || bench.interlock.supply() != Supply::ProvenDead {
                    out.say(&Prompt::SourceBad);
                    bench.doubt(out, "the meter did not prove twice");
                    return Phase::MakingSafe(Self::Isolating);
                }
                bench.state = None;
                bench.record_supply(out, "known source, the work, known source again");
                out.say(&Prompt::ProvenDead);
                after_proof(bench, out)
            }
            Self::AskingMeter | Self::Isolating | Self::WarningOfSource | Self::TakingJumperOut => {
                Phase::MakingSafe(self)
            }
        }
    }
}

/// Asks for the supply to be cut off. Always allowed.
pub(super) fn isolate(bench: &Bench, out: &mut Outbox) -> Question {
    let how = bench.appliance.isolate.clone();
    out.say(&if bench.is_live() { Prompt::PowerOff(how) } else { Prompt::Isolate(how) });
    Question::new(bench.situation(Kind::Step), "isolate", "done")
}

fn ask_source(bench: &Bench, out: &mut Outbox, again: bool) -> Result<Question, Refusal> {
    let permit = bench.interlock.permit_source()?;
    out.say(&Prompt::ReadSource { source: bench.appliance.known_source.clone(), again, permit });
    let topic = if again { "source-again" } else { "source" };
    let situation = bench.reading_situation(None, vec![Unit::Volts]).carefully();
    Ok(Question::new(situation, topic, "one twenty volts"))
}

/// Where to go once the work is proved dead: a jumper comes out before anything else.
fn after_proof(bench: &mut Bench, out: &mut Outbox) -> Phase {
    if bench.interlock.jumper_in() {
        Phase::MakingSafe(MakingSafe::TakingJumperOut)
    } else {
        measuring::next(bench, out)
    }
}

/// Least probability at which an acknowledgement or a reading that proves dead counts: above the working threshold,
/// since a life hangs on it.
pub(super) const SURE: f32 = 0.8;

/// Counts a deliberate answer to a hazard, if it was heard surely enough and the hazard was spoken.
pub(super) fn acknowledge(bench: &mut Bench, out: &mut Outbox, answer: &Answer<'_>, hazard: String) -> bool {
    if answer.best.probability < SURE || bench.interlock.acknowledged().is_err() {
        out.say(&Prompt::NotAcknowledged);
        return false;
    }
    out.record(What::Acknowledged { hazard, words: answer.best.words.clone() });
    true
}

/// Volts of a reading taken while proving dead; a bare number is in volts.
fn volts(reading: Reading) -> Option<f64> {
    let quantity = reading.quantity()?;
    matches!(quantity.unit, None | Some(Unit::Volts)).then(|| quantity.value())
}
