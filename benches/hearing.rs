//! How well and how fast is heard: our recogniser against stock Whisper used in the stock way, on the same sound in
//! the same run.
//!
//! `make bench`. Synthetic readings are spoken once into target/readings by scripts/make_readings.py; people's
//! recordings are read from ../shared/data/speech where it is there; stock weights where `make stock-weights` built
//! them. What is not there is named and left out.
#![allow(missing_docs, clippy::print_stdout, clippy::unwrap_used, clippy::disallowed_methods)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Instant;

use leadhand::hear::frame::RATE;
use leadhand::id::PointId;
use leadhand::shell::recogniser::whisper::Whisper;
use leadhand::shell::sound;
use leadhand::shell::weights::Weights;
use leadhand::understand::intent::Intent;
use leadhand::understand::situation::{Kind, Situation, SpokenPoint};
use leadhand::understand::{meaning, open, typed};
use whisper_rs::{FullParams, SamplingStrategy, WhisperContext, WhisperContextParameters, WhisperState};

/// Of a large set every so manieth clip is given to stock weights, which take a second each.
const STOCK_EVERY: usize = 4;

struct Clip {
    samples: Vec<f32>,
    /// `None` for a remark, which must not be taken for anything.
    words: Option<String>,
}

#[derive(Default)]
struct Row {
    clips: usize,
    exact: usize,
    /// Another value than was said, above the working threshold.
    wrong: usize,
    exact_without_grammar: usize,
    encode: Vec<f64>,
    decode: Vec<f64>,
    total: Vec<f64>,
}

fn main() {
    let weights = Weights::load(&Weights::folder()).expect("the weights lie in models/speech");
    let begin = Instant::now();
    let mut ours = Whisper::new(&weights).expect("whisper.cpp takes the weights");
    println!("weights loaded and warmed in {:.0} ms", begin.elapsed().as_secs_f64() * 1e3);
    let mut stock = stock();
    let mut windows: BTreeMap<u32, Row> = BTreeMap::new();
    let mut ratios = Vec::new();
    // `CLIPS=20 make bench` takes about that many clips of each set, evenly spaced.
    let most = std::env::var("CLIPS").ok().and_then(|n| n.parse().ok()).unwrap_or(usize::MAX).max(1);
    println!(
        "\n{:<34} {:>5} {:>7} {:>7} {:>9} {:>8} {:>8} {:>8}",
        "set", "clips", "exact", "wrong", "free", "stock", "ms p50", "ms p95"
    );
    for (name, kind, clips) in sets() {
        let situation = situation(kind);
        let automaton = open(&situation);
        let (mut row, mut stock_exact, mut stock_clips) = (Row::default(), 0, 0);
        let every = clips.len().div_ceil(most).max(1);
        for (index, clip) in clips.iter().step_by(every).enumerate() {
            let wanted = clip.words.as_deref().map(|words| intent(&automaton, words));
            let begin = Instant::now();
            let timed = ours.find(&clip.samples, &automaton, &meaning).expect("every clip is recognised");
            let ms = begin.elapsed().as_secs_f64() * 1e3;
            let heard = &timed.found.heard;
            let best = heard.understood().map(|best| best.intent.clone());
            let free = intent(&automaton, &heard.free);
            for row in [&mut row, windows.entry(timed.window).or_default()] {
                row.clips += 1;
                row.encode.push(timed.encode.as_secs_f64() * 1e3);
                row.decode.push(timed.decode.as_secs_f64() * 1e3);
                row.total.push(ms);
                match &wanted {
                    Some(wanted) => {
                        row.exact += usize::from(best == *wanted);
                        row.wrong += usize::from(best.is_some() && best != *wanted);
                        row.exact_without_grammar += usize::from(free == *wanted);
                    }
                    None => row.wrong += usize::from(best.is_some()),
                }
            }
            if let (Some((_, state)), Some(wanted), 0) = (&mut stock, &wanted, index % STOCK_EVERY) {
                let begin = Instant::now();
                let text = stock_text(state, &clip.samples);
                ratios.push(begin.elapsed().as_secs_f64() * 1e3 / ms);
                stock_clips += 1;
                stock_exact += usize::from(intent(&automaton, &text) == *wanted);
            }
            if std::env::var("SHOW").is_ok() && wanted.clone().flatten() != best {
                println!(
                    "  {:?}: {} ({:.2}, outside {:.2}); free {}",
                    clip.words,
                    heard.candidates.first().map_or("-", |best| &best.words),
                    heard.candidates.first().map_or(0.0, |best| best.probability),
                    heard.outside,
                    heard.free
                );
            }
        }
        let remarks = clips.iter().all(|clip| clip.words.is_none());
        let of = |n: usize| if remarks { "-".to_owned() } else { n.to_string() };
        let stock = if stock_clips == 0 { "-".to_owned() } else { format!("{stock_exact}/{stock_clips}") };
        println!(
            "{name:<34} {:>5} {:>7} {:>7} {:>9} {stock:>8} {:>8.0} {:>8.0}",
            row.clips,
            of(row.exact),
            row.wrong,
            of(row.exact_without_grammar),
            quantile(&mut row.total, 0.5),
            quantile(&mut row.total, 0.95)
        );
    }
    println!(
        "\nexact: value, unit, points and correction all right and above the working threshold; wrong: something"
    );
    println!(
        "else above it; free: our weights without grammar, read afterwards; stock: tiny.en, 30 s window, greedy."
    );
    println!(
        "\n{:>10} {:>7} {:>6} {:>10} {:>10} {:>10}",
        "window", "longest", "clips", "encode ms", "decode ms", "total ms"
    );
    for (window, mut row) in windows {
        println!(
            "{window:>10} {:>6.2}s {:>6} {:>10.1} {:>10.1} {:>10.1}",
            f64::from(window) * 0.02,
            row.clips,
            quantile(&mut row.encode, 0.5),
            quantile(&mut row.decode, 0.5),
            quantile(&mut row.total, 0.5)
        );
    }
    if ratios.is_empty() {
        println!("\nstock tiny.en: skipped, not built (make stock-weights)");
    } else {
        println!(
            "\nstock tiny.en takes {:.1} times as long (median of {} clips)",
            quantile(&mut ratios, 0.5),
            ratios.len()
        );
    }
}

fn quantile(values: &mut [f64], share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(((values.len() as f64 - 1.0) * share).round() as usize).copied().unwrap_or_default()
}

/// What words mean under a grammar, if they mean one thing best.
fn intent(automaton: &leadhand::understand::automaton::Automaton, words: &str) -> Option<Intent> {
    typed(automaton, words).candidates.first().map(|best| best.intent.clone())
}

fn situation(kind: Kind) -> Situation {
    let words =
        [("L", "lima"), ("N", "november"), ("M", "mike"), ("H", "hotel"), ("T", "tango"), ("V", "victor")];
    let point = |(letter, word): (&str, &str)| SpokenPoint {
        point: PointId::from(letter),
        say: vec![letter.to_owned(), word.to_owned()],
    };
    Situation { kind, points: words.into_iter().map(point).collect(), ..Situation::default() }
}

/// Every set that is there: its name, the grammar to open, its clips.
fn sets() -> Vec<(&'static str, Kind, Vec<Clip>)> {
    let mut sets = Vec::new();
    match synthetic() {
        Ok(clips) => {
            for (name, snr) in
                [("synthetic readings, quiet", None), ("synthetic readings, noise 10 dB", Some(10.0))]
            {
                let noisy = |(seed, clip): (usize, &Clip)| Clip {
                    samples: snr
                        .map_or_else(|| clip.samples.clone(), |snr| with_noise(&clip.samples, snr, seed)),
                    words: clip.words.clone(),
                };
                sets.push((name, Kind::Reading, clips.iter().enumerate().map(noisy).collect()));
            }
        }
        Err(why) => println!("synthetic readings: skipped, {why}"),
    }
    let Some(folder) = shared() else {
        println!("people's recordings: skipped, ../shared/data/speech is not there");
        return sets;
    };
    let manifest = std::fs::read_to_string(folder.join("manifest.tsv")).expect("the data have a manifest");
    let rows: Vec<Vec<&str>> = manifest.lines().skip(1).map(|line| line.split('\t').collect()).collect();
    let load = |take: &dyn Fn(&str, &str) -> bool, remarks: bool| -> Vec<Clip> {
        let taken = rows.iter().filter(|row| take(row[0], row[3]));
        taken
            .map(|row| Clip {
                samples: sound::read(&folder.join(row[0])).expect("the data can be read"),
                words: (!remarks).then(|| row[1].to_owned()),
            })
            .collect()
    };
    let numbers = |file: &str, kind: &str| {
        file.starts_with("an4/") && kind.contains("number") && !kind.contains("spelled")
    };
    sets.push(("people's numbers (AN4)", Kind::Digits, load(&numbers, false)));
    let digits = |file: &str, kind: &str| file.starts_with("speech_commands/") && kind == "digit";
    sets.push(("people's single digits", Kind::Digits, load(&digits, false)));
    let spelled = |file: &str, kind: &str| file.starts_with("an4/") && kind.starts_with("spelled");
    sets.push(("people's letters and signs (AN4)", Kind::Plate, load(&spelled, false)));
    let remarks = |_: &str, kind: &str| kind.starts_with("off_domain") || kind == "prose";
    sets.push(("remarks under `reading`", Kind::Reading, load(&remarks, true)));
    let others = |_: &str, kind: &str| kind == "off_vocabulary_word";
    sets.push(("other words under `reading`", Kind::Reading, load(&others, true)));
    sets
}

fn shared() -> Option<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let places = ["../shared", "../../shared"].map(|up| root.join(up).join("data/speech"));
    places.into_iter().find(|folder| folder.is_dir())
}

fn synthetic() -> Result<Vec<Clip>, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = root.join("target/readings");
    let list = folder.join("readings.tsv");
    if !list.exists() {
        let made = std::process::Command::new("python3")
            .arg(root.join("scripts/make_readings.py"))
            .arg(&folder)
            .status();
        if !made.is_ok_and(|status| status.success()) {
            return Err("scripts/make_readings.py failed (are espeak-ng and flite installed?)".to_owned());
        }
    }
    let text = std::fs::read_to_string(&list).map_err(|why| why.to_string())?;
    let clip = |line: &str| {
        let mut columns = line.split('\t');
        let samples = sound::read(&folder.join(columns.next()?)).ok()?;
        Some(Clip { samples, words: columns.nth(1).map(str::to_owned) })
    };
    Ok(text.lines().skip(1).filter_map(clip).collect())
}

/// Adds noise whose power falls with frequency, as of fans and motors, so many decibels below the speech.
fn with_noise(samples: &[f32], snr: f32, seed: usize) -> Vec<f32> {
    let mut state = seed as u64 * 2 + 1;
    let mut white = || {
        // A linear congruential generator (Knuth's MMIX constants): enough for noise, and it repeats.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f32 / (1_u64 << 30) as f32 - 1.0
    };
    let mut low = 0.0;
    let noise: Vec<f32> = samples
        .iter()
        .map(|_| {
            let now = white();
            low += 0.05 * (now - low);
            low + 0.1 * now
        })
        .collect();
    let power = |values: &[f32]| values.iter().map(|v| v * v).sum::<f32>() / values.len() as f32;
    let gain = (power(samples) / power(&noise) / 10_f32.powf(snr / 10.0)).sqrt();
    samples.iter().zip(&noise).map(|(s, n)| s + gain * n).collect()
}

/// Stock tiny.en, where it was built.
fn stock() -> Option<(WhisperContext, WhisperState)> {
    let path = Weights::folder().join("stock/tiny.en.f16.bin");
    let bytes = std::fs::read(path).ok()?;
    let mut parameters = WhisperContextParameters::default();
    parameters.flash_attn(true).use_gpu(false);
    let context = WhisperContext::new_from_buffer_with_params(&bytes, parameters).ok()?;
    let state = context.create_state().ok()?;
    Some((context, state))
}

/// Used as it comes: greedy, 30 s window, a prompt in our style.
fn stock_text(state: &mut WhisperState, samples: &[f32]) -> String {
    let mut parameters = FullParams::new(SamplingStrategy::Greedy { best_of: 1 });
    parameters.set_n_threads(std::thread::available_parallelism().map_or(1, |n| n.get().min(4) as i32));
    parameters.set_language(Some("en"));
    parameters.set_no_timestamps(true);
    parameters.set_single_segment(true);
    parameters.set_temperature_inc(0.0);
    parameters.set_print_progress(false);
    parameters.set_initial_prompt("L to H, 71 ohms. M to N, 8.8 kilohms. 120 volts.");
    let mut padded = samples.to_vec();
    padded.resize(padded.len().max(RATE as usize), 0.0);
    state.full(parameters, &padded).expect("stock weights recognise");
    state
        .as_iter()
        .filter_map(|segment| segment.to_str_lossy().ok().map(std::borrow::Cow::into_owned))
        .collect()
}
