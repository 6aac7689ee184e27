//! What a job by voice takes, one part after the other: there, doubtful, or missing with what mends it.

use std::path::Path;
use std::time::{Duration, Instant};

use miette::Diagnostic;

use crate::say::Manner;
use crate::shell::mic::{Mic, NARROW};
use crate::shell::settings::{Settings, WhoseVoice};
use crate::shell::shelf;
use crate::shell::speaker::Speaker;
use crate::shell::store::Store;
use crate::shell::voice::{Voice, system};
use crate::shell::weights::Weights;

/// A part.
pub struct Part {
    name: &'static str,
    state: State,
}

enum State {
    /// As it should be.
    There(String),
    /// It works, but.
    Doubtful(String),
    /// It does not, and what mends it.
    Missing(String, String),
}

/// Sound is listened to for so long.
const LISTENED: Duration = Duration::from_secs(1);

impl Part {
    /// Is it missing?
    pub const fn is_missing(&self) -> bool {
        matches!(self.state, State::Missing(..))
    }

    /// A line on the terminal, and what mends it.
    pub fn print(&self) {
        let (sign, text) = match &self.state {
            State::There(text) => ("ok     ", text),
            State::Doubtful(text) => ("doubt  ", text),
            State::Missing(text, _) => ("MISSING", text),
        };
        println!("{sign}  {:<12} {text}", self.name);
        if let State::Missing(_, mend) = &self.state {
            for line in mend.lines() {
                println!("{:22} {line}", "");
            }
        }
    }
}

/// All parts.
pub fn all(store: &Path, settings: miette::Result<Settings>) -> Vec<Part> {
    let (remembered, settings) = match settings {
        Ok(settings) => (State::There("read".to_owned()), settings),
        Err(report) => (missing_report(&report), Settings::default()),
    };
    let part = |name, state| Part { name, state };
    vec![
        part("machines", machines()),
        part("weights", weights()),
        part("voice", voice(&settings)),
        part("microphone", microphone(&settings)),
        part("loudspeaker", loudspeaker(&settings)),
        part("job record", record(store)),
        part("settings", remembered),
    ]
}

fn missing(error: &dyn Diagnostic) -> State {
    let help = error.help().map(|help| help.to_string()).unwrap_or_default();
    State::Missing(error.to_string(), help)
}

fn missing_report(report: &miette::Report) -> State {
    let chain: Vec<String> = report.chain().map(ToString::to_string).collect();
    let help = report.help().map(|help| help.to_string()).unwrap_or_default();
    State::Missing(chain.join(": "), help)
}

fn machines() -> State {
    match shelf::shipped() {
        Ok(shelf) => State::There(format!("{} models", shelf.len())),
        Err(report) => missing_report(&report),
    }
}

fn weights() -> State {
    match Weights::load(&Weights::folder()) {
        Ok(weights) => State::There(format!("{}, as its fingerprint says", weights.manifest.file)),
        Err(error) => missing(&error),
    }
}

/// Renders a line that was never said before. Also where the system's voice speaks: ours takes over when that fails.
fn voice(settings: &Settings) -> State {
    if settings.voice == WhoseVoice::System
        && let Err(error) = system::version()
    {
        return State::Missing(
            format!("`spd-say`, which has the system's voice speak, cannot be run: {error}"),
            "Install it: `sudo apt-get install speech-dispatcher speech-dispatcher-espeak-ng`; or `--voice own`.".to_owned(),
        );
    }
    let started = Instant::now();
    let rendered = Voice::new().and_then(|mut voice| {
        voice.render("Treat everything as energised.", Manner::Hazard).map(|sound| sound.duration())
    });
    match rendered {
        Ok(length) => State::There(format!(
            "a line of {:.1} s rendered in {} ms",
            length.as_secs_f64(),
            started.elapsed().as_millis()
        )),
        Err(error) => missing(&error),
    }
}

fn microphone(settings: &Settings) -> State {
    let mut mic = match Mic::open(settings.microphone.as_deref()) {
        Ok(mic) => mic,
        Err(error) => return missing(&error),
    };
    let mut sound = Vec::new();
    let until = Instant::now() + LISTENED;
    while Instant::now() < until {
        mic.read(&mut sound);
        std::thread::park_timeout(Duration::from_millis(20));
    }
    let named = format!("\"{}\", {} samples a second", mic.name(), mic.rate());
    let peak = sound.iter().fold(0.0_f32, |peak, sample| peak.max(sample.abs()));
    if sound.is_empty() || peak == 0.0 && !settings.gated {
        return State::Missing(
            format!("{named}: it is open and gives no sound at all"),
            "Is it muted, at a switch of its own or in the system's sound settings? A headset that is silent between words: \
             `leadhand talk --gated-mic`. Another microphone: `leadhand ready --mic NAME`."
                .to_owned(),
        );
    }
    let mean = sound.iter().map(|sample| sample * sample).sum::<f32>() / sound.len() as f32;
    let level = -10.0 * mean.max(1e-12).log10();
    if mic.rate() <= NARROW {
        return State::Doubtful(format!(
            "{named}: that of a telephone; answers to hazards may not be understood. A wired or boom headset is better."
        ));
    }
    if peak >= 0.999 {
        return State::Doubtful(format!("{named}: too loud, it is cut off; turn its level down"));
    }
    State::There(format!("{named}; the room is at {level:.0} dB below full scale"))
}

fn loudspeaker(settings: &Settings) -> State {
    match Speaker::open(settings.loudspeaker.as_deref()) {
        Ok(_) => State::There(match &settings.loudspeaker {
            Some(name) => format!("\"{name}\""),
            None => "the system's default one".to_owned(),
        }),
        Err(error) => missing(&error),
    }
}

/// Opened if it is there; otherwise its folder must be there to be written in.
fn record(store: &Path) -> State {
    let shown = store.display();
    if store.exists() {
        return match Store::open_existing(store) {
            Ok(found) => match found.count() {
                Ok(count) => State::There(format!("{shown}, {count} jobs")),
                Err(error) => missing(&error),
            },
            Err(error) => missing(&error),
        };
    }
    let above = store.ancestors().skip(1).find(|above| above.exists()).filter(|above| above.is_dir());
    match above.map(tempfile_in) {
        Some(true) => State::There(format!("{shown}, to be made by the first job")),
        _ => State::Missing(
            format!("{shown} cannot be made"),
            "Its folder must be yours to write in; or name another file with --store FILE.".to_owned(),
        ),
    }
}

/// May we write in a folder?
fn tempfile_in(folder: &Path) -> bool {
    let tried = folder.join(format!(".leadhand-{}", std::process::id()));
    let written = std::fs::write(&tried, b"").is_ok();
    written && std::fs::remove_file(&tried).is_ok()
}
