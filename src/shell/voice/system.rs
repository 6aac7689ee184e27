//! The voice of the system itself: speech-dispatcher's, by its own command `spd-say`, which ends when a line was spoken.
//!
//! Its options are described in its manual page: `-w` waits for the end of the line, `-S` stops what is spoken, `-t` kind of
//! voice, `-r` rate and `-i` volume from -100 to 100. Nothing here waits: [`Speaking::state`] is asked again and again.

use std::io::{self, Read};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use super::{Delivery, Manner};

const PROGRAM: &str = "spd-say";

/// Nobody speaks a letter faster than this: a line that ended sooner was not spoken (the fastest voices take some 25 ms).
const LEAST_A_LETTER: Duration = Duration::from_millis(12);
/// And a voice that still speaks after this long a letter, and [`SLACK`], does not come to its end.
const MOST_A_LETTER: Duration = Duration::from_millis(300);
const SLACK: Duration = Duration::from_secs(5);

/// A line that is being spoken. It is stopped when dropped.
#[derive(Debug)]
pub struct Speaking {
    child: Child,
    begun: Instant,
    letters: u32,
}

/// How far a line has come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum State {
    /// It is being spoken.
    Speaks,
    /// It was spoken to its end.
    Spoken,
    /// It was not, and why.
    Failed(String),
}

/// Asks the program for its version, which shows that it is there.
///
/// # Errors
/// What the system says when it cannot be run.
pub fn version() -> io::Result<()> {
    let status =
        Command::new(PROGRAM).arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status()?;
    if status.success() { Ok(()) } else { Err(io::Error::other(format!("it ended with {status}"))) }
}

impl Speaking {
    /// Begins to speak a text, which must start with a letter.
    ///
    /// # Errors
    /// What the system says when the program cannot be run.
    pub fn begin(text: &str, manner: Manner, delivery: Delivery, now: Instant) -> io::Result<Self> {
        let (voice, volume) = match manner {
            Manner::Routine => ("female1", volume(delivery.level)),
            Manner::Hazard => ("male1", 100),
        };
        let child = Command::new(PROGRAM)
            .args(["-w", "-N", "leadhand", "-t", voice])
            .args(["-r", &rate(delivery.pace).to_string(), "-i", &volume.to_string()])
            .arg(text)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()?;
        Ok(Self { child, begun: now, letters: text.chars().count() as u32 })
    }

    /// How far it has come. Never waits.
    pub fn state(&mut self, now: Instant) -> State {
        let took = now.duration_since(self.begun);
        match self.child.try_wait() {
            Ok(Some(status)) if status.success() => {
                if took < LEAST_A_LETTER * self.letters {
                    return State::Failed(format!("it was over after {} ms", took.as_millis()));
                }
                State::Spoken
            }
            Ok(Some(status)) => {
                let mut why = String::new();
                if let Some(said) = &mut self.child.stderr {
                    // It has ended, so there is no more to come; what cannot be read is not told.
                    let _read = said.take(1_000).read_to_string(&mut why);
                }
                State::Failed(format!("it ended with {status}: {}", why.trim()))
            }
            Ok(None) if took < MOST_A_LETTER * self.letters + SLACK => State::Speaks,
            Ok(None) => State::Failed("it comes to no end".to_owned()),
            Err(error) => State::Failed(error.to_string()),
        }
    }
}

impl Drop for Speaking {
    fn drop(&mut self) {
        if matches!(self.child.try_wait(), Ok(None)) {
            // One after the other, so that nothing of it is left running. Either may have ended by itself just now.
            let _stopped = Command::new(PROGRAM).arg("-S").stderr(Stdio::null()).status();
            let _gone = self.child.kill();
            let _gone = self.child.wait();
        }
    }
}

/// Speech-dispatcher's rate for a pace: half of the usual is its slowest, twice lies at 60 (from trying it with espeak-ng).
fn rate(pace: f32) -> i32 {
    let rate = if pace < 1.0 { (pace - 1.0) * 200.0 } else { (pace - 1.0) * 60.0 };
    (rate.round() as i32).clamp(-100, 100)
}

/// Its volume for a level: the usual in the middle, so that hazards, at its most, stand out.
fn volume(level: f32) -> i32 {
    ((level * 100.0 - 100.0).round() as i32).clamp(-100, 100)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pace_and_level_stay_within_what_it_takes() {
        for (pace, wanted) in [(0.1, -100), (0.5, -100), (1.0, 0), (1.5, 30), (2.0, 60), (9.0, 100)] {
            assert_eq!(rate(pace), wanted, "pace {pace}");
        }
        for (level, wanted) in [(0.0, -100), (0.5, -50), (1.0, 0), (2.0, 100), (3.0, 100)] {
            assert_eq!(volume(level), wanted, "level {level}");
        }
    }

    #[test]
    fn only_a_line_that_took_its_time_was_spoken() {
        let run = |program: &str| {
            let mut command = Command::new(program);
            command.stdin(Stdio::null()).stderr(Stdio::piped()).spawn().map(|mut child| {
                child.wait().expect("it ends");
                child
            })
        };
        let begun = Instant::now();
        let at = |ms| begun + Duration::from_millis(ms);
        // Any programs do that succeed and fail at once.
        for (program, ms, wanted) in
            [("true", 1_000, Some(true)), ("true", 100, Some(false)), ("false", 1_000, Some(false))]
        {
            let Ok(child) = run(program) else { continue };
            let mut speaking = Speaking { child, begun, letters: 20 };
            let state = speaking.state(at(ms));
            assert_eq!(Some(state == State::Spoken), wanted, "{program} after {ms} ms: {state:?}");
        }
    }
}
