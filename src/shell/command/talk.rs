//! `leadhand talk`: a job by voice, with microphone and loudspeaker.
//!
//! The devices, and when what they bring is an answer, are the room's business (`shell/room.rs`); this ties it to a job.

use miette::IntoDiagnostic;

use crate::dialogue::Input;
use crate::record::header::JobId;
use crate::shell::clock::Clock;
use crate::shell::console;
use crate::shell::conversation::{Conversation, Keep};
use crate::shell::kept_sound::{KeepSound, KeptSound};
use crate::shell::room::Room;
use crate::shell::screen::{Screen, ScreenArgs};
use crate::shell::settings::{DeviceArgs, Settings};
use crate::shell::store::place::StoreArgs;
use crate::shell::{job, shelf};

/// Arguments of `leadhand talk`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  leadhand talk dryer-240\n  leadhand talk --job 3      (go on with job 3)"
)]
pub struct TalkArgs {
    /// Appliance model: a name or a .toml file; asked for if left out
    appliance: Option<String>,
    /// The serial number on the machine's plate: what is on record of it is said at the start
    #[arg(long, value_name = "SERIAL", conflicts_with = "job")]
    serial: Option<String>,
    /// Go on with a job left earlier
    #[arg(long, value_name = "JOB", conflicts_with = "appliance")]
    job: Option<JobId>,
    #[command(flatten)]
    devices: DeviceArgs,
    #[command(flatten)]
    keep_sound: KeepSound,
    #[command(flatten)]
    screen: ScreenArgs,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: TalkArgs) -> miette::Result<()> {
    let shelf = shelf::shipped()?;
    let store = args.store.open()?;
    let settings = Settings::beside(store.path())?.with(&args.devices);
    let (answers, typed) = console::lines();
    let mut room = Room::open(&settings, typed)?;
    settings.keep(store.path())?;
    let opened = job::open(&shelf, args.appliance.as_deref(), args.serial.as_deref(), args.job, store)?;
    room.clock = Clock::start_at(opened.at);
    let mut kept = args.keep_sound.of(opened.kept.store(), opened.kept.job())?;
    println!("job {}", opened.kept.job());
    room.screen = Screen::open(args.screen, &opened.kept, answers)?;
    let mut conversation = Conversation::new(opened.session, opened.kept);
    let worked = work(&mut room, &mut conversation, &mut kept);
    room.tell_losses();
    worked
}

/// Works a job to its end.
fn work<K: Keep>(
    room: &mut Room,
    conversation: &mut Conversation<K>,
    kept: &mut Option<KeptSound>,
) -> miette::Result<()> {
    let mut input = Input::Start;
    let mut sound = Vec::new();
    // Ends with the job: every turn either asks or finishes.
    loop {
        let turn = conversation.turn(room.clock.now(), input);
        room.narrator.made_of(&turn).into_diagnostic()?;
        if let Some(screen) = &mut room.screen {
            screen.turn(conversation.session(), &turn);
        }
        // A job is not given up because a sound cannot be kept.
        if let Some(kept) = kept
            && let Err(why) = kept.answered(&turn, std::mem::take(&mut sound))
        {
            eprintln!("the sound is not kept: {why}");
        }
        room.turn_voice(turn.voice);
        let interrupted = room.speak(&turn.lines)?;
        let Some(listening) = &turn.listening else { return Ok(()) };
        input = match interrupted {
            Some(input) => input,
            None => room.listen(listening, turn.wake_after, &mut sound)?,
        };
    }
}
