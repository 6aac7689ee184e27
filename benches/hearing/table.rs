//! The table: every system on the same sound, quiet and in noise; and ours, set by set.

use std::collections::BTreeMap;

use leadhand::hear::level::noisiness;
use leadhand::record::figures::Share;
use leadhand::shell::recogniser::calibration::Calibration;
use leadhand::shell::sound;
use leadhand::understand::automaton::Automaton;
use leadhand::understand::heard::{Candidate, Heard};
use leadhand::understand::intent::Intent;

use crate::Extent;
use crate::clips::{Clip, Group, Set};
use crate::figures::{Draw, hash, quantile};
use crate::grammar::Opened;
use crate::mixing::{self, LEVELS, Level, named};
use crate::normalise;
use crate::read_back;
use crate::sets::{Sets, passing_file};
use crate::system::{self, Answer, System};

/// Wilson's score interval at 95 % for so many of so many.
pub fn interval(hits: usize, of: usize) -> (f64, f64) {
    Share { count: hits as u32, of: of as u32 }.interval()
}

/// What became of clips.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    pub exact: usize,
    /// Another value than was said, or something where nothing was to be taken, above the working threshold.
    pub wrong: usize,
    pub asked_again: usize,
    /// Of the wrong ones: the right one was among the candidates, so the dialogue can see that it matters.
    pub rival_known: usize,
    pub remarks: usize,
    pub remarks_taken: usize,
    pub ms: Vec<f64>,
}

impl Tally {
    /// Counts a clip: what was understood, if anything, against what should have been.
    pub fn count(&mut self, understood: Option<&Intent>, wanted: Option<&Intent>, ms: f64) {
        self.ms.push(ms);
        match (wanted, understood) {
            (None, understood) => {
                self.remarks += 1;
                self.remarks_taken += usize::from(understood.is_some());
            }
            (Some(_), None) => self.asked_again += 1,
            (Some(wanted), Some(understood)) if wanted == understood => self.exact += 1,
            (Some(_), Some(_)) => self.wrong += 1,
        }
    }

    /// Clips in which something was said that should be understood.
    pub const fn said(&self) -> usize {
        self.exact + self.wrong + self.asked_again
    }

    /// Exact, wrong and asked again in per cent, remarks taken, milliseconds.
    pub fn cells(&self) -> String {
        let share = |n: usize| match self.said() {
            0 => "-".to_owned(),
            said => format!("{:.1}", 100.0 * n as f64 / said as f64),
        };
        let ms = |share| quantile(&self.ms, share).map_or_else(|| "-".to_owned(), |ms| format!("{ms:.0}"));
        format!(
            "{:>5} {:>6} {:>6} {:>6} {:>9} {:>6} {:>6}",
            self.said(),
            share(self.exact),
            share(self.wrong),
            share(self.asked_again),
            if self.remarks == 0 {
                "-".to_owned()
            } else {
                format!("{}/{}", self.remarks_taken, self.remarks)
            },
            ms(0.5),
            ms(0.95),
        )
    }

    pub const CELLS: &str = "    n  exact  wrong  again   remarks   p50    p95";
}

/// What ours made of one clip: for the reliability of its probabilities.
pub struct Judged {
    pub probability: f32,
    /// How noisy the clip was, from 0 to 1.
    pub noisiness: f32,
    /// What was added to its odds for being one word alone.
    pub against: f32,
    pub right: bool,
    pub held_back: bool,
    /// The level, if it was a reading.
    pub reading_at: Option<Level>,
    /// Is what was said a candidate, but not the best?
    pub listed: bool,
}

/// A clip at a level, as every system gets it.
pub fn sound_of(clip: &Clip, noises: &[mixing::Noise], level: Level) -> Vec<f32> {
    let mut draw = Draw(clip.seed() ^ level.map_or(0, |db| db as u64 + 1));
    let recorded = mixing::recorded(&clip.speech, &mut draw);
    let noise = &noises[draw.below(noises.len())];
    mixing::with_noise(&recorded, noise, level, &mut draw)
}

/// What an answer means: where a system gives meanings, the best candidate above the working threshold; otherwise what
/// its text means under the clip's automaton.
pub fn understood(answer: &Answer, clip: &Clip, automaton: Option<&Automaton>) -> Option<Intent> {
    match (&answer.heard, automaton) {
        (Some(heard), _) => heard.understood().map(|best| best.intent.clone()),
        (None, Some(automaton)) => {
            normalise::meaning(clip.opened, automaton, &answer.text, clip.wanted.as_ref())
        }
        (None, None) => None,
    }
}

/// Everything that was counted.
#[derive(Default)]
struct Counted {
    /// By level and system, over every clip that the system got.
    systems: BTreeMap<(usize, usize), Tally>,
    /// The same, over the sample that all got.
    sample: BTreeMap<(usize, usize), Tally>,
    /// Ours by set and level.
    sets: BTreeMap<(usize, usize), Tally>,
    /// Ours from the stream, by level.
    stream: BTreeMap<usize, Tally>,
    /// Ours by group, half and level: the headline.
    halves: BTreeMap<(u8, bool, usize), Tally>,
    /// What becomes of readings in the dialogue.
    dealt: read_back::ByHalf,
    judged: Vec<Judged>,
}

/// Runs the part and gives what ours made of each clip.
pub fn run(sets: &Sets, extent: &Extent) -> Vec<Judged> {
    let stream = System::own("ours, from the stream", false, &["stream"]);
    let mut bench = Bench {
        noises: &sets.noises,
        systems: system::all(),
        stream: stream.inspect_err(|why| println!("{why}")).ok(),
        automata: Opened::ALL.into_iter().map(|opened| (opened, opened.automaton())).collect(),
        counted: Counted::default(),
        show: extent.show,
    };
    let count = sets.clips().count();
    for (at, level) in LEVELS.into_iter().enumerate() {
        let sample = sample(count, extent.slow, at);
        for (index, (place, set, clip)) in numbered(sets).enumerate() {
            bench.hear(at, (place, set, clip), sample.contains(&index));
            bench.hear_in_a_stream(at, set, clip);
        }
        eprintln!("  {} done", named(level));
    }
    print(sets, &bench.systems, &bench.counted);
    bench.counted.judged
}

fn numbered(sets: &Sets) -> impl Iterator<Item = (usize, &Set, &Clip)> {
    sets.sets.iter().enumerate().flat_map(|(place, set)| set.clips.iter().map(move |clip| (place, set, clip)))
}

/// The places of an even sample, other ones at every level.
fn sample(count: usize, most: usize, at: usize) -> Vec<usize> {
    let most = most.min(count);
    let shift = at * count / (LEVELS.len() * most.max(1));
    (0..most).map(|n| (n * count / most + shift).min(count - 1)).collect()
}

/// The systems and what was counted so far.
struct Bench<'s> {
    noises: &'s [mixing::Noise],
    systems: Vec<System>,
    stream: Option<System>,
    automata: BTreeMap<Opened, Automaton>,
    counted: Counted,
    show: bool,
}

impl Bench<'_> {
    /// Asks every system about a clip at a level; the slow ones only where it belongs to the sample.
    fn hear(&mut self, at: usize, (place, set, clip): (usize, &Set, &Clip), sampled: bool) {
        let (level, counted) = (LEVELS[at], &mut self.counted);
        let automaton = &self.automata[&clip.opened];
        let samples = sound_of(clip, self.noises, level);
        sound::write(&passing_file(), &samples).expect("target/ can be written");
        for (number, system) in
            self.systems.iter_mut().enumerate().filter(|(_, system)| sampled || !system.slow)
        {
            let answer = system.hear(&passing_file(), clip.opened);
            let meant = understood(&answer, clip, Some(automaton));
            let count = |tally: &mut Tally| tally.count(meant.as_ref(), clip.wanted.as_ref(), answer.ms);
            count(counted.systems.entry((at, number)).or_default());
            if sampled {
                count(counted.sample.entry((at, number)).or_default());
            }
            if number > 0 {
                continue;
            }
            count(counted.sets.entry((place, at)).or_default());
            let half = counted.halves.entry((set.group as u8, clip.held_back(), at)).or_default();
            count(half);
            half.rival_known += usize::from(is_rival_known(&answer, clip));
            let synthetic = set.group == Group::Readings || set.name == "plates";
            if let (Some(kind), Some(wanted)) = (read_back::kind(clip, synthetic), &clip.wanted)
                && read_back::LEVELS.contains(&level)
            {
                let dealt = counted.dealt.entry((kind, clip.held_back(), at)).or_default();
                dealt.count(answer.heard.as_ref(), wanted);
            }
            let reading_at = matches!(set.group, Group::Readings | Group::Numbers).then_some(level);
            counted.judged.extend(judged(&answer, clip, reading_at, noisiness(&samples)));
            if self.show && meant != clip.wanted {
                show_miss(set, clip, level, &answer);
            }
        }
    }

    /// The whole way, at two levels.
    fn hear_in_a_stream(&mut self, at: usize, set: &Set, clip: &Clip) {
        let (Some(stream), level @ (None | Some(10))) = (&mut self.stream, LEVELS[at]) else { return };
        if set.group == Group::Remarks {
            return;
        }
        let (meant, ms) = from_stream(stream, clip, self.noises, level);
        self.counted.stream.entry(at).or_default().count(meant.as_ref(), clip.wanted.as_ref(), ms);
    }
}

/// Was another value taken than was said, with the one said among the candidates?
fn is_rival_known(answer: &Answer, clip: &Clip) -> bool {
    let (Some(heard), Some(wanted)) = (&answer.heard, &clip.wanted) else { return false };
    let mut others = heard.candidates.iter().skip(1);
    heard.understood().is_some_and(|best| best.intent != *wanted)
        && others.any(|other| other.intent == *wanted)
}

fn judged(answer: &Answer, clip: &Clip, reading_at: Option<Level>, noisiness: f32) -> Option<Judged> {
    let candidates = &answer.heard.as_ref()?.candidates;
    let best = candidates.first()?;
    let is_said = |candidate: &Candidate| Some(&candidate.intent) == clip.wanted.as_ref();
    let listed = candidates.iter().skip(1).any(is_said);
    let right = Some(&best.intent) == clip.wanted.as_ref();
    let (probability, held_back) = (best.probability, clip.held_back());
    let against = Calibration::FITTED.against(best);
    Some(Judged { probability, noisiness, against, right, held_back, reading_at, listed })
}

fn show_miss(set: &Set, clip: &Clip, level: Level, answer: &Answer) {
    let best = answer.heard.as_ref().and_then(|heard| heard.candidates.first());
    println!(
        "  {} · {} · {}: {} → {} ({:.2}); free: {}",
        set.name,
        named(level),
        clip.voice,
        clip.words,
        best.map_or("-", |best| &best.words),
        best.map_or(0.0, |best| best.probability),
        answer.text
    );
}

/// The way a microphone's sound goes: through the listener, which decides when somebody has finished. The last answer
/// that is understood counts; its time is from the last sound of speech.
fn from_stream(
    stream: &mut System,
    clip: &Clip,
    noises: &[mixing::Noise],
    level: Level,
) -> (Option<Intent>, f64) {
    let mut draw = Draw(clip.seed() ^ hash("stream") ^ level.map_or(0, |db| db as u64 + 1));
    let (sound, end) = mixing::in_a_stream(&clip.speech, &mut draw);
    let noise = &noises[draw.below(noises.len())];
    let sound = mixing::with_noise(&sound, noise, level, &mut draw);
    sound::write(&passing_file(), &sound).expect("target/ can be written");
    let answer = stream.hear(&passing_file(), clip.opened);
    let meant = answer.heard.as_ref().and_then(Heard::understood).map(|best| best.intent.clone());
    (meant, answer.ms - end)
}

fn print(sets: &Sets, systems: &[System], counted: &Counted) {
    println!("\n## Every system, on the same sound\n");
    println!("{:<9} {:<30} {} {:>8}", "noise", "system", Tally::CELLS, "MiB");
    for (at, level) in LEVELS.into_iter().enumerate() {
        for (number, system) in systems.iter().enumerate() {
            let memory = system.resident().map_or_else(|| "-".to_owned(), |mib| format!("{mib:.0}"));
            if !system.slow
                && let Some(tally) = counted.systems.get(&(at, number))
            {
                println!(
                    "{:<9} {:<30} {} {memory:>8}",
                    named(level),
                    format!("{}, all clips", system.name),
                    tally.cells()
                );
            }
            if let Some(tally) = counted.sample.get(&(at, number)) {
                println!("{:<9} {:<30} {} {memory:>8}", named(level), system.name, tally.cells());
            }
        }
    }
    println!(
        "\n`ours, all clips` is over every clip; every other row over one even sample, the same for all of a level."
    );
    over_levels(systems, counted);
    println!(
        "\nThe whole way of a microphone's sound, without remarks; milliseconds from the last sound of speech:"
    );
    for (at, tally) in &counted.stream {
        println!("{:<9} {:<30} {}", named(LEVELS[*at]), "ours, from the stream", tally.cells());
    }
    halves(counted);
    println!(
        "\nunseen: wrong, and what was said is not among the candidates, so that no read-back can be chosen for it."
    );
    read_back::print(&counted.dealt);
    by_set(sets, counted);
    println!(
        "\nexact: value, scale, unit, points and correction all right and taken (ours: at the working threshold, {});\n\
         wrong: something else taken; again: nothing taken; remarks: taken, of how many; p50, p95: milliseconds from the end of\n\
         speech being known to the answer. Clips stand at −26 dBFS with 0.4 s before and 0.6 s after, as the endpointer cuts them,\n\
         and go straight to every system, so that all are judged on the same sound. Noise is measured over the speech alone.",
        Heard::WORKING_THRESHOLD
    );
}

/// All levels of the sample together: what the others get of what ours gets, and how long they take.
fn over_levels(systems: &[System], counted: &Counted) {
    println!("\nAll levels together, the sample that all got:");
    let all = |number: usize| {
        let mut sum = Tally::default();
        for at in 0..LEVELS.len() {
            if let Some(tally) = counted.sample.get(&(at, number)) {
                sum.add(tally);
            }
        }
        sum
    };
    let ours = quantile(&all(0).ms, 0.5).unwrap_or(f64::NAN);
    println!("{:<40} {} {:>15} {:>7}", "", Tally::CELLS, "exact, 95 %", "times");
    for (number, system) in systems.iter().enumerate() {
        let tally = all(number);
        let (low, high) = interval(tally.exact, tally.said());
        let times = quantile(&tally.ms, 0.5).unwrap_or(f64::NAN) / ours;
        println!(
            "{:<40} {} {:>15} {times:>7.1}",
            system.name,
            tally.cells(),
            format!("{:.1} to {:.1}", 100.0 * low, 100.0 * high)
        );
    }
}

impl Tally {
    /// Adds another's counts.
    pub fn add(&mut self, other: &Self) {
        self.exact += other.exact;
        self.wrong += other.wrong;
        self.asked_again += other.asked_again;
        self.rival_known += other.rival_known;
        self.remarks += other.remarks;
        self.remarks_taken += other.remarks_taken;
        self.ms.extend(&other.ms);
    }
}

fn halves(counted: &Counted) {
    println!("\n## Ours, all clips: development half and half of the voices held back\n");
    println!(
        "{:<22} {:<12} {:<7} {:>5} {:>7} {:>15} {:>7} {:>15}",
        "", "half", "noise", "n", "exact", "95 %", "wrong", "95 %"
    );
    for group in [Group::Readings, Group::Numbers, Group::Others, Group::Remarks] {
        for held_back in [false, true] {
            for (at, level) in LEVELS.into_iter().enumerate() {
                let Some(tally) = counted.halves.get(&(group as u8, held_back, at)) else { continue };
                let (hits, taken, of) = match group {
                    Group::Remarks => (0, tally.remarks_taken, tally.remarks),
                    _ => (tally.exact, tally.wrong, tally.said()),
                };
                let percent = |n: usize| format!("{:.1}", 100.0 * n as f64 / of.max(1) as f64);
                // Candidates are compared only where something was said that should be understood.
                let unseen = match group {
                    Group::Remarks => "-".to_owned(),
                    _ => percent(tally.wrong - tally.rival_known),
                };
                let shown = |n: usize| {
                    let (low, high) = interval(n, of);
                    format!("{:.1} to {:.1}", 100.0 * low, 100.0 * high)
                };
                let (exact, within) = match group {
                    Group::Remarks => ("-".to_owned(), String::new()),
                    _ => (percent(hits), shown(hits)),
                };
                println!(
                    "{:<22} {:<12} {:<7} {of:>5} {exact:>7} {within:>15} {:>7} {:>15} {:>7}",
                    match group {
                        Group::Readings => "synthetic readings",
                        Group::Numbers => "people's numbers",
                        Group::Others => "answers and plates",
                        Group::Remarks => "remarks, other words",
                    },
                    if held_back { "held back" } else { "development" },
                    named(level),
                    percent(taken),
                    shown(taken),
                    unseen
                );
            }
        }
    }
}

fn by_set(sets: &Sets, counted: &Counted) {
    println!("\n## Ours, set by set: exact / wrong in per cent (remarks: taken)\n");
    print!("{:<32} {:>5}", "set (* fitted on its like)", "n");
    for level in LEVELS {
        print!(" {:>12}", named(level));
    }
    println!(" {:>6} {:>6}", "p50", "p95");
    for (place, set) in sets.sets.iter().enumerate().filter(|(_, set)| !set.clips.is_empty()) {
        print!(
            "{:<32} {:>5}",
            format!("{}{}", set.name, if set.fitted { " *" } else { "" }),
            set.clips.len()
        );
        let mut all = Tally::default();
        for at in 0..LEVELS.len() {
            let tally = counted.sets.get(&(place, at)).cloned().unwrap_or_default();
            let percent = |n: usize, of: usize| 100.0 * n as f64 / of.max(1) as f64;
            let said = percent(tally.exact, tally.said());
            let wrong = percent(tally.wrong, tally.said());
            let taken = format!("{}/{}", tally.remarks_taken, tally.remarks);
            let cell = match (tally.said(), tally.remarks) {
                (0, _) => taken,
                (_, 0) => format!("{said:.0}/{wrong:.1}"),
                _ => format!("{said:.0}/{wrong:.1} {taken}"),
            };
            print!(" {cell:>12}");
            all.add(&tally);
        }
        let ms = |share| quantile(&all.ms, share).unwrap_or_default();
        println!(" {:>6.0} {:>6.0}", ms(0.5), ms(0.95));
    }
}
