//! The microphone: what an input device hears, as mono samples.
//!
//! The device's own rate, channels and format are taken as they are; the channels are averaged. The device's
//! callback only converts and stores: it neither allocates nor locks, and a debug build ends where it does. Knows
//! nothing of frames or words.
//!
//! Invariant: what the reader does not fetch in time is counted, never waited for.

mod ring;
pub mod steady;

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use assert_no_alloc::assert_no_alloc;
use cpal::traits::{DeviceTrait, StreamTrait};
use cpal::{FromSample, SampleFormat, SizedSample, StreamConfig};

use super::devices::{self, Health, Side};

/// Sound that may wait to be read.
const LONGEST_WAIT: Duration = Duration::from_secs(2);

/// Pieces of sound a second: smaller ones wake the machine for nothing.
const PIECES: u32 = 25;

/// The longest that a device may take to open.
const LONGEST_OPENING: Duration = Duration::from_secs(5);

/// A microphone that gives no more samples a second is a telephone headset: consonants are lost.
pub const NARROW: u32 = 8_000;

/// Why there is no microphone.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum MicError {
    /// The system names no input device.
    #[error("no microphone was found")]
    #[diagnostic(
        code(mic::none),
        help(
            "plug one in and choose it in the system's sound settings; on Linux `arecord -l` lists what is there. \
             Without one, `leadhand type` takes typed answers"
        )
    )]
    None,
    /// No input device is called that.
    #[error("no microphone is called \"{wanted}\"")]
    #[diagnostic(code(mic::name), help("{}", devices::listed(there, "microphones")))]
    Name {
        /// What was asked for.
        wanted: String,
        /// What there is.
        there: Vec<String>,
    },
    /// The device's format is none that we read.
    #[error("the microphone \"{name}\" gives {format}, which cannot be read")]
    #[diagnostic(code(mic::format), help("choose another input device in the system's sound settings"))]
    Format {
        /// The device.
        name: String,
        /// Its sample format.
        format: String,
    },
    /// The device is there but does not open.
    #[error("the microphone \"{name}\" does not open: {source}")]
    #[diagnostic(
        code(mic::closed),
        help("close other programs that use it, and check that this program may use the microphone")
    )]
    Closed {
        /// The device.
        name: String,
        /// What the sound system says.
        source: cpal::Error,
    },
}

/// An open microphone. Closes when dropped.
pub struct Mic {
    name: String,
    rate: u32,
    reader: ring::Reader,
    overruns: Arc<AtomicU64>,
    health: Arc<Health>,
    _stream: cpal::Stream,
}

impl Mic {
    /// Opens the input device of a name, or the system's default one, and starts listening.
    ///
    /// # Errors
    /// [`MicError`], with what can be done.
    pub fn open(wanted: Option<&str>) -> Result<Self, MicError> {
        let device = devices::find(Side::Microphone, wanted).ok_or_else(|| match wanted {
            Some(wanted) => {
                MicError::Name { wanted: wanted.to_owned(), there: devices::names(Side::Microphone) }
            }
            None => MicError::None,
        })?;
        let name = device.to_string();
        let closed = |source: cpal::Error| match source.kind() {
            // The system's default one, where there is none.
            cpal::ErrorKind::DeviceNotAvailable if wanted.is_none() => MicError::None,
            _ => MicError::Closed { name: name.clone(), source },
        };
        let supported = device.default_input_config().map_err(closed)?;
        let rate = supported.sample_rate();
        let config = StreamConfig { buffer_size: devices::buffer(&supported, PIECES), ..supported.config() };
        let (writer, reader) = ring::ring(LONGEST_WAIT.as_secs() as usize * rate as usize);
        let overruns = Arc::new(AtomicU64::new(0));
        let ear =
            Ear { channels: usize::from(config.channels.max(1)), writer, overruns: Arc::clone(&overruns) };
        let health = Arc::new(Health::default());
        let stream = match supported.sample_format() {
            SampleFormat::I8 => listen::<i8>(&device, config, ear, &health),
            SampleFormat::I16 => listen::<i16>(&device, config, ear, &health),
            SampleFormat::I24 => listen::<cpal::I24>(&device, config, ear, &health),
            SampleFormat::I32 => listen::<i32>(&device, config, ear, &health),
            SampleFormat::I64 => listen::<i64>(&device, config, ear, &health),
            SampleFormat::U8 => listen::<u8>(&device, config, ear, &health),
            SampleFormat::U16 => listen::<u16>(&device, config, ear, &health),
            SampleFormat::U24 => listen::<cpal::U24>(&device, config, ear, &health),
            SampleFormat::U32 => listen::<u32>(&device, config, ear, &health),
            SampleFormat::U64 => listen::<u64>(&device, config, ear, &health),
            SampleFormat::F32 => listen::<f32>(&device, config, ear, &health),
            SampleFormat::F64 => listen::<f64>(&device, config, ear, &health),
            other => return Err(MicError::Format { name, format: other.to_string() }),
        };
        let stream = stream.and_then(|s| s.play().map(|()| s)).map_err(closed)?;
        Ok(Self { name, rate, reader, overruns, health, _stream: stream })
    }

    /// The device's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Samples a second.
    pub fn rate(&self) -> u32 {
        self.rate
    }

    /// Appends all that has been heard since the last call, between −1 and 1, and gives the number of samples.
    /// Never waits; call it every few tens of milliseconds, at least every two seconds.
    pub fn read(&mut self, into: &mut Vec<f32>) -> usize {
        self.reader.read(into)
    }

    /// Samples lost so far because nobody read them.
    pub fn overruns(&self) -> u64 {
        self.overruns.load(Ordering::Relaxed)
    }

    /// How the device is doing. From one that is lost nothing more will be heard: open it anew.
    pub fn health(&self) -> &Health {
        &self.health
    }
}

/// The callback's side.
struct Ear {
    channels: usize,
    writer: ring::Writer,
    overruns: Arc<AtomicU64>,
}

impl Ear {
    /// Averages the channels and stores the result. Runs on the device's thread.
    fn take<T>(&mut self, interleaved: &[T])
    where
        T: Copy,
        f32: FromSample<T>,
    {
        let share = 1.0 / self.channels as f32;
        let mono = interleaved
            .chunks_exact(self.channels)
            .map(|group| group.iter().map(|&s| f32::from_sample_(s)).sum::<f32>() * share);
        let lost = self.writer.write(mono);
        self.overruns.fetch_add(lost, Ordering::Relaxed);
    }
}

fn listen<T>(
    device: &cpal::Device,
    config: StreamConfig,
    mut ear: Ear,
    health: &Arc<Health>,
) -> Result<cpal::Stream, cpal::Error>
where
    T: SizedSample,
    f32: FromSample<T>,
{
    let health = Arc::clone(health);
    device.build_input_stream(
        config,
        move |samples: &[T], _| assert_no_alloc(|| ear.take(samples)),
        move |error| health.note(&error),
        Some(LONGEST_OPENING),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn channels_are_averaged_and_overruns_counted() {
        let (writer, mut reader) = ring::ring(2);
        let mut ear = Ear { channels: 2, writer, overruns: Arc::default() };
        assert_no_alloc(|| ear.take(&[i16::MAX, i16::MIN, 16_384, 16_384, 8_192, 8_192]));
        let mut heard = Vec::new();
        assert_eq!(reader.read(&mut heard), 2);
        assert!(heard[0].abs() < 1e-4 && (heard[1] - 0.5).abs() < 1e-4, "{heard:?}");
        assert_eq!(ear.overruns.load(Ordering::Relaxed), 1);
    }
}
