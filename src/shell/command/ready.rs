//! `leadhand ready`: is everything there that a job by voice takes, and what mends what is not?
//!
//! With `--fitting` also a minute of trying out: the microphone, the room, five readings said aloud, the voice of hazards.

mod fitting;
mod parts;

use miette::miette;

use crate::shell::console;
use crate::shell::room::Room;
use crate::shell::settings::{DeviceArgs, Settings};
use crate::shell::store::place::StoreArgs;

/// Arguments of `leadhand ready`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  leadhand ready\n  leadhand ready --fitting --mic headset")]
pub struct ReadyArgs {
    /// Try it out too: choose the microphone, listen to the room, say five readings, hear the hazard voice
    #[arg(long)]
    fitting: bool,
    #[command(flatten)]
    devices: DeviceArgs,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: ReadyArgs) -> miette::Result<()> {
    let path = args.store.path()?;
    let settings = Settings::beside(&path).map(|settings| settings.with(&args.devices));
    let all = parts::all(&path, settings);
    for part in &all {
        part.print();
    }
    let missing = all.iter().filter(|part| part.is_missing()).count();
    if missing > 0 {
        return Err(miette!(
            help = "Mend it as said above, then `leadhand ready` again. `leadhand type` works without sound.",
            "{missing} of {} parts are missing: no job can be worked by voice",
            all.len()
        ));
    }
    println!("Ready.");
    if !args.fitting {
        return Ok(());
    }
    let mut settings = Settings::beside(&path)?.with(&args.devices);
    let (_answers, typed) = console::lines();
    fitting::fit(&mut Room::open(&settings, typed)?, &mut settings)?;
    settings.keep(&path)
}
