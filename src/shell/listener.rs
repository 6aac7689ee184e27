//! Listening: sound to what was heard, without waiting longer than the words need.
//!
//! At every pause in speech the ear is asked what was said so far. Complete words are taken at once; incomplete ones
//! get more time; the rest wait until the silence is long, and by then the answer is there. The ear works on a thread
//! of its own, so nothing here ever waits for it. When it has nothing to do it is shown glimpses, of which only a sure
//! "stop" counts.

use std::sync::mpsc::{self, Receiver, RecvError, SyncSender, TryRecvError, TrySendError};
use std::thread;
use std::time::Duration;

use miette::{IntoDiagnostic, miette};

use super::ear::{Ear, Opinion};
use crate::hear::endpoint::{Endpointer, Event, Limits};
use crate::hear::frame::{FRAME_TIME, Frame, Framer};
use crate::hear::level::NoiseLevel;
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

/// While somebody goes on speaking, "stop" must be heard in every glimpse for so long: the beginning of "start" is that of
/// "stop" too, but not its end.
const SURE_FOR: Duration = Duration::from_millis(200);
/// Or so much silence follows on the words: no "start" has that in its middle.
const SILENCE: Duration = Duration::from_millis(100);

/// Turns sound into what was heard.
pub struct Listener {
    framer: Framer,
    endpointer: Endpointer,
    thread: Thread,
    asked: u64,
    /// How many questions the ear has not answered yet.
    behind: usize,
    /// The utterance last asked about, until its answer was used.
    open: Option<Open>,
    /// What is to be asked as soon as the ear is ready for it.
    waiting: Option<Asked>,
    glimpse: Glimpse,
    /// Nobody waits: glimpses are for the stop words alone.
    patient: bool,
    now: Timestamp,
}

/// The glimpse that the ear has now, and what those before it showed.
#[derive(Default)]
struct Glimpse {
    number: Option<u64>,
    /// What it shows.
    begin: Timestamp,
    end: Timestamp,
    /// When the words in it ended.
    speech_end: Timestamp,
    /// Since when every glimpse was surely "stop".
    sure_since: Option<Timestamp>,
    /// That it was.
    stop: Option<Opinion>,
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
            behind: 0,
            open: None,
            waiting: None,
            glimpse: Glimpse::default(),
            patient: false,
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
        self.glimpse = Glimpse::default();
    }

    /// The running level of noise.
    pub const fn noise(&self) -> NoiseLevel {
        self.endpointer.noise()
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
        self.patient = situation.kind != Kind::StopOnly;
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
            Some(Event::Glimpse(utterance)) => self.glance(utterance),
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

    /// Asks whether a glimpse is "stop", if the ear has nothing else to do.
    fn glance(&mut self, utterance: Utterance) {
        if self.behind > 0 || self.waiting.is_some() || self.patient {
            return;
        }
        self.asked += 1;
        let Utterance { begin, end, speech_end, .. } = utterance;
        self.glimpse =
            Glimpse { number: Some(self.asked), begin, end, speech_end, ..std::mem::take(&mut self.glimpse) };
        let stop_words = Situation { kind: Kind::StopOnly, ..Situation::default() };
        self.waiting = Some((self.asked, utterance, stop_words));
        self.send();
    }

    /// What a glimpse showed. Once silence has followed on its words it need not wait for others.
    fn seen(&mut self, opinion: Opinion) {
        let Glimpse { begin, end, speech_end, sure_since, .. } = self.glimpse;
        let sure = opinion.heard.says_stop() && opinion.progress == Progress::Complete;
        let since = sure_since.filter(|since| *since > begin).unwrap_or(end);
        self.glimpse.sure_since = sure.then_some(since);
        let silent =
            self.endpointer.speech_end() == Some(speech_end) && self.now.since(speech_end) >= SILENCE;
        if sure && (silent || end.since(since) >= SURE_FOR) {
            self.endpointer.take();
            self.open = None;
            self.glimpse.stop = Some(opinion);
        }
    }

    /// Hands the ear what it is to be asked; while it is too far behind, only the newest is kept for it.
    fn send(&mut self) {
        let Some(asked) = self.waiting.take() else { return };
        match self.thread.ask.try_send(asked) {
            Ok(()) => self.behind += 1,
            Err(TrySendError::Full(asked)) => self.waiting = Some(asked),
            // Found out where its answers are awaited.
            Err(TrySendError::Disconnected(_)) => {}
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
        while self.behind > 0 && self.waits() {
            let answer = self.thread.answers.recv().map_err(|RecvError| gone())?;
            self.take_answer(answer)?;
        }
        Ok(())
    }

    fn waits(&self) -> bool {
        self.glimpse.number.is_some() || self.open.as_ref().is_some_and(|open| open.opinion.is_none())
    }

    fn take_answer(&mut self, (number, opinion): Answered) -> miette::Result<()> {
        self.behind -= 1;
        let opinion = opinion?;
        if self.glimpse.number.take_if(|glimpse| *glimpse == number).is_some() {
            self.seen(opinion);
            return Ok(());
        }
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
        if let Some(stop) = self.glimpse.stop.take() {
            return Some(stop);
        }
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
    fn a_stop_said_while_we_listen_is_taken_from_a_glimpse() {
        let situation = Situation { kind: Kind::YesNo, ..Situation::default() };
        let heard = |words, probability| {
            let mut heard = typed(&open(&situation), words);
            heard.candidates.iter_mut().for_each(|candidate| candidate.probability = probability);
            heard
        };
        let clip = sound::read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/clips/stop.flac")).unwrap();
        let sound = [vec![0.0; RATE as usize], clip, vec![0.0; 2 * RATE as usize]].concat();
        for (script, after) in [
            ([heard("stop", 1.0), heard("no", 1.0)], Some(120)),
            // What is not sure, or no stop, is asked about at the pause as always.
            ([heard("stop", 0.8), heard("stop", 1.0)], Some(240)),
            ([heard("yes", 1.0), heard("stop", 1.0)], Some(240)),
        ] {
            let manifest = Manifest::read(&Weights::folder()).unwrap();
            let mut listener = Listener::new(Ear::with(Scripted::new(script), manifest), RATE).unwrap();
            let mut taken = None;
            let mut speech_end = Timestamp::ZERO;
            for frame in listener.framer.push(&sound) {
                listener.push(&frame, &situation);
                speech_end = listener.endpointer.speech_end().unwrap_or(speech_end);
                listener.wait().unwrap();
                if let Some(opinion) = listener.finished() {
                    assert!(opinion.heard.says_stop() && taken.is_none());
                    taken = Some(listener.now.since(speech_end).as_millis());
                }
            }
            assert_eq!(taken, after);
        }
    }

    #[test]
    fn an_answer_that_comes_late_leaves_the_next_words_alone() {
        let situation = Situation::default();
        for words in ["fifty ohms", "fifty point"] {
            let heard = typed(&open(&situation), words);
            let manifest = Manifest::read(&Weights::folder()).unwrap();
            let ear = Ear::with(Scripted::new(vec![heard; 8]), manifest);
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
