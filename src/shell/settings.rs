//! What this machine and its technician are used to: devices by name, and how we speak. `settings.toml` beside the job
//! record.

use std::fs;
use std::path::Path;

use miette::{IntoDiagnostic, WrapErr, miette};
use serde::{Deserialize, Serialize};

use super::files;
use super::voice::Delivery;

/// Whose voice speaks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, clap::ValueEnum)]
#[serde(rename_all = "lowercase")]
pub enum WhoseVoice {
    /// Ours, rendered by espeak-ng
    #[default]
    Own,
    /// The system's, through speech-dispatcher
    System,
}

/// What is remembered from job to job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Settings {
    /// The input device; the system's default one where it is not set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub microphone: Option<String>,
    /// The microphone sends nothing at all between words (a headset with a noise gate).
    pub gated: bool,
    /// The output device; the system's default one where it is not set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub loudspeaker: Option<String>,
    /// Whose voice speaks.
    pub voice: WhoseVoice,
    /// How fast we speak, as a multiple of the usual.
    pub pace: f32,
    /// How loud we speak, as a multiple of the usual; hazards are not lowered.
    pub level: f32,
    /// The noise in which the hazard voice was found loud enough, in decibels of the microphone's full scale. Where there is
    /// more of it hazards are louder.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub noise: Option<f32>,
}

impl Default for Settings {
    fn default() -> Self {
        let Delivery { pace, level } = Delivery::default();
        Self {
            microphone: None,
            gated: false,
            loudspeaker: None,
            voice: WhoseVoice::Own,
            pace,
            level,
            noise: None,
        }
    }
}

/// Settings on the command line. What is given is remembered.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct DeviceArgs {
    /// Listen with the device of this name, or a part of it, from now on; "default" for the system's
    #[arg(long, value_name = "NAME")]
    mic: Option<String>,
    /// Speak through the device of this name, or a part of it, from now on; "default" for the system's
    #[arg(long, value_name = "NAME")]
    speaker: Option<String>,
    /// The microphone sends nothing at all between words, as a headset with a noise gate does: that is no loss
    #[arg(long, value_name = "yes|no", num_args = 0..=1, default_missing_value = "yes", value_parser = yes_or_no)]
    gated_mic: Option<bool>,
    /// Speak with this voice from now on: ours, or the one that the system's settings of speech-dispatcher choose
    #[arg(long, value_enum)]
    voice: Option<WhoseVoice>,
    /// Speak so many times as fast as usual, from now on: 0.5 to 2
    #[arg(long, value_name = "TIMES", value_parser = times)]
    pace: Option<f32>,
    /// Speak so many times as loud as usual, from now on: 0.5 to 2; hazards are never lowered
    #[arg(long, value_name = "TIMES", value_parser = times)]
    level: Option<f32>,
}

fn times(text: &str) -> Result<f32, String> {
    let (least, most) = Delivery::LIMITS;
    let given: f32 = text.parse().map_err(|_| format!("`{text}` is no number"))?;
    if (least..=most).contains(&given) {
        Ok(given)
    } else {
        Err(format!("{least} to {most} can be understood"))
    }
}

fn yes_or_no(text: &str) -> Result<bool, String> {
    match text {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err("say yes or no".to_owned()),
    }
}

impl Settings {
    /// What is remembered beside the record at `store`; the usual where there is no file.
    ///
    /// # Errors
    /// A file that cannot be read, or that says something else.
    pub fn beside(store: &Path) -> miette::Result<Self> {
        let path = store.with_file_name("settings.toml");
        let text = match fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Self::default()),
            Err(error) => {
                return Err(error).into_diagnostic().wrap_err_with(|| format!("reading {}", path.display()));
            }
        };
        toml::from_str(&text).map_err(|error| {
            miette!(
                help = "Mend it, or remove it: then the usual settings hold.",
                "{} does not say what is to be remembered: {}",
                path.display(),
                error.message()
            )
        })
    }

    /// The same, with what the command line says.
    #[must_use]
    pub fn with(mut self, args: &DeviceArgs) -> Self {
        let named = |name: &String| (name != "default").then(|| name.clone());
        if let Some(name) = &args.mic {
            self.microphone = named(name);
        }
        if let Some(name) = &args.speaker {
            self.loudspeaker = named(name);
        }
        self.gated = args.gated_mic.unwrap_or(self.gated);
        self.voice = args.voice.unwrap_or(self.voice);
        self.pace = args.pace.unwrap_or(self.pace);
        self.level = args.level.unwrap_or(self.level);
        self
    }

    /// How we speak.
    pub fn delivery(&self) -> Delivery {
        Delivery { pace: self.pace, level: self.level }.within_limits()
    }

    /// Remembers them beside the record at `store`, whole or not at all.
    ///
    /// # Errors
    /// A file that cannot be written.
    pub fn keep(&self, store: &Path) -> miette::Result<()> {
        let path = store.with_file_name("settings.toml");
        files::write_whole(&path, toml::to_string(self).into_diagnostic()?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_given_is_remembered_and_can_be_taken_back() {
        let folder = tempfile::tempdir().unwrap();
        let store = folder.path().join("jobs.sqlite");
        assert_eq!(Settings::beside(&store).unwrap(), Settings::default());
        let given = DeviceArgs {
            mic: Some("Headset".into()),
            speaker: Some("default".into()),
            gated_mic: Some(true),
            voice: Some(WhoseVoice::System),
            pace: Some(1.5),
            level: None,
        };
        let kept = Settings::default().with(&given);
        kept.keep(&store).unwrap();
        assert_eq!(Settings::beside(&store).unwrap(), kept);
        assert_eq!((kept.microphone.as_deref(), kept.loudspeaker.as_deref()), (Some("Headset"), None));
        let back = DeviceArgs {
            mic: Some("default".into()),
            speaker: None,
            gated_mic: Some(false),
            voice: Some(WhoseVoice::Own),
            pace: Some(1.0),
            level: Some(1.0),
        };
        assert_eq!(kept.with(&back), Settings::default());
        fs::write(folder.path().join("settings.toml"), "microfone = 3").unwrap();
        let error = Settings::beside(&store).unwrap_err().to_string();
        assert!(error.contains("settings.toml") && error.contains("microfone"), "{error}");
    }
}
