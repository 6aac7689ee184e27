//! `leadhand replay`: a recorded job, worked from its sound alone.
//!
//! Each question is answered by the next recording on its topic. Time is the time the conversation would take.

use std::path::PathBuf;
use std::time::Duration;

use miette::{Context, IntoDiagnostic, miette};

use crate::dialogue::Input;
use crate::shell::conversation::{Conversation, Keep, Turn};
use crate::shell::ear::Ear;
use crate::shell::kept_sound::{KeepSound, KeptSound};
use crate::shell::narrator::Narrator;
use crate::shell::script::Script;
use crate::shell::sound_out::{self, Track};
use crate::shell::store::Store;
use crate::shell::voice::{Sound, Voice};
use crate::shell::{job, report, shelf, sound};
use crate::time::Timestamp;
use crate::understand::situation::Situation;

/// Arguments of `leadhand replay`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  leadhand replay samples/dryer-no-heat --out demo")]
pub struct ReplayArgs {
    /// Folder with job.toml and the technician's recorded utterances
    folder: PathBuf,
    /// Where to leave the conversation as one sound file, the report and the job record
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
    #[command(flatten)]
    keep_sound: KeepSound,
}

/// How long the technician takes to answer.
const BREATH: Duration = Duration::from_millis(400);
/// Samples a second of the conversation's recording.
const RATE: u32 = 16_000;
/// More turns than any job needs.
const MOST_TURNS: usize = 500;
/// So often a topic may be asked in a row.
const MOST_ASKED: usize = 4;
/// So often silence is answered before the replay gives up.
const MOST_SILENCE: usize = 3;

/// Runs the command.
pub fn run(args: ReplayArgs) -> miette::Result<()> {
    std::fs::create_dir_all(&args.out)
        .into_diagnostic()
        .wrap_err_with(|| format!("making {}", args.out.display()))?;
    let store = Store::open(&args.out.join("jobs.sqlite"))?;
    let script = Script::read(&args.folder)?;
    let shelf = shelf::shipped()?;
    let opened = job::open(&shelf, script.appliance.as_deref(), None, None, store)?;
    let mut stage = Stage {
        script,
        ear: Ear::open()?,
        voice: Voice::new()?,
        track: Track::new(RATE),
        narrator: Narrator::new(std::io::stdout()),
        now: Duration::ZERO,
        kept: None,
    };
    stage.kept = args.keep_sound.of(opened.kept.store(), opened.kept.job())?;
    let mut conversation = Conversation::new(opened.session, opened.kept);
    stage.work(&mut conversation)?;
    let name = args.folder.file_name().map_or_else(|| "job".into(), |name| name.to_string_lossy());
    let recording = args.out.join(format!("{name}.wav"));
    sound_out::write_wav(&recording, RATE, &stage.track.into_sound().samples)?;
    let page = args.out.join(format!("{name}.html"));
    let html = report::html(conversation.kept().store(), conversation.kept().job(), &shelf)?;
    std::fs::write(&page, html).into_diagnostic().wrap_err_with(|| format!("writing {}", page.display()))?;
    println!("\nconversation: {}\nreport:       {}", recording.display(), page.display());
    Ok(())
}

/// The pretend room: the recordings, our ear and voice, and the time.
struct Stage {
    script: Script,
    ear: Ear,
    voice: Voice,
    track: Track,
    narrator: Narrator<std::io::Stdout>,
    now: Duration,
    kept: Option<KeptSound>,
}

impl Stage {
    fn work<K: Keep>(&mut self, conversation: &mut Conversation<K>) -> miette::Result<()> {
        let mut input = Input::Start;
        let mut sound = Vec::new();
        let mut silences = 0;
        let (mut topic, mut asked) = (String::new(), 0);
        for _ in 0..MOST_TURNS {
            let turn = conversation.turn(self.timestamp(), input);
            self.narrator.made_of(&turn).into_diagnostic()?;
            if let Some(kept) = &mut self.kept {
                kept.answered(&turn, std::mem::take(&mut sound))?;
            }
            self.speak(&turn)?;
            let Some(listening) = turn.listening else { return Ok(()) };
            asked = if listening.topic == topic { asked + 1 } else { 0 };
            topic.clone_from(&listening.topic);
            if asked > MOST_ASKED {
                return Err(miette!("`{topic}` was asked {MOST_ASKED} times and never answered"));
            }
            input = match self.script.next(&listening.topic) {
                Some((utterance, path)) => {
                    silences = 0;
                    self.now += BREATH;
                    self.narrator.technician(self.timestamp(), &utterance.text).into_diagnostic()?;
                    let samples = sound::read(&path)?;
                    self.lay(&samples)?;
                    let input = self.hear(&samples, &listening.situation)?;
                    sound = samples;
                    input
                }
                None if silences < MOST_SILENCE && turn.wake_after.is_some() => {
                    silences += 1;
                    self.now += turn.wake_after.unwrap_or_default();
                    Input::Silence
                }
                None => return Err(miette!("no recording answers `{}`", listening.topic)),
            };
        }
        Err(miette!("the job did not end within {MOST_TURNS} turns"))
    }

    fn speak(&mut self, turn: &Turn) -> miette::Result<()> {
        for line in &turn.lines {
            self.narrator.said(self.timestamp(), &line.text, line.manner).into_diagnostic()?;
            let sound = self.voice.render(&line.text, line.manner)?;
            self.now = self.track.lay(self.now, &sound)?;
        }
        Ok(())
    }

    fn lay(&mut self, samples: &[f32]) -> miette::Result<()> {
        self.now =
            self.track.lay(self.now, &Sound { rate: RATE, samples: sound_out::to_integers(samples) })?;
        Ok(())
    }

    fn hear(&mut self, samples: &[f32], situation: &Situation) -> miette::Result<Input> {
        let heard = self.ear.hear_recording(samples, situation)?;
        Ok(heard.map_or(Input::Silence, Input::Heard))
    }

    fn timestamp(&self) -> Timestamp {
        Timestamp::ZERO.after(self.now)
    }
}
