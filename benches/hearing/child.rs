//! A system in a process of its own: reads requests (`FILE TAB GRAMMAR TAB PROMPT`) and writes an answer a line, as JSON.
//!
//! Sound is read before the clock starts; the time is the recogniser's alone: from the end of speech being known to
//! the answer.

use std::collections::BTreeMap;
use std::io::{BufRead, Write as _};
use std::path::{Path, PathBuf};
use std::time::Instant;

use leadhand::hear::frame::{FRAME, RATE};
use leadhand::shell::ear::Ear;
use leadhand::shell::listener::Listener;
use leadhand::shell::recogniser::search::Settings;
use leadhand::shell::recogniser::whisper::Whisper;
use leadhand::shell::sound;
use leadhand::shell::weights::Weights;
use leadhand::understand::automaton::Automaton;
use leadhand::understand::heard::Heard;
use leadhand::understand::meaning;
use whisper_rs::{FullParams, SamplingStrategy, WhisperContext, WhisperContextParameters, WhisperState};

use crate::grammar::Opened;
use crate::system::Answer;

/// Runs a system until nobody asks any more.
pub fn run(arguments: &[String]) {
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match arguments.as_slice() {
        ["ours"] => serve(Ours(ear(&Weights::folder()))),
        ["ours", folder] => serve(Ours(ear(Path::new(folder)))),
        ["stream"] => serve(Stream(Listener::new(ear(&Weights::folder()), RATE).expect("our rate is one"))),
        ["greedy"] => serve(Greedy::new()),
        ["stock", path, beam] => {
            serve(Stock::new(Path::new(path), beam.parse().expect("the width of the beam")));
        }
        ["busy"] => busy(),
        other => panic!("no such system: {other:?}"),
    }
}

/// Keeps a core busy until killed, or for a while at most.
fn busy() {
    const MOST: u64 = 300;
    let begin = Instant::now();
    let mut sum = 0_u64;
    while begin.elapsed().as_secs() < MOST {
        for i in 0..1_000_000_u64 {
            sum = std::hint::black_box(sum.wrapping_mul(31).wrapping_add(i));
        }
    }
}

trait Hearing {
    fn hear(&mut self, samples: &[f32], opened: Opened, prompt: &str) -> Answer;
}

fn serve(mut system: impl Hearing) {
    let mut out = std::io::stdout();
    let mut say = |line: String| writeln!(out, "{line}").and_then(|()| out.flush()).is_ok();
    if !say("ready".to_owned()) {
        return;
    }
    for line in std::io::stdin().lock().lines().map_while(Result::ok) {
        let mut columns = line.split('\t');
        let file = PathBuf::from(columns.next().unwrap_or_default());
        let opened = columns.next().and_then(Opened::of_name).expect("the name of a grammar");
        let samples = sound::read(&file).expect("the clip was written just now");
        let answer = system.hear(&samples, opened, columns.next().unwrap_or_default());
        if !say(serde_json::to_string(&answer).expect("an answer is text and numbers")) {
            return;
        }
    }
}

fn ear(folder: &Path) -> Ear {
    Ear::load(folder).unwrap_or_else(|why| panic!("{}: {why}", folder.display()))
}

/// The ear as the program uses it: an acknowledgement is heard twice.
struct Ours(Ear);

impl Hearing for Ours {
    fn hear(&mut self, samples: &[f32], opened: Opened, _: &str) -> Answer {
        let situation = opened.situation();
        let begin = Instant::now();
        let heard = self.0.hear(samples, &situation).expect("a clip is recognised");
        let ms = begin.elapsed().as_secs_f64() * 1e3;
        Answer { ms, text: heard.free.clone(), heard: Some(heard), opinions: Vec::new() }
    }
}

/// The listener in front of the ear.
struct Stream(Listener);

impl Hearing for Stream {
    /// The time is that of the last answer understood, in the sound, and what the ear took for it.
    fn hear(&mut self, samples: &[f32], opened: Opened, _: &str) -> Answer {
        self.0.restart();
        let situation = opened.situation();
        let mut answer = Answer::default();
        for (number, frame) in samples.chunks_exact(FRAME).enumerate() {
            let begin = Instant::now();
            let opinions = self.0.take_patiently(frame, &situation).expect("a clip is recognised");
            let worked = begin.elapsed().as_secs_f64() * 1e3;
            let now = ((number + 1) * FRAME) as f64 * 1e3 / f64::from(RATE);
            for (_, opinion) in opinions {
                let heard = if opinion.too_noisy { Heard::default() } else { opinion.heard };
                let understood = heard.understood().is_some();
                if understood || answer.heard.as_ref().is_none_or(|last| last.understood().is_none()) {
                    answer.ms = now + worked;
                    answer.text.clone_from(&heard.free);
                    answer.heard = Some(heard.clone());
                }
                answer.opinions.push(heard);
            }
        }
        answer
    }
}

/// Our weights without a grammar: the most probable token, one after the other.
struct Greedy {
    whisper: Whisper,
    automata: BTreeMap<Opened, Automaton>,
}

impl Greedy {
    fn new() -> Self {
        // Nothing is asked beyond what the decode without a grammar asked already.
        let settings = Settings { most_asked: 0, most_asked_for_rivals: 0, ..Settings::default() };
        let weights = Weights::load(&Weights::folder()).expect("the weights lie in models/speech");
        let whisper = Whisper::new(&weights).expect("whisper.cpp takes the weights").with_settings(settings);
        Self {
            whisper,
            automata: Opened::ALL.into_iter().map(|opened| (opened, opened.automaton())).collect(),
        }
    }
}

impl Hearing for Greedy {
    fn hear(&mut self, samples: &[f32], opened: Opened, _: &str) -> Answer {
        let begin = Instant::now();
        let timed =
            self.whisper.find(samples, &self.automata[&opened], &meaning).expect("a clip is recognised");
        Answer { ms: begin.elapsed().as_secs_f64() * 1e3, text: timed.found.heard.free, ..Answer::default() }
    }
}

struct Stock {
    _context: WhisperContext,
    state: WhisperState,
    beam: i32,
}

impl Stock {
    fn new(path: &Path, beam: i32) -> Self {
        whisper_rs::install_logging_hooks();
        let bytes = std::fs::read(path).expect("the weights were seen there");
        let mut parameters = WhisperContextParameters::default();
        parameters.flash_attn(true).use_gpu(false);
        let context = WhisperContext::new_from_buffer_with_params(&bytes, parameters).expect("stock weights");
        let state = context.create_state().expect("there is memory for a state");
        Self { _context: context, state, beam }
    }
}

impl Hearing for Stock {
    /// Used as it comes: 30 s window, no time stamps, a prompt in our style; greedy, or by a beam.
    fn hear(&mut self, samples: &[f32], _: Opened, prompt: &str) -> Answer {
        let strategy = match self.beam {
            0 | 1 => SamplingStrategy::Greedy { best_of: 1 },
            beam_size => SamplingStrategy::BeamSearch { beam_size, patience: -1.0 },
        };
        let mut parameters = FullParams::new(strategy);
        parameters.set_n_threads(std::thread::available_parallelism().map_or(1, |n| n.get().min(4) as i32));
        parameters.set_language(Some("en"));
        parameters.set_no_timestamps(true);
        parameters.set_single_segment(true);
        parameters.set_temperature_inc(0.0);
        parameters.set_print_progress(false);
        parameters.set_initial_prompt(prompt);
        let mut padded = samples.to_vec();
        padded.resize(padded.len().max(RATE as usize), 0.0);
        let begin = Instant::now();
        self.state.full(parameters, &padded).expect("stock weights recognise");
        let ms = begin.elapsed().as_secs_f64() * 1e3;
        let segments = self.state.as_iter();
        let text = segments
            .filter_map(|segment| segment.to_str_lossy().ok().map(std::borrow::Cow::into_owned))
            .collect();
        Answer { ms, text, ..Answer::default() }
    }
}
