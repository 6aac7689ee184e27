//! What can be said at any time: seen before any phase, "stop" first.

use crate::model::appliance::{CheckKind, Function};
use crate::record::entry::What;
use crate::say::Prompt;
use crate::understand::intent::Anytime;

use super::bench::Bench;
use super::findings;
use super::opening::Opening;
use super::outbox::Outbox;
use super::phase::making_safe::MakingSafe;
use super::phase::{Phase, advising, measuring};
use super::session::{PHOTO, Pause, Session, Stage};

/// Was the word dealt with here?
pub(super) enum Handled {
    /// Yes; `ask` says whether the open question is asked again.
    Yes { ask: bool },
    /// No: it means something to the phase itself.
    No,
}

impl Session {
    pub(super) fn anytime(&mut self, out: &mut Outbox, word: Anytime) -> Handled {
        match word {
            Anytime::Stop => {
                self.stop(out, "stop was said");
                Handled::Yes { ask: false }
            }
            Anytime::Resume => self.go_on(out),
            Anytime::Wet => self.wet(out),
            _ if self.pause.is_some() => Handled::Yes { ask: false },
            Anytime::Hold => {
                out.say(&Prompt::Holding);
                self.pause = Some(Pause::Held);
                Handled::Yes { ask: false }
            }
            Anytime::Repeat => Handled::Yes { ask: true },
            Anytime::Note => {
                out.say(&Prompt::NoteGoOn);
                self.noting = true;
                Handled::Yes { ask: false }
            }
            Anytime::Photo => self.mark_photo(out),
            Anytime::Dry => self.dry(out),
            Anytime::Slower
            | Anytime::Faster
            | Anytime::Louder
            | Anytime::Softer
            | Anytime::Shorter
            | Anytime::Fuller => self.speak(out, word),
            Anytime::Help => {
                out.say(&Prompt::Help(HELP.to_owned()));
                Handled::Yes { ask: true }
            }
            Anytime::Back
            | Anytime::Skip
            | Anytime::Status
            | Anytime::HowMany
            | Anytime::Expect
            | Anytime::Why
            | Anytime::WhyCheck
            | Anytime::Setting
            | Anytime::Where
            | Anytime::PowerOff
            | Anytime::EndJob => match &mut self.stage {
                Stage::Opening(Opening::Interviewing(_)) if word == Anytime::Skip => Handled::No,
                Stage::Opening(opening) => {
                    if word != Anytime::Back || !opening.back() {
                        out.say(&Prompt::NotHere);
                    }
                    Handled::Yes { ask: true }
                }
                Stage::Bench(bench, phase) => at_bench(bench, phase, out, word),
            },
        }
    }

    /// Wet hands, wet floor: everything counts as live until it was isolated anew. Heard also while the job is held, and in
    /// a note.
    pub(super) fn wet(&mut self, out: &mut Outbox) -> Handled {
        out.say(&Prompt::Wet);
        out.record(What::Water { wet: true });
        match &mut self.stage {
            Stage::Opening(_) => self.wet = true,
            Stage::Bench(bench, phase) => {
                bench.interlock.wet();
                bench.doubt(out, "it is wet");
                if !matches!(phase, Phase::Finished) {
                    *phase = Phase::MakingSafe(MakingSafe::Isolating);
                }
            }
        }
        Handled::Yes { ask: self.pause.is_none() }
    }

    fn dry(&mut self, out: &mut Outbox) -> Handled {
        out.say(&Prompt::Dry);
        out.record(What::Water { wet: false });
        match &mut self.stage {
            Stage::Opening(_) => self.wet = false,
            Stage::Bench(bench, _) => bench.interlock.dry(),
        }
        Handled::Yes { ask: true }
    }

    /// Numbers a photo and notes at which question it was taken, so that the picture is found again.
    fn mark_photo(&mut self, out: &mut Outbox) -> Handled {
        self.photos += 1;
        let topic = self.topic().unwrap_or("nothing");
        out.record(What::Noted { text: format!("{PHOTO} {}, at {topic}", self.photos) });
        out.say(&Prompt::PhotoMarked(self.photos));
        Handled::Yes { ask: true }
    }

    /// Speaks as told from now on, and says the question so.
    fn speak(&mut self, out: &mut Outbox, word: Anytime) -> Handled {
        self.voice = self.voice.turned(word);
        match word {
            Anytime::Shorter => self.brief = true,
            Anytime::Fuller => self.brief = false,
            _ => {}
        }
        out.brief(self.brief);
        Handled::Yes { ask: true }
    }

    fn go_on(&mut self, out: &mut Outbox) -> Handled {
        match self.pause.take() {
            Some(Pause::Stopped | Pause::Held) => out.say(&Prompt::GoingOn),
            None => {}
        }
        Handled::Yes { ask: true }
    }
}

/// What is taught when help is asked for. None of these words ends a sentence of ours otherwise.
const HELP: &str = "You can say: say again, go back, skip this one, why, where is that, what setting, \
     what do we know, how many more, scratch and the reading, new note, mark photo, slower, shorter, hold on, and stop stop.";

fn at_bench(bench: &mut Bench, phase: &mut Phase, out: &mut Outbox, word: Anytime) -> Handled {
    match word {
        Anytime::Back => back(bench, phase, out),
        Anytime::Skip => return skip(bench, phase, out),
        Anytime::Status => {
            let (cause, confidence) = bench.findings.likeliest(&bench.appliance);
            out.say(&Prompt::Status { taken: bench.findings.len(), cause, confidence });
        }
        Anytime::HowMany => out.say(&Prompt::Left(bench.findings.left())),
        Anytime::Expect => out.say(&expected(bench, phase)),
        Anytime::Why => {
            out.say(&bench.findings.why(&bench.appliance));
            if matches!(phase, Phase::Advising(_)) {
                out.say(&bench.findings.change_of_mind(&bench.appliance));
            }
        }
        Anytime::WhyCheck => {
            let why = phase
                .check()
                .map(|check| bench.findings.why_check(&bench.appliance, check, bench.state.as_ref()));
            out.say(&why.unwrap_or(Prompt::NotHere));
        }
        Anytime::Setting => out.say(&setting(bench, phase).map_or(Prompt::NotHere, Prompt::Setting)),
        Anytime::Where => out.say(&places(bench, phase)),
        // Said where it was asked for, it is an answer; said on its own it proves nothing.
        Anytime::PowerOff => return Handled::No,
        // A machine that is on is switched off before anything is closed.
        Anytime::EndJob if bench.is_live() => *phase = Phase::MakingSafe(MakingSafe::Isolating),
        Anytime::EndJob => *phase = advising::Advising::closing(bench, out, 0),
        Anytime::Stop
        | Anytime::Wet
        | Anytime::Dry
        | Anytime::Hold
        | Anytime::Resume
        | Anytime::Repeat
        | Anytime::Note
        | Anytime::Photo
        | Anytime::Slower
        | Anytime::Faster
        | Anytime::Louder
        | Anytime::Softer
        | Anytime::Shorter
        | Anytime::Fuller
        | Anytime::Help => {
            return Handled::No;
        }
    }
    Handled::Yes { ask: true }
}

/// Takes the last finding back and asks for it again.
fn back(bench: &mut Bench, phase: &mut Phase, out: &mut Outbox) {
    match bench.findings.take_back(out) {
        Some(check) => {
            out.say(&Prompt::TakenBack);
            // Making safe goes on first: a check begun in the middle of it would leave the rest out.
            if !matches!(phase, Phase::MakingSafe(_)) {
                *phase = measuring::begin(bench, check);
            }
        }
        None => out.say(&Prompt::NothingBack),
    }
}

/// Leaves the check out; where nothing is being checked the phase decides.
fn skip(bench: &mut Bench, phase: &mut Phase, out: &mut Outbox) -> Handled {
    let Some(check) = phase.check().cloned() else { return Handled::No };
    out.record(What::Skipped { check: check.clone() });
    out.say(&Prompt::Skipped);
    bench.findings.skip(check);
    *phase = measuring::next(bench, out);
    Handled::Yes { ask: true }
}

/// What the last reading should have been. Before it is taken the answer would be heard into the meter.
fn expected(bench: &Bench, phase: &Phase) -> Prompt {
    match (bench.findings.last(), phase) {
        (Some(last), Phase::Measuring(_) | Phase::Advising(_)) => {
            let place = findings::place(&bench.appliance, last);
            Prompt::Expected { place, expected: findings::expected(&bench.appliance, last) }
        }
        _ => Prompt::ExpectLater,
    }
}

fn setting(bench: &Bench, phase: &Phase) -> Option<Function> {
    match phase {
        Phase::MakingSafe(phase) => phase.function(),
        Phase::ProvingLeads => Some(Function::Ohms),
        phase => match &bench.check(phase.check()?).kind {
            CheckKind::Measure(measurement) => Some(measurement.function),
            CheckKind::Observe(_) | CheckKind::Gauge(_) => None,
        },
    }
}

fn places(bench: &Bench, phase: &Phase) -> Prompt {
    let points = match phase {
        Phase::MakingSafe(phase) => phase.points(bench),
        phase => phase.check().and_then(|id| bench.check(id).points()),
    };
    let Some((from, to)) = points else { return Prompt::NotHere };
    let places = [from, to].map(|id| bench.appliance.point(id).map(|p| p.place.clone()).unwrap_or_default());
    Prompt::Where(places.join(" "))
}
