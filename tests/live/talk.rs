//! `leadhand talk`, running, and a technician who answers aloud what it asks.

use std::path::Path;
use std::process::{Child, Stdio};
use std::sync::mpsc::Receiver;
use std::time::Duration;

use leadhand::shell::script::Script;

use super::house::{House, end, lines_of};

/// The program says something at least this often, while somebody works with it.
const LONGEST_SILENCE: Duration = Duration::from_secs(60);

/// A running program. Killed when dropped.
pub struct Talk {
    child: Child,
    lines: Receiver<String>,
    errors: Receiver<String>,
    /// All that it has printed.
    pub printed: String,
}

impl Talk {
    /// Starts `leadhand talk` on the job record of the house.
    pub fn start(house: &House, args: &[&str]) -> Self {
        Self::run(house, &[&["talk"], args].concat())
    }

    /// Starts a command of the program that speaks and listens.
    pub fn run(house: &House, args: &[&str]) -> Self {
        let mut child = house
            .program(env!("CARGO_BIN_EXE_leadhand"))
            .args(args)
            .arg("--store")
            .arg(house.folder().join("jobs.sqlite"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let lines = lines_of(child.stdout.take().expect("piped"));
        let errors = lines_of(child.stderr.take().expect("piped"));
        Self { child, lines, errors, printed: String::new() }
    }

    /// Its number as a process.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// The next line; `None` once it has ended.
    ///
    /// # Panics
    /// If it says nothing for a minute.
    pub fn line(&mut self) -> Option<String> {
        match self.lines.recv_timeout(LONGEST_SILENCE) {
            Ok(line) => {
                self.printed += &line;
                self.printed.push('\n');
                Some(line)
            }
            Err(std::sync::mpsc::RecvTimeoutError::Disconnected) => None,
            Err(std::sync::mpsc::RecvTimeoutError::Timeout) => {
                panic!("a minute of silence after\n{}", self.all())
            }
        }
    }

    /// Reads until a line holds the text; that line.
    ///
    /// # Panics
    /// If it ends before.
    pub fn until(&mut self, text: &str) -> String {
        // Ends with the line, with the program, or with a minute of silence.
        while let Some(line) = self.line() {
            if line.contains(text) {
                return line;
            }
        }
        panic!("it ended before it said {text:?}:\n{}", self.all())
    }

    /// Kills it, as a battery that falls out does.
    pub fn kill(&mut self) {
        end(&mut self.child);
    }

    /// What it printed, and what it complained of.
    pub fn all(&self) -> String {
        let errors: Vec<String> = self.errors.try_iter().collect();
        format!("{}\n-- errors --\n{}", self.printed, errors.join("\n"))
    }

    /// Answers what it asks, as the recorded job has it, until a line holds `until`; that line.
    ///
    /// # Panics
    /// If it ends before, or asks what the job has no answer for.
    pub fn work(&mut self, house: &House, script: &mut Script, until: &str) -> String {
        // Ends with the line, with the program, or with a minute of silence.
        while let Some(line) = self.line() {
            if line.contains(until) {
                return line;
            }
            if let Some((_, topic)) = line.split_once("· listening: ") {
                let Some((_, recording)) = script.next(topic) else {
                    panic!("no answer to {topic}:\n{}", self.all())
                };
                house.say(&recording);
            }
        }
        panic!("it ended before it said {until:?}:\n{}", self.all())
    }
}

impl Drop for Talk {
    fn drop(&mut self) {
        self.kill();
    }
}

/// A recorded job.
pub fn script(name: &str) -> Script {
    Script::read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("samples").join(name)).expect("a recorded job")
}
