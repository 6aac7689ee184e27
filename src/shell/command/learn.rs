//! `leadhand learn`: how often each fault comes in this shop, from its own finished jobs.

use std::fmt::Write as _;
use std::sync::Arc;

use crate::diagnose::learn::{Change, Learned};
use crate::id::ComplaintId;
use crate::model::Appliance;
use crate::shell::learned::Lessons;
use crate::shell::store::place::StoreArgs;
use crate::shell::{shelf, terms};

/// Arguments of `leadhand learn`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "A job teaches if its work was done and the machine ran well afterwards (the trial run among the closing \
                        questions, or `leadhand enter JOB ran ...`), \
                        and nobody was called back to it within the days that shop.toml gives."
)]
pub struct LearnArgs {
    /// Take back what was learned last
    #[arg(long)]
    undo: bool,
    /// Show what would be learned, and keep nothing
    #[arg(long, conflicts_with = "undo")]
    look: bool,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: LearnArgs) -> miette::Result<()> {
    let store = args.store.open_existing()?;
    let mut lessons = Lessons::beside(store.path())?;
    let before = lessons.now();
    let after = if args.undo {
        if !lessons.undo()? {
            println!("Nothing was learned that could be taken back.");
            return Ok(());
        }
        lessons.now()
    } else {
        let taught = store.lessons(terms::beside(store.path())?.callback_days)?;
        let shelf = shelf::named(taught.iter().map(|lesson| lesson.appliance.as_str()))?;
        Learned::of(&taught, &shelf)
    };
    let shelf = shelf::named(before.machines().chain(after.machines()))?;
    print!("{}", shown(&before, &after, &shelf));
    if before != after && !args.undo && !args.look {
        lessons.keep(after)?;
        println!("Kept. `leadhand learn --undo` takes it back.");
    }
    Ok(())
}

/// What changes, fault by fault.
fn shown(before: &Learned, after: &Learned, shelf: &[Arc<Appliance>]) -> String {
    let mut text = String::new();
    for appliance in shelf {
        let (was, is) = (before.changes(appliance), after.changes(appliance));
        let complaints = was.iter().chain(&is).map(|(complaint, _)| complaint);
        let mut complaints: Vec<&ComplaintId> = complaints.collect();
        complaints.sort();
        complaints.dedup();
        for complaint in complaints {
            let of = |all: &[(ComplaintId, Vec<Change>)]| {
                all.iter().find(|(id, _)| id == complaint).map(|(_, changes)| changes.clone())
            };
            table(&mut text, appliance, complaint, of(&was), of(&is));
        }
    }
    if text.is_empty() {
        text.push_str("Nothing new: no finished job confirms or contradicts a cause.\n");
    }
    text
}

fn table(
    text: &mut String,
    appliance: &Appliance,
    complaint: &ComplaintId,
    was: Option<Vec<Change>>,
    is: Option<Vec<Change>>,
) {
    if was == is {
        return;
    }
    let named = appliance.complaint(complaint).map_or(complaint.as_str(), |known| known.name.as_str());
    let _ = writeln!(text, "{}, {named}", appliance.name);
    let shipped = |changes: &[Change]| {
        let as_shipped = |c: &Change| Change { learned: c.shipped, jobs: 0.0, ..c.clone() };
        changes.iter().map(as_shipped).collect::<Vec<_>>()
    };
    let known = was.as_deref().or(is.as_deref()).unwrap_or_default();
    let (was, is) = (was.clone().unwrap_or(shipped(known)), is.clone().unwrap_or(shipped(known)));
    for (was, is) in was.iter().zip(&is) {
        let fault = appliance.fault(&is.fault).map_or(is.fault.as_str(), |fault| fault.name.as_str());
        let (before, after, jobs) = (100.0 * was.learned, 100.0 * is.learned, is.jobs - was.jobs);
        let gained = if jobs == 0.0 { String::new() } else { format!("  {jobs:+.1} jobs") };
        let _ = writeln!(text, "  {fault:48} {before:5.1} % -> {after:5.1} %{gained}");
    }
}
