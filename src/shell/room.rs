//! The kitchen as the program has it: an ear, a voice, and the devices that may come and go.
//!
//! One loop moves everything: it reads the microphone's ring every few milliseconds, so that nothing it does may take
//! longer than the ring holds. While we speak only the stop words are open. What is typed is an answer too.
//!
//! Without a microphone nothing is asked and everything counts as live; without a loudspeaker a line waits, because what was
//! not heard was not said.

use std::collections::VecDeque;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::{Duration, Instant};

use miette::{IntoDiagnostic, WrapErr};

use super::clock::Clock;
use super::console::{self, MOST_TYPED, Typed};
use super::ear::{Ear, Opinion};
use super::listener::Listener;
use super::mic::NARROW;
use super::mic::steady::{Change, Losses};
use super::narrator::Narrator;
use super::screen::Screen;
use super::settings::{Settings, WhoseVoice};
use super::voice::system::{Speaking, State};
use super::voice::{Delivery, Sound, Voice, VoiceError, check_words};
use super::{mic, speaker};
use crate::dialogue::{Input, Listening};
use crate::hear::level::Decibels;
use crate::say::{self, Line, Manner};
use crate::screen::Mood;
use crate::understand;
use crate::understand::heard::Heard;
use crate::understand::situation::{Kind, Situation};

/// How often the microphone is read.
const TICK: Duration = Duration::from_millis(20);
/// A line that has not ended after its own length and this much more is on a loudspeaker that does not play.
const SPEAKING_SLACK: Duration = Duration::from_secs(3);

/// The devices, and what moves between them and a conversation.
pub struct Room {
    listener: Listener,
    /// Samples a second that the listener takes now.
    rate: u32,
    /// Sound on its way from the microphone to the listener.
    sound: Vec<f32>,
    voice: Voice,
    /// Whose voice speaks now.
    whose: WhoseVoice,
    /// How we speak where nobody has asked for anything else.
    usual: Delivery,
    /// The noise in which hazards are loud enough unlifted.
    quiet: Decibels,
    speaker: speaker::steady::Steady,
    mic: mic::steady::Steady,
    /// What happened to the microphone and was not handed on yet: a loss, its end, or one after the other.
    changes: Vec<Change>,
    typed: Receiver<Typed>,
    /// What was typed while we spoke.
    early: VecDeque<Typed>,
    /// What is told on the terminal.
    pub narrator: Narrator<std::io::Stdout>,
    /// The page, where one is wanted.
    pub screen: Option<Screen>,
    /// The time in the job.
    pub clock: Clock,
}

impl Room {
    /// Opens the devices, the ear and the voice; `typed` brings what is typed, at the terminal or on the page.
    ///
    /// # Errors
    /// What does not open, and what mends it.
    pub fn open(settings: &Settings, typed: Receiver<Typed>) -> miette::Result<Self> {
        let speaker = speaker::steady::Steady::open(settings.loudspeaker.clone())
            .wrap_err("opening the loudspeaker")?;
        let mic = mic::steady::Steady::open(settings.microphone.clone(), settings.gated)
            .wrap_err("opening the microphone")?;
        let rate = mic.rate();
        let mut voice = Voice::new()?;
        voice.deliver(settings.delivery());
        Ok(Self {
            listener: Listener::new(Ear::open()?, rate)?,
            rate,
            sound: Vec::new(),
            voice,
            whose: settings.voice,
            usual: settings.delivery(),
            quiet: settings.noise.map_or(Decibels::QUIET_ROOM, Decibels),
            speaker,
            mic,
            changes: Vec::new(),
            typed,
            early: VecDeque::new(),
            narrator: Narrator::new(std::io::stdout()),
            screen: None,
            clock: Clock::start(),
        })
    }

    /// Speaks so many steps from the usual from now on.
    pub fn turn_voice(&mut self, steps: say::Voice) {
        self.voice.deliver(self.usual.turned(steps));
    }

    /// Speaks lines; what cut them short, if anything did.
    ///
    /// # Errors
    /// A line that cannot be rendered, or a failure of the recogniser.
    pub fn speak(&mut self, lines: &[Line]) -> miette::Result<Option<Input>> {
        for line in lines {
            self.narrator.said(self.clock.now(), &line.text, line.manner).into_diagnostic()?;
            if let Some(input) = self.speak_line(line)? {
                return Ok(Some(input));
            }
        }
        Ok(None)
    }

    /// Speaks a line until it has been heard whole.
    fn speak_line(&mut self, line: &Line) -> miette::Result<Option<Input>> {
        if self.whose == WhoseVoice::System {
            match self.speak_by_system(line)? {
                Ok(cut) => return Ok(cut),
                Err(why) => {
                    self.whose = WhoseVoice::Own;
                    self.remark(&format!("the system's voice does not speak ({why}); ours goes on"))?;
                }
            }
        }
        self.voice.lift(self.listener.noise().lift(self.quiet));
        let sound = self.voice.render(&line.text, line.manner)?;
        self.play(&sound)
    }

    /// Has the system's voice speak a line, after our tone where it is a hazard; what cut it short, or why it was not spoken.
    fn speak_by_system(&mut self, line: &Line) -> miette::Result<Result<Option<Input>, String>> {
        check_words(&line.text).map_err(VoiceError::from)?;
        if line.manner == Manner::Hazard
            && let Some(input) = self.play(&Arc::new(Voice::tone()))?
        {
            return Ok(Ok(Some(input)));
        }
        let begun = Speaking::begin(&line.text, line.manner, self.voice.delivery(), Instant::now());
        let mut speaking = match begun {
            Ok(speaking) => speaking,
            Err(error) => return Ok(Err(error.to_string())),
        };
        self.mood(Mood::Speaking);
        // Ends with the line, with what cuts it short, or when it has lasted too long; it stops where it is left.
        loop {
            if let Some(input) = self.interruption()? {
                return Ok(Ok(Some(input)));
            }
            match speaking.state(Instant::now()) {
                State::Speaks => {}
                State::Spoken => return Ok(Ok(None)),
                State::Failed(why) => return Ok(Err(why)),
            }
        }
    }

    /// Plays a sound until it has been heard whole: from its beginning again where the loudspeaker went in the middle.
    fn play(&mut self, sound: &Arc<Sound>) -> miette::Result<Option<Input>> {
        let mut told = false;
        let mut playing: Option<(u64, Instant)> = None;
        // Ends with the line, with what cuts it short, or never while there is no loudspeaker.
        loop {
            let now = Instant::now();
            match (self.speaker.there(now), playing) {
                (Some(speaker), Some((number, latest))) => {
                    if speaker.has_ended(number) {
                        return Ok(None);
                    }
                    if now >= latest || !speaker.plays(now) {
                        self.speaker.give_up();
                    }
                }
                (Some(speaker), None) => {
                    let latest = now + sound.duration() + SPEAKING_SLACK;
                    playing = Some((speaker.play(Arc::clone(sound))?, latest));
                    self.mood(Mood::Speaking);
                }
                (None, _) => {
                    playing = None;
                    self.mood(Mood::Mute);
                    if !std::mem::replace(&mut told, true) {
                        let why = self.speaker.why().to_owned();
                        self.remark(&format!("the loudspeaker is lost ({why}); the line waits for it"))?;
                    }
                }
            }
            if let Some(input) = self.interruption()? {
                if let Some(speaker) = self.speaker.there(Instant::now()) {
                    speaker.stop();
                }
                return Ok(Some(input));
            }
        }
    }

    /// What may cut us short while we speak: a stop, said or typed, or a lost microphone. Waits for a tick.
    fn interruption(&mut self) -> miette::Result<Option<Input>> {
        let stop_words = Situation { kind: Kind::StopOnly, ..Situation::default() };
        if let Some(typed) = self.next_typed() {
            let heard = typed.words().map(|words| console::typed(&understand::open(&stop_words), words));
            if let Some(stop) = heard.filter(Heard::says_stop) {
                self.early.clear();
                return Ok(Some(Input::Heard(stop)));
            }
            if self.early.len() < MOST_TYPED {
                self.early.push_back(typed);
            }
        }
        let opinion = self.hear(&stop_words, true)?;
        if self.changes.first() == Some(&Change::Lost) {
            self.changes.remove(0);
            return Ok(Some(Input::MicrophoneLost));
        }
        Ok(opinion.filter(|opinion| opinion.heard.says_stop()).map(|opinion| Input::Heard(opinion.heard)))
    }

    /// Waits for an answer, which leaves how it sounded in `sound`; for silence, where one is awaited; or for what happens to
    /// the microphone.
    ///
    /// # Errors
    /// A failure of the recogniser.
    pub fn listen(
        &mut self,
        listening: &Listening,
        wake_after: Option<Duration>,
        sound: &mut Vec<f32>,
    ) -> miette::Result<Input> {
        let automaton = understand::open(&listening.situation);
        // What began while we spoke is no answer: it may have been ourselves.
        self.listener.restart();
        self.remark(&format!("listening: {}", listening.topic))?;
        if self.mic.is_lost() {
            self.mood(Mood::Deaf);
        } else if let Some(screen) = &mut self.screen {
            screen.listen(listening);
        }
        let wake_at = wake_after.map(|wait| Instant::now() + wait);
        // Ends with an answer, with silence where one is awaited, or with what happens to the microphone.
        loop {
            if !self.changes.is_empty() {
                return Ok(match self.changes.remove(0) {
                    Change::Lost => Input::MicrophoneLost,
                    Change::Back => Input::MicrophoneBack,
                });
            }
            let typed = self.early.pop_front().or_else(|| self.next_typed());
            if let Some(words) = typed.as_ref().and_then(|typed| self.answer(typed)) {
                return Ok(Input::Heard(console::typed(&automaton, words)));
            }
            if let Some(mut opinion) = self.hear(&listening.situation, false)? {
                *sound = std::mem::take(&mut opinion.sound);
                return Ok(opinion.into());
            }
            if wake_at.is_some_and(|at| Instant::now() >= at) {
                return Ok(Input::Silence);
            }
        }
    }

    /// Listens to the room for a while; gives its noise, of full scale, in which hazards are loud enough unlifted from now on.
    ///
    /// # Errors
    /// A failure of the recogniser.
    pub fn hush(&mut self, length: Duration) -> miette::Result<Option<Decibels>> {
        let until = Instant::now() + length;
        while Instant::now() < until && self.interruption()?.is_none() {}
        let noise = self.listener.noise().decibels();
        self.quiet = noise.unwrap_or(self.quiet);
        Ok(noise)
    }

    /// Listens with another microphone from now on, the system's default one if it has no name.
    ///
    /// # Errors
    /// One that does not open; then the one before goes on.
    pub fn listen_with(&mut self, name: Option<&str>, gated: bool) -> miette::Result<()> {
        let mic = mic::steady::Steady::open(name.map(str::to_owned), gated)?;
        self.rate = mic.rate();
        self.mic = mic;
        self.listener.set_rate(self.rate)
    }

    /// The microphone's name, while there is one.
    pub fn microphone(&self) -> Option<&str> {
        self.mic.name()
    }

    /// Samples a second that the microphone gives.
    pub const fn rate(&self) -> u32 {
        self.rate
    }

    /// What was typed within the next tick.
    fn next_typed(&self) -> Option<Typed> {
        match self.typed.recv_timeout(TICK) {
            Ok(typed) => Some(typed),
            Err(RecvTimeoutError::Timeout) => None,
            Err(RecvTimeoutError::Disconnected) => {
                // Nobody can type here any more; the pace stays.
                std::thread::park_timeout(TICK);
                None
            }
        }
    }

    /// The words, if they answer what is asked now: a page may have shown the question before.
    fn answer<'a>(&self, typed: &'a Typed) -> Option<&'a str> {
        let turn = self.screen.as_ref().map(Screen::turn_shown);
        typed.words().filter(|_| typed.is_for(turn))
    }

    /// What the microphone's sound of the last moments made known.
    fn hear(&mut self, situation: &Situation, speaking: bool) -> miette::Result<Option<Opinion>> {
        self.sound.clear();
        if let Some(change) = self.mic.read(Instant::now(), speaking, &mut self.sound) {
            if change == Change::Lost {
                self.changes.clear();
            }
            self.changes.push(change);
            let told = match change {
                Change::Lost => format!("the microphone is lost ({}); it is opened again", self.mic.why()),
                Change::Back => "the microphone is back".to_owned(),
            };
            self.remark(&told)?;
        }
        if self.mic.rate() != self.rate {
            // Another device, or the same in another mode. The sound just read is of the one before.
            self.rate = self.mic.rate();
            self.listener.set_rate(self.rate)?;
            let doubt =
                if self.rate <= NARROW { ", that of a telephone: answers may not be understood" } else { "" };
            self.remark(&format!("the microphone gives {} samples a second now{doubt}", self.rate))?;
            return Ok(None);
        }
        self.listener.take(&self.sound, situation)
    }

    fn mood(&mut self, mood: Mood) {
        if let Some(screen) = &mut self.screen {
            screen.mood(mood);
        }
    }

    fn remark(&mut self, text: &str) -> miette::Result<()> {
        self.narrator.remark(self.clock.now(), text).into_diagnostic()
    }

    /// Says what sound never reached us, if any.
    pub fn tell_losses(&self) {
        let Losses { overruns, glitches } = self.mic.losses();
        if overruns + glitches > 0 {
            println!(
                "lost on the way from the microphone: {overruns} samples here, {glitches} times in the sound system"
            );
        }
    }
}
