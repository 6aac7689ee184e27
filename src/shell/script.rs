//! A recorded job: a folder with `job.toml` and the technician's utterances as sound files.
//!
//! Each utterance answers topics ("complaint", "check element", "closing vent"). Several for one topic are said one
//! after another, the last again whenever it is asked again. Nothing in the folder says what the program should
//! conclude.

use std::collections::{BTreeMap, VecDeque};
use std::path::{Path, PathBuf};

use miette::{Context, IntoDiagnostic, NamedSource};
use serde::Deserialize;

/// A recorded job.
#[derive(Debug)]
pub struct Script {
    folder: PathBuf,
    /// The appliance model, where the question which machine it is is skipped.
    pub appliance: Option<String>,
    answers: BTreeMap<String, VecDeque<Utterance>>,
}

/// A recorded utterance.
#[derive(Clone, Debug, Deserialize)]
pub struct Utterance {
    /// The topics that it answers.
    to: Vec<String>,
    /// The sound file.
    file: String,
    /// What was said, for the reader of the conversation; the program never sees it.
    pub text: String,
}

#[derive(Deserialize)]
struct Raw {
    appliance: Option<String>,
    say: Vec<Utterance>,
}

impl Script {
    /// Reads `job.toml` in a folder.
    pub fn read(folder: &Path) -> miette::Result<Self> {
        let path = folder.join("job.toml");
        let text = std::fs::read_to_string(&path).into_diagnostic().wrap_err_with(|| {
            format!(
                "{} cannot be read: a recorded job is a folder with a job.toml and sound files",
                path.display()
            )
        })?;
        let raw: Raw = toml::from_str(&text).map_err(|error| {
            let span = error.span().unwrap_or_default();
            let labels = vec![miette::LabeledSpan::new_with_span(Some(error.message().to_owned()), span)];
            miette::miette!(labels = labels, "{} is not a recorded job", path.display())
                .with_source_code(NamedSource::new(path.display().to_string(), text.clone()))
        })?;
        let mut answers: BTreeMap<String, VecDeque<Utterance>> = BTreeMap::new();
        for utterance in raw.say {
            for topic in &utterance.to {
                answers.entry(topic.clone()).or_default().push_back(utterance.clone());
            }
        }
        Ok(Self { folder: folder.to_owned(), appliance: raw.appliance, answers })
    }

    /// The next utterance on a topic, with its file.
    pub fn next(&mut self, topic: &str) -> Option<(Utterance, PathBuf)> {
        let answers = self.answers.get_mut(topic)?;
        let utterance = if answers.len() > 1 { answers.pop_front() } else { answers.front().cloned() }?;
        let path = self.folder.join(&utterance.file);
        Some((utterance, path))
    }
}
