//! `leadhand type`: the same session, with typed words instead of a microphone.

use std::io::Write;

use miette::IntoDiagnostic;

use crate::dialogue::Input;
use crate::record::header::JobId;
use crate::shell::clock::Clock;
use crate::shell::console::Typed;
use crate::shell::conversation::Conversation;
use crate::shell::narrator::Narrator;
use crate::shell::screen::{Screen, ScreenArgs};
use crate::shell::store::place::StoreArgs;
use crate::shell::{console, job, shelf};
use crate::understand;

/// Arguments of `leadhand type`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  leadhand type dryer-240\n  leadhand type --job 3      (go on with job 3)"
)]
pub struct TypeArgs {
    /// Appliance model: a name or a .toml file; asked for if left out
    appliance: Option<String>,
    /// The serial number on the machine's plate: what is on record of it is said at the start
    #[arg(long, value_name = "SERIAL", conflicts_with = "job")]
    serial: Option<String>,
    /// Go on with a job left earlier
    #[arg(long, value_name = "JOB", conflicts_with = "appliance")]
    job: Option<JobId>,
    #[command(flatten)]
    screen: ScreenArgs,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: TypeArgs) -> miette::Result<()> {
    let shelf = shelf::shipped()?;
    let opened =
        job::open(&shelf, args.appliance.as_deref(), args.serial.as_deref(), args.job, args.store.open()?)?;
    let clock = Clock::start_at(opened.at);
    println!("job {}", opened.kept.job());
    let (answers, lines) = console::lines();
    let mut screen = Screen::open(args.screen, &opened.kept, answers)?;
    let mut conversation = Conversation::new(opened.session, opened.kept);
    let mut narrator = Narrator::new(std::io::stdout());
    let mut input = Input::Start;
    loop {
        let turn = conversation.turn(clock.now(), input);
        narrator.made_of(&turn).into_diagnostic()?;
        if let Some(screen) = &mut screen {
            screen.turn(conversation.session(), &turn);
        }
        for line in &turn.lines {
            narrator.said(clock.now(), &line.text, line.manner).into_diagnostic()?;
        }
        let Some(listening) = turn.listening else { return Ok(()) };
        print!("> ");
        std::io::stdout().flush().into_diagnostic()?;
        if let Some(screen) = &mut screen {
            screen.listen(&listening);
        }
        let turn = screen.as_ref().map(Screen::turn_shown);
        let typed = loop {
            match lines.recv() {
                Ok(Typed::Over) | Err(_) => return Ok(()),
                Ok(typed) if typed.is_for(turn) => break typed,
                // The page showed a question before this one.
                Ok(_) => {}
            }
        };
        let typed = typed.words().unwrap_or_default();
        input = Input::Heard(console::typed(&understand::open(&listening.situation), typed));
    }
}
