//! Sound as a microphone in a kitchen would give it: speech at one level, with a little room around it, and noise of
//! several kinds a stated number of decibels below.
//!
//! The level of speech is measured where somebody speaks, not over the pauses, so that silence around a clip does not
//! make the noise softer than it says (the idea of ITU-T P.56, active speech level, in its simplest form).

use leadhand::hear::frame::{FRAME, RATE};

use crate::figures::Draw;

/// Speech stands at this level, in decibels below full scale: the usual one of telephone tests (ITU-T P.56, P.830).
const SPEECH: f32 = -26.0;
/// The noise of the microphone itself.
const FLOOR: f32 = -74.0;
/// Before and after the clip: what our endpointer leaves around an utterance.
const BEFORE: usize = RATE as usize * 4 / 10;
const AFTER: usize = RATE as usize * 6 / 10;

/// How much noise: `None` is quiet.
pub type Level = Option<i32>;

/// The levels of the bench, in decibels of speech over noise.
pub const LEVELS: [Level; 5] = [None, Some(20), Some(10), Some(5), Some(0)];

/// A level's name.
pub fn named(level: Level) -> String {
    level.map_or_else(|| "quiet".to_owned(), |db| format!("{db} dB"))
}

/// A kind of noise: its name and a long enough piece of it.
pub struct Noise {
    pub name: String,
    pub samples: Vec<f32>,
}

/// A clip as the microphone gives it: at the level of speech, with room around it.
pub fn recorded(speech: &[f32], draw: &mut Draw) -> Vec<f32> {
    around(speech, BEFORE, AFTER, draw)
}

/// The same in a longer stretch, so that the endpointer has to find it; and when the last sound of speech is over, in
/// milliseconds.
pub fn in_a_stream(speech: &[f32], draw: &mut Draw) -> (Vec<f32>, f64) {
    const BEFORE: usize = RATE as usize * 2;
    // Unfinished words are waited for up to two seconds.
    const AFTER: usize = RATE as usize * 5 / 2;
    let end = BEFORE + last_sound(speech);
    (around(speech, BEFORE, AFTER, draw), end as f64 * 1e3 / f64::from(RATE))
}

/// Where the last frame ends that is not more than this below the loudest: many recordings end with silence.
fn last_sound(samples: &[f32]) -> usize {
    const BELOW: f32 = 35.0;
    let levels: Vec<f32> = samples.chunks(FRAME).map(root_mean_square).collect();
    let least = levels.iter().copied().fold(0.0, f32::max) * amplitude(-BELOW);
    levels.iter().rposition(|level| *level >= least).map_or(samples.len(), |last| (last + 1) * FRAME)
}

fn around(speech: &[f32], before: usize, after: usize, draw: &mut Draw) -> Vec<f32> {
    let gain = amplitude(SPEECH) / active_level(speech).max(1e-6);
    let mut samples = vec![0.0; before];
    samples.extend(speech.iter().map(|sample| gain * sample));
    samples.resize(samples.len() + after, 0.0);
    // White noise between −a and a has the level a over the root of three.
    let floor = amplitude(FLOOR) * 3_f32.sqrt();
    samples.iter().map(|sample| (sample + floor * draw.white()).clamp(-1.0, 1.0)).collect()
}

/// Adds noise from a drawn place on, so many decibels below the level of speech.
pub fn with_noise(samples: &[f32], noise: &Noise, level: Level, draw: &mut Draw) -> Vec<f32> {
    let Some(db) = level else { return samples.to_vec() };
    let from = draw.below(noise.samples.len());
    let piece: Vec<f32> = noise.samples.iter().cycle().skip(from).take(samples.len()).copied().collect();
    let gain = amplitude(SPEECH - db as f32) / root_mean_square(&piece).max(1e-6);
    samples.iter().zip(&piece).map(|(sample, noise)| (sample + gain * noise).clamp(-1.0, 1.0)).collect()
}

/// The noise alone, at a level below full scale.
pub fn at_level(noise: &[f32], level: f32) -> Vec<f32> {
    let gain = amplitude(level) / root_mean_square(noise).max(1e-6);
    noise.iter().map(|sample| (gain * sample).clamp(-1.0, 1.0)).collect()
}

pub fn amplitude(decibels: f32) -> f32 {
    10_f32.powf(decibels / 20.0)
}

pub fn root_mean_square(samples: &[f32]) -> f32 {
    (samples.iter().map(|sample| sample * sample).sum::<f32>() / samples.len().max(1) as f32).sqrt()
}

/// The level of the frames that are not more than this below the loudest.
fn active_level(samples: &[f32]) -> f32 {
    const BELOW: f32 = 25.0;
    let levels: Vec<f32> = samples.chunks(FRAME).map(root_mean_square).collect();
    let least = levels.iter().copied().fold(0.0, f32::max) * amplitude(-BELOW);
    let active: Vec<f32> = levels.into_iter().filter(|level| *level >= least).collect();
    root_mean_square(&active)
}

/// Noises made here, ten seconds each, for where no recordings are.
pub fn synthetic() -> Vec<Noise> {
    let seconds = 10 * RATE as usize;
    let mut draw = Draw(7);
    let time = |index: usize| index as f32 / RATE as f32;
    let sine = |hertz: f32, index: usize| (std::f32::consts::TAU * hertz * time(index)).sin();
    // A two-pole motor at 60 Hz: the mains, its harmonics, the slip of the rotor, and bearings.
    let motor: Vec<f32> = (0..seconds)
        .map(|i| {
            let hum: f32 = (1..=12).map(|n| sine(60.0 * n as f32, i) / n as f32).sum();
            hum * (1.0 + 0.3 * sine(2.3, i)) + 0.25 * draw.white()
        })
        .collect();
    // Air: noise that falls with frequency, with the tone of the blades.
    let fan: Vec<f32> = smoothed(&mut draw, seconds, 0.05)
        .iter()
        .enumerate()
        .map(|(i, air)| air + 0.02 * sine(145.0, i))
        .collect();
    // Water: what is left of white noise above its slow part, swelling.
    let water: Vec<f32> = {
        let white: Vec<f32> = (0..seconds).map(|_| draw.white()).collect();
        let mut slow = 0.0;
        let high = |(i, now): (usize, &f32)| {
            slow += 0.3 * (now - slow);
            (now - slow) * (1.0 + 0.5 * sine(0.7, i) + 0.3 * sine(5.1, i))
        };
        white.iter().enumerate().map(high).collect()
    };
    // Pots and cutlery: ringing blows, a few a second.
    let mut clatter = vec![0.0_f32; seconds];
    for _ in 0..40 {
        let (at, pitch, loud) = (draw.below(seconds), 800.0 + 3500.0 * draw.share(), 0.2 + draw.share());
        for (i, sample) in clatter[at..].iter_mut().take(RATE as usize / 4).enumerate() {
            let fade = (-time(i) * 30.0).exp();
            *sample += loud * fade * (sine(pitch, i) + 0.6 * sine(pitch * 2.76, i) + 0.3 * draw.white());
        }
    }
    [("motor", motor), ("fan", fan), ("water jet", water), ("clatter", clatter)]
        .map(|(name, samples)| Noise { name: format!("{name} (made)"), samples })
        .into()
}

fn smoothed(draw: &mut Draw, count: usize, share: f32) -> Vec<f32> {
    let mut slow = 0.0;
    let step = |_| {
        let now = draw.white();
        slow += share * (now - slow);
        slow + 0.1 * now
    };
    (0..count).map(step).collect()
}

/// Several people at once.
pub fn babble(clips: &[&[f32]]) -> Noise {
    let longest = 10 * RATE as usize;
    let mut samples = vec![0.0; longest];
    for (voice, clip) in clips.iter().enumerate().filter(|(_, clip)| !clip.is_empty()) {
        let gain = 1.0 / active_level(clip).max(1e-6);
        let from = voice * clip.len() / 3;
        for (sample, said) in samples.iter_mut().zip(clip.iter().cycle().skip(from)) {
            *sample += gain * said;
        }
    }
    Noise { name: "babble (made)".to_owned(), samples }
}
