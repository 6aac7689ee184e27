//! Sound of any rate and any number of channels, as frames of 20 ms at 16 kHz.
//!
//! Time is the count of frames; there is no other clock here.

use std::time::Duration;

use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Fft, FixedSync, Resampler};

use crate::time::Timestamp;

/// Samples a second of everything that is recognised.
pub const RATE: u32 = 16_000;

/// Samples a frame.
pub const FRAME: usize = 320;

/// How long a frame lasts.
pub const FRAME_TIME: Duration = Duration::from_millis(20);

/// The rates that sound may come in, in samples a second.
pub const RATES: std::ops::RangeInclusive<u32> = 4_000..=384_000;

/// The most channels that sound may come in.
pub const MOST_CHANNELS: u16 = 32;

/// A frame: 20 ms of sound between −1 and 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// How many frames came before it.
    pub index: u64,
    /// Its samples.
    pub samples: [f32; FRAME],
}

impl Frame {
    /// When the frame begins, from the beginning of the sound.
    pub const fn begin(&self) -> Timestamp {
        Timestamp::from_millis(self.index * FRAME_TIME.as_millis() as u64)
    }

    /// Root mean square of the samples.
    pub fn level(&self) -> f32 {
        root_mean_square(&self.samples)
    }
}

/// Root mean square of a frame's samples.
pub(super) fn root_mean_square(frame: &[f32]) -> f32 {
    (frame.iter().map(|s| s * s).sum::<f32>() / FRAME as f32).sqrt()
}

/// A sound that cannot be brought to frames.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FormatError {
    /// A rate that no sound device has.
    #[error("a rate of {0} samples a second; {min} to {max} can be used", min = RATES.start(), max = RATES.end())]
    Rate(u32),
    /// No channel, or more than a sound device has.
    #[error("{0} channels; 1 to {MOST_CHANNELS} can be used")]
    Channels(u16),
}

/// Turns interleaved samples into frames.
pub struct Framer {
    channels: usize,
    /// `None` where the sound has our rate already.
    resampler: Option<Fft<f32>>,
    /// One channel, not yet resampled.
    waiting: Vec<f32>,
    /// A sample group that is not complete yet.
    torn: Vec<f32>,
    next: u64,
}

impl Framer {
    /// For sound of `rate` samples a second in `channels` interleaved channels.
    pub fn new(rate: u32, channels: u16) -> Result<Self, FormatError> {
        if !RATES.contains(&rate) {
            return Err(FormatError::Rate(rate));
        }
        if channels == 0 || channels > MOST_CHANNELS {
            return Err(FormatError::Channels(channels));
        }
        let new = || Fft::new(rate as usize, RATE as usize, FRAME, 1, FixedSync::Output);
        let resampler = (rate != RATE).then(new).transpose().map_err(|_| FormatError::Rate(rate))?;
        Ok(Self {
            channels: usize::from(channels),
            resampler,
            waiting: Vec::new(),
            torn: Vec::new(),
            next: 0,
        })
    }

    /// How much later than its sound a frame comes out, in frames rounded up: what `flush` adds at the end.
    fn delay(&self) -> usize {
        self.resampler.as_ref().map_or(0, |r| r.output_delay().div_ceil(FRAME))
    }

    /// Takes interleaved samples and gives the frames that are complete now.
    pub fn push(&mut self, interleaved: &[f32]) -> Vec<Frame> {
        self.torn.extend_from_slice(interleaved);
        let whole = self.torn.len() / self.channels * self.channels;
        // A sample that is no number would spoil everything after it.
        let clean = |s: &f32| if s.is_finite() { s.clamp(-1.0, 1.0) } else { 0.0 };
        let mix = |group: &[f32]| group.iter().map(clean).sum::<f32>() / self.channels as f32;
        self.waiting.extend(self.torn[..whole].chunks_exact(self.channels).map(mix));
        self.torn.drain(..whole);
        let mut frames = Vec::new();
        while let Some(frame) = self.take() {
            frames.push(frame);
        }
        frames
    }

    /// Gives what is left at the end of the sound, the last frame filled with silence.
    pub fn flush(&mut self) -> Vec<Frame> {
        let per_frame = self.resampler.as_ref().map_or(FRAME, Resampler::input_frames_max);
        let frames = self.waiting.len().div_ceil(per_frame) + self.delay();
        let silence = vec![0.0; frames * per_frame * self.channels];
        let mut last = self.push(&silence);
        last.truncate(frames);
        self.waiting.clear();
        last
    }

    fn take(&mut self) -> Option<Frame> {
        let mut samples = [0.0; FRAME];
        let used = if let Some(resampler) = &mut self.resampler {
            let needed = resampler.input_frames_next();
            let given = self.waiting.get(..needed)?;
            let input = InterleavedSlice::new(given, 1, needed).expect("the slice is as long as it says");
            let mut output =
                InterleavedSlice::new_mut(&mut samples, 1, FRAME).expect("a frame is as long as it says");
            resampler
                .process_into_buffer(&input, &mut output, None)
                .expect("the resampler got what it asked for");
            needed
        } else {
            samples.copy_from_slice(self.waiting.get(..FRAME)?);
            FRAME
        };
        self.waiting.drain(..used);
        let frame = Frame { index: self.next, samples };
        self.next += 1;
        Some(frame)
    }
}

/// A whole sound as samples at 16 kHz in one channel, the resampler's delay taken off.
pub fn mono_16k(rate: u32, channels: u16, interleaved: &[f32]) -> Result<Vec<f32>, FormatError> {
    let mut framer = Framer::new(rate, channels)?;
    let delay = framer.resampler.as_ref().map_or(0, Resampler::output_delay);
    let length = interleaved.len() as u64 / u64::from(channels) * u64::from(RATE) / u64::from(rate);
    let mut frames = framer.push(interleaved);
    frames.extend(framer.flush());
    let samples = frames.iter().flat_map(|frame| frame.samples);
    Ok(samples.skip(delay).take(length as usize).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tone(rate: u32, hertz: f32, seconds: f32) -> Vec<f32> {
        let step = std::f32::consts::TAU * hertz / rate as f32;
        (0..(seconds * rate as f32) as u32).map(|n| 0.5 * (n as f32 * step).sin()).collect()
    }

    #[test]
    fn every_rate_keeps_length_and_tone() {
        // A tone of 440 Hz crosses zero upwards 440 times a second, at whatever rate it was sampled.
        for rate in [8_000, 11_025, 16_000, 22_050, 32_000, 44_100, 48_000, 96_000, 192_000] {
            let samples = mono_16k(rate, 1, &tone(rate, 440.0, 1.0)).unwrap();
            assert!(samples.len().abs_diff(16_000) <= 1, "{rate}: {} samples", samples.len());
            let rises = samples.windows(2).filter(|w| w[0] < 0.0 && w[1] >= 0.0).count();
            assert!(rises.abs_diff(440) <= 2, "{rate}: {rises} rises");
            let middle = &samples[4_000..12_000];
            let level = (middle.iter().map(|s| s * s).sum::<f32>() / middle.len() as f32).sqrt();
            assert!((level - 0.3536).abs() < 0.01, "{rate}: level {level}");
        }
    }

    #[test]
    fn channels_are_averaged_and_pieces_join() {
        let stereo: Vec<f32> = tone(48_000, 300.0, 0.5).iter().flat_map(|s| [*s, -*s]).collect();
        assert!(mono_16k(48_000, 2, &stereo).unwrap().iter().all(|s| s.abs() < 1e-4));
        let sound = tone(44_100, 500.0, 0.7);
        let mut whole = Framer::new(44_100, 1).unwrap();
        let mut pieces = Framer::new(44_100, 1).unwrap();
        let joined: Vec<Frame> = sound.chunks(97).flat_map(|piece| pieces.push(piece)).collect();
        assert_eq!(whole.push(&sound), joined);
        assert_eq!(whole.flush(), pieces.flush());
    }

    #[test]
    fn what_is_no_sound_is_refused() {
        assert_eq!(Framer::new(0, 1).err(), Some(FormatError::Rate(0)));
        assert_eq!(Framer::new(16_000, 0).err(), Some(FormatError::Channels(0)));
        assert_eq!(Framer::new(16_000, 33).err(), Some(FormatError::Channels(33)));
        let frames = Framer::new(16_000, 1).unwrap().push(&[f32::NAN; FRAME]);
        assert_eq!(frames[0].level(), 0.0);
    }
}
