//! Sound files: WAV and FLAC, read to samples at 16 kHz in one channel; WAV written.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use crate::hear::frame::{self, FormatError, RATE};

/// The endings of the files that can be read.
pub const ENDINGS: [&str; 2] = ["wav", "flac"];

/// The longest file that is read, in samples of all channels together: an hour at 48 kHz in two channels.
const LONGEST: u64 = 3600 * 48_000 * 2;

/// Reads a WAV file (8, 16, 24, 32 bit or float, any rate and number of channels) or a FLAC file.
pub fn read(path: &Path) -> Result<Vec<f32>, SoundError> {
    let fail = |why: String| SoundError::Unreadable { path: path.to_owned(), why };
    let file = File::open(path).map_err(|why| fail(why.to_string()))?;
    let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    let read = match ending.as_str() {
        "wav" => wav(BufReader::new(file)),
        "flac" => flac(file),
        _ => return Err(SoundError::Ending { path: path.to_owned() }),
    };
    let (rate, channels, samples) = read.map_err(fail)?;
    frame::mono_16k(rate, channels, &samples).map_err(|why| SoundError::Format { path: path.to_owned(), why })
}

/// Rate, channels, interleaved samples between −1 and 1.
type Interleaved = (u32, u16, Vec<f32>);

fn wav(file: BufReader<File>) -> Result<Interleaved, String> {
    let reader = hound::WavReader::new(file).map_err(|why| why.to_string())?;
    let spec = reader.spec();
    bounded(u64::from(reader.len()))?;
    let samples: Result<Vec<f32>, hound::Error> = match spec.sample_format {
        hound::SampleFormat::Float => reader.into_samples::<f32>().collect(),
        hound::SampleFormat::Int => {
            let full = full_scale(u32::from(spec.bits_per_sample));
            reader.into_samples::<i32>().map(|s| s.map(|s| (f64::from(s) / full) as f32)).collect()
        }
    };
    Ok((spec.sample_rate, spec.channels, samples.map_err(|why| why.to_string())?))
}

fn flac(file: File) -> Result<Interleaved, String> {
    let mut reader = claxon::FlacReader::new(file).map_err(|why| why.to_string())?;
    let info = reader.streaminfo();
    bounded(info.samples.unwrap_or_default().saturating_mul(u64::from(info.channels)))?;
    let full = full_scale(info.bits_per_sample);
    let samples: Result<Vec<f32>, claxon::Error> =
        reader.samples().take(LONGEST as usize).map(|s| s.map(|s| (f64::from(s) / full) as f32)).collect();
    let channels = u16::try_from(info.channels).map_err(|why| why.to_string())?;
    Ok((info.sample_rate, channels, samples.map_err(|why| why.to_string())?))
}

fn full_scale(bits: u32) -> f64 {
    2_f64.powi(bits as i32 - 1)
}

fn bounded(samples: u64) -> Result<(), String> {
    if samples > LONGEST {
        Err(format!("{samples} samples are more than the {LONGEST} that are read"))
    } else {
        Ok(())
    }
}

/// Writes samples at 16 kHz in one channel as a 16-bit WAV file.
pub fn write(path: &Path, samples: &[f32]) -> Result<(), SoundError> {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let written = || -> Result<(), hound::Error> {
        let mut writer = hound::WavWriter::create(path, spec)?;
        for sample in samples {
            writer.write_sample((sample.clamp(-1.0, 1.0) * f32::from(i16::MAX)).round() as i16)?;
        }
        writer.finalize()
    };
    written().map_err(|why| SoundError::Unwritable { path: path.to_owned(), why: why.to_string() })
}

/// Why a sound file cannot be used, and what mends it.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum SoundError {
    /// Not a file that we read.
    #[error("{} is neither a .wav nor a .flac file", path.display())]
    #[diagnostic(code(sound::ending), help("give it as WAV or FLAC"))]
    Ending {
        /// Which file.
        path: PathBuf,
    },
    /// Missing, cut off, or not what its ending says.
    #[error("{} cannot be read: {why}", path.display())]
    #[diagnostic(code(sound::unreadable), help("is the name right, and does another program play the file?"))]
    Unreadable {
        /// Which file.
        path: PathBuf,
        /// What is wrong.
        why: String,
    },
    /// A rate or a number of channels that no sound device has.
    #[error("{} has {why}", path.display())]
    #[diagnostic(
        code(sound::format),
        help("save it again at 16000 or 48000 samples a second, in one channel")
    )]
    Format {
        /// Which file.
        path: PathBuf,
        /// What is wrong.
        why: FormatError,
    },
    /// Cannot be written.
    #[error("{} cannot be written: {why}", path.display())]
    #[diagnostic(code(sound::unwritable), help("is there room, and may you write there?"))]
    Unwritable {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        why: String,
    },
}
