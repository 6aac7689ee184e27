//! A system under test, as this process sees it: a program that is asked about one file after the other.

use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use leadhand::understand::heard::Heard;
use serde::{Deserialize, Serialize};

use crate::grammar::{Opened, finite_state};
use crate::{root, workshop};

/// What a system made of a clip.
#[derive(Debug, Default, Serialize, Deserialize)]
pub struct Answer {
    /// How long it took, once the sound was in memory.
    pub ms: f64,
    /// What it wrote.
    pub text: String,
    /// The meanings, where it gives meanings.
    #[serde(default)]
    pub heard: Option<Heard>,
    /// Every utterance that was found, where the sound is a stream, and what it was taken for.
    #[serde(default)]
    pub opinions: Vec<Heard>,
}

/// A running system.
pub struct System {
    pub name: String,
    /// Is it asked about every clip, or only about an even sample?
    pub slow: bool,
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
}

impl System {
    fn start(name: &str, slow: bool, mut command: Command) -> Result<Self, String> {
        let spawned = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn();
        let mut child = spawned.map_err(|why| format!("skipped: {name}; {why}"))?;
        let to = child.stdin.take().expect("its input is a pipe");
        let from = BufReader::new(child.stdout.take().expect("its output is a pipe"));
        let mut system = Self { name: name.to_owned(), slow, child, to, from };
        // Libraries may say something of their own before.
        let mut last = String::new();
        for _ in 0..50 {
            match system.line() {
                Some(line) if line.trim() == "ready" => return Ok(system),
                Some(line) => last = line,
                None => break,
            }
        }
        Err(format!("skipped: {name}; it did not start: {}", last.trim()))
    }

    /// One of this program's own (`child.rs`).
    pub fn own(name: &str, slow: bool, arguments: &[&str]) -> Result<Self, String> {
        let mut command = Command::new(std::env::current_exe().expect("this program has a file"));
        command.arg("child").args(arguments).stderr(Stdio::null());
        Self::start(name, slow, command)
    }

    /// One of `scripts/baselines.py`.
    fn python(name: &str, arguments: &[&str]) -> Result<Self, String> {
        let python = workshop().join("venv/bin/python");
        if !python.exists() {
            return Err(format!(
                "skipped: {name}; no virtual environment for Python (make bench-hear makes it)"
            ));
        }
        let mut command = Command::new(python);
        command.arg(root().join("scripts/baselines.py")).args(arguments).stderr(Stdio::null());
        Self::start(name, true, command)
    }

    fn line(&mut self) -> Option<String> {
        let mut line = String::new();
        self.from.read_line(&mut line).ok().filter(|read| *read > 0).map(|_| line)
    }

    /// Asks about a file.
    pub fn hear(&mut self, file: &Path, opened: Opened) -> Answer {
        let ask = format!("{}\t{}\t{}", file.display(), opened.name(), opened.prompt());
        writeln!(self.to, "{ask}").and_then(|()| self.to.flush()).expect("the system takes a question");
        let line = self.line().unwrap_or_else(|| panic!("{} ended at {ask}", self.name));
        serde_json::from_str(&line).unwrap_or_else(|why| panic!("{} answered {line}: {why}", self.name))
    }

    /// Memory that it holds now, in MiB, where the system tells.
    pub fn resident(&self) -> Option<f64> {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).ok()?;
        let line = status.lines().find(|line| line.starts_with("VmRSS:"))?;
        let kibibytes: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
        Some(kibibytes / 1024.0)
    }
}

impl Drop for System {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A program that keeps a core busy until this is dropped.
pub struct Busy(Child);

impl Busy {
    pub fn start() -> Self {
        let mut command = Command::new(std::env::current_exe().expect("this program has a file"));
        Self(
            command
                .args(["child", "busy"])
                .stdin(Stdio::null())
                .spawn()
                .expect("this program can be started again"),
        )
    }
}

impl Drop for Busy {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Every system that is there; those that are not are named.
pub fn all() -> Vec<System> {
    let stock = leadhand::shell::weights::Weights::folder().join("stock");
    let stock_path = |name: &str| stock.join(format!("{name}.f16.bin"));
    let grammars = workshop().join("grammars");
    std::fs::create_dir_all(&grammars).expect("target/ can be written");
    for opened in Opened::ALL {
        let text = finite_state(&opened.automaton(), opened.name());
        std::fs::write(grammars.join(format!("{}.fsg", opened.name())), text)
            .expect("target/ can be written");
    }
    let mut systems = vec![
        System::own("ours, whole", false, &["ours"]),
        System::own("ours, greedy, no grammar", true, &["greedy"]),
    ];
    for model in ["tiny.en", "base"] {
        for (way, beam) in [("greedy", "1"), ("beam 5", "5")] {
            let (name, path) = (format!("stock {model}, {way}"), stock_path(model));
            systems.push(if path.exists() {
                System::own(&name, true, &["stock", &path.to_string_lossy(), beam])
            } else {
                Err(format!("skipped: {name}; not built (make stock-weights)"))
            });
        }
    }
    let tiny = workshop().join("tiny.en");
    systems.push(if tiny.exists() {
        System::python("faster-whisper tiny.en", &["faster-whisper", &tiny.to_string_lossy()])
    } else {
        Err("skipped: faster-whisper tiny.en; its weights were not fetched (make stock-weights)".to_owned())
    });
    systems.push(System::python("pocketsphinx", &["pocketsphinx", &grammars.to_string_lossy()]));
    systems.into_iter().filter_map(|system| system.inspect_err(|why| println!("{why}")).ok()).collect()
}
