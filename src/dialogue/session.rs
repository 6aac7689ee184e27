//! The session: what is going on, and what an input makes of it.

use std::sync::Arc;
use std::time::Duration;

use crate::model::Region;
use crate::model::appliance::Appliance;
use crate::record::entry::{PlateField, What};
use crate::say::{Prompt, Voice};
use crate::time::Timestamp;
use crate::understand::heard::Heard;
use crate::understand::intent::{Anytime, Beyond, Intent};
use crate::understand::situation::{Kind, Situation};

use super::action::{Action, Listening, Step};
use super::anytime;
use super::bench::Bench;
use super::input::Input;
use super::known::Known;
use super::opening::{Opened, Opening};
use super::outbox::Outbox;
use super::phase::making_safe::MakingSafe;
use super::phase::{Answer, Phase, Question, aside};
use super::read_back::ReadBack;

/// One job being worked.
///
/// Cloning one is cheap enough to do before every input: if a step's records cannot be kept, the shell goes on
/// with the clone and hands in [`Input::NotKept`], so that nothing is said as if it had been kept.
#[derive(Clone, Debug)]
pub struct Session {
    pub(super) shelf: Arc<[Arc<Appliance>]>,
    pub(super) stage: Stage,
    pub(super) pause: Option<Pause>,
    pub(super) noting: bool,
    /// The question that is open.
    open: Option<Question>,
    pub(super) missed: u8,
    /// How often nothing at all came at live work.
    pub(super) silent: u8,
    /// When something was understood last.
    last_heard: Timestamp,
    /// Since when an answer is waited for: noise and remarks do not begin the wait anew.
    since: Timestamp,
    known: Option<Known>,
    /// How we speak.
    pub(super) voice: Voice,
    /// Do we say as little as possible?
    pub(super) brief: bool,
    /// How many photos are marked.
    pub(super) photos: usize,
    /// It was said to be wet before there was a bench that knows.
    pub(super) wet: bool,
    /// When we last said by ourselves that it is too noisy.
    last_noisy: Option<Timestamp>,
    read_back: ReadBack,
    region: Option<Region>,
}

/// Before the bench, or at it.
#[derive(Clone, Debug)]
pub(super) enum Stage {
    Opening(Opening),
    Bench(Box<Bench>, Phase),
}

/// Why nothing is asked at the moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Pause {
    /// Stopped: only "resume" goes on, and it starts from isolation.
    Stopped,
    /// Held.
    Held,
}

/// What is heeded as a stop is.
pub(super) const SMELL: Intent = Intent::Beyond(Beyond::Smell);
/// How long an answer may take before it is asked for again.
const PATIENCE: Duration = Duration::from_secs(15);
/// How long silence may last at live work (common practice).
const LIVE_PATIENCE: Duration = Duration::from_secs(45);
/// After so long without a word nothing counts as proved any more (common practice).
const PROOF_LASTS: Duration = Duration::from_secs(20 * 60);
/// Whoever held on for so long may have left, and anybody may have been at the plug (common practice).
pub(super) const LEFT: Duration = Duration::from_secs(5 * 60);
/// So long nothing is said of noise in which nobody answered.
const NOISE_SAID: Duration = Duration::from_secs(5 * 60);
/// So often an answer is asked for again before we wait quietly.
const LADDER: u8 = 3;

impl Session {
    /// A new job with these machines on the shelf. `machine` skips the question which one it is.
    pub fn new(shelf: Arc<[Arc<Appliance>]>, machine: Option<Arc<Appliance>>) -> Self {
        let opening = machine.map_or(Opening::AskingMachine, Opening::AskingComplaint);
        Self::with_stage(shelf, Stage::Opening(opening))
    }

    /// The same, knowing what is on record of the machine: it is said at the start.
    #[must_use]
    pub fn knowing(mut self, known: Known) -> Self {
        self.known = Some(known);
        self
    }

    /// The same, waiting for a yes when told so; where it matters if nothing is said.
    #[must_use]
    pub fn reading_back(mut self, how: ReadBack) -> Self {
        self.read_back = how;
        if let Stage::Bench(bench, _) = &mut self.stage {
            bench.read_back = how;
        }
        self
    }

    /// The same, where a region's profile holds: it is spoken once a job.
    #[must_use]
    pub fn in_region(mut self, region: Option<Region>) -> Self {
        self.region = region;
        self
    }

    pub(super) fn with_stage(shelf: Arc<[Arc<Appliance>]>, stage: Stage) -> Self {
        Self {
            shelf,
            stage,
            pause: None,
            noting: false,
            open: None,
            missed: 0,
            silent: 0,
            last_heard: Timestamp::ZERO,
            since: Timestamp::ZERO,
            known: None,
            last_noisy: None,
            voice: Voice::default(),
            brief: false,
            photos: 0,
            read_back: ReadBack::default(),
            region: None,
            wet: false,
        }
    }

    /// Takes what happened and says what is to be done. Nothing else changes a session.
    pub fn handle(&mut self, now: Timestamp, input: Input) -> Step {
        let mut out = Outbox::new(now);
        out.brief(self.brief);
        let waiting = matches!(&input, Input::TooNoisy { .. } | Input::Heard(_));
        if !waiting {
            self.since = now;
        }
        let listen = match input {
            Input::Start => {
                self.start(&mut out);
                true
            }
            Input::Heard(heard) => self.heard(now, &mut out, &heard),
            Input::TooNoisy { answered } => self.too_noisy(now, &mut out, answered),
            Input::Silence => self.silence(&mut out),
            Input::NotKept => {
                out.say(&Prompt::NotKept);
                true
            }
            Input::MicrophoneLost => {
                out.say(&Prompt::MicrophoneLost);
                self.make_safe(&mut out, "the microphone was lost");
                true
            }
            Input::MicrophoneBack => {
                out.say(&Prompt::MicrophoneBack);
                true
            }
        };
        self.finish(now, out, listen)
    }

    /// The job is closed.
    pub const fn is_finished(&self) -> bool {
        matches!(self.stage, Stage::Bench(_, Phase::Finished))
    }

    /// The machine, once its complaint is known, with what its rating plate said.
    pub fn machine(&self) -> Option<&Arc<Appliance>> {
        match &self.stage {
            Stage::Opening(opening) => opening.machine(),
            Stage::Bench(bench, _) => Some(&bench.appliance),
        }
    }

    /// How many checks could still change the advice; `None` before the complaint is known.
    pub fn checks_left(&self) -> Option<usize> {
        match &self.stage {
            Stage::Opening(_) => None,
            Stage::Bench(bench, _) => Some(bench.findings.left()),
        }
    }

    fn start(&self, out: &mut Outbox) {
        match &self.stage {
            Stage::Opening(Opening::AskingComplaint(appliance)) => {
                out.record(What::Opened { version: env!("CARGO_PKG_VERSION").to_owned() });
                out.record(What::Machine { appliance: appliance.id.clone() });
                self.remember(out);
            }
            Stage::Opening(Opening::AskingMachine) => {
                out.record(What::Opened { version: env!("CARGO_PKG_VERSION").to_owned() });
                self.remember(out);
            }
            Stage::Opening(Opening::Interviewing(_)) | Stage::Bench(..) => {
                out.record(What::Resumed);
                out.say(&Prompt::PickedUp);
            }
        }
    }

    /// Keeps which machine it is, and says what is on record of it.
    fn remember(&self, out: &mut Outbox) {
        let Some(known) = &self.known else { return };
        out.record(What::Plate { field: PlateField::Serial, value: known.serial.clone() });
        if let Some(last) = &known.last {
            out.say(&Prompt::LastTime { advised: last.advised.clone(), fixed: last.fixed });
        }
    }

    /// Takes an utterance; true where the question is to be asked (again).
    fn heard(&mut self, now: Timestamp, out: &mut Outbox, heard: &Heard) -> bool {
        // A note is what is said after it was announced, but for a stop.
        if self.noting && !heard.says_stop() {
            self.since = now;
            self.note(out, heard);
            return true;
        }
        let Some(best) = heard.understood() else { return self.not_understood(now, out, heard) };
        let idle = now.since(self.last_heard);
        (self.last_heard, self.since) = (now, now);
        (self.missed, self.silent) = (0, 0);
        out.record(What::Heard {
            words: best.words.clone(),
            permille: (best.probability * 1000.0).round() as u16,
            understood: true,
        });
        let heeded = matches!(best.intent, Intent::Anytime(Anytime::Stop | Anytime::Wet) | SMELL);
        let lasts = if self.pause == Some(Pause::Held) { LEFT } else { PROOF_LASTS };
        if idle >= lasts && !heeded && self.spoiled(out) {
            if let Intent::Beyond(what) = best.intent {
                aside::refuse(out, what);
            }
            if best.intent == Intent::Anytime(Anytime::Resume) {
                self.pause = None;
            }
            return true;
        }
        if best.intent == SMELL {
            self.smelt(out);
            return false;
        }
        if let Intent::Anytime(word) = best.intent
            && let anytime::Handled::Yes { ask } = self.anytime(out, word)
        {
            return ask;
        }
        if self.pause.is_some() {
            return false;
        }
        self.answer(out, &Answer { best, heard });
        true
    }

    fn answer(&mut self, out: &mut Outbox, answer: &Answer<'_>) {
        if let Some(Question { in_words: true, example, .. }) = &self.open
            && answer.best.intent == Intent::Yes
        {
            out.say(&Prompt::InWords(example.clone()));
            return;
        }
        // The stage is taken out, moved on by value, and put back: no phase outlives its answer.
        let placeholder = Stage::Opening(Opening::AskingMachine);
        self.stage = match std::mem::replace(&mut self.stage, placeholder) {
            Stage::Opening(opening) => match opening.answer(&self.shelf, out, answer) {
                Opened::Still(opening) => Stage::Opening(opening),
                Opened::Bench(mut bench) => {
                    bench.read_back = self.read_back;
                    if self.wet {
                        bench.interlock.wet();
                    }
                    if let Some(region) = &self.region {
                        speak_of(region, &bench, out);
                    }
                    Stage::Bench(bench, Phase::MakingSafe(MakingSafe::AskingMeter))
                }
            },
            Stage::Bench(mut bench, phase) => {
                let phase = phase.answer(&mut bench, out, answer);
                Stage::Bench(bench, phase)
            }
        };
    }

    /// A remark is let pass; something unclear is asked for again, by the ladder.
    fn not_understood(&mut self, now: Timestamp, out: &mut Outbox, heard: &Heard) -> bool {
        out.record(What::Heard {
            words: heard.free.clone(),
            permille: heard.candidates.first().map_or(0, |c| (c.probability * 1000.0).round() as u16),
            understood: false,
        });
        if self.pause.is_some() || heard.is_remark() {
            return false;
        }
        self.missed = (self.missed + 1).min(LADDER + 1);
        if !self.at_live_work() {
            self.since = now;
        }
        if self.missed <= LADDER && self.put_back(heard) {
            if self.missed == LADDER {
                out.say(&Prompt::UseKeys);
            }
            return true;
        }
        match self.missed {
            1 => out.say(&Prompt::SayAgain),
            2 => out.say(&self.example()),
            LADDER => out.say(&Prompt::UseKeys),
            _ => return false,
        }
        true
    }

    /// Asks whether a doubtful reading was meant; false where there is none.
    fn put_back(&mut self, heard: &Heard) -> bool {
        let Some(doubtful) = heard.doubtful() else { return false };
        let Stage::Bench(bench, phase) = &mut self.stage else { return false };
        let Some(asking) = phase.put_back(bench, &Answer { best: doubtful, heard }) else { return false };
        *phase = asking;
        true
    }

    fn silence(&mut self, out: &mut Outbox) -> bool {
        if self.is_finished() {
            return false;
        }
        if self.at_live_work() {
            self.silent += 1;
            // Whoever holds on beside a live machine was not asked anything: one silence is enough.
            if self.silent < 2 && self.pause.is_none() {
                return true;
            }
            self.stop(out, "silence at live work");
            return false;
        }
        if self.pause.is_some() {
            return false;
        }
        self.missed = (self.missed + 1).min(LADDER + 1);
        if self.noting {
            return self.no_note(out);
        }
        match self.missed {
            1 => true,
            2 => {
                out.say(&self.example());
                true
            }
            LADDER => {
                out.say(&Prompt::UseKeys);
                false
            }
            _ => false,
        }
    }

    /// Says so where an answer was meant, and otherwise now and then: noise that sounds like speech may come at any
    /// moment.
    fn too_noisy(&mut self, now: Timestamp, out: &mut Outbox, answered: bool) -> bool {
        if !answered && (self.noisy_lately(now) || self.pause.is_some()) {
            return false;
        }
        self.last_noisy = Some(now);
        out.say(&Prompt::TooNoisy);
        true
    }

    /// After a long pause nothing counts as proved; true where that changed something.
    fn spoiled(&mut self, out: &mut Outbox) -> bool {
        let Stage::Bench(bench, phase) = &mut self.stage else { return false };
        if bench.interlock.supply() == crate::safety::Supply::Unknown {
            return false;
        }
        bench.doubt(out, "nothing was heard for too long");
        *phase = Phase::MakingSafe(MakingSafe::Isolating);
        out.say(&Prompt::LongPause);
        true
    }

    /// Everything counts as live.
    fn doubt(&mut self, out: &mut Outbox, why: &str) {
        if let Stage::Bench(bench, _) = &mut self.stage {
            bench.doubt(out, why);
        }
    }

    /// Stops: everything counts as live, and the job goes on from isolation.
    pub(super) fn stop(&mut self, out: &mut Outbox, why: &str) {
        out.say(&Prompt::Stopped);
        self.make_safe(out, why);
    }

    /// In one step: nothing counts as proved, nothing is asked, and whatever was going on begins with isolation again.
    pub(super) fn make_safe(&mut self, out: &mut Outbox, why: &str) {
        self.doubt(out, why);
        if let Stage::Bench(_, phase) = &mut self.stage
            && !matches!(phase, Phase::Finished)
        {
            *phase = Phase::MakingSafe(MakingSafe::Isolating);
        }
        self.pause = Some(Pause::Stopped);
        self.noting = false;
        (self.open, self.missed, self.silent) = (None, 0, 0);
    }

    /// What the open question is about.
    pub(super) fn topic(&self) -> Option<&str> {
        self.open.as_ref().map(|question| question.topic.as_str())
    }

    /// Did we say by ourselves, not long ago, that it is too noisy?
    fn noisy_lately(&self, now: Timestamp) -> bool {
        self.last_noisy.is_some_and(|last| now.since(last) < NOISE_SAID)
    }

    fn example(&self) -> Prompt {
        Prompt::Example(
            self.open.as_ref().map_or_else(|| "done".to_owned(), |question| question.example.clone()),
        )
    }

    /// Puts the step together: records, lines, and the ear opened.
    fn finish(&mut self, now: Timestamp, mut out: Outbox, ask: bool) -> Step {
        if self.pause.is_none() && !self.noting && (ask || self.open.is_none()) {
            if now.since(self.last_heard) >= PROOF_LASTS {
                self.spoiled(&mut out);
            }
            self.open = match &mut self.stage {
                Stage::Opening(opening) => Some(opening.ask(&self.shelf, &mut out)),
                Stage::Bench(bench, phase) => phase.ask(bench, &mut out),
            };
        }
        let listening = match (self.pause, self.noting) {
            (Some(_), _) => Some(Listening { situation: self.quiet(Kind::Step), topic: "paused".into() }),
            (None, true) => Some(Listening { situation: self.quiet(Kind::Anything), topic: "note".into() }),
            (None, false) => self.open.clone().map(|q| Listening { situation: q.situation, topic: q.topic }),
        };
        let (entries, lines) = out.into_parts();
        let mut actions: Vec<Action> = entries.into_iter().map(Action::Record).collect();
        actions.extend(lines.into_iter().map(Action::Say));
        let patience = listening.as_ref().and_then(|listening| self.patience(&listening.situation));
        let wake_after = patience.map(|patience| patience.saturating_sub(now.since(self.since)));
        actions.push(listening.map_or(Action::Finish, Action::Listen));
        Step { actions, wake_after, voice: self.voice }
    }

    /// How long to wait for an answer; work in progress may take as long as it takes.
    fn patience(&self, situation: &Situation) -> Option<Duration> {
        let quiet = self.pause.is_some() || self.missed >= LADDER;
        match (self.at_live_work(), quiet, situation.kind) {
            (true, _, _) => Some(LIVE_PATIENCE),
            (false, true, _) | (false, false, Kind::Step) => None,
            (false, false, _) => Some(PATIENCE),
        }
    }

    /// Is the machine on, as far as we know?
    fn at_live_work(&self) -> bool {
        matches!(&self.stage, Stage::Bench(bench, phase) if bench.is_live() && !matches!(phase, Phase::Finished))
    }

    fn quiet(&self, kind: Kind) -> Situation {
        match &self.stage {
            Stage::Bench(bench, _) => bench.situation(kind),
            Stage::Opening(_) => Situation { kind, ..Situation::default() },
        }
    }
}

/// What holds in a region for the machine at the bench.
fn speak_of(region: &Region, bench: &Bench, out: &mut Outbox) {
    if !region.supplies(&bench.appliance) {
        out.say(&Prompt::OtherSupply);
    }
    let Region { supply, earthing, licensed, cautions, .. } = region;
    for text in [supply, earthing, licensed].into_iter().chain(cautions) {
        out.say(&Prompt::Region(text.clone()));
    }
}

/// A note that begins so marks a photo.
pub(super) const PHOTO: &str = "Photo";
