//! `leadhand talk`: a job by voice, with microphone and loudspeaker.
//!
//! One loop moves everything: it reads the microphone's ring every few milliseconds, so that nothing it does may take
//! longer than the ring holds. While we speak only the stop words are open. A typed line is an answer too.

use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::time::{Duration, Instant};

use miette::{IntoDiagnostic, WrapErr};

use crate::dialogue::{Input, Listening};
use crate::record::header::JobId;
use crate::shell::clock::Clock;
use crate::shell::conversation::{Conversation, Keep, Turn};
use crate::shell::ear::{Ear, Opinion};
use crate::shell::kept_sound::{KeepSound, KeptSound};
use crate::shell::listener::Listener;
use crate::shell::mic::Mic;
use crate::shell::narrator::Narrator;
use crate::shell::speaker::Speaker;
use crate::shell::store::place::StoreArgs;
use crate::shell::voice::Voice;
use crate::shell::{console, job, shelf};
use crate::understand;
use crate::understand::heard::Heard;
use crate::understand::situation::{Kind, Situation};

/// Arguments of `leadhand talk`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  leadhand talk dryer-240\n  leadhand talk --job 3      (go on with job 3)"
)]
pub struct TalkArgs {
    /// Appliance model: a name or a .toml file; asked for if left out
    appliance: Option<String>,
    /// The serial number on the machine's plate: what is on record of it is said at the start
    #[arg(long, value_name = "SERIAL", conflicts_with = "job")]
    serial: Option<String>,
    /// Go on with a job left earlier
    #[arg(long, value_name = "JOB", conflicts_with = "appliance")]
    job: Option<JobId>,
    #[command(flatten)]
    keep_sound: KeepSound,
    #[command(flatten)]
    store: StoreArgs,
}

/// How often the microphone is read.
const TICK: Duration = Duration::from_millis(10);
/// Longest pause between two attempts to open a lost microphone again.
const LONGEST_BACK_OFF: Duration = Duration::from_secs(8);
/// A line that is not told as ended after its own length and this much more counts as ended.
const SPEAKING_SLACK: Duration = Duration::from_secs(3);

/// Runs the command.
pub fn run(args: TalkArgs) -> miette::Result<()> {
    let shelf = shelf::shipped()?;
    let mut room = Room::open()?;
    let opened =
        job::open(&shelf, args.appliance.as_deref(), args.serial.as_deref(), args.job, args.store.open()?)?;
    room.clock = Clock::start_at(opened.at);
    room.kept = args.keep_sound.of(opened.kept.store(), opened.kept.job())?;
    let mut conversation = Conversation::new(opened.session, opened.kept);
    room.work(&mut conversation)
}

/// The devices, and what moves between them and the conversation.
struct Room {
    listener: Listener,
    /// Sound on its way from the microphone to the listener.
    sound: Vec<f32>,
    voice: Voice,
    speaker: Speaker,
    ended: Receiver<u64>,
    mic: Mic,
    typed: Receiver<String>,
    narrator: Narrator<std::io::Stdout>,
    clock: Clock,
    kept: Option<KeptSound>,
}

impl Room {
    fn open() -> miette::Result<Self> {
        let (tell, ended) = mpsc::channel();
        // The receiver may be gone when the program ends; then nobody needs to know.
        let speaker = Speaker::open(move |number, _| {
            let _told = tell.send(number);
        })
        .wrap_err("opening the loudspeaker")?;
        let mic = Mic::open().wrap_err("opening the microphone")?;
        let listener = Listener::new(Ear::open()?, mic.rate())?;
        Ok(Self {
            listener,
            sound: Vec::new(),
            voice: Voice::new()?,
            speaker,
            ended,
            mic,
            typed: typed_lines(),
            narrator: Narrator::new(std::io::stdout()),
            clock: Clock::start(),
            kept: None,
        })
    }

    fn work<K: Keep>(&mut self, conversation: &mut Conversation<K>) -> miette::Result<()> {
        let mut input = Input::Start;
        let mut sound = Vec::new();
        // Ends with the job: every turn either asks or finishes.
        loop {
            let turn = conversation.turn(self.clock.now(), input);
            self.narrator.made_of(&turn).into_diagnostic()?;
            // A job is not given up because a sound cannot be kept.
            if let Some(kept) = &mut self.kept
                && let Err(why) = kept.answered(&turn, std::mem::take(&mut sound))
            {
                eprintln!("the sound is not kept: {why}");
            }
            let stopped = self.speak(&turn)?;
            let Some(listening) = &turn.listening else { return Ok(()) };
            input = match stopped {
                Some(heard) => Input::Heard(heard),
                None => self.listen(listening, turn.wake_after, &mut sound)?,
            };
        }
    }

    /// Speaks a turn's lines; what was heard if "stop" cut them short.
    fn speak(&mut self, turn: &Turn) -> miette::Result<Option<Heard>> {
        let stop_words = Situation { kind: Kind::StopOnly, ..Situation::default() };
        for line in &turn.lines {
            self.narrator.said(self.clock.now(), &line.text, line.manner).into_diagnostic()?;
            let sound = self.voice.render(&line.text, line.manner)?;
            let latest = Instant::now() + sound.duration() + SPEAKING_SLACK;
            let number = self.speaker.play(sound)?;
            while Instant::now() < latest
                && self.ended.recv_timeout(TICK) != Ok(number)
                && !self.speaker.is_lost()
            {
                if let Some(opinion) = self.hear(&stop_words)?
                    && opinion.heard.says_stop()
                {
                    self.speaker.stop();
                    return Ok(Some(opinion.heard));
                }
            }
        }
        Ok(None)
    }

    /// Waits for an answer; leaves how it sounded in `sound`.
    fn listen(
        &mut self,
        listening: &Listening,
        wake_after: Option<Duration>,
        sound: &mut Vec<f32>,
    ) -> miette::Result<Input> {
        let automaton = understand::open(&listening.situation);
        // What began while we spoke is no answer: it may have been ourselves.
        self.listener.restart();
        let wake_at = wake_after.map(|wait| Instant::now() + wait);
        // Ends with an answer, with silence where one is awaited, or with a lost microphone.
        loop {
            match self.typed.recv_timeout(TICK) {
                Ok(line) => return Ok(Input::Heard(console::typed(&automaton, &line))),
                Err(RecvTimeoutError::Timeout) => {}
                // Nobody can type here any more; the microphone still sets the pace.
                Err(RecvTimeoutError::Disconnected) => std::thread::park_timeout(TICK),
            }
            if self.mic.is_lost() {
                self.reopen()?;
                return Ok(Input::MicrophoneLost);
            }
            if let Some(mut opinion) = self.hear(&listening.situation)? {
                *sound = std::mem::take(&mut opinion.sound);
                return Ok(opinion.into());
            }
            if wake_at.is_some_and(|at| Instant::now() >= at) {
                return Ok(Input::Silence);
            }
        }
    }

    /// What the microphone's sound of the last moments made known.
    fn hear(&mut self, situation: &Situation) -> miette::Result<Option<Opinion>> {
        self.sound.clear();
        self.mic.read(&mut self.sound);
        self.listener.take(&self.sound, situation)
    }

    /// Opens the microphone again, however long it takes: without it only typed words are left.
    fn reopen(&mut self) -> miette::Result<()> {
        let mut pause = Duration::from_millis(500);
        while let Err(why) = Mic::open().map(|mic| self.mic = mic) {
            eprintln!("{why}; trying again in {} s", pause.as_secs_f32());
            std::thread::park_timeout(pause);
            pause = (pause * 2).min(LONGEST_BACK_OFF);
        }
        self.listener.set_rate(self.mic.rate())
    }
}

/// Lines typed on the keyboard, read on a thread of their own since reading them blocks.
fn typed_lines() -> Receiver<String> {
    let (tell, lines) = mpsc::channel();
    std::thread::spawn(move || {
        for line in std::io::stdin().lines().map_while(Result::ok) {
            if tell.send(line).is_err() {
                break;
            }
        }
    });
    lines
}
