//! Listening: sound to what was heard, without waiting longer than the words need.
//!
//! At every pause in speech the ear is asked what was said so far. Complete words are taken at once; incomplete ones
//! get more time; the rest wait until the silence is long, and by then the answer is there. The ear works on a thread
//! of its own, so nothing here ever waits for it.

use std::sync::mpsc::{self, Receiver, RecvError, SyncSender, TryRecvError, TrySendError};
use std::thread;

use miette::{IntoDiagnostic, miette};

use super::ear::{Ear, Opinion};
use crate::hear::endpoint::{Endpointer, Event, Limits};
use crate::hear::frame::{FRAME_TIME, Frame, Framer};
use crate::hear::utterance::Utterance;
use crate::time::Timestamp;
use crate::understand::progress::Progress;
use crate::understand::situation::{Kind, Situation};

/// An utterance and the situation in which it was said.
type Asked = (u64, Utterance, Situation);
type Answered = (u64, miette::Result<Opinion>);

/// The ear on its own thread. Ends when dropped.
struct Thread {
    ask: SyncSender<Asked>,
    answers: Receiver<Answered>,
}

/// Utterances that may wait for the ear. More than one waits only where somebody goes on speaking while the ear works.
const MOST_WAITING: usize = 4;

/// Turns sound into what was heard.
pub struct Listener {
    framer: Framer,
    endpointer: Endpointer,
    thread: Thread,
    asked: u64,
    /// The utterance last asked about, until its answer was used.
    open: Option<Open>,
    /// What is to be asked as soon as the ear is ready for it.
    waiting: Option<Asked>,
    now: Timestamp,
}

struct Open {
    number: u64,
    speech_end: Timestamp,
    opinion: Option<Opinion>,
    over: bool,
}

impl Listener {
    /// For sound of so many samples a second, in one channel.
    ///
    /// # Errors
    /// A rate that is none.
    pub fn new(ear: Ear, rate: u32) -> miette::Result<Self> {
        let framer = Framer::new(rate, 1).into_diagnostic()?;
        Ok(Self {
            framer,
            endpointer: Endpointer::new(Limits::SHORT),
            thread: Thread::start(ear),
            asked: 0,
            open: None,
            waiting: None,
            now: Timestamp::ZERO,
        })
    }

    /// The sound comes from another microphone now.
    ///
    /// # Errors
    /// A rate that is none.
    pub fn set_rate(&mut self, rate: u32) -> miette::Result<()> {
        self.framer = Framer::new(rate, 1).into_diagnostic()?;
        self.restart();
        Ok(())
    }

    /// Only what begins from now on counts: what is being said now is dropped.
    pub fn restart(&mut self) {
        self.endpointer.restart();
        self.open = None;
        self.waiting = None;
    }

    /// Takes sound, and gives what was heard, if that is known now. Never waits.
    ///
    /// # Errors
    /// What the ear cannot do.
    pub fn take(&mut self, samples: &[f32], situation: &Situation) -> miette::Result<Option<Opinion>> {
        self.endpointer.set_limits(limits(situation.kind));
        for frame in self.framer.push(samples) {
            self.push(&frame, situation);
        }
        self.answered()?;
        self.send();
        Ok(self.finished())
    }

    /// As [`Self::take`], frame by frame, waiting for the ear whenever it was asked: for recordings, where nobody waits.
    /// Gives also when the answer was known, as if the ear took no time.
    ///
    /// # Errors
    /// What the ear cannot do.
    pub fn take_patiently(
        &mut self,
        samples: &[f32],
        situation: &Situation,
    ) -> miette::Result<Vec<(Timestamp, Opinion)>> {
        self.endpointer.set_limits(limits(situation.kind));
        let mut heard = Vec::new();
        for frame in self.framer.push(samples) {
            self.push(&frame, situation);
            self.wait()?;
            heard.extend(self.finished().map(|opinion| (self.now, opinion)));
        }
        Ok(heard)
    }

    fn push(&mut self, frame: &Frame, situation: &Situation) {
        self.now = frame.begin().after(FRAME_TIME);
        match self.endpointer.push(frame) {
            Some(Event::Paused(utterance)) => self.ask(utterance, situation, false),
            Some(Event::Ended(utterance)) => match &mut self.open {
                Some(open) if open.speech_end == utterance.speech_end => open.over = true,
                _ => self.ask(utterance, situation, true),
            },
            None => {}
        }
    }

    fn ask(&mut self, utterance: Utterance, situation: &Situation, over: bool) {
        self.asked += 1;
        self.open = Some(Open { number: self.asked, speech_end: utterance.speech_end, opinion: None, over });
        self.waiting = Some((self.asked, utterance, situation.clone()));
        self.send();
    }

    /// Hands the ear what it is to be asked; while it is too far behind, only the newest is kept for it.
    fn send(&mut self) {
        if let Some(asked) = self.waiting.take()
            && let Err(TrySendError::Full(asked)) = self.thread.ask.try_send(asked)
        {
            self.waiting = Some(asked);
        }
    }

    /// Takes the answers that are there.
    fn answered(&mut self) -> miette::Result<()> {
        loop {
            match self.thread.answers.try_recv() {
                Ok(answer) => self.take_answer(answer)?,
                Err(TryRecvError::Empty) => return Ok(()),
                Err(TryRecvError::Disconnected) => return Err(gone()),
            }
        }
    }

    /// Waits for the answer to what was asked.
    fn wait(&mut self) -> miette::Result<()> {
        while self.open.as_ref().is_some_and(|open| open.opinion.is_none()) {
            let answer = self.thread.answers.recv().map_err(|RecvError| gone())?;
            self.take_answer(answer)?;
        }
        Ok(())
    }

    fn take_answer(&mut self, (number, opinion): Answered) -> miette::Result<()> {
        let opinion = opinion?;
        // Speech that went on has been asked about anew, or will be.
        let Some(open) = self.open.as_mut().filter(|open| open.number == number) else { return Ok(()) };
        let still_silent = open.over || self.endpointer.speech_end() == Some(open.speech_end);
        if !still_silent {
            self.open = None;
            return Ok(());
        }
        // Once it is over, what the endpointer has open is somebody's next words.
        match opinion.progress {
            Progress::Complete if !open.over => {
                self.endpointer.take();
                open.over = true;
            }
            Progress::Incomplete if !open.over => self.endpointer.wait(),
            _ => {}
        }
        open.opinion = Some(opinion);
        Ok(())
    }

    fn finished(&mut self) -> Option<Opinion> {
        self.open.take_if(|open| open.over && open.opinion.is_some())?.opinion
    }
}

/// How long things may last in a situation.
pub(super) const fn limits(kind: Kind) -> Limits {
    match kind {
        Kind::Digits | Kind::Plate => Limits::DIGITS,
        Kind::StopOnly => Limits::STOP,
        _ => Limits::SHORT,
    }
}

impl Thread {
    fn start(mut ear: Ear) -> Self {
        let (ask, asked) = mpsc::sync_channel::<Asked>(MOST_WAITING);
        let (answer, answers) = mpsc::sync_channel(MOST_WAITING * 2);
        // Ends when nobody asks any more, or nobody wants the answer.
        thread::spawn(move || {
            for (number, utterance, situation) in asked {
                if answer.send((number, ear.judge(&utterance, &situation))).is_err() {
                    break;
                }
            }
        });
        Self { ask, answers }
    }
}

fn gone() -> miette::Report {
    miette!(help = "start the program again", "the recogniser has stopped")
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::hear::frame::{FRAME, RATE};
    use crate::shell::recogniser::scripted::Scripted;
    use crate::shell::sound;
    use crate::shell::weights::{Manifest, Weights};
    use crate::understand::{open, typed};

    #[test]
    fn an_answer_that_comes_late_leaves_the_next_words_alone() {
        let situation = Situation::default();
        for words in ["fifty ohms", "fifty point"] {
            let heard = typed(&open(&situation), words);
            let manifest = Manifest::read(&Weights::folder()).unwrap();
            let ear = Ear::with(Scripted::new(vec![heard; 4]), manifest);
            let mut listener = Listener::new(ear, RATE).unwrap();
            let clip =
                sound::read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/clips/fifty-ohms.flac"));
            let (clip, silence) = (clip.unwrap(), vec![0.0; RATE as usize]);
            // Said, over, and somebody has spoken again before the ear has answered.
            let feed = |listener: &mut Listener, sound: &[f32]| {
                for frame in listener.framer.push(sound) {
                    listener.push(&frame, &situation);
                }
            };
            feed(&mut listener, &[&*silence, &clip, &silence, &clip[..clip.len() * 9 / 10]].concat());
            while listener.endpointer.speech_end() == Some(listener.now) {
                feed(&mut listener, &silence[..FRAME]);
            }
            assert!(listener.open.as_ref().is_some_and(|open| open.over) && listener.endpointer.is_open());
            listener.wait().unwrap();
            assert!(listener.finished().is_some(), "{words}");
            assert!(listener.endpointer.is_open(), "{words}: the next words were dropped");
            // And they end as soon as any others.
            feed(&mut listener, &silence[..RATE as usize * 6 / 10]);
            assert!(!listener.endpointer.is_open(), "{words}: the next words were kept waiting");
        }
    }
}
