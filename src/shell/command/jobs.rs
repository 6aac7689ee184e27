//! `leadhand jobs`: the jobs on record, one a line.

use std::fmt::Write as _;
use std::sync::Arc;

use crate::model::Appliance;
use crate::shell::shelf;
use crate::shell::store::place::StoreArgs;
use crate::shell::store::{JobRow, Wanted};

/// Arguments of `leadhand jobs`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  leadhand jobs --open --machine dryer-240")]
pub struct JobsArgs {
    /// Only jobs that are not closed
    #[arg(long, conflicts_with = "closed")]
    open: bool,
    /// Only jobs that are closed
    #[arg(long)]
    closed: bool,
    /// Only jobs on this appliance model
    #[arg(long, value_name = "APPLIANCE")]
    machine: Option<String>,
    /// Only jobs that ended with this cause, by its name in the appliance model ("all-good" for none)
    #[arg(long, value_name = "CAUSE")]
    cause: Option<String>,
    /// Only jobs on the machine with this serial number
    #[arg(long, value_name = "SERIAL")]
    serial: Option<String>,
    /// Only callbacks
    #[arg(long)]
    callbacks: bool,
    /// Only jobs that hold all these words, or words that begin so: a customer, a place, a part, something noted
    #[arg(long, value_name = "WORDS")]
    find: Option<String>,
    /// At most so many, the newest
    #[arg(long, value_name = "N", default_value_t = 200)]
    most: u32,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: JobsArgs) -> miette::Result<()> {
    let none = "There are no jobs on record yet. The first is made with `leadhand talk` or `leadhand type`.";
    let Some(store) = args.store.look()? else {
        println!("{none}");
        return Ok(());
    };
    let of_all = store.count()?;
    let most = args.most;
    let rows = store.jobs(&args.wanted())?;
    if of_all == 0 {
        println!("{none}");
    } else if rows.is_empty() {
        println!("None of the {of_all} jobs on record is of that kind.");
    } else {
        let shelf = shelf::named(rows.iter().filter_map(|row| row.appliance.as_deref()))?;
        print!("{}", table(&rows, &shelf));
        if rows.len() as u64 == u64::from(most) {
            println!("These are the newest {most}; --most N shows more.");
        }
    }
    Ok(())
}

impl JobsArgs {
    fn wanted(self) -> Wanted {
        let words = self.find.unwrap_or_default();
        Wanted {
            open: (self.open || self.closed).then_some(self.open),
            machine: self.machine,
            cause: self.cause,
            serial: self.serial,
            callbacks: self.callbacks,
            words: words.split_whitespace().map(str::to_owned).collect(),
            most: Some(self.most),
        }
    }
}

/// The jobs as a table, names as people say them where the appliance model is known.
fn table(rows: &[JobRow], shelf: &[Arc<Appliance>]) -> String {
    let mut lines = vec![["job", "opened", "machine", "complaint", "state", "advised"].map(str::to_owned)];
    for row in rows {
        let appliance = row.appliance.as_deref().and_then(|id| shelf.iter().find(|a| a.id.as_str() == id));
        lines.push(line(row, appliance.map(AsRef::as_ref)));
    }
    let mut widths = [0; 6];
    for line in &lines {
        for (width, cell) in widths.iter_mut().zip(line) {
            *width = (*width).max(cell.chars().count());
        }
    }
    let mut table = String::new();
    for line in lines {
        let mut text = String::new();
        for (cell, width) in line.iter().zip(widths) {
            let _ = write!(text, "{cell:width$}  ");
        }
        let _ = writeln!(table, "{}", text.trim_end());
    }
    table
}

fn line(row: &JobRow, appliance: Option<&Appliance>) -> [String; 6] {
    let or_dash = |text: Option<String>| text.unwrap_or_else(|| "–".to_owned());
    let complaint = row.complaint.as_ref().map(|id| {
        let known = appliance.and_then(|appliance| appliance.complaint(&id.as_str().into()));
        known.map_or_else(|| id.clone(), |complaint| complaint.name.clone())
    });
    let remedy = row.remedy.as_ref().map(|id| {
        let known = appliance.and_then(|appliance| appliance.remedy(&id.as_str().into()));
        known.map_or_else(|| id.clone(), |remedy| remedy.say.clone())
    });
    let without_remedy = row.cause.as_deref().map(|cause| match cause {
        "all-good" => "Nothing electrical is wrong.".to_owned(),
        _ => "The cause was not singled out.".to_owned(),
    });
    [
        if row.site.is_empty() {
            row.header.job.to_string()
        } else {
            format!("{} ({})", row.header.job, row.site)
        },
        row.header.opened.to_string(),
        or_dash(appliance.map(|appliance| appliance.name.clone()).or_else(|| row.appliance.clone())),
        or_dash(complaint),
        state(row).to_owned(),
        or_dash(remedy.or(without_remedy)),
    ]
}

const fn state(row: &JobRow) -> &'static str {
    match (row.finished, row.callback_of.is_some()) {
        (true, false) => "closed",
        (true, true) => "closed, callback",
        (false, false) => "open",
        (false, true) => "open, callback",
    }
}
