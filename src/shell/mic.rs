//! The microphone: what the default input device hears, as mono samples.
//!
//! The device's own rate, channels and format are taken as they are; the channels are averaged. The device's
//! callback only converts and stores: it neither allocates nor locks. Knows nothing of frames or words.
//!
//! Invariant: what the reader does not fetch in time is counted, never waited for.

mod ring;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::Duration;

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{ErrorKind, FromSample, SampleFormat, SizedSample, StreamConfig};

/// Sound that may wait to be read.
const LONGEST_WAIT: Duration = Duration::from_secs(2);

/// The longest that a device may take to open.
const LONGEST_OPENING: Duration = Duration::from_secs(5);

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

/// What the callbacks tell the reader.
#[derive(Debug, Default)]
struct Health {
    overruns: AtomicU64,
    glitches: AtomicU64,
    lost: AtomicBool,
}

/// An open microphone. Closes when dropped.
pub struct Mic {
    name: String,
    rate: u32,
    reader: ring::Reader,
    health: Arc<Health>,
    _stream: cpal::Stream,
}

impl Mic {
    /// Opens the default input device and starts listening.
    ///
    /// # Errors
    /// [`MicError`], with what can be done.
    pub fn open() -> Result<Self, MicError> {
        let device = cpal::default_host().default_input_device().ok_or(MicError::None)?;
        let name = device.to_string();
        let closed = |source| MicError::Closed { name: name.clone(), source };
        let supported = device.default_input_config().map_err(closed)?;
        let config = supported.config();
        let rate = config.sample_rate;
        let (writer, reader) = ring::ring(LONGEST_WAIT.as_secs() as usize * rate as usize);
        let health = Arc::new(Health::default());
        let ear = Ear { channels: usize::from(config.channels.max(1)), writer, health: Arc::clone(&health) };
        let stream = match supported.sample_format() {
            SampleFormat::I8 => listen::<i8>(&device, config, ear),
            SampleFormat::I16 => listen::<i16>(&device, config, ear),
            SampleFormat::I24 => listen::<cpal::I24>(&device, config, ear),
            SampleFormat::I32 => listen::<i32>(&device, config, ear),
            SampleFormat::I64 => listen::<i64>(&device, config, ear),
            SampleFormat::U8 => listen::<u8>(&device, config, ear),
            SampleFormat::U16 => listen::<u16>(&device, config, ear),
            SampleFormat::U24 => listen::<cpal::U24>(&device, config, ear),
            SampleFormat::U32 => listen::<u32>(&device, config, ear),
            SampleFormat::U64 => listen::<u64>(&device, config, ear),
            SampleFormat::F32 => listen::<f32>(&device, config, ear),
            SampleFormat::F64 => listen::<f64>(&device, config, ear),
            other => return Err(MicError::Format { name, format: other.to_string() }),
        };
        let stream = stream.and_then(|s| s.play().map(|()| s)).map_err(closed)?;
        Ok(Self { name, rate, reader, health, _stream: stream })
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
        self.health.overruns.load(Ordering::Relaxed)
    }

    /// Times that the sound system itself lost sound.
    pub fn glitches(&self) -> u64 {
        self.health.glitches.load(Ordering::Relaxed)
    }

    /// Whether the device has gone. Nothing more will be heard from it: open it anew.
    pub fn is_lost(&self) -> bool {
        self.health.lost.load(Ordering::Relaxed)
    }
}

/// The callback's side.
struct Ear {
    channels: usize,
    writer: ring::Writer,
    health: Arc<Health>,
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
        self.health.overruns.fetch_add(lost, Ordering::Relaxed);
    }
}

fn listen<T>(device: &cpal::Device, config: StreamConfig, mut ear: Ear) -> Result<cpal::Stream, cpal::Error>
where
    T: SizedSample,
    f32: FromSample<T>,
{
    let health = Arc::clone(&ear.health);
    device.build_input_stream(
        config,
        move |samples: &[T], _| ear.take(samples),
        move |error| health.note(error.kind()),
        Some(LONGEST_OPENING),
    )
}

impl Health {
    fn note(&self, kind: ErrorKind) {
        match kind {
            // The stream goes on.
            ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied => {}
            ErrorKind::Xrun => {
                self.glitches.fetch_add(1, Ordering::Relaxed);
            }
            _ => self.lost.store(true, Ordering::Relaxed),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn channels_are_averaged_and_overruns_counted() {
        let (writer, mut reader) = ring::ring(2);
        let mut ear = Ear { channels: 2, writer, health: Arc::default() };
        ear.take(&[i16::MAX, i16::MIN, 16_384, 16_384, 8_192, 8_192]);
        let mut heard = Vec::new();
        assert_eq!(reader.read(&mut heard), 2);
        assert!(heard[0].abs() < 1e-4 && (heard[1] - 0.5).abs() < 1e-4, "{heard:?}");
        assert_eq!(ear.health.overruns.load(Ordering::Relaxed), 1);
    }

    #[test]
    fn only_an_error_that_ends_the_stream_loses_the_microphone() {
        for (kind, lost, glitches) in [
            (ErrorKind::DeviceNotAvailable, true, 0),
            (ErrorKind::StreamInvalidated, true, 0),
            (ErrorKind::BackendError, true, 0),
            (ErrorKind::Xrun, false, 1),
            (ErrorKind::DeviceChanged, false, 0),
            (ErrorKind::RealtimeDenied, false, 0),
        ] {
            let health = Health::default();
            health.note(kind);
            assert_eq!(health.lost.load(Ordering::Relaxed), lost, "{kind:?}");
            assert_eq!(health.glitches.load(Ordering::Relaxed), glitches, "{kind:?}");
        }
    }
}
