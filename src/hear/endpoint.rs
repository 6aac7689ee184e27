//! Where an utterance begins and where it ends.
//!
//! A frame in which somebody speaks opens an utterance; the pre-roll keeps the first letters. After a short silence it is
//! offered as it stands: whoever understands words may take it, or ask for patience. Otherwise it ends when silence has
//! lasted as long as the limits say, so the last word, the unit, is not lost. Every length is bounded. Because "stop" must
//! not wait for any of that, glimpses of what is being said are offered besides.

use std::collections::VecDeque;
use std::time::Duration;

use super::activity::Activity;
use super::frame::{FRAME, FRAME_TIME, Frame, RATE};
use super::level::NoiseLevel;
use super::utterance::Utterance;
use crate::time::Timestamp;

/// How long things may last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Sound kept from before speech was noticed.
    pub pre_roll: Duration,
    /// Silence after which the utterance is offered as it stands.
    pub pause: Duration,
    /// Silence that ends an utterance.
    pub hangover: Duration,
    /// Silence that ends one whose words are not complete.
    pub patience: Duration,
    /// Speech shorter than this is a click.
    pub shortest: Duration,
    /// An utterance is cut when it reaches this length.
    pub longest: Duration,
    /// When glimpses are offered.
    pub glimpses: Glimpses,
}

/// When a glimpse of an utterance is offered, which may be a "stop".
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Glimpses {
    /// Once, after so much silence, where all that was said is within [`GLIMPSE`].
    Silence(Duration),
    /// Again and again, as long as somebody speaks: whoever is not stopped goes on speaking.
    Every(Duration),
}

/// The most sound of a glimpse: "stop" lasts half a second, and where others speak too the less of them the better.
pub const GLIMPSE: Duration = Duration::from_millis(1_000);

impl Limits {
    /// A reading, a command, yes or no (voice control guides: 500 to 700 ms of silence, 200 to 300 for words that are
    /// complete, up to two seconds for words that are not).
    pub const SHORT: Self = Self {
        pre_roll: Duration::from_millis(400),
        pause: Duration::from_millis(240),
        hangover: Duration::from_millis(600),
        patience: Duration::from_millis(2_000),
        shortest: Duration::from_millis(60),
        longest: Duration::from_millis(8_000),
        glimpses: Glimpses::Silence(Duration::from_millis(120)),
    };

    /// The stop words while we speak: one word, and every moment counts. It ends right after the pause: "stop" may go on with
    /// "stop", and nobody waits for that. Where the microphone hears ourselves there is no pause, hence the glimpses.
    pub const STOP: Self = Self {
        pause: Duration::from_millis(120),
        hangover: Duration::from_millis(140),
        patience: Duration::from_millis(140),
        glimpses: Glimpses::Every(Duration::from_millis(100)),
        ..Self::SHORT
    };

    /// Digits of a serial or phone number, said in groups (1000 to 1200 ms of silence).
    pub const DIGITS: Self = Self {
        hangover: Duration::from_millis(1_100),
        longest: Duration::from_millis(10_000),
        ..Self::SHORT
    };
}

/// From this probability on a frame begins speech.
const BEGINS: f32 = 0.5;
/// Speech goes on down to this probability, where it stands out of the noise too: in noise the detector stays sure of
/// speech for a second after its end.
const GOES_ON: f32 = 0.3;

/// In noise, speech goes on only down to this share of what was loudest (about −10 dB): noise that the detector takes for
/// speech (water, people) would keep an utterance open up to its longest. Measured on 815 clips the whole way of a microphone's
/// sound: at 10 dB 76.8 % come out right instead of 72.3 %, in quiet 95.2 % as before.
const FAINT: f32 = 0.3;
/// What stands so far above the noise is never too soft.
const CLEAR: f32 = 4.0;
/// The share of a new frame in the loudness that is followed.
const FOLLOWED: f32 = 0.3;

/// A longer silence between words is shortened to this: weights fitted on speech without a break take the words before a
/// long one for the whole (measured: "ten point … seven ohms" is lost from half a second on).
const KEPT_SILENCE: Duration = Duration::from_millis(240);

/// What became of the utterance that somebody is speaking.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// The last [`GLIMPSE`] of what is being said, in case it is a stop.
    Glimpse(Utterance),
    /// Silence has lasted for [`Limits::pause`]: so much has been said. It may go on.
    Paused(Utterance),
    /// It is over.
    Ended(Utterance),
}

/// Finds utterances in a row of frames.
pub struct Endpointer {
    activity: Activity,
    joiner: Joiner,
}

impl Endpointer {
    /// With these limits.
    pub fn new(limits: Limits) -> Self {
        Self { activity: Activity::default(), joiner: Joiner::new(limits) }
    }

    /// Other limits, from the next utterance on.
    pub fn set_limits(&mut self, limits: Limits) {
        self.joiner.limits = limits;
    }

    /// Takes the next frame; tells what it made of the utterance.
    pub fn push(&mut self, frame: &Frame) -> Option<Event> {
        let score = self.activity.score(frame);
        self.joiner.push(frame, score)
    }

    /// The sound is over: gives the utterance that was still open.
    pub fn flush(&mut self) -> Option<Utterance> {
        self.joiner.close(false)
    }

    /// What was said is complete: the utterance that is open ends here, and what is spoken next is another.
    pub fn take(&mut self) {
        self.joiner.open = None;
    }

    /// What was said so far is not for us: only what is spoken from now on counts.
    pub fn restart(&mut self) {
        self.joiner.open = None;
        self.joiner.before.clear();
    }

    /// What was said is not complete: the utterance that is open ends only after [`Limits::patience`].
    pub const fn wait(&mut self) {
        if let Some(open) = &mut self.joiner.open {
            open.incomplete = true;
        }
    }

    /// When the speech of the utterance that is open last ended; `None` while none is open.
    pub fn speech_end(&self) -> Option<Timestamp> {
        self.joiner.open.as_ref().map(|open| open.speech_end)
    }

    /// Is somebody speaking just now?
    pub const fn is_open(&self) -> bool {
        self.joiner.open.is_some()
    }

    /// The running level of noise.
    pub const fn noise(&self) -> NoiseLevel {
        self.joiner.noise
    }
}

/// Joins scored frames to utterances.
struct Joiner {
    limits: Limits,
    before: VecDeque<Frame>,
    open: Option<Open>,
    noise: NoiseLevel,
}

/// An utterance that has not ended.
struct Open {
    samples: Vec<f32>,
    begin: Timestamp,
    speech_end: Timestamp,
    end: Timestamp,
    /// Sum of squares over the frames of speech, and how many they are.
    power: f32,
    spoken: u32,
    /// The level of its frames of speech, followed over a tenth of a second so that a clank does not count for words; and
    /// the highest of it.
    loudness: f32,
    loudest: f32,
    /// Frames since the first frame of speech.
    age: u32,
    /// Frames of silence since the last frame of speech.
    silent: u32,
    /// Must more words follow?
    incomplete: bool,
}

const fn frames(duration: Duration) -> usize {
    (duration.as_millis() / FRAME_TIME.as_millis()) as usize
}

impl Joiner {
    const fn new(limits: Limits) -> Self {
        Self { limits, before: VecDeque::new(), open: None, noise: NoiseLevel::UNHEARD }
    }

    fn push(&mut self, frame: &Frame, score: f32) -> Option<Event> {
        let Some(open) = &mut self.open else {
            if score >= BEGINS {
                self.begin(frame);
            } else {
                self.before.push_back(frame.clone());
                while self.before.len() > frames(self.limits.pre_roll) {
                    // Only what is this old is surely noise: speech is noticed a little late.
                    self.before.pop_front().iter().for_each(|frame| self.noise.hear(frame));
                }
            }
            return None;
        };
        open.samples.extend_from_slice(&frame.samples);
        open.end = frame.begin().after(FRAME_TIME);
        open.age += 1;
        if self.noise.level().is_none() && open.samples.len() >= RATE as usize {
            // Nobody speaks a second without a breath, and who can be understood stands 10 dB out of the noise.
            self.noise.learn(&open.samples, open.level() / 3.0);
        }
        if score >= GOES_ON && self.noise.is_below(frame) && !open.is_faint(frame, self.noise) {
            open.shorten_silence();
            open.speak(frame);
        } else {
            open.silent += 1;
        }
        let ends = if open.incomplete { self.limits.patience } else { self.limits.hangover };
        let silent = open.silent as usize;
        if open.end.since(open.begin) >= self.limits.longest {
            // Perhaps a machine was switched on, and all of it was noise.
            self.noise.learn(&open.samples, f32::INFINITY);
            return self.close(true).map(Event::Ended);
        }
        if silent >= frames(ends) {
            return self.close(false).map(Event::Ended);
        }
        if silent == frames(self.limits.pause) {
            self.so_far(false).map(Event::Paused)
        } else if open.shows(self.limits.glimpses) {
            self.so_far(false).map(Utterance::last_of).map(Event::Glimpse)
        } else {
            None
        }
    }

    fn begin(&mut self, frame: &Frame) {
        let begin = self.before.front().unwrap_or(frame).begin();
        let mut samples: Vec<f32> = self.before.drain(..).flat_map(|before| before.samples).collect();
        samples.extend_from_slice(&frame.samples);
        let mut open = Open {
            samples,
            begin,
            speech_end: begin,
            end: begin,
            power: 0.0,
            spoken: 0,
            loudness: 0.0,
            loudest: 0.0,
            age: 0,
            silent: 0,
            incomplete: false,
        };
        open.speak(frame);
        self.open = Some(open);
    }

    fn close(&mut self, cut: bool) -> Option<Utterance> {
        let utterance = self.so_far(cut);
        self.open = None;
        utterance
    }

    /// What was said, unless it was a click.
    fn so_far(&self, cut: bool) -> Option<Utterance> {
        let open = self.open.as_ref()?;
        if (open.spoken as usize) < frames(self.limits.shortest) {
            return None;
        }
        Some(Utterance {
            samples: open.samples.clone(),
            begin: open.begin,
            speech_end: open.speech_end,
            end: open.end,
            signal_to_noise: self.noise.signal_to_noise(open.level()),
            cut,
        })
    }
}

impl Open {
    /// Takes the middle out of the silence that the newest frame ended, if it was long.
    fn shorten_silence(&mut self) {
        let too_much = (self.silent as usize).saturating_sub(frames(KEPT_SILENCE));
        let kept_after = (frames(KEPT_SILENCE) / 2 + 1) * FRAME;
        let cut_end = self.samples.len().saturating_sub(kept_after);
        self.samples.drain(cut_end.saturating_sub(too_much * FRAME)..cut_end);
    }

    /// Is a frame too soft to be of the same voice? Only in noise: 12 dB above it nothing is.
    fn is_faint(&self, frame: &Frame, noise: NoiseLevel) -> bool {
        let clear = noise.level().map_or(0.0, |noise| CLEAR * noise);
        frame.level() < clear.min(FAINT * self.loudest)
    }

    /// Is it time for a glimpse?
    const fn shows(&self, glimpses: Glimpses) -> bool {
        match glimpses {
            Glimpses::Silence(silence) => {
                self.silent as usize == frames(silence) && self.age as usize <= frames(GLIMPSE)
            }
            Glimpses::Every(time) => (self.age as usize).is_multiple_of(frames(time)),
        }
    }

    /// Root mean square of the frames of speech.
    fn level(&self) -> f32 {
        (self.power / self.spoken as f32).sqrt()
    }

    fn speak(&mut self, frame: &Frame) {
        self.power += frame.level().powi(2);
        self.spoken += 1;
        self.loudness += FOLLOWED * (frame.level() - self.loudness);
        self.loudest = self.loudest.max(self.loudness);
        self.silent = 0;
        self.incomplete = false;
        self.speech_end = frame.begin().after(FRAME_TIME);
        self.end = self.speech_end;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Frames of noise and of speech: runs of (speaking, frames).
    fn check(limits: Limits, runs: &[(bool, usize)]) -> Vec<(u64, u64, bool)> {
        let mut joiner = Joiner::new(limits);
        let mut index = 0;
        let mut found = Vec::new();
        for (speaking, count) in runs {
            for _ in 0..*count {
                let level = if *speaking { 0.2 } else { 0.01 };
                let frame = Frame { index, samples: [level; FRAME] };
                index += 1;
                if let Some(Event::Ended(utterance)) = joiner.push(&frame, if *speaking { 0.9 } else { 0.1 })
                {
                    found.push(utterance);
                }
            }
        }
        found.extend(joiner.close(false));
        found.iter().map(|u| (u.begin.as_millis(), u.end.as_millis(), u.cut)).collect()
    }

    #[test]
    fn utterances_begin_early_and_end_late() {
        let limits = Limits::SHORT;
        // One second of noise, one of speech, two of noise: 400 ms before, 600 ms after.
        assert_eq!(check(limits, &[(false, 50), (true, 50), (false, 100)]), [(600, 2600, false)]);
        // A pause shorter than the hangover does not end it; a longer one does.
        assert_eq!(check(limits, &[(true, 20), (false, 29), (true, 20)]), [(0, 1380, false)]);
        assert_eq!(
            check(limits, &[(true, 20), (false, 60), (true, 20)]),
            [(0, 1000, false), (1200, 2000, false)]
        );
        // A click of 40 ms is none; the end of the sound ends an utterance.
        assert_eq!(check(limits, &[(false, 50), (true, 2), (false, 100)]), []);
        assert_eq!(check(limits, &[(false, 5), (true, 10)]), [(0, 300, false)]);
        assert_eq!(check(limits, &[(false, 500)]), []);
    }

    #[test]
    fn a_pause_offers_what_was_said_and_the_words_decide() {
        let frame = |index, level| Frame { index, samples: [level; FRAME] };
        // Frames of silence after one second of speech, until an event; told what to do at the first pause.
        let events = |decide: fn(&mut Endpointer)| {
            let mut endpointer = Endpointer::new(Limits::SHORT);
            for index in 0..50 {
                assert_eq!(endpointer.joiner.push(&frame(index, 0.2), 0.9), None);
            }
            let mut events = Vec::new();
            for index in 50..200 {
                let event = endpointer.joiner.push(&frame(index, 0.01), 0.1);
                let silence = (index - 49) * 20;
                match event {
                    Some(Event::Paused(utterance)) => {
                        events.push((silence, "paused", utterance.speech_end.as_millis()));
                        decide(&mut endpointer);
                    }
                    Some(Event::Ended(utterance)) => {
                        events.push((silence, "ended", utterance.speech_end.as_millis()));
                    }
                    Some(Event::Glimpse(_)) | None => {}
                }
            }
            events
        };
        assert_eq!(events(|_| ()), [(240, "paused", 1000), (600, "ended", 1000)]);
        assert_eq!(events(Endpointer::take), [(240, "paused", 1000)]);
        assert_eq!(events(Endpointer::wait), [(240, "paused", 1000), (2000, "ended", 1000)]);
        // Speech that goes on is offered anew, as one utterance.
        let mut joiner = Joiner::new(Limits::SHORT);
        let (mut index, mut ends) = (0, Vec::new());
        for (score, count) in [(0.9, 20), (0.1, 15), (0.9, 20), (0.1, 40)] {
            for _ in 0..count {
                let event = joiner.push(&frame(index, 0.1), score);
                index += 1;
                if let Some(Event::Paused(utterance) | Event::Ended(utterance)) = event {
                    ends.push((utterance.begin.as_millis(), utterance.speech_end.as_millis()));
                }
            }
        }
        assert_eq!(ends, [(0, 400), (0, 1100), (0, 1100)]);
    }

    /// Ages at which a glimpse is offered of so many frames of speech and then silence, in ms, and the length of each.
    fn glimpses(limits: Limits, spoken: u64) -> Vec<(u64, usize)> {
        let mut joiner = Joiner::new(limits);
        let mut found = Vec::new();
        for index in 0..spoken + 100 {
            let (level, score) = if index < spoken { (0.2, 0.9) } else { (0.01, 0.1) };
            if let Some(Event::Glimpse(seen)) = joiner.push(&Frame { index, samples: [level; FRAME] }, score)
            {
                assert_eq!(seen.end.since(seen.begin).as_millis() as usize, seen.samples.len() / 16);
                found.push((index * 20, seen.samples.len() / 16));
            }
        }
        found
    }

    #[test]
    fn glimpses_are_short_and_come_before_the_end() {
        let while_we_speak = [(100, 120), (200, 220), (300, 320), (400, 420), (500, 520)];
        assert_eq!(glimpses(Limits::STOP, 23), while_we_speak);
        let longer = glimpses(Limits::STOP, 100);
        assert!(longer.iter().all(|(_, length)| *length <= 1_000) && longer.len() == 20, "{longer:?}");
        // While we listen, one after a short utterance.
        assert_eq!(glimpses(Limits::SHORT, 23), [(560, 580)]);
        assert_eq!(glimpses(Limits::SHORT, 50), []);
    }

    #[test]
    fn a_long_silence_between_words_is_shortened() {
        let lengths = |silent: usize| {
            let mut joiner = Joiner::new(Limits::SHORT);
            for index in 0..40 + silent as u64 {
                let speaking = index < 20 || index >= 20 + silent as u64;
                let level = if speaking { 0.2 } else { 0.01 };
                joiner.push(&Frame { index, samples: [level; FRAME] }, if speaking { 0.9 } else { 0.1 });
            }
            let utterance = joiner.close(false).unwrap();
            let quiet = utterance.samples.iter().filter(|sample| **sample == 0.01).count() / FRAME;
            (utterance.samples.len() / FRAME, quiet, utterance.end.as_millis())
        };
        assert_eq!(lengths(12), (52, 12, 1_040));
        assert_eq!(lengths(25), (52, 12, 1_300));
    }

    #[test]
    fn noise_that_sounds_like_speech_does_not_keep_an_utterance_open() {
        // A second of noise, one of speech, and after it noise again, of which the detector is sure that it is speech.
        let silences = |speech: f32, after: f32| {
            let mut joiner = Joiner::new(Limits::SHORT);
            let mut ended = None;
            for index in 0..250 {
                let (level, score) = match index {
                    0..50 => (0.02, 0.0),
                    50..100 => (speech, 0.9),
                    _ => (after, 0.9),
                };
                let event = joiner.push(&Frame { index, samples: [level; FRAME] }, score);
                if let Some(Event::Ended(utterance)) = event {
                    ended.get_or_insert((utterance.speech_end.as_millis(), utterance.end.as_millis()));
                }
            }
            ended
        };
        assert_eq!(silences(0.2, 0.04), Some((2_000, 2_600)));
        // The same voice, lower: it goes on, and so does whoever speaks softly all the time.
        assert_eq!(silences(0.2, 0.1), None);
        assert_eq!(silences(0.05, 0.04), None);
    }

    #[test]
    fn nobody_speaks_for_ever() {
        let found = check(Limits::SHORT, &[(true, 1000)]);
        // What goes on at the same level after that is a machine.
        assert_eq!(found, [(0, 8000, true)]);
    }

    #[test]
    fn speech_is_measured_against_the_noise_before_it() {
        let mut joiner = Joiner::new(Limits::SHORT);
        let frame = |index, level| Frame { index, samples: [level; FRAME] };
        for index in 0..50 {
            joiner.push(&frame(index, 0.01), 0.0);
        }
        for index in 50..100 {
            joiner.push(&frame(index, 0.1), 1.0);
        }
        let snr = joiner.close(false).unwrap().signal_to_noise.unwrap();
        // Ten times the level is 20 dB; the noise's own share takes off a little.
        assert!((snr.0 - 19.96).abs() < 0.05, "{snr:?}");
    }
}
