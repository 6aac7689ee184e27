//! The recogniser's weights: the file, what the manifest says of it, and a copy cut to a shorter window.
//!
//! Nothing is fetched. The file is compared with its manifest before anything reads it; the vocabulary and the
//! spelling of every known word come from the manifest. Knows the ggml container as whisper.cpp reads it, and
//! nothing of recognition.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::Deserialize;
use sha2::{Digest, Sha256};

use super::hexadecimal::hex;
use crate::hear::frame::FRAME;

/// A token's number in the vocabulary of the weights.
pub type TokenId = i32;

/// Where the weights lie, from the root of the project.
pub const FOLDER: &str = "models/speech";

/// What is known of a weights file: written by `models/speech/make_manifest.py`.
#[derive(Clone, Debug, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Manifest {
    /// The file's name, beside the manifest.
    pub file: String,
    /// Its size in bytes.
    pub size: u64,
    /// Its SHA-256, in hexadecimal.
    pub sha256: String,
    /// Where the weights come from.
    pub origin: String,
    /// Under which licence.
    pub licence: String,
    /// The windows that can be cut from them, in frames of 20 ms, shortest first.
    pub windows: Vec<u32>,
    /// The share of probability that fitting spread evenly over all tokens.
    pub label_smoothing: f32,
    /// Tokens with a meaning of their own.
    pub special: Special,
    /// The text of every token.
    vocabulary: Vocabulary,
    /// Every known word with the tokens that spell it.
    words: BTreeMap<String, Vec<TokenId>>,
}

/// Tokens with a meaning of their own.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Special {
    /// The end of an utterance.
    pub end: TokenId,
    /// The beginning.
    pub start: TokenId,
    /// Fed after the beginning: no time stamps are wanted.
    pub no_timestamps: TokenId,
    /// "Nothing for us": a remark, another word, noise.
    pub nothing: TokenId,
    /// The comma, which may stand between any two words.
    pub comma: TokenId,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Vocabulary {
    tokens: Vec<String>,
}

impl Manifest {
    /// Reads `manifest.toml` in a folder.
    pub fn read(folder: &Path) -> Result<Self, WeightsError> {
        let path = folder.join("manifest.toml");
        let text = std::fs::read_to_string(&path)
            .map_err(|why| WeightsError::Missing { path: path.clone(), why: why.to_string() })?;
        toml::from_str(&text).map_err(|why| WeightsError::Manifest { path, why: why.to_string() })
    }

    /// How many tokens there are.
    pub fn token_count(&self) -> usize {
        self.vocabulary.tokens.len()
    }

    /// The tokens that spell a word or a comma, or `None` for a word the weights do not know.
    pub fn spelling(&self, word: &str) -> Option<&[TokenId]> {
        if word == "," {
            return Some(std::slice::from_ref(&self.special.comma));
        }
        self.words.get(word).map(Vec::as_slice)
    }

    /// Every known word, sorted.
    pub fn words(&self) -> impl Iterator<Item = &str> {
        self.words.keys().map(String::as_str)
    }

    /// What a row of tokens reads as; special tokens are left out.
    pub fn text(&self, tokens: &[TokenId]) -> String {
        let written = |token: &&TokenId| **token < self.special.end;
        let piece = |token: &TokenId| self.vocabulary.tokens.get(*token as usize).map_or("", String::as_str);
        tokens.iter().filter(written).map(piece).collect::<String>().trim().to_owned()
    }

    /// The shortest window that holds so many samples at 16 kHz with silence after them, or the longest there is.
    pub fn window_for(&self, samples: usize) -> u32 {
        /// Without silence after it the end of an utterance is not noticed, and is written again and again.
        const SILENCE: usize = 15;
        let holds = |window: &&u32| (**window as usize - SILENCE) * FRAME >= samples;
        let longest = self.windows.last().copied().unwrap_or_default();
        self.windows.iter().find(holds).copied().unwrap_or(longest)
    }
}

/// Checked weights in memory.
pub struct Weights {
    /// What is known of them.
    pub manifest: Manifest,
    bytes: Vec<u8>,
    layout: Layout,
}

impl Weights {
    /// The folder of the weights: looked for beside the current folder and beside the program, and in the folders
    /// above each.
    pub fn folder() -> PathBuf {
        let places = [std::env::current_dir(), std::env::current_exe()];
        let above = places.iter().flatten().flat_map(|place| place.ancestors());
        let found = above.map(|place| place.join(FOLDER)).find(|folder| folder.is_dir());
        found.unwrap_or_else(|| PathBuf::from(FOLDER))
    }

    /// Reads the manifest and the weights in a folder and compares them.
    pub fn load(folder: &Path) -> Result<Self, WeightsError> {
        let manifest = Manifest::read(folder)?;
        let path = folder.join(&manifest.file);
        let bytes = std::fs::read(&path)
            .map_err(|why| WeightsError::Missing { path: path.clone(), why: why.to_string() })?;
        Self::check(manifest, bytes, path)
    }

    fn check(manifest: Manifest, bytes: Vec<u8>, path: PathBuf) -> Result<Self, WeightsError> {
        let size = bytes.len() as u64;
        if size < manifest.size {
            return Err(WeightsError::Cut { path, size, expected: manifest.size });
        }
        let fingerprint = hex(&Sha256::digest(&bytes));
        if fingerprint != manifest.sha256 {
            return Err(WeightsError::Wrong { path, fingerprint, expected: manifest.sha256 });
        }
        let layout = Layout::read(&bytes).ok_or_else(|| WeightsError::NotWeights { path: path.clone() })?;
        let longest = manifest.windows.last().copied().unwrap_or_default();
        if layout.tokens as usize != manifest.token_count() {
            let (file, manifest) = (layout.tokens, manifest.token_count() as u32);
            return Err(WeightsError::Header { path, what: "tokens", file, manifest });
        }
        if layout.window < longest {
            let (file, manifest) = (layout.window, longest);
            return Err(WeightsError::Header { path, what: "frames of sound", file, manifest });
        }
        Ok(Self { manifest, bytes, layout })
    }

    /// The same weights for a shorter window: the number of frames rewritten in the header, and the encoder's
    /// table of positions cut to as many rows.
    pub fn cut_to(&self, frames: u32) -> Vec<u8> {
        let Layout { positions, row, window, .. } = self.layout;
        let (kept, dropped) = (frames.min(window) as usize * row, window as usize * row);
        let mut cut = Vec::with_capacity(self.bytes.len());
        cut.extend_from_slice(&self.bytes[..positions.data + kept]);
        cut.extend_from_slice(&self.bytes[positions.data + dropped..]);
        let frames = frames.min(window).to_le_bytes();
        cut[Layout::WINDOW_AT..Layout::WINDOW_AT + 4].copy_from_slice(&frames);
        cut[positions.rows..positions.rows + 4].copy_from_slice(&frames);
        cut
    }
}

/// Where in a ggml file the things stand that a cut changes.
///
/// Layout after whisper.cpp's loader: a magic number, eleven 32-bit numbers (the first the vocabulary's size, the
/// second the window), the mel filters (two sizes and their table), the vocabulary (a count, then length and bytes
/// of each), then the tensors (number of dimensions, length of the name, type; dimensions; name; data).
#[derive(Clone, Copy, Debug)]
struct Layout {
    tokens: u32,
    window: u32,
    /// Bytes a row of the table of positions.
    row: usize,
    positions: Positions,
}

#[derive(Clone, Copy, Debug)]
struct Positions {
    /// Where the number of rows stands.
    rows: usize,
    /// Where the rows begin.
    data: usize,
}

impl Layout {
    const MAGIC: u32 = 0x6767_6d6c;
    const WINDOW_AT: usize = 8;
    const POSITIONS: &[u8] = b"encoder.positional_embedding";
    /// More tokens or tensors than any of our files has.
    const MOST: u32 = 100_000;

    fn read(bytes: &[u8]) -> Option<Self> {
        let mut reader = Reader { bytes, at: 0 };
        if reader.number()? != Self::MAGIC {
            return None;
        }
        let (tokens, window) = (reader.number()?, reader.number()?);
        reader.skip(9 * 4)?;
        let filters = reader.number()?.checked_mul(reader.number()?)?;
        reader.skip((filters as usize).checked_mul(4)?)?;
        let count = reader.number()?.min(Self::MOST);
        for _ in 0..count {
            let length = reader.number()?;
            reader.skip(length as usize)?;
        }
        for _ in 0..Self::MOST {
            let (dimensions, name, kind) = (reader.number()?, reader.number()?, reader.number()?);
            let sizes_at = reader.at;
            let sizes: Vec<usize> =
                (0..dimensions.min(4)).map(|_| reader.number().map(|n| n as usize)).collect::<Option<_>>()?;
            let name = reader.take(name as usize)?;
            let count = sizes.iter().try_fold(1_usize, |n, size| n.checked_mul(*size))?;
            if name == Self::POSITIONS {
                let whole = dimensions == 2 && kind == 0 && sizes.get(1) == Some(&(window as usize));
                let positions = Positions { rows: sizes_at + 4, data: reader.at };
                let row = sizes.first()? * 4;
                return whole.then_some(Self { tokens, window, row, positions });
            }
            reader.skip(Self::bytes_of(kind, count)?)?;
        }
        None
    }

    /// Bytes of so many numbers of a ggml type: f32, f16, q8_0 (blocks of 32 with a scale).
    fn bytes_of(kind: u32, count: usize) -> Option<usize> {
        match kind {
            0 => count.checked_mul(4),
            1 => count.checked_mul(2),
            8 => (count / 32).checked_mul(34),
            _ => None,
        }
    }
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Reader<'a> {
    fn take(&mut self, length: usize) -> Option<&'a [u8]> {
        let taken = self.bytes.get(self.at..self.at.checked_add(length)?)?;
        self.at += length;
        Some(taken)
    }

    fn skip(&mut self, length: usize) -> Option<()> {
        self.take(length).map(|_| ())
    }

    fn number(&mut self) -> Option<u32> {
        let bytes = self.take(4)?;
        Some(u32::from_le_bytes(bytes.try_into().expect("four bytes were taken")))
    }
}

/// Why the weights cannot be used, and what mends it.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum WeightsError {
    /// A file cannot be read.
    #[error("the recogniser's weights cannot be read: {}: {why}", path.display())]
    #[diagnostic(
        code(weights::missing),
        help("run from the project's folder, or restore it: git checkout models/speech")
    )]
    Missing {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        why: String,
    },
    /// The manifest is not as it should be.
    #[error("the manifest of the weights cannot be used: {}: {why}", path.display())]
    #[diagnostic(
        code(weights::manifest),
        help("restore it: git checkout models/speech, or write it anew with make_manifest.py")
    )]
    Manifest {
        /// Which file.
        path: PathBuf,
        /// What is wrong, and where.
        why: String,
    },
    /// The file is shorter than the manifest says.
    #[error("the weights are cut off: {} has {size} of {expected} bytes", path.display())]
    #[diagnostic(code(weights::cut), help("the copy was broken off; restore it: git checkout models/speech"))]
    Cut {
        /// Which file.
        path: PathBuf,
        /// Its size in bytes.
        size: u64,
        /// The size that the manifest gives.
        expected: u64,
    },
    /// The file is not the one the manifest describes.
    #[error("the weights are not the ones the manifest describes: {} has SHA-256 {fingerprint}, not {expected}", path.display())]
    #[diagnostic(
        code(weights::wrong),
        help("restore both: git checkout models/speech; after fitting new weights run make_manifest.py")
    )]
    Wrong {
        /// Which file.
        path: PathBuf,
        /// Its fingerprint.
        fingerprint: String,
        /// The fingerprint in the manifest.
        expected: String,
    },
    /// The file is no ggml file.
    #[error("{} is not a ggml weights file", path.display())]
    #[diagnostic(code(weights::not_weights), help("restore it: git checkout models/speech"))]
    NotWeights {
        /// Which file.
        path: PathBuf,
    },
    /// The file's header says something else than the manifest.
    #[error("{} has {file} {what}, its manifest says {manifest}", path.display())]
    #[diagnostic(code(weights::header), help("write the manifest anew with make_manifest.py"))]
    Header {
        /// Which file.
        path: PathBuf,
        /// What is counted.
        what: &'static str,
        /// How many the file has.
        file: u32,
        /// How many the manifest gives.
        manifest: u32,
    },
}
