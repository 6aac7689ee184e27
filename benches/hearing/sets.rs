//! The sets of clips: synthetic speech from target/readings, people's recordings from ../shared, and the noises.
//! What is not there is named and left out.

use std::path::{Path, PathBuf};

use leadhand::hear::frame::RATE;
use leadhand::shell::sound;
use leadhand::understand::automaton::Automaton;
use leadhand::understand::intent::Intent;
use leadhand::understand::typed;

use crate::clips::{Clip, Group, Set};
use crate::figures::Draw;
use crate::grammar::Opened;
use crate::{mixing, root, workshop};

/// Everything there is to hear.
pub struct Sets {
    pub sets: Vec<Set>,
    pub noises: Vec<mixing::Noise>,
}

impl Sets {
    /// Every clip with its set.
    pub fn clips(&self) -> impl Iterator<Item = (&Set, &Clip)> {
        self.sets.iter().flat_map(|set| set.clips.iter().map(move |clip| (set, clip)))
    }
}

/// Nothing longer fits the longest window with the room around it.
const LONGEST: usize = 8 * RATE as usize;

/// Every set that is there, with so many clips at most each.
pub fn all(most: usize) -> Sets {
    let mut sets = synthetic(most);
    let mut noises = mixing::synthetic();
    match shared() {
        Some(folder) => {
            sets.extend(people(&folder, most));
            noises.extend(recorded_noises(&folder));
        }
        None => {
            println!("skipped: people's recordings and recorded noises; ../shared/data/speech is not there");
        }
    }
    let voices: Vec<&[f32]> =
        sets.iter().filter_map(|set| set.clips.first()).map(|clip| &clip.speech[..]).take(6).collect();
    noises.push(mixing::babble(&voices));
    Sets { sets, noises }
}

/// What words mean under a grammar.
pub fn meant(opened: Opened, automaton: &Automaton, words: &str) -> Option<Intent> {
    // Spelled out, "o" is the letter; elsewhere it is a zero.
    let letter =
        |word: &str| if word.eq_ignore_ascii_case("o") { "oscar".to_owned() } else { word.to_owned() };
    let words = match opened {
        Opened::Plate => words.split_whitespace().map(letter).collect::<Vec<_>>().join(" "),
        _ => words.to_owned(),
    };
    typed(automaton, &words).candidates.into_iter().next().map(|best| best.intent)
}

/// A row of a list: file, words, voice.
struct Row {
    file: PathBuf,
    words: String,
    voice: String,
}

/// Loads rows. Words without a meaning under the grammar are a remark, where remarks are wanted, or left out.
fn load(rows: Vec<Row>, opened: Opened, remarks: bool, most: usize) -> Vec<Clip> {
    let automaton = opened.automaton();
    let clip = |row: Row| {
        let wanted = meant(opened, &automaton, &row.words);
        if wanted.is_none() && !remarks {
            return None;
        }
        let speech = sound::read(&row.file).expect("what the list names can be read");
        let fits = (1..LONGEST).contains(&speech.len());
        fits.then_some(Clip { speech, words: row.words, voice: row.voice, opened, wanted })
    };
    let seed = rows.len() as u64;
    // Drawn, not every so manieth: a step would follow whatever order the list has.
    Draw(seed).some(rows, usize::MAX).into_iter().filter_map(clip).take(most).collect()
}

/// The list of what a script has spoken into a folder, which it makes first where it is not there.
fn made(folder: &Path, script: &str, arguments: &[String]) -> Option<String> {
    let list = folder.join("readings.tsv");
    let header = |text: &str| text.starts_with("file\tvoice\tgrammar\twords");
    if !std::fs::read_to_string(&list).is_ok_and(|text| header(&text)) {
        let path = root().join("scripts").join(script);
        let made = std::process::Command::new("python3").arg(path).arg(folder).args(arguments).status();
        if !made.is_ok_and(|status| status.success()) {
            println!(
                "skipped: synthetic speech; scripts/{script} failed (are espeak-ng and flite installed?)"
            );
            return None;
        }
    }
    Some(std::fs::read_to_string(&list).expect("the list was written just now"))
}

/// The row of a line, and of which grammar it is.
fn row_of(folder: &Path, line: &str) -> Option<(Row, String)> {
    let columns: Vec<&str> = line.split('\t').collect();
    let &[file, voice, grammar, words] = columns.as_slice() else { return None };
    let row = Row { file: folder.join(file), words: words.to_owned(), voice: voice.to_owned() };
    Some((row, grammar.to_owned()))
}

/// What nobody means for us, as it is heard where a reading is awaited: so many remarks, and half as many words that only
/// sound like ours.
pub fn not_for_us(remarks: usize) -> [Vec<Clip>; 2] {
    let folder = root().join(format!("target/remarks-{remarks}"));
    let Some(text) = made(&folder, "make_remarks.py", &[remarks.to_string()]) else {
        return Default::default();
    };
    ["remark", "near"].map(|kind| {
        let rows = text.lines().skip(1).filter_map(|line| row_of(&folder, line));
        let rows = rows.filter(|(_, of)| of == kind).map(|(row, _)| row).collect();
        let mut clips = load(rows, Opened::Reading, true, usize::MAX);
        // What happens to mean something is no remark.
        clips.retain(|clip| clip.wanted.is_none());
        clips
    })
}

fn synthetic(most: usize) -> Vec<Set> {
    let folder = root().join("target/readings");
    let Some(text) = made(&folder, "make_readings.py", &[]) else { return Vec::new() };
    let spoken = |grammar: &str, fitted: bool| -> Vec<Row> {
        let wanted = |(row, of): &(Row, String)| of == grammar && row.voice.starts_with("espeak:") == fitted;
        let rows = text.lines().skip(1).filter_map(|line| row_of(&folder, line));
        rows.filter(wanted).map(|(row, _)| row).collect()
    };
    let both =
        |grammar: &str| [spoken(grammar, false), spoken(grammar, true)].into_iter().flatten().collect();
    let set = |name, group, fitted, rows, opened, remarks| Set {
        name,
        group,
        fitted,
        clips: load(rows, opened, remarks, most),
    };
    vec![
        set("readings, new voices", Group::Readings, false, spoken("reading", false), Opened::Reading, false),
        set("readings, espeak", Group::Readings, true, spoken("reading", true), Opened::Reading, false),
        set("yes, no, corrections", Group::Others, false, both("confirm"), Opened::Confirm, false),
        set("live acknowledgements", Group::Others, false, both("acknowledge"), Opened::Acknowledge, false),
        set("plates", Group::Others, false, both("plate"), Opened::Plate, false),
        set("commands", Group::Others, false, both("command"), Opened::Reading, false),
        set("remarks, made", Group::Remarks, false, both("remark"), Opened::Reading, true),
    ]
}

/// Where the data lie that are shared beside the project.
fn shared() -> Option<PathBuf> {
    let places = ["../shared", "../../shared"].map(|up| root().join(up).join("data/speech"));
    places.into_iter().find(|folder| folder.is_dir())
}

fn people(folder: &Path, most: usize) -> Vec<Set> {
    let manifest = std::fs::read_to_string(folder.join("manifest.tsv")).expect("the data have a manifest");
    let rows: Vec<Vec<&str>> = manifest.lines().skip(1).map(|line| line.split('\t').collect()).collect();
    let taken = |take: &dyn Fn(&str, &str) -> bool| -> Vec<Row> {
        let row = |row: &Vec<&str>| Row {
            file: folder.join(row[0]),
            words: row[1].to_owned(),
            voice: row[2].to_owned(),
        };
        rows.iter().filter(|row| take(row[0], row[3])).map(row).collect()
    };
    let from = |place: &'static str, kinds: &'static [&'static str]| {
        taken(&move |file, kind| file.starts_with(place) && kinds.contains(&kind))
    };
    let set = |name, group, fitted, rows, opened, remarks| Set {
        name,
        group,
        fitted,
        clips: load(rows, opened, remarks, most),
    };
    let spelled = ["spelled", "spelled+number", "command+spelled+number"];
    vec![
        set(
            "numbers, AN4",
            Group::Numbers,
            true,
            from("an4/", &["number", "command+number"]),
            Opened::Digits,
            false,
        ),
        set(
            "single digits",
            Group::Numbers,
            true,
            from("speech_commands/", &["digit"]),
            Opened::Digits,
            false,
        ),
        set(
            "joined digits, 8 kHz",
            Group::Numbers,
            false,
            from("fsdd_composed/", &["digits_composed"]),
            Opened::Digits,
            false,
        ),
        set(
            "joined readings, one speaker",
            Group::Numbers,
            false,
            from("allison_composed/", &["reading_composed", "reading_composed_cut"]),
            Opened::Reading,
            false,
        ),
        set(
            "letters and signs, AN4",
            Group::Others,
            true,
            taken(&move |file, kind| file.starts_with("an4/") && spelled.contains(&kind)),
            Opened::Plate,
            false,
        ),
        set("letters", Group::Others, false, from("", &["letter"]), Opened::Plate, false),
        set("spelling words", Group::Others, false, from("", &["nato_word"]), Opened::Plate, false),
        set("commands of people", Group::Others, true, from("", &["command"]), Opened::Confirm, true),
        set(
            "sentences of people",
            Group::Remarks,
            false,
            from("", &["off_domain_free_sentence", "off_domain_with_numbers", "prose", "date_or_other"]),
            Opened::Reading,
            true,
        ),
        set(
            "other words of people",
            Group::Remarks,
            true,
            from("", &["off_vocabulary_word"]),
            Opened::Reading,
            true,
        ),
    ]
}

fn recorded_noises(folder: &Path) -> Vec<mixing::Noise> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder.join("noise"))
        .map(|entries| entries.flatten().map(|entry| entry.path()).collect())
        .unwrap_or_default();
    files.sort();
    let noise = |path: PathBuf| {
        let name = path.file_stem()?.to_string_lossy().replace('_', " ");
        Some(mixing::Noise { name, samples: sound::read(&path).ok()? })
    };
    files.into_iter().filter_map(noise).collect()
}

/// The file through which a clip goes to the systems.
pub fn passing_file() -> PathBuf {
    workshop().join("clip.wav")
}
