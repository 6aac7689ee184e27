//! Sound that leaves as a file: several sounds laid on one track, and the track as a WAV.
//!
//! Knows nothing of who speaks or why.

use std::path::Path;
use std::time::Duration;

use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Fft, FixedSync, Resampler};

use super::voice::Sound;

/// Longest track: a day of work at 16 kHz would not fit into a WAV file; four hours do.
pub const LONGEST_TRACK: Duration = Duration::from_secs(4 * 60 * 60);

/// Frames that the resampler takes at a time.
const CHUNK: usize = 1024;

/// Why sound could not be written.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum SoundOutError {
    /// The file cannot be written.
    #[error("cannot write {path}: {reason}")]
    #[diagnostic(
        code(sound_out::write),
        help("check that its folder exists, is yours to write, and has room")
    )]
    Write {
        /// The file.
        path: String,
        /// What went wrong.
        reason: String,
    },
    /// A rate of zero, or a pair of rates that cannot be brought together.
    #[error("sound at {from} samples a second cannot be brought to {to}")]
    #[diagnostic(code(sound_out::rate), help("use a rate between 8000 and 192000"))]
    Rate {
        /// The rate it has.
        from: u32,
        /// The rate asked for.
        to: u32,
    },
    /// A sound would end after [`LONGEST_TRACK`].
    #[error("the track is full: {} minutes are the most", LONGEST_TRACK.as_secs() / 60)]
    #[diagnostic(code(sound_out::too_long), help("record the job in parts"))]
    TooLong,
}

/// Samples between −1 and 1 as whole numbers; what is louder is cut.
pub fn to_integers(samples: &[f32]) -> Vec<i16> {
    samples.iter().map(|s| (s.clamp(-1.0, 1.0) * f32::from(i16::MAX)) as i16).collect()
}

/// Writes a mono 16-bit WAV.
///
/// # Errors
/// [`SoundOutError::Write`], which names the file.
pub fn write_wav(path: &Path, rate: u32, samples: &[i16]) -> Result<(), SoundOutError> {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let write = || -> Result<(), hound::Error> {
        let mut wav = hound::WavWriter::create(path, spec)?;
        samples.iter().try_for_each(|&sample| wav.write_sample(sample))?;
        wav.finalize()
    };
    write()
        .map_err(|error| SoundOutError::Write { path: path.display().to_string(), reason: error.to_string() })
}

/// The same sound at another rate, as long as before.
///
/// # Errors
/// [`SoundOutError::Rate`] when a rate is zero or out of reach.
pub fn at_rate(sound: &Sound, rate: u32) -> Result<Sound, SoundOutError> {
    if sound.rate == rate && rate > 0 {
        return Ok(sound.clone());
    }
    let wrong = || SoundOutError::Rate { from: sound.rate, to: rate };
    let mut resampler = Fft::<f32>::new(sound.rate as usize, rate as usize, CHUNK, 1, FixedSync::Input)
        .map_err(|_| wrong())?;
    let samples: Vec<f32> = sound.samples.iter().map(|&s| f32::from(s)).collect();
    let input = InterleavedSlice::new(&samples, 1, samples.len()).map_err(|_| wrong())?;
    let output = resampler.process_all(&input, samples.len(), None).map_err(|_| wrong())?;
    // A cast of a float to an integer saturates.
    Ok(Sound { rate, samples: output.take_data().iter().map(|s| s.round() as i16).collect() })
}

/// Sounds laid on a time line and mixed.
#[derive(Debug, Clone)]
pub struct Track {
    sound: Sound,
}

impl Track {
    /// An empty track of so many samples a second.
    pub fn new(rate: u32) -> Self {
        Self { sound: Sound { rate, samples: Vec::new() } }
    }

    /// Lays a sound down so that it begins at a time, and gives the time when it ends. Where sounds overlap they add.
    ///
    /// # Errors
    /// [`SoundOutError`] when the rate is out of reach or the track is full.
    pub fn lay(&mut self, at: Duration, sound: &Sound) -> Result<Duration, SoundOutError> {
        let sound = at_rate(sound, self.sound.rate)?;
        let ends = at + sound.duration();
        if ends > LONGEST_TRACK {
            return Err(SoundOutError::TooLong);
        }
        let begin = (at.as_secs_f64() * f64::from(self.sound.rate)).round() as usize;
        let end = begin + sound.samples.len();
        if self.sound.samples.len() < end {
            self.sound.samples.resize(end, 0);
        }
        for (under, over) in self.sound.samples[begin..end].iter_mut().zip(&sound.samples) {
            *under = under.saturating_add(*over);
        }
        Ok(ends)
    }

    /// The track as one sound.
    pub fn into_sound(self) -> Sound {
        self.sound
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sine(rate: u32, hertz: f32, seconds: f32) -> Sound {
        let turn = std::f32::consts::TAU * hertz / rate as f32;
        let length = (rate as f32 * seconds) as usize;
        Sound { rate, samples: (0..length).map(|i| (10_000.0 * (turn * i as f32).sin()) as i16).collect() }
    }

    #[test]
    fn another_rate_keeps_pitch_length_and_place() {
        for (from, to) in [(22_050, 16_000), (16_000, 22_050), (48_000, 16_000), (16_000, 16_000)] {
            let sound = at_rate(&sine(from, 440.0, 0.5), to).expect("rates in reach");
            let wanted = sine(to, 440.0, 0.5);
            assert!(sound.samples.len().abs_diff(wanted.samples.len()) <= 1, "{from} to {to}");
            // Away from the ends, where the filter has both sides.
            let middle = 2000..wanted.samples.len() - 2000;
            let worst = middle.map(|i| sound.samples[i].abs_diff(wanted.samples[i])).max();
            // The resampler's delay is cut off in whole samples: at 440 Hz half a sample is up to 864 of 10000.
            assert!(worst < Some(864), "{from} to {to}: off by {worst:?} of 10000");
        }
        for (from, to) in [(0, 16_000), (16_000, 0), (0, 0)] {
            assert!(matches!(
                at_rate(&Sound { rate: from, samples: vec![1] }, to),
                Err(SoundOutError::Rate { .. })
            ));
        }
    }

    #[test]
    fn sounds_are_laid_where_they_belong() {
        let sound = |samples: &[i16]| Sound { rate: 1000, samples: samples.to_vec() };
        let ms = Duration::from_millis;
        let mut track = Track::new(1000);
        assert_eq!(track.lay(ms(2), &sound(&[1, 2, 3])).ok(), Some(ms(5)));
        assert_eq!(track.lay(ms(4), &sound(&[10, i16::MAX])).ok(), Some(ms(6)));
        assert_eq!(track.lay(ms(5), &sound(&[1])).ok(), Some(ms(6)));
        assert!(matches!(track.lay(LONGEST_TRACK, &sound(&[1])), Err(SoundOutError::TooLong)));
        assert_eq!(track.into_sound().samples, [0, 0, 1, 2, 13, i16::MAX]);
    }

    #[test]
    fn a_wav_is_what_was_written() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("two.wav");
        write_wav(&path, 16_000, &[1, -2]).expect("a folder that can be written");
        let mut wav = hound::WavReader::open(&path).expect("a WAV");
        assert_eq!((wav.spec().channels, wav.spec().sample_rate), (1, 16_000));
        assert_eq!(wav.samples::<i16>().collect::<Result<Vec<_>, _>>().expect("samples"), [1, -2]);
        let missing = folder.path().join("none").join("two.wav");
        let error = write_wav(&missing, 16_000, &[]).expect_err("no such folder").to_string();
        assert!(error.contains("two.wav"), "{error}");
    }
}
