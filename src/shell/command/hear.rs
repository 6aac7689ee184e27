//! `leadhand hear`: recognise recordings and print what was meant.
//!
//! A recording is one utterance unless it is longer than the longest window; then its utterances are found by voice
//! activity, and the last one that is understood counts, since it may correct those before it.

mod answer;
mod files;

use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use clap::ValueEnum;
use miette::IntoDiagnostic;

use crate::hear::frame::{FRAME, FRAME_TIME};
use crate::hear::utterances;
use crate::id::PointId;
use crate::shell::ear::Ear;
use crate::shell::listener::limits;
use crate::shell::sound;
use crate::understand::heard::Heard;
use crate::understand::matching;
use crate::understand::progress::progress;
use crate::understand::situation::{Kind, Situation, SpokenPoint};

use answer::Answer;

/// Arguments of `leadhand hear`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  leadhand hear reading.wav --grammar reading --points L,N,M,H --json\n\n\
    A recording longer than ten seconds is cut into utterances; the last one understood is printed.\n\
    Values are in SI base units (kilohms become ohms, psi pascals); degrees stay as said.")]
pub struct HearArgs {
    /// WAV or FLAC files, or folders of them
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// What can be heard
    #[arg(long, value_enum, default_value_t = Grammar::Anything)]
    grammar: Grammar,
    /// The points that can be named; spelling-alphabet words are added
    #[arg(long, value_delimiter = ',', default_value = "L,N,M,H,T,V")]
    points: Vec<String>,
    /// Print one JSON object a file
    #[arg(long)]
    json: bool,
    /// Print every candidate, what may follow, noise, window, and the time of each stage
    #[arg(long)]
    explain: bool,
    /// The folder of the weights
    #[arg(long, value_name = "FOLDER")]
    weights: Option<PathBuf>,
}

/// The grammars that can be opened by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Grammar {
    /// Everything at once
    Anything,
    /// A reading, with or without its points
    Reading,
    /// Yes, no, or a correction of a reading
    Confirm,
    /// The two-part answer to a hazard
    Acknowledge,
    /// Done, ready, skip
    Step,
    /// Yes or no
    YesNo,
    /// Any spoken number or string of digits
    Digits,
    /// Letters and digits as on a rating plate
    Plate,
    /// Only the stop words
    StopOnly,
}

impl Grammar {
    const fn kind(self) -> Kind {
        match self {
            Self::Anything => Kind::Anything,
            Self::Reading => Kind::Reading,
            Self::Confirm => Kind::Confirm,
            Self::Acknowledge => Kind::Acknowledge,
            Self::Step => Kind::Step,
            Self::YesNo => Kind::YesNo,
            Self::Digits => Kind::Digits,
            Self::Plate => Kind::Plate,
            Self::StopOnly => Kind::StopOnly,
        }
    }
}

/// Runs the command.
pub fn run(args: HearArgs) -> miette::Result<()> {
    let files = files::under(&args.files)?;
    let mut ear = args.weights.as_deref().map_or_else(Ear::open, Ear::load)?;
    let points: Vec<SpokenPoint> = args.points.iter().map(|name| spoken(name)).collect();
    let asked = match (args.grammar, points.as_slice()) {
        (Grammar::Acknowledge, [a, b, ..]) => Some((a.point.clone(), b.point.clone())),
        _ => None,
    };
    let situation = Situation { kind: args.grammar.kind(), points, asked, ..Situation::default() };
    let mut unreadable = Vec::new();
    for (done, file) in files.iter().enumerate() {
        count(done, files.len());
        match hear(&mut ear, file, &situation) {
            Ok(found) => {
                print(&args, &Answer::new(file, &found.heard, found.took))?;
                if args.explain {
                    explain(&ear, &found, situation.kind)?;
                }
            }
            // One bad file among many is named, and the others are still heard.
            Err(problem) => unreadable.push((file, problem)),
        }
    }
    count(files.len(), files.len());
    let Some((_, first)) = unreadable.pop() else { return Ok(()) };
    for (_, problem) in unreadable {
        eprintln!("{problem:?}");
    }
    Err(first)
}

/// What was found in a file.
struct Found {
    samples: Vec<f32>,
    heard: Heard,
    /// How long it took once the sound was in memory.
    took: Duration,
}

/// Recognises one file.
fn hear(ear: &mut Ear, file: &Path, situation: &Situation) -> miette::Result<Found> {
    let samples = sound::read(file)?;
    let begin = Instant::now();
    let longest = ear.manifest().windows.last().copied().unwrap_or_default() as usize * FRAME;
    let mut heard = Heard { outside: 1.0, ..Heard::default() };
    let silent = samples.iter().all(|sample| *sample == 0.0);
    if !silent && samples.len() <= longest {
        heard = ear.hear(&samples, situation)?;
    } else {
        for utterance in utterances(&samples, limits(situation.kind)) {
            let last = ear.hear(&utterance.samples, situation)?;
            if last.understood().is_some() || heard.understood().is_none() {
                heard = last;
            }
        }
    }
    Ok(Found { samples, heard, took: begin.elapsed() })
}

fn print(args: &HearArgs, answer: &Answer) -> miette::Result<()> {
    let mut stdout = std::io::stdout();
    let line = if args.json {
        serde_json::to_string(answer).expect("an answer has only text keys")
    } else {
        answer.to_string()
    };
    writeln!(stdout, "{line}").into_diagnostic()
}

/// How it came to the answer.
fn explain(ear: &Ear, found: &Found, kind: Kind) -> miette::Result<()> {
    let mut stdout = std::io::stdout();
    let mut say = |line: String| writeln!(stdout, "    {line}").into_diagnostic();
    let Found { samples, heard, .. } = found;
    for candidate in &heard.candidates {
        say(format!("{:.4} {} ({:?})", candidate.probability, candidate.words, candidate.intent))?;
    }
    say(format!("{:.4} outside; without grammar: {}", heard.outside, heard.free))?;
    if let Some(automaton) = ear.automaton(kind) {
        let words = matching::words(heard.understood().map_or(&heard.free, |best| &best.words));
        let next = matching::next_words(automaton, &words);
        let next = if next.is_empty() { "nothing".to_owned() } else { next[..next.len().min(8)].join(", ") };
        let ends = matching::ends_with(automaton, &words);
        say(format!(
            "ends here with {ends:.2} of the grammar; else {next}; {:?}",
            progress(automaton, heard)
        ))?;
    }
    let snr = utterances(samples, limits(kind)).into_iter().find_map(|spoken| spoken.signal_to_noise);
    let snr = snr
        .map_or_else(|| "noise not heard alone".to_owned(), |snr| format!("{:.0} dB above the noise", snr.0));
    let effort = ear.effort();
    let ms = |time: Duration| time.as_secs_f64() * 1e3;
    let bound = if effort.bound_met { ", as often as it may be" } else { "" };
    say(format!(
        "{snr}; window of {:.2} s; encoded in {:.0} ms, decoded in {:.0} ms, asked {} times{bound}",
        f64::from(effort.window) * FRAME_TIME.as_secs_f64(),
        ms(effort.encode),
        ms(effort.decode),
        effort.asked,
    ))
}

/// A count of files on the terminal, where there is one and there are many.
fn count(done: usize, all: usize) {
    let mut stderr = std::io::stderr();
    if all > 1 && stderr.is_terminal() {
        let end = if done == all { "\n" } else { "" };
        // A terminal that is gone is no reason to stop.
        let _ = write!(stderr, "\r{done} of {all} files{end}").and_then(|()| stderr.flush());
    }
}

/// The ways to say a point: its letters and digits one by one, a single letter also by its spelling-alphabet word.
fn spoken(name: &str) -> SpokenPoint {
    let name = name.trim();
    let plain = name.chars().all(|c| c.is_ascii_uppercase() || c.is_ascii_digit());
    let mut say = Vec::new();
    if plain && !name.is_empty() {
        say.push(name.chars().map(sign).collect::<Vec<_>>().join(" "));
        let word = |c| spelling_word(c).map_or_else(|| sign(c), str::to_owned);
        say.push(name.chars().map(word).collect::<Vec<_>>().join(" "));
    } else {
        say.push(name.replace(['-', '_'], " "));
    }
    say.dedup();
    SpokenPoint { point: PointId::from(name), say }
}

fn sign(c: char) -> String {
    const DIGITS: [&str; 10] =
        ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
    c.to_digit(10).map_or_else(|| c.to_string(), |digit| DIGITS[digit as usize].to_owned())
}

/// The spelling alphabet of the ITU Radio Regulations, appendix 14, in the spelling of our weights.
fn spelling_word(letter: char) -> Option<&'static str> {
    const WORDS: [&str; 26] = [
        "alpha", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india", "juliet", "kilo",
        "lima", "mike", "november", "oscar", "papa", "quebec", "romeo", "sierra", "tango", "uniform",
        "victor", "whiskey", "x-ray", "yankee", "zulu",
    ];
    let index = (letter as usize).checked_sub('A' as usize)?;
    WORDS.get(index).copied()
}
