//! Conversations as they go: time, who, what. Each file of `transcripts/` is a small script, each with its negatives; what
//! comes of it is a snapshot.
//!
//! A script is scenes with an empty line between them. A scene begins with its heading (`#`) and `job MACHINE, COMPLAINT,
//! FAULT`. Then, line by line: `to TOPIC` works on until that is asked, as an able technician would, and begins to write
//! there; `on` works to the end; `= TOPIC` says what must be asked now; `> WORDS` are typed as they would be said, or a key
//! is pressed; `> WORDS | OTHERS` are heard, and perhaps were others; `? WORDS`, or `? WORDS | OTHERS`, are hardly heard;
//! `(silence)`, `(mumble)`, `(remark)`, `(noise)`, `(microphone lost)`, `(microphone back)`, `(restart)` and `(20 minutes)`
//! happen.

use std::time::Duration;

use leadhand::dialogue::{Input, Listening};
use leadhand::record::entry::What;
use leadhand::shell::console;
use leadhand::shell::conversation::Turn;
use leadhand::understand;
use leadhand::understand::heard::Heard;

use crate::world::World;

/// A script being worked.
struct Stage {
    world: World,
    /// What was written down before the script worked on to another question.
    written: Vec<String>,
    /// What is asked; `None` once the job is closed.
    at: Option<Listening>,
}

impl Stage {
    fn begin(job: &str) -> Self {
        let [machine, complaint, fault] = job.split(", ").collect::<Vec<_>>()[..] else {
            panic!("`job {job}`: machine, complaint and fault are wanted")
        };
        let mut world = World::new(machine, complaint, Some(fault).filter(|fault| *fault != "none"));
        let at = Some(world.begin());
        Self { world, written: Vec::new(), at }
    }

    fn open(&self, line: &str) -> &Listening {
        self.at.as_ref().unwrap_or_else(|| panic!("`{line}`: the job is closed"))
    }

    fn line(&mut self, line: &str) {
        let typed = |words| console::typed(&understand::open(&self.open(line).situation), words);
        if let Some(words) = line.strip_prefix("> ").filter(|words| !words.contains(" | ")) {
            let heard = typed(words);
            self.world.hears(words);
            return self.input(Input::Heard(heard));
        }
        let hardly = line.strip_prefix("? ");
        if let Some(said) = hardly.or_else(|| line.strip_prefix("> ")) {
            let (words, others) = said.split_once(" | ").unwrap_or((said, ""));
            let surely = if hardly.is_some() { Heard::WORTH_PUTTING_BACK } else { 0.85 };
            let perhaps = if others.is_empty() { String::new() } else { format!(", perhaps {others}") };
            let how = if hardly.is_some() { "hardly heard" } else { "heard" };
            let heard = perhaps_heard(typed(words), surely, typed(others));
            return self.happens(&format!("{words} ({how}{perhaps})"), Input::Heard(heard));
        }
        if let Some(topic) = line.strip_prefix("to ") {
            return self.work_to(topic);
        }
        if let Some(topic) = line.strip_prefix("= ") {
            return assert_eq!(self.open(line).topic, topic, "{}", self.world.transcript());
        }
        match line {
            "on" => self.work_on(),
            "(silence)" => self.happens(line, Input::Silence),
            "(noise)" => self.happens(line, Input::TooNoisy { answered: true }),
            "(mumble)" => self.happens(line, Input::Heard(unclear(0.2))),
            "(remark)" => self.happens(line, Input::Heard(unclear(0.98))),
            "(microphone lost)" => self.happens(line, Input::MicrophoneLost),
            "(microphone back)" => self.happens(line, Input::MicrophoneBack),
            "(20 minutes)" => {
                self.world.happens(line);
                self.world.wait(Duration::from_secs(20 * 60));
            }
            "(restart)" => {
                self.world.happens(line);
                self.at = Some(self.world.restart());
            }
            _ => panic!("what is `{line}`?"),
        }
    }

    fn happens(&mut self, what: &str, input: Input) {
        self.world.happens(what);
        self.input(input);
    }

    fn input(&mut self, input: Input) {
        let turn = self.world.turn(input);
        if turn.lines.is_empty() {
            self.world.happens("nothing is said");
        }
        self.kept(&turn);
        self.at = turn.listening;
    }

    /// What goes on record besides the talk and the readings.
    fn kept(&mut self, turn: &Turn) {
        for entry in &turn.entries {
            let kept = match &entry.what {
                What::Noted { text } => format!("noted: {text}"),
                What::Refused { .. } => "the refusal is kept".to_owned(),
                What::Retracted { check } => format!("taken back: {check}"),
                What::Plate { field, value } => format!("kept: {field:?} {value}"),
                What::Rated { part, value } => format!("kept: {part} is rated {value}"),
                What::Skipped { check } => format!("left out: {check}"),
                _ => continue,
            };
            self.world.happened(entry.at, &kept);
        }
    }

    fn work_to(&mut self, topic: &str) {
        if self.at.as_ref().is_some_and(|at| at.topic == topic) {
            return;
        }
        self.written.push(self.world.timed_transcript());
        for _ in 0..100 {
            let Some(at) = self.at.take() else { break };
            if at.topic == topic {
                self.at = Some(at);
                return;
            }
            self.world.cut();
            self.at = self.world.usually(&at);
        }
        panic!("`{topic}` is never asked:\n{}", self.world.transcript());
    }

    fn work_on(&mut self) {
        for _ in 0..100 {
            let Some(at) = self.at.take() else { return };
            self.at = self.world.usually(&at);
        }
        panic!("the job does not end:\n{}", self.world.transcript());
    }
}

fn unclear(outside: f32) -> Heard {
    Heard { outside, ..Heard::default() }
}

/// The first with a probability, and the others beside it.
fn perhaps_heard(mut heard: Heard, surely: f32, others: Heard) -> Heard {
    heard.candidates.truncate(1);
    heard.candidates.extend(others.candidates);
    for (candidate, probability) in heard.candidates.iter_mut().zip([surely, 0.12]) {
        candidate.probability = probability;
    }
    heard
}

/// The scenes of a script, each with its heading, as they go.
fn transcript(script: &str) -> String {
    let mut text = String::new();
    for scene in script.split("\n\n").map(str::trim).filter(|scene| !scene.is_empty()) {
        let (headings, lines): (Vec<&str>, Vec<&str>) = scene.lines().partition(|line| line.starts_with('#'));
        let (job, lines) =
            lines.split_first().unwrap_or_else(|| panic!("a scene without a job: {headings:?}"));
        let mut stage = Stage::begin(job.strip_prefix("job ").expect("a scene begins with `job`"));
        for line in lines {
            stage.line(line);
        }
        stage.written.push(stage.world.timed_transcript());
        // What came before the first question that the scene is about is of no interest.
        let from =
            usize::from(lines.first().is_some_and(|line| line.starts_with("to ")) && stage.written.len() > 1);
        let written = stage.written[from..].join("\n        ...\n");
        text.push_str(&format!("{}\n{written}\n\n", headings.join("\n")));
    }
    text
}

/// Each script with its name.
macro_rules! scripts {
    ($($name:ident),* $(,)?) => {$(
        #[test]
        fn $name() {
            let script = include_str!(concat!("transcripts/", stringify!($name), ".txt"));
            insta::with_settings!({ omit_expression => true }, {
                insta::assert_snapshot!(transcript(script));
            });
        }
    )*};
}

scripts! {
    anytime,
    corrections,
    doubt,
    interview,
    ladder,
    leaving,
    manner,
    notes,
    phases,
    refusals,
    safety,
}
