//! A microphone that may come and go: watched, and opened again whenever it is lost.

use std::time::{Duration, Instant};

use super::{Mic, MicError};
use crate::shell::reopen::Reopen;

/// Without sound for so long a microphone is lost: a working one is never quite silent.
pub const LONGEST_SILENCE: Duration = Duration::from_millis(800);

/// A microphone that is back gives sound for as long, without a break of this length.
const BREAK: Duration = Duration::from_millis(200);

/// What happened to the microphone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// It gives no sound any more.
    Lost,
    /// It gives sound again.
    Back,
}

/// A microphone, there or not.
pub struct Steady {
    /// The one opened last, even where it gives no sound.
    mic: Option<Mic>,
    watch: Watch,
    reopen: Reopen<Mic>,
    rate: u32,
    /// Why it was lost last.
    why: String,
    /// Of the microphones before this one.
    lost: Losses,
}

/// Sound that never reached us.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Losses {
    /// Samples that nobody fetched in time.
    pub overruns: u64,
    /// Times that the sound system itself lost sound.
    pub glitches: u64,
}

impl Steady {
    /// Opens the device of a name, or the default one; the same again after a loss. A `gated` one sends nothing at all
    /// between words, and that is no loss.
    ///
    /// # Errors
    /// [`MicError`], if it does not open now.
    pub fn open(wanted: Option<String>, gated: bool) -> Result<Self, MicError> {
        let mic = Mic::open(wanted.as_deref())?;
        Ok(Self {
            rate: mic.rate(),
            mic: Some(mic),
            watch: Watch::new(gated),
            reopen: Reopen::by(move || Mic::open(wanted.as_deref()).ok()),
            why: String::new(),
            lost: Losses::default(),
        })
    }

    /// Appends what was heard since the last call, and tells what changed. While we speak a lost microphone is not back: the
    /// sound system may have given us our own voice for it. Never waits; call it every few tens of milliseconds.
    pub fn read(&mut self, now: Instant, speaking: bool, into: &mut Vec<f32>) -> Option<Change> {
        let from = into.len();
        let gone = match &mut self.mic {
            Some(mic) => {
                mic.read(into);
                mic.health().is_lost()
            }
            None => true,
        };
        let change = self.watch.heard(now, speaking, &into[from..], gone);
        if gone && let Some(mic) = &self.mic {
            self.why = mic.health().why();
            self.put(None);
        } else if change == Some(Change::Lost) {
            "it is silent".clone_into(&mut self.why);
        }
        if !self.watch.lost {
            self.reopen.rest();
        } else if let Some(mic) = self.reopen.poll(now) {
            self.rate = mic.rate();
            self.put(Some(mic));
        }
        change
    }

    /// Samples a second; another one may come with a microphone that is back.
    pub const fn rate(&self) -> u32 {
        self.rate
    }

    /// Is there no sound now?
    pub const fn is_lost(&self) -> bool {
        self.watch.lost
    }

    /// Why it was lost last.
    pub fn why(&self) -> &str {
        &self.why
    }

    /// The device's name, while there is one.
    pub fn name(&self) -> Option<&str> {
        self.mic.as_ref().map(Mic::name)
    }

    /// What was lost so far.
    pub fn losses(&self) -> Losses {
        let now = self.mic.as_ref().map_or(Losses::default(), losses);
        Losses { overruns: self.lost.overruns + now.overruns, glitches: self.lost.glitches + now.glitches }
    }

    fn put(&mut self, mic: Option<Mic>) {
        self.lost = self.losses();
        self.mic = mic;
    }
}

fn losses(mic: &Mic) -> Losses {
    Losses { overruns: mic.overruns(), glitches: mic.health().glitches() }
}

/// Tells a microphone that works from one that does not.
struct Watch {
    gated: bool,
    /// When it last gave sound; at first, when it was asked first.
    alive_at: Option<Instant>,
    /// Since when it has given sound again without a break.
    again_since: Option<Instant>,
    lost: bool,
}

impl Watch {
    const fn new(gated: bool) -> Self {
        Self { gated, alive_at: None, again_since: None, lost: false }
    }

    fn heard(&mut self, now: Instant, speaking: bool, samples: &[f32], gone: bool) -> Option<Change> {
        let sounds = !gone && samples.iter().any(|sample| self.gated || *sample != 0.0);
        let silent = now.duration_since(*self.alive_at.get_or_insert(now));
        if sounds {
            self.alive_at = Some(now);
        }
        if !self.lost {
            self.lost = gone || !sounds && silent >= LONGEST_SILENCE;
            self.again_since = None;
            return self.lost.then_some(Change::Lost);
        }
        if gone || speaking || silent >= BREAK {
            self.again_since = None;
        }
        if sounds && !speaking {
            let since = *self.again_since.get_or_insert(now);
            self.lost = now.duration_since(since) < LONGEST_SILENCE;
        }
        (!self.lost).then_some(Change::Back)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn silence_of_a_kind_that_no_microphone_gives_is_a_loss() {
        let start = Instant::now();
        let check = |gated: bool, rows: &[(u64, &[f32], bool, Option<Change>)]| {
            let mut watch = Watch::new(gated);
            for (ms, samples, gone, wanted) in rows {
                let found = watch.heard(start + Duration::from_millis(*ms), false, samples, *gone);
                assert_eq!(found, *wanted, "{ms} ms, gated {gated}");
            }
        };
        let (zeros, sound): (&[f32], &[f32]) = (&[0.0; 4], &[0.0, 1e-5]);
        check(
            false,
            &[
                (0, sound, false, None),
                (400, zeros, false, None),
                (799, &[], false, None),
                (800, zeros, false, Some(Change::Lost)),
                (900, zeros, false, None),
                (1_000, sound, false, None),
                (1_010, sound, true, None),
                (1_020, sound, false, None),
                (1_200, sound, false, None),
                (1_390, sound, false, None),
                (1_580, sound, false, None),
                (1_770, sound, false, None),
                (1_819, sound, false, None),
                (1_820, sound, false, Some(Change::Back)),
                (1_830, sound, true, Some(Change::Lost)),
                (1_840, &[], true, None),
                (5_000, sound, false, None),
                (5_900, sound, false, None),
            ],
        );
        check(
            true,
            &[(0, zeros, false, None), (9_000, zeros, false, None), (9_900, &[], false, Some(Change::Lost))],
        );
    }

    #[test]
    fn our_own_voice_brings_no_microphone_back() {
        let start = Instant::now();
        let at = |ms| start + Duration::from_millis(ms);
        let mut watch = Watch::new(false);
        assert_eq!(watch.heard(at(0), true, &[], false), None);
        assert_eq!(watch.heard(at(900), true, &[0.0], false), Some(Change::Lost));
        for ms in (1_000..9_000).step_by(10) {
            assert_eq!(watch.heard(at(ms), true, &[0.1], false), None, "{ms} ms");
        }
        assert_eq!(watch.heard(at(9_000), false, &[0.1], false), None);
        assert_eq!(watch.heard(at(9_800), false, &[0.1], false), None, "after a break");
    }
}
