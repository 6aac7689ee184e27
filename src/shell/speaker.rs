//! The loudspeaker: plays sounds one after the other on an output device.
//!
//! Says when each has ended, and stops at once when told. Knows nothing of words or of who listens.
//!
//! Invariant: every sound that is played ends, and its end is counted once: played, or cut.

pub mod steady;

use std::num::NonZero;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use cpal::BufferSize;
use cpal::traits::DeviceTrait;
use rodio::{DeviceSinkBuilder, DeviceSinkError, MixerDeviceSink, Player, Source};

use super::devices::{self, Health, Side};
use super::voice::Sound;

/// Most sounds that may wait to be played.
pub const LONGEST_QUEUE: u64 = 32;

/// A loudspeaker that is given sound fetches some of it within this time.
pub const LONGEST_WAIT: Duration = Duration::from_millis(1_500);

/// Pieces of sound a second: what the device has been given cannot be taken back, so that a stop waits for two of them.
const PIECES: u32 = 40;

/// Silence played after a sound where the device does not tell its buffer.
const USUAL_BUFFER: Duration = Duration::from_millis(100);

/// Why there is no loudspeaker, or why it does not play.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum SpeakerError {
    /// There is no output device, or it does not open.
    #[error("the loudspeaker does not open: {0}")]
    #[diagnostic(
        code(speaker::closed),
        help(
            "plug one in or choose one in the system's sound settings; on Linux `aplay -l` lists what is there"
        )
    )]
    Closed(#[from] DeviceSinkError),
    /// No output device is called that.
    #[error("no loudspeaker is called \"{wanted}\"")]
    #[diagnostic(code(speaker::name), help("{}", devices::listed(there, "loudspeakers")))]
    Name {
        /// What was asked for.
        wanted: String,
        /// What there is.
        there: Vec<String>,
    },
    /// More than [`LONGEST_QUEUE`] sounds wait.
    #[error("{LONGEST_QUEUE} sounds wait to be played already")]
    #[diagnostic(code(speaker::queue), help("wait until one has ended"))]
    QueueFull,
    /// The sound says that it has no samples a second.
    #[error("a sound of zero samples a second cannot be played")]
    #[diagnostic(code(speaker::rate), help("this is a fault of the program: report it"))]
    NoRate,
}

/// How far the device has come.
#[derive(Debug, Default)]
struct Ends {
    /// Samples fetched.
    fetched: AtomicU64,
    /// To their end, and out of the device's buffer.
    played: AtomicU64,
    /// Because they were stopped, or the device went.
    cut: AtomicU64,
}

impl Ends {
    fn all(&self) -> u64 {
        self.played.load(Ordering::Relaxed) + self.cut.load(Ordering::Relaxed)
    }
}

/// An open loudspeaker. Closes when dropped; what still plays is cut.
pub struct Speaker {
    player: Player,
    device: MixerDeviceSink,
    /// Silence after each sound, so that "played" comes after it has been heard.
    tail: Duration,
    health: Arc<Health>,
    begun: u64,
    ends: Arc<Ends>,
    /// How many samples it had fetched, and when that was seen first.
    seen: (u64, Instant),
}

impl Speaker {
    /// Opens the output device of a name, or the system's default one.
    ///
    /// # Errors
    /// [`SpeakerError`] when there is no such device or it does not open.
    pub fn open(wanted: Option<&str>) -> Result<Self, SpeakerError> {
        let health = Arc::new(Health::default());
        let noting = Arc::clone(&health);
        let found = devices::find(Side::Loudspeaker, wanted).ok_or_else(|| match wanted {
            Some(wanted) => {
                SpeakerError::Name { wanted: wanted.to_owned(), there: devices::names(Side::Loudspeaker) }
            }
            None => SpeakerError::Closed(DeviceSinkError::NoDevice),
        })?;
        let usual = found.default_output_config().map_err(|error| match error.kind() {
            // The system's default one, where there is none.
            cpal::ErrorKind::DeviceNotAvailable if wanted.is_none() => DeviceSinkError::NoDevice,
            _ => DeviceSinkError::DefaultSinkConfigError(error),
        })?;
        let device = DeviceSinkBuilder::from_device(found)?;
        let device = match devices::buffer(&usual, PIECES) {
            BufferSize::Default => device,
            small @ BufferSize::Fixed(_) => device.with_buffer_size(small),
        };
        let mut device =
            device.with_error_callback(move |error: cpal::Error| noting.note(&error)).open_stream()?;
        device.log_on_drop(false);
        let tail = match *device.config().buffer_size() {
            // One piece is played while the next one waits.
            BufferSize::Fixed(frames) => Duration::from_secs_f64(
                f64::from(2 * frames) / f64::from(device.config().sample_rate().get()),
            ),
            BufferSize::Default => USUAL_BUFFER,
        };
        Ok(Self {
            player: Player::connect_new(device.mixer()),
            device,
            tail,
            health,
            begun: 0,
            ends: Arc::default(),
            seen: (0, Instant::now()),
        })
    }

    /// Plays a sound after those that wait, and gives its number.
    ///
    /// # Errors
    /// [`SpeakerError`] when the queue is full or the sound has no rate.
    pub fn play(&mut self, sound: Arc<Sound>) -> Result<u64, SpeakerError> {
        let rate = NonZero::new(sound.rate).ok_or(SpeakerError::NoRate)?;
        if self.begun - self.ends.all() >= LONGEST_QUEUE {
            return Err(SpeakerError::QueueFull);
        }
        let number = self.begun;
        self.begun += 1;
        self.seen = (self.ends.fetched.load(Ordering::Relaxed), Instant::now());
        let end = sound.samples.len() + (self.tail.as_secs_f64() * f64::from(sound.rate)) as usize;
        self.player.append(Playing { sound, rate, at: 0, end, ends: Arc::clone(&self.ends) });
        Ok(number)
    }

    /// Has the sound of this number ended, and all before it?
    pub fn has_ended(&self, number: u64) -> bool {
        self.ends.all() > number
    }

    /// Does it play what it is given? One that has fetched nothing for [`LONGEST_WAIT`] does not, whatever the system says.
    pub fn plays(&mut self, now: Instant) -> bool {
        let fetched = self.ends.fetched.load(Ordering::Relaxed);
        if fetched != self.seen.0 || self.ends.all() >= self.begun {
            self.seen = (fetched, now);
        }
        now.duration_since(self.seen.1) < LONGEST_WAIT
    }

    /// Stops at once what plays, and drops what waits.
    pub fn stop(&mut self) {
        // A new player, because one that was stopped waits for the device before it plays again, and a device that
        // has gone would never answer.
        self.player = Player::connect_new(self.device.mixer());
    }

    /// How the device is doing. On one that is lost nothing more will be played: open it anew.
    pub fn health(&self) -> &Health {
        &self.health
    }
}

/// A sound on its way through the device's thread, with the silence after it.
struct Playing {
    sound: Arc<Sound>,
    rate: NonZero<u32>,
    at: usize,
    end: usize,
    ends: Arc<Ends>,
}

impl Iterator for Playing {
    type Item = f32;

    fn next(&mut self) -> Option<f32> {
        if self.at >= self.end {
            return None;
        }
        let sample = self.sound.samples.get(self.at).copied().unwrap_or(0);
        self.at += 1;
        self.ends.fetched.fetch_add(1, Ordering::Relaxed);
        Some(f32::from(sample) / 32_768.0)
    }
}

impl Source for Playing {
    fn current_span_len(&self) -> Option<usize> {
        if self.at >= self.end { Some(0) } else { Some(self.end) }
    }

    fn channels(&self) -> NonZero<u16> {
        NonZero::<u16>::MIN
    }

    fn sample_rate(&self) -> NonZero<u32> {
        self.rate
    }

    fn total_duration(&self) -> Option<Duration> {
        Some(Duration::from_secs_f64(self.end as f64 / f64::from(self.rate.get())))
    }
}

impl Drop for Playing {
    fn drop(&mut self) {
        let count = if self.at >= self.end { &self.ends.played } else { &self.ends.cut };
        count.fetch_add(1, Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A player without a device: the test pulls the samples.
    fn check(pulled: usize, stop: bool, played: u64, cut: u64) {
        let ends = Arc::new(Ends::default());
        let (player, mut device) = Player::new();
        for _ in 0..2 {
            player.append(Playing {
                sound: Arc::new(Sound { rate: 8000, samples: vec![1000; 400] }),
                rate: NonZero::new(8000).expect("not zero"),
                at: 0,
                end: 500,
                ends: Arc::clone(&ends),
            });
        }
        device.by_ref().take(pulled).for_each(drop);
        if stop {
            // The mixer pulls until nothing comes, then drops its end.
            drop(player);
            device.by_ref().take(8000).for_each(drop);
            drop(device);
        }
        let found = (ends.played.load(Ordering::Relaxed), ends.cut.load(Ordering::Relaxed));
        assert_eq!(found, (played, cut), "{pulled} samples, stop {stop}");
        assert_eq!(ends.all(), played + cut);
    }

    #[test]
    fn each_end_is_counted_once() {
        check(100, false, 0, 0);
        check(8000, false, 2, 0);
        check(8000, true, 2, 0);
        check(100, true, 0, 2);
    }
}
