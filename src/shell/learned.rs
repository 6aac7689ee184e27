//! What the shop has learned, `learned.json` beside the job record: one step each time, so that each can be taken back.

use std::fs;
use std::path::{Path, PathBuf};

use miette::{IntoDiagnostic, WrapErr, miette};

use crate::diagnose::learn::Learned;

use super::files;

/// What was learned, step by step; the last one holds.
#[derive(Debug)]
pub struct Lessons {
    path: PathBuf,
    steps: Vec<Learned>,
}

/// So many steps can be taken back.
const MOST_STEPS: usize = 50;

impl Lessons {
    /// What is learned for the record at `store`; nothing where there is no file.
    pub fn beside(store: &Path) -> miette::Result<Self> {
        let path = store.with_file_name("learned.json");
        let text = match fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => "[]".to_owned(),
            Err(error) => {
                let reading = || format!("{} cannot be read", path.display());
                return Err(error).into_diagnostic().wrap_err_with(reading);
            }
        };
        let steps = serde_json::from_str(&text).map_err(|error| {
            miette!(
                help = "Move it away; `leadhand learn` makes it again from the record.",
                "{} does not say what was learned: {error}",
                path.display()
            )
        })?;
        Ok(Self { path, steps })
    }

    /// What holds now.
    pub fn now(&self) -> Learned {
        self.steps.last().cloned().unwrap_or_default()
    }

    /// Keeps what holds from now on.
    pub fn keep(&mut self, learned: Learned) -> miette::Result<()> {
        self.steps.push(learned);
        let surplus = self.steps.len().saturating_sub(MOST_STEPS);
        self.steps.drain(..surplus);
        self.write()
    }

    /// Takes the last step back; `false` where there is none.
    pub fn undo(&mut self) -> miette::Result<bool> {
        let undone = self.steps.pop().is_some();
        if undone {
            self.write()?;
        }
        Ok(undone)
    }

    /// Whole or not at all: a file half written would teach nonsense.
    fn write(&self) -> miette::Result<()> {
        let text = serde_json::to_string_pretty(&self.steps).into_diagnostic()?;
        files::write_whole(&self.path, text)
    }
}
