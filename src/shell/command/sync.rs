//! `leadhand sync`: entries exchanged with the shared record of a shop.

use std::time::Duration;

use crate::shell::store::place::StoreArgs;
use crate::shell::sync::{Shared, Synced, sync};
use crate::shell::terms;

/// Arguments of `leadhand sync`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Each machine works alone; this gives and takes what is new. Run again after a cut, it goes on where it stopped.\n\
                  The connection is not encrypted by itself: use a tunnel or a private network.\n\n\
                  Example:\n  leadhand sync postgres://birch@office/leadhand"
)]
pub struct SyncArgs {
    /// The database: postgres://USER@HOST/DATABASE
    #[arg(value_name = "ADDRESS")]
    address: String,
    #[command(flatten)]
    store: StoreArgs,
}

/// So often it is tried when the connection is cut.
const TRIES: u32 = 5;

/// Runs the command.
pub fn run(args: SyncArgs) -> miette::Result<()> {
    let mut store = args.store.open()?;
    store.name_site(&terms::beside(store.path())?.technician)?;
    let mut moved = Synced::default();
    let mut last = Ok(());
    for pause in (0..TRIES).map(|n| Duration::from_secs(1 << n)) {
        last = Shared::open(&args.address).and_then(|mut shared| sync(&mut store, &mut shared, &mut moved));
        match &last {
            Err(why) if why.passes() => {
                eprintln!("{why}; trying again in {} s", pause.as_secs());
                std::thread::park_timeout(pause);
            }
            _ => break,
        }
    }
    println!("Given: entries {}; taken: entries {}.", moved.given, moved.taken);
    Ok(last?)
}
