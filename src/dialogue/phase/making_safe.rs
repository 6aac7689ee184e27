//! Isolating the machine and proving it dead: known source, every pair of the work, known source again.

use crate::id::{CheckId, PointId};
use crate::model::appliance::Function;
use crate::quantity::Unit;
use crate::reading::Reading;
use crate::record::entry::What;
use crate::safety::evidence::{self, Charge, Source, Work};
use crate::safety::{ProofStage, Refusal, Supply};
use crate::say::Prompt;
use crate::understand::intent::{Acknowledgement, Anytime, Control, Intent, Trouble};
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
    /// Who can restore it?
    AskingControl,
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
    /// What keeps a charge is read before this check.
    ReadingCharge(CheckId),
}

impl MakingSafe {
    /// Is something to be done, so that a reading answers nothing?
    pub(super) const fn is_action(&self) -> bool {
        matches!(self, Self::Isolating | Self::TakingJumperOut)
    }

    /// What the meter is set to for the reading that is asked for.
    pub(in super::super) const fn function(&self) -> Option<Function> {
        match self {
            Self::ReadingSource | Self::ReadingWork { .. } | Self::ReadingSourceAgain { .. } => {
                Some(Function::AcVolts)
            }
            Self::ReadingCharge(_) => Some(Function::DcVolts),
            Self::AskingMeter
            | Self::Isolating
            | Self::AskingControl
            | Self::WarningOfSource
            | Self::TakingJumperOut => None,
        }
    }

    /// Where the leads go.
    pub(in super::super) fn points<'b>(&self, bench: &'b Bench) -> Option<(&'b PointId, &'b PointId)> {
        let Self::ReadingWork { pair, .. } = self else { return None };
        let (from, to) = &bench.appliance.prove_dead[*pair];
        Some((from, to))
    }

    pub(in super::super) fn ask(&self, bench: &mut Bench, out: &mut Outbox) -> Result<Question, Refusal> {
        Ok(match self {
            Self::AskingMeter => {
                out.say(&Prompt::AskMeter);
                Question::new(bench.situation(Kind::YesNo), "meter", "yes, or no")
            }
            Self::Isolating => isolate(bench, out),
            Self::AskingControl => {
                out.say(&Prompt::AskControl);
                Question::new(bench.situation(Kind::YesNo), "control", "yes, or no")
            }
            Self::ReadingCharge(_) => {
                let permit = bench.interlock.permit_charge()?;
                out.say(&Prompt::ReadCharge { permit });
                let situation = bench.reading_situation(None, vec![Unit::Volts]).carefully();
                Question::new(situation, "charge", "forty volts")
            }
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
                Question::new(situation, &topic, "thirty volts")
            }
            Self::TakingJumperOut => {
                let permit = bench.interlock.permit_jumper_out()?;
                out.say(&Prompt::JumperOut { permit });
                Question::new(bench.situation(Kind::Step), "jumper-out", "done").in_words()
            }
        })
    }

    pub(in super::super) fn answer(self, bench: &mut Bench, out: &mut Outbox, answer: &Answer<'_>) -> Phase {
        match (&self, &answer.best.intent) {
            (Self::AskingMeter, Intent::Yes) => {
                bench.interlock.meter(true);
                let cut_off = bench.interlock.supply() == Supply::Isolated;
                Phase::MakingSafe(if cut_off { Self::WarningOfSource } else { Self::Isolating })
            }
            (Self::AskingMeter, Intent::No) => {
                bench.interlock.meter(false);
                out.say(&Prompt::MeterNotFit);
                Phase::MakingSafe(self)
            }
            (Self::Isolating, _) if bench.interlock.is_wet() => Phase::MakingSafe(self),
            (Self::Isolating | Self::AskingControl, Intent::Control(Control::Others))
            | (Self::AskingControl, Intent::No) => {
                // Whatever was proved before, somebody else may undo.
                bench.doubt(out, "somebody else can restore it");
                out.say(&Prompt::PlugNotHeld);
                Phase::MakingSafe(Self::Isolating)
            }
            (Self::Isolating | Self::AskingControl, Intent::Control(Control::Mine))
            | (Self::AskingControl, Intent::Yes) => isolated(bench, out),
            (Self::Isolating, Intent::Done | Intent::Anytime(Anytime::PowerOff)) => {
                Phase::MakingSafe(Self::AskingControl)
            }
            (
                Self::AskingMeter
                | Self::ReadingSource
                | Self::ReadingWork { .. }
                | Self::ReadingSourceAgain { .. }
                | Self::ReadingCharge(_),
                Intent::Trouble(trouble),
            ) => {
                out.say(&Prompt::Trouble(*trouble));
                Phase::MakingSafe(self)
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
                Self::ReadingSource
                | Self::ReadingWork { .. }
                | Self::ReadingSourceAgain { .. }
                | Self::ReadingCharge(_),
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
                    // What reads over limit, or beeps, is not on volts at all.
                    out.say(&match report.reading {
                        Reading::Value(_) | Reading::Unstable => Prompt::OtherUnit(Unit::Volts),
                        Reading::Overload | Reading::Closed => Prompt::Trouble(Trouble::Setting),
                    });
                    return Phase::MakingSafe(self);
                };
                self.read(bench, out, report.reading, volts)
            }
            (_, Intent::Anytime(Anytime::Skip)) => {
                out.say(&Prompt::NotSkipped);
                Phase::MakingSafe(self)
            }
            (Self::TakingJumperOut, Intent::Done) => {
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

    fn source_read(self, bench: &mut Bench, out: &mut Outbox, volts: f64) -> Phase {
        let source = evidence::judge_source(volts, bench.appliance.known_source_volts);
        match (source, bench.interlock.source_read(source)) {
            (Source::Good, Ok(())) => Phase::MakingSafe(Self::ReadingWork { source: volts, pair: 0 }),
            (Source::Bad, Ok(())) => {
                out.say(&Prompt::SourceBad);
                Phase::MakingSafe(self)
            }
            (_, Err(_)) => Phase::MakingSafe(Self::Isolating),
        }
    }

    fn read(self, bench: &mut Bench, out: &mut Outbox, reading: Reading, volts: f64) -> Phase {
        out.say(&Prompt::ReadBack { reading, beeps: false });
        let proof = |stage, points: Option<(PointId, PointId)>| What::Proof { stage, points, reading };
        match self {
            Self::ReadingSource => {
                out.record(proof(ProofStage::KnownSource, None));
                self.source_read(bench, out, volts)
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
            Self::ReadingCharge(check) => {
                out.record(proof(ProofStage::Charge, None));
                let charge = evidence::judge_charge(volts);
                if bench.interlock.charge_read(charge).is_err() {
                    return Phase::MakingSafe(Self::Isolating);
                }
                if charge == Charge::Left {
                    out.say(&Prompt::StillCharged);
                    return Phase::MakingSafe(Self::ReadingCharge(check));
                }
                measuring::begin(bench, check)
            }
            Self::AskingMeter
            | Self::Isolating
            | Self::AskingControl
            | Self::WarningOfSource
            | Self::TakingJumperOut => Phase::MakingSafe(self),
        }
    }
}

/// The supply is cut off, and only the technician can restore it.
fn isolated(bench: &mut Bench, out: &mut Outbox) -> Phase {
    if bench.interlock.isolated(true).is_err() {
        return Phase::MakingSafe(MakingSafe::Isolating);
    }
    bench.record_supply(out, "the technician cut it off and keeps it off");
    let fit = bench.interlock.meter_is_fit();
    Phase::MakingSafe(if fit { MakingSafe::WarningOfSource } else { MakingSafe::AskingMeter })
}

/// Asks for the supply to be cut off. Always allowed; but for a meter that is not fit, or where it is wet, that is first.
pub(super) fn isolate(bench: &Bench, out: &mut Outbox) -> Question {
    if bench.interlock.is_wet() {
        out.say(&Prompt::DryFirst);
        return Question::new(bench.situation(Kind::Step), "dry", "all is dry").in_words();
    }
    let how = bench.appliance.isolate.clone();
    out.say(&if bench.is_live() { Prompt::PowerOff(how) } else { Prompt::Isolate(how) });
    Question::new(bench.situation(Kind::Step), "isolate", "done").in_words()
}

fn ask_source(bench: &Bench, out: &mut Outbox, again: bool) -> Result<Question, Refusal> {
    let permit = bench.interlock.permit_source()?;
    out.say(&Prompt::ReadSource { source: bench.appliance.known_source.clone(), again, permit });
    let topic = if again { "source-again" } else { "source" };
    let situation = bench.reading_situation(None, vec![Unit::Volts]).carefully();
    Ok(Question::new(situation, topic, "seven volts"))
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
pub(super) const SURE: f32 = 0.9;

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
