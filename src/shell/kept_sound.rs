//! The sound of notes and of readings in dispute, kept for some days beside the job record. Only where it was asked for.
//!
//! Each is a WAV file in the store's folder of files, named by job and by milliseconds since the job was opened:
//! `sound-3-125400.wav`. Older ones are removed when a job is opened; `forget` removes those of its job.

use std::fs;
use std::path::PathBuf;
use std::time::Duration;

use miette::{Context, IntoDiagnostic};

use super::conversation::Turn;
use super::sound_out;
use super::store::Store;
use super::wall_clock;
use crate::hear::frame::RATE;
use crate::id::CheckId;
use crate::record::entry::What;
use crate::record::header::JobId;
use crate::time::Timestamp;

/// Which sound is kept.
#[derive(Clone, Copy, Debug, Default, clap::Args)]
pub struct KeepSound {
    /// Keep the sound of notes and of readings in dispute, for so many days [default: keep none]
    #[arg(long = "keep-sound", value_name = "DAYS", value_parser = clap::value_parser!(u16).range(1..=3650))]
    days: Option<u16>,
}

/// Keeps the sound of one job.
#[derive(Debug)]
pub struct KeptSound {
    folder: PathBuf,
    job: JobId,
    /// The finding taken last, and how it sounded.
    last: Option<(CheckId, Timestamp, Vec<f32>)>,
}

impl KeepSound {
    /// Begins to keep the sound of a job, and removes what is older than it may be; `None` where none is to be kept.
    ///
    /// # Errors
    /// A folder that cannot be made, read or cleared.
    pub fn of(self, store: &Store, job: JobId) -> miette::Result<Option<KeptSound>> {
        let Some(days) = self.days else { return Ok(None) };
        let folder = store.files();
        fs::create_dir_all(&folder)
            .into_diagnostic()
            .wrap_err_with(|| format!("making {}", folder.display()))?;
        let longest = Duration::from_secs(u64::from(days) * 24 * 3600);
        for path in store.sounds(None).into_diagnostic().wrap_err("looking for sound that is kept")? {
            let age = fs::metadata(&path).and_then(|file| file.modified()).ok().and_then(wall_clock::age);
            if age.is_some_and(|age| age > longest) {
                fs::remove_file(&path)
                    .into_diagnostic()
                    .wrap_err_with(|| format!("removing {}, which is too old to be kept", path.display()))?;
            }
        }
        Ok(Some(KeptSound { folder, job, last: None }))
    }
}

impl KeptSound {
    /// Keeps how an answer sounded, if it was a note or is in dispute: read back and asked for, or correcting the
    /// finding before, whose sound is kept then too.
    ///
    /// # Errors
    /// A file that cannot be written.
    pub fn answered(&mut self, turn: &Turn, sound: Vec<f32>) -> miette::Result<()> {
        let Some(at) = turn.entries.first().map(|entry| entry.at) else { return Ok(()) };
        let whats = || turn.entries.iter().map(|entry| &entry.what);
        let asked_back = turn.listening.as_ref().is_some_and(|next| next.topic.starts_with("confirm "));
        let found =
            whats().find_map(|what| if let What::Found { check, .. } = what { Some(check) } else { None });
        let takes_back = whats().any(|what| matches!(what, What::Retracted { .. }));
        let corrects = found.is_some_and(|found| self.last.as_ref().is_some_and(|(last, ..)| last == found));
        if (takes_back || corrects)
            && let Some((_, before, sound)) = self.last.take()
        {
            self.write(before, &sound)?;
        }
        if asked_back || takes_back || corrects || whats().any(|what| matches!(what, What::Noted { .. })) {
            self.write(at, &sound)?;
        }
        if let Some(check) = found {
            self.last = Some((check.clone(), at, sound));
        }
        Ok(())
    }

    /// What was typed has no sound.
    fn write(&self, at: Timestamp, sound: &[f32]) -> miette::Result<()> {
        if sound.is_empty() {
            return Ok(());
        }
        let path = self.folder.join(format!("sound-{}-{}.wav", self.job, at.as_millis()));
        Ok(sound_out::write_wav(&path, RATE, &sound_out::to_integers(sound))?)
    }
}
