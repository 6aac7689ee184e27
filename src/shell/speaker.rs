//! The loudspeaker: plays sounds one after the other on the default output device.
//!
//! Says when each has ended, and stops at once when told. Knows nothing of words or of who listens.
//!
//! Invariant: every sound that is played ends, and its end is told once: played, or cut.

use std::num::NonZero;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::Duration;

use cpal::{BufferSize, ErrorKind};
use rodio::{DeviceSinkBuilder, MixerDeviceSink, Player, Source};

use super::voice::Sound;

/// Most sounds that may wait to be played.
pub const LONGEST_QUEUE: usize = 32;

/// Silence played after a sound where the device does not tell its buffer.
const USUAL_BUFFER: Duration = Duration::from_millis(100);

/// How a sound ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// It was played to its end, and has left the device's buffer.
    Played,
    /// It was stopped, or the device went.
    Cut,
}

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
    Closed(#[from] rodio::DeviceSinkError),
    /// More than [`LONGEST_QUEUE`] sounds wait.
    #[error("{LONGEST_QUEUE} sounds wait to be played already")]
    #[diagnostic(code(speaker::queue), help("wait until one has ended"))]
    QueueFull,
    /// The sound says that it has no samples a second.
    #[error("a sound of zero samples a second cannot be played")]
    #[diagnostic(code(speaker::rate), help("this is a fault of the program: report it"))]
    NoRate,
}

type OnEnd = dyn Fn(u64, Ended) + Send + Sync;

/// An open loudspeaker. Closes when dropped; what still plays is cut.
pub struct Speaker {
    player: Player,
    device: MixerDeviceSink,
    /// Silence after each sound, so that "played" comes after it has been heard.
    tail: Duration,
    lost: Arc<AtomicBool>,
    waiting: Arc<AtomicUsize>,
    next: u64,
    on_end: Arc<OnEnd>,
}

impl Speaker {
    /// Opens the default output device. `on_end` is told the number of each sound that has ended; it runs on the
    /// device's thread and must return at once: store or send, no more.
    ///
    /// # Errors
    /// [`SpeakerError::Closed`] when there is no device or it does not open.
    pub fn open(on_end: impl Fn(u64, Ended) + Send + Sync + 'static) -> Result<Self, SpeakerError> {
        let lost = Arc::new(AtomicBool::new(false));
        let gone = Arc::clone(&lost);
        let mut device = DeviceSinkBuilder::from_default_device()?
            .with_error_callback(move |error: cpal::Error| {
                if ends_the_stream(error.kind()) {
                    gone.store(true, Ordering::Relaxed);
                }
            })
            .open_stream()?;
        device.log_on_drop(false);
        let tail = match *device.config().buffer_size() {
            BufferSize::Fixed(frames) => {
                Duration::from_secs_f64(f64::from(frames) / f64::from(device.config().sample_rate().get()))
            }
            BufferSize::Default => USUAL_BUFFER,
        };
        Ok(Self {
            player: Player::connect_new(device.mixer()),
            device,
            tail,
            lost,
            waiting: Arc::default(),
            next: 0,
            on_end: Arc::new(on_end),
        })
    }

    /// Plays a sound after those that wait, and gives its number.
    ///
    /// # Errors
    /// [`SpeakerError`] when the queue is full or the sound has no rate.
    pub fn play(&mut self, sound: Arc<Sound>) -> Result<u64, SpeakerError> {
        let rate = NonZero::new(sound.rate).ok_or(SpeakerError::NoRate)?;
        if self.waiting.load(Ordering::Relaxed) >= LONGEST_QUEUE {
            return Err(SpeakerError::QueueFull);
        }
        let number = self.next;
        self.next += 1;
        self.waiting.fetch_add(1, Ordering::Relaxed);
        let end = sound.samples.len() + (self.tail.as_secs_f64() * f64::from(sound.rate)) as usize;
        self.player.append(Playing {
            sound,
            rate,
            at: 0,
            end,
            number,
            waiting: Arc::clone(&self.waiting),
            on_end: Arc::clone(&self.on_end),
        });
        Ok(number)
    }

    /// Stops at once what plays, and drops what waits. Each is told as cut.
    pub fn stop(&mut self) {
        // A new player, because one that was stopped waits for the device before it plays again, and a device that
        // has gone would never answer.
        self.player = Player::connect_new(self.device.mixer());
    }

    /// Whether the device has gone. Nothing more will be played: open it anew.
    pub fn is_lost(&self) -> bool {
        self.lost.load(Ordering::Relaxed)
    }
}

fn ends_the_stream(kind: ErrorKind) -> bool {
    !matches!(kind, ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied | ErrorKind::Xrun)
}

/// A sound on its way through the device's thread, with the silence after it.
struct Playing {
    sound: Arc<Sound>,
    rate: NonZero<u32>,
    at: usize,
    end: usize,
    number: u64,
    waiting: Arc<AtomicUsize>,
    on_end: Arc<OnEnd>,
}

impl Iterator for Playing {
    type Item = f32;

    fn next(&mut self) -> Option<f32> {
        if self.at >= self.end {
            return None;
        }
        let sample = self.sound.samples.get(self.at).copied().unwrap_or(0);
        self.at += 1;
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
        self.waiting.fetch_sub(1, Ordering::Relaxed);
        (self.on_end)(self.number, if self.at >= self.end { Ended::Played } else { Ended::Cut });
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc;

    use super::*;

    /// A player without a device: the test pulls the samples.
    fn check(pulled: usize, stop: bool, wanted: &[(u64, Ended)]) {
        let (sender, ends) = mpsc::channel();
        let on_end: Arc<OnEnd> =
            Arc::new(move |number, how| sender.send((number, how)).expect("the test listens"));
        let (player, mut device) = Player::new();
        let waiting = Arc::new(AtomicUsize::new(0));
        for number in 0..2 {
            waiting.fetch_add(1, Ordering::Relaxed);
            player.append(Playing {
                sound: Arc::new(Sound { rate: 8000, samples: vec![1000; 400] }),
                rate: NonZero::new(8000).expect("not zero"),
                at: 0,
                end: 500,
                number,
                waiting: Arc::clone(&waiting),
                on_end: Arc::clone(&on_end),
            });
        }
        device.by_ref().take(pulled).for_each(drop);
        if stop {
            // The mixer pulls until nothing comes, then drops its end.
            drop(player);
            device.by_ref().take(8000).for_each(drop);
            drop(device);
        }
        assert_eq!(ends.try_iter().collect::<Vec<_>>(), wanted, "{pulled} samples, stop {stop}");
        assert_eq!(waiting.load(Ordering::Relaxed), 2 - wanted.len());
    }

    #[test]
    fn each_end_is_told_once() {
        check(100, false, &[]);
        check(8000, false, &[(0, Ended::Played), (1, Ended::Played)]);
        check(8000, true, &[(0, Ended::Played), (1, Ended::Played)]);
        check(100, true, &[(0, Ended::Cut), (1, Ended::Cut)]);
    }

    #[test]
    fn only_an_error_that_ends_the_stream_loses_the_loudspeaker() {
        assert!(ends_the_stream(ErrorKind::DeviceNotAvailable));
        assert!(!ends_the_stream(ErrorKind::Xrun));
    }
}
