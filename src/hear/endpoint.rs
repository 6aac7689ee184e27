//! Where an utterance begins and where it ends.
//!
//! A frame in which somebody speaks opens an utterance; the pre-roll keeps the first letters. It ends when silence
//! has lasted as long as the limits say, so the last word, the unit, is not lost. Every length is bounded.

use std::collections::VecDeque;
use std::time::Duration;

use super::activity::Activity;
use super::frame::{FRAME, FRAME_TIME, Frame};
use super::level::NoiseLevel;
use super::utterance::Utterance;
use crate::time::Timestamp;

/// How long things may last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Sound kept from before speech was noticed.
    pub pre_roll: Duration,
    /// Silence that ends an utterance.
    pub hangover: Duration,
    /// Speech shorter than this is a click.
    pub shortest: Duration,
    /// An utterance is cut when it reaches this length.
    pub longest: Duration,
}

impl Limits {
    /// A reading, a command, yes or no (voice control guides: 500 to 700 ms of silence).
    pub const SHORT: Self = Self {
        pre_roll: Duration::from_millis(400),
        hangover: Duration::from_millis(600),
        shortest: Duration::from_millis(60),
        longest: Duration::from_millis(8_000),
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
/// Speech goes on down to this probability.
const GOES_ON: f32 = 0.3;

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

    /// Takes the next frame; gives the utterance that ends with it.
    pub fn push(&mut self, frame: &Frame) -> Option<Utterance> {
        let score = self.activity.score(frame);
        self.joiner.push(frame, score)
    }

    /// The sound is over: gives the utterance that was still open.
    pub fn flush(&mut self) -> Option<Utterance> {
        self.joiner.close(false)
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
    /// Sum of squares over the frames of speech, and how many they are.
    power: f32,
    spoken: u32,
    /// Frames of silence since the last frame of speech.
    silent: u32,
}

const fn frames(duration: Duration) -> usize {
    (duration.as_millis() / FRAME_TIME.as_millis()) as usize
}

impl Joiner {
    const fn new(limits: Limits) -> Self {
        Self { limits, before: VecDeque::new(), open: None, noise: NoiseLevel::UNHEARD }
    }

    fn push(&mut self, frame: &Frame, score: f32) -> Option<Utterance> {
        let Some(open) = &mut self.open else {
            if score >= BEGINS {
                self.begin(frame);
            } else {
                self.noise.hear(frame);
                self.before.push_back(frame.clone());
                while self.before.len() > frames(self.limits.pre_roll) {
                    self.before.pop_front();
                }
            }
            return None;
        };
        open.samples.extend_from_slice(&frame.samples);
        if score >= GOES_ON {
            open.speak(frame);
        } else {
            open.silent += 1;
        }
        let length = open.samples.len() / FRAME;
        if length >= frames(self.limits.longest) {
            return self.close(true);
        }
        if open.silent as usize >= frames(self.limits.hangover) { self.close(false) } else { None }
    }

    fn begin(&mut self, frame: &Frame) {
        let begin = self.before.front().unwrap_or(frame).begin();
        let mut samples: Vec<f32> = self.before.drain(..).flat_map(|before| before.samples).collect();
        samples.extend_from_slice(&frame.samples);
        let mut open = Open { samples, begin, speech_end: begin, power: 0.0, spoken: 0, silent: 0 };
        open.speak(frame);
        self.open = Some(open);
    }

    fn close(&mut self, cut: bool) -> Option<Utterance> {
        let open = self.open.take()?;
        if (open.spoken as usize) < frames(self.limits.shortest) {
            return None;
        }
        let level = (open.power / open.spoken as f32).sqrt();
        Some(Utterance {
            samples: open.samples,
            begin: open.begin,
            speech_end: open.speech_end,
            signal_to_noise: self.noise.signal_to_noise(level),
            cut,
        })
    }
}

impl Open {
    fn speak(&mut self, frame: &Frame) {
        self.power += frame.level().powi(2);
        self.spoken += 1;
        self.silent = 0;
        self.speech_end = frame.begin().after(FRAME_TIME);
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
                found.extend(joiner.push(&frame, if *speaking { 0.9 } else { 0.1 }));
            }
        }
        found.extend(joiner.close(false));
        found.iter().map(|u| (u.begin.as_millis(), u.end().as_millis(), u.cut)).collect()
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
    fn nobody_speaks_for_ever() {
        let found = check(Limits::SHORT, &[(true, 1000)]);
        assert_eq!(found[0], (0, 8000, true));
        assert_eq!(found.len(), 3);
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
