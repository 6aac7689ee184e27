//! Runs `espeak-ng`, and reads the WAV that it writes.
//!
//! Its options are described in its manual page: `-v` voice, `-s` words a minute, `-p` pitch, `--stdout`.

use std::io::{self, Read};
use std::process::{Command, Stdio};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use super::{Sound, Speaker};

const PROGRAM: &str = "espeak-ng";

/// Most bytes taken from the program: about six minutes of sound.
const MOST_BYTES: u64 = 16 << 20;

/// Asks the program for its version, which shows that it is there.
///
/// # Errors
/// What the system says when it cannot be run.
pub fn version() -> io::Result<()> {
    let status =
        Command::new(PROGRAM).arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status()?;
    if status.success() { Ok(()) } else { Err(io::Error::other(format!("it ended with {status}"))) }
}

/// Renders a text, which must start with a letter.
///
/// # Errors
/// The reason, as a clause.
pub fn speak(text: &str, speaker: &Speaker, longest_wait: Duration) -> Result<Sound, String> {
    let mut child = Command::new(PROGRAM)
        .args(["-v", speaker.name, "--stdout"])
        .args(["-s", &speaker.words_a_minute.to_string(), "-p", &speaker.pitch.to_string()])
        .arg(text)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(|error| error.to_string())?;
    let wav = read_apart(child.stdout.take().expect("stdout is piped"));
    let said = read_apart(child.stderr.take().expect("stderr is piped"));
    let wav = wav.recv_timeout(longest_wait);
    if wav.is_err() {
        // It may have ended by itself just now; then there is nothing to kill.
        let _ = child.kill();
    }
    let status = child.wait().map_err(|error| error.to_string())?;
    let wav = wav.map_err(|_| format!("it took longer than {} seconds", longest_wait.as_secs()))?;
    if !status.success() {
        let said = said.recv_timeout(longest_wait).unwrap_or_default();
        return Err(format!("it ended with {status}: {}", String::from_utf8_lossy(&said).trim()));
    }
    parse_wav(&wav).ok_or_else(|| format!("it wrote {} bytes that are not a mono 16-bit WAV", wav.len()))
}

/// Reads a pipe to its end on a thread of its own, so that the wait can be bounded.
fn read_apart(pipe: impl Read + Send + 'static) -> mpsc::Receiver<Vec<u8>> {
    let (sender, receiver) = mpsc::channel();
    thread::spawn(move || {
        let mut bytes = Vec::new();
        // A pipe that breaks ends the bytes; what is missing shows when they are parsed.
        let _ = pipe.take(MOST_BYTES).read_to_end(&mut bytes);
        // Nobody listens any more after the longest wait.
        let _ = sender.send(bytes);
    });
    receiver
}

/// Reads a mono 16-bit WAV. Written to a pipe, its sizes are unknown to the writer and set to their largest, so
/// the data run to the end of the bytes whatever the header says; a WAV reader that believes it would fail.
fn parse_wav(bytes: &[u8]) -> Option<Sound> {
    let riff = bytes.strip_prefix(b"RIFF")?.get(4..)?.strip_prefix(b"WAVE")?;
    let mut rest = riff;
    let mut rate = None;
    loop {
        let (name, after) = rest.split_first_chunk::<4>()?;
        let (size, body) = after.split_first_chunk::<4>()?;
        let size = u32::from_le_bytes(*size) as usize;
        match name {
            b"fmt " => rate = Some(parse_format(body.get(..size)?)?),
            b"data" => {
                let data = body.get(..size).unwrap_or(body);
                let samples = data.as_chunks::<2>().0.iter().map(|&two| i16::from_le_bytes(two)).collect();
                return Some(Sound { rate: rate?, samples });
            }
            _ => {}
        }
        // Chunks start at even places.
        rest = body.get(size + size % 2..)?;
    }
}

/// The rate of a format chunk, if it is mono and 16-bit PCM.
fn parse_format(chunk: &[u8]) -> Option<u32> {
    let word = |at: usize| Some(u16::from_le_bytes(chunk.get(at..at + 2)?.try_into().ok()?));
    let rate = u32::from_le_bytes(chunk.get(4..8)?.try_into().ok()?);
    (word(0)? == 1 && word(2)? == 1 && word(14)? == 16 && rate > 0).then_some(rate)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wav(channels: u16, bits: u16, size: u32, data: &[u8]) -> Vec<u8> {
        let mut bytes = b"RIFF\xff\xff\xff\x7fWAVEfmt \x10\0\0\0".to_vec();
        bytes.extend(1u16.to_le_bytes());
        bytes.extend(channels.to_le_bytes());
        bytes.extend(22_050u32.to_le_bytes());
        bytes.extend(44_100u32.to_le_bytes());
        bytes.extend(2u16.to_le_bytes());
        bytes.extend(bits.to_le_bytes());
        bytes.extend(b"LIST\x03\0\0\0abc\0data");
        bytes.extend(size.to_le_bytes());
        bytes.extend(data);
        bytes
    }

    #[test]
    fn a_wav_from_a_pipe_is_read_to_its_end() {
        let data = [1, 0, 255, 255, 7];
        for (bytes, wanted) in [
            (wav(1, 16, 4, &data), Some(vec![1, -1])),
            (wav(1, 16, 0x7fff_f000, &data), Some(vec![1, -1])),
            (wav(1, 16, 0, &data), Some(vec![])),
            (wav(2, 16, 4, &data), None),
            (wav(1, 8, 4, &data), None),
            (b"RIFF".to_vec(), None),
            (b"mbrola: no voice".to_vec(), None),
            (vec![], None),
        ] {
            let found = parse_wav(&bytes).map(|sound| (sound.rate, sound.samples));
            assert_eq!(found, wanted.map(|samples| (22_050, samples)));
        }
        let whole = wav(1, 16, 4, &data);
        for cut in 0..whole.len() - data.len() {
            assert_eq!(parse_wav(&whole[..cut]), None, "cut at {cut}");
        }
    }
}
