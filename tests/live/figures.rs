//! How fast and how cheap it is, measured through the pretend kitchen: `make bench-live`. Prints a table; judges nothing.

use std::fs;
use std::io::Read;
use std::process::{Child, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use leadhand::quantity::{Prefix, Quantity, Unit};
use leadhand::say::Manner;
use leadhand::shell::sound_out::at_rate;
use leadhand::shell::voice::Voice;
use leadhand::understand::numerals::quantity_words;
use leadhand::understand::situation::{Kind, Situation};
use leadhand::understand::{open, typed};

use super::house::{House, end};
use super::talk::{Talk, script};

/// So many answers are timed in each row.
const ANSWERS: usize = 12;
/// And so many stops.
const STOPS: usize = 10;
/// So long the processor's time is counted while it listens.
const COUNTED: Duration = Duration::from_secs(20);
/// Louder than this is speech, of 16-bit samples: far above the room's own noise.
const LOUD: u16 = 600;
/// And louder than this a hazard's tone: the routine voice stays below.
const HAZARD: u16 = 20_000;

/// When a place was loud, and how loud: heard with as little delay as the sound system has.
pub struct Ear {
    recorder: Child,
    loud: Arc<Mutex<Vec<(Instant, u16)>>>,
}

impl Ear {
    pub fn at(house: &House, source: &str) -> Self {
        let mut recorder = house
            .program("parec")
            .arg(format!("--device={source}"))
            .args(["--raw", "--format=s16le", "--rate=16000", "--channels=1", "--latency-msec=10"])
            .stdout(Stdio::piped())
            .spawn()
            .expect("parec runs");
        let mut pipe = recorder.stdout.take().expect("piped");
        let loud = Arc::new(Mutex::new(Vec::new()));
        let noted = Arc::clone(&loud);
        thread::spawn(move || {
            let mut bytes = [0_u8; 320];
            while pipe.read_exact(&mut bytes).is_ok() {
                let now = Instant::now();
                let peak =
                    bytes.as_chunks::<2>().0.iter().map(|two| i16::from_le_bytes(*two).unsigned_abs()).max();
                noted.lock().unwrap().extend(peak.filter(|peak| *peak > LOUD).map(|peak| (now, peak)));
            }
        });
        Self { recorder, loud }
    }

    /// The last moment of sound.
    pub fn last(&self) -> Option<Instant> {
        self.loud.lock().unwrap().last().map(|(at, _)| *at)
    }

    /// The first moment of sound after another.
    pub fn first_after(&self, then: Instant) -> Option<Instant> {
        self.loud.lock().unwrap().iter().map(|(at, _)| *at).find(|at| *at > then)
    }

    /// The last moment of sound before the tone of a hazard, of those after a moment.
    fn last_before_hazard(&self, then: Instant) -> Option<Instant> {
        let loud = self.loud.lock().unwrap();
        let tone = loud.iter().position(|(at, peak)| *at > then && *peak > HAZARD)?;
        loud[..tone].last().map(|(at, _)| *at)
    }
}

impl Drop for Ear {
    fn drop(&mut self) {
        end(&mut self.recorder);
    }
}

fn row(name: &str, mut found: Vec<Duration>) {
    found.sort();
    if found.is_empty() {
        println!("{name:<58} nothing was timed");
        return;
    }
    let at = |share: f64| found[((found.len() - 1) as f64 * share).round() as usize].as_millis();
    let longest = found.last().map_or(0, Duration::as_millis);
    println!(
        "{name:<58} median {:>5} ms   p95 {:>5} ms   longest {longest:>5} ms   ({} timed)",
        at(0.5),
        at(0.95),
        found.len()
    );
}

/// Times from the end of "say again" to the first sound of the question asked again, and from a line to its sound.
fn answers(house: &House, talk: &mut Talk, air: &Ear, loudspeaker: &Ear) -> (Vec<Duration>, Vec<Duration>) {
    let (mut turns, mut sounds) = (Vec::new(), Vec::new());
    for _ in 0..ANSWERS {
        house.speak("say again");
        let ended = air.last().expect("something was said");
        talk.until("leadhand   Still on volts");
        let told = Instant::now();
        talk.until("listening: dead");
        let Some(first) = loudspeaker.first_after(ended) else { continue };
        turns.push(first - ended);
        sounds.push(first.saturating_duration_since(told));
    }
    (turns, sounds)
}

/// Times from the end of "stop", said while we speak, to the last sound of our line.
fn stops(house: &House, talk: &mut Talk, air: &Ear, loudspeaker: &Ear) -> Vec<Duration> {
    let mut found = Vec::new();
    for _ in 0..STOPS {
        house.speak("say again");
        talk.until("leadhand   Unplug");
        // Into the middle of the line.
        house.play_for(Duration::from_millis(300));
        let begun = Instant::now();
        house.speak("stop");
        let ended = air.last().expect("something was said");
        talk.until("listening: paused");
        let silent = loudspeaker.last_before_hazard(begun);
        found.extend(silent.map(|silent| silent.saturating_duration_since(ended)));
        house.speak("resume");
        talk.until("listening: isolate");
    }
    found
}

/// Times from the end of "stop", said while we listen, to the first sound of the answer.
fn stops_while_listening(house: &House, talk: &mut Talk, air: &Ear, loudspeaker: &Ear) -> Vec<Duration> {
    let mut found = Vec::new();
    for _ in 0..STOPS {
        let begun = Instant::now();
        house.speak("stop");
        let ended = air.last().expect("something was said");
        talk.until("listening: paused");
        let answer = loudspeaker.first_after(begun);
        found.extend(answer.map(|answer| answer.saturating_duration_since(ended)));
        house.speak("resume");
        talk.until("listening: isolate");
    }
    found
}

fn status(id: u32, field: &str) -> String {
    let text = fs::read_to_string(format!("/proc/{id}/status")).expect("a process has a status");
    text.lines()
        .find_map(|line| line.strip_prefix(field))
        .map(|rest| rest.trim().to_owned())
        .unwrap_or_default()
}

/// Processor time used so far by all threads that are there: the first figure of `schedstat`, in nanoseconds.
fn worked(id: u32) -> Duration {
    let threads = fs::read_dir(format!("/proc/{id}/task")).expect("a process has threads");
    let of = |path: std::path::PathBuf| -> Option<u64> {
        fs::read_to_string(path.join("schedstat")).ok()?.split(' ').next()?.parse().ok()
    };
    Duration::from_nanos(threads.flatten().filter_map(|thread| of(thread.path())).sum())
}

#[test]
fn figures() {
    if !std::env::var("LEADHAND_LIVE").is_ok_and(|text| text == "figures") {
        return;
    }
    let Some(house) = House::open(1) else { return };
    let air = Ear::at(&house, "air.monitor");
    let loudspeaker = Ear::at(&house, "loudspeaker.monitor");
    let started = Instant::now();
    let mut talk = Talk::start(&house, &["dryer-240"]);
    talk.until("leadhand   ");
    println!("{:<58} {:>12} ms", "cold start to the first line", started.elapsed().as_millis());
    let mut script = script("dryer-no-heat");
    talk.work(&house, &mut script, "listening: isolate");
    row("end of \"stop\" while we speak to silence", stops(&house, &mut talk, &air, &loudspeaker));
    let listening = stops_while_listening(&house, &mut talk, &air, &loudspeaker);
    row("end of \"stop\" while we listen to the tone of the answer", listening);
    house.speak("done");
    talk.work(&house, &mut script, "listening: dead line-1 neutral");
    let (turns, sounds) = answers(&house, &mut talk, &air, &loudspeaker);
    row("end of speech to the first sound of the answer, idle", turns);
    row("a line to its first sound, said before", sounds);
    let over = Arc::new(AtomicBool::new(false));
    let watched = Arc::clone(&over);
    let busy = thread::spawn(move || {
        while !watched.load(Ordering::Relaxed) {
            std::hint::spin_loop();
        }
    });
    let (turns, _) = answers(&house, &mut talk, &air, &loudspeaker);
    over.store(true, Ordering::Relaxed);
    busy.join().unwrap();
    row("the same, one core busy", turns);
    // They make the sound system hand out sound in small pieces, to everybody.
    drop((air, loudspeaker));
    let (before, since) = (worked(talk.id()), Instant::now());
    house.play_for(COUNTED);
    let share =
        100.0 * worked(talk.id()).saturating_sub(before).as_secs_f64() / since.elapsed().as_secs_f64();
    println!("{:<58} {share:>13.1} %", "processor while listening, of one core");
    println!("{:<58} {:>15}", "memory at most", status(talk.id(), "VmHWM:"));
}

/// Numbers as we say them, heard by our own ear: how many come back the same, how many would be asked for again, how many
/// would be taken for others.
#[test]
fn figures_of_the_round_trip() {
    if std::env::var("LEADHAND_LIVE").is_ok_and(|text| text == "figures") {
        let mut voice = Voice::new().expect("espeak-ng is installed");
        let mut hearing = leadhand::shell::ear::Ear::open().expect("the weights are there");
        let situation = Situation { kind: Kind::Reading, units: vec![Unit::Ohms], ..Situation::default() };
        let mut seed = 7_u64;
        let mut dice = |sides: u64| {
            // Knuth's MMIX generator.
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (seed >> 33) % sides
        };
        let whole: Vec<String> = (0..100).map(|_| format!("{}", dice(10_000))).collect();
        let parts: Vec<String> = (0..150)
            .map(|_| format!("{}.{}", dice(100), dice(100)).trim_end_matches('0').to_owned())
            .collect();
        for (name, numbers, prefix) in
            [("0 to 9999 ohms", whole, Prefix::One), ("0.01 to 99.99 kilohms", parts, Prefix::Kilo)]
        {
            let (mut right, mut asked) = (0, 0);
            let mut wrong = Vec::new();
            for number in &numbers {
                let Ok(number) = number.trim_end_matches('.').parse() else { continue };
                let words = quantity_words(Quantity { number, prefix, unit: Some(Unit::Ohms) });
                let sound = voice.render(&format!("{words}."), Manner::Routine).expect("words");
                let sound = at_rate(&sound, 16_000).expect("a rate in reach");
                let samples: Vec<f32> = sound.samples.iter().map(|s| f32::from(*s) / 32_768.0).collect();
                let samples = [vec![0.0; 8_000], samples, vec![0.0; 8_000]].concat();
                let heard = hearing.hear_recording(&samples, &situation).expect("heard").unwrap_or_default();
                let meant = typed(&open(&situation), &words);
                match (heard.understood(), meant.understood()) {
                    (Some(heard), Some(meant)) if heard.intent == meant.intent => right += 1,
                    (Some(heard), _) => wrong.push(format!("{words}: {}", heard.words)),
                    (None, _) => asked += 1,
                }
            }
            let all = right + asked + wrong.len();
            println!(
                "{name}: {right} of {all} came back, {asked} asked for again, {} taken for others",
                wrong.len()
            );
            wrong.iter().take(12).for_each(|line| println!("    {line}"));
        }
    }
}
