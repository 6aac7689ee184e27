//! `leadhand simulate`: pretend jobs on machines whose fault is known, worked by the program and by simpler ways.

use std::path::PathBuf;
use std::sync::Arc;

use indicatif::{ProgressBar, ProgressStyle};
use miette::{IntoDiagnostic, WrapErr};
use rayon::prelude::*;

use crate::dialogue::ReadBack;
use crate::model::Appliance;
use crate::shell::shelf;
use crate::simulate::conversation::Ears;
use crate::simulate::hearing::Hearing;
use crate::simulate::optimum::Bound;
use crate::simulate::policy::{OTHERS, Policy};
use crate::simulate::round::{Conditions, Job, Round};
use crate::simulate::technician::Slips;

mod read_back;
mod table;

use table::Figures;

/// Arguments of `leadhand simulate`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  leadhand simulate dryer-240 --faults\n  leadhand simulate --clean --csv figures.csv\n\n\
                        The program works each job in conversation, as `leadhand type` does. The ways it is compared with \
                        choose checks for the same technician at the same machine, without a conversation."
)]
pub struct SimulateArgs {
    /// Appliance models: names or .toml files; all that come with the program if left out
    appliances: Vec<String>,
    /// Jobs on each
    #[arg(long, value_name = "N", default_value_t = 2000, value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
    jobs: u64,
    /// What all chance follows from: the same seed gives the same jobs
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    #[command(flatten)]
    goes_wrong: GoesWrong,
    /// Work the same jobs three ways: a yes to a reading is waited for where it matters, always, and never
    #[arg(long, conflicts_with_all = ["alone", "faults", "csv"])]
    read_back: bool,
    /// Leave out what the program is compared with: simpler ways, and on each complaint, cut down to the checks that tell
    /// most, the best way of all
    #[arg(long)]
    alone: bool,
    /// Also fault by fault
    #[arg(long)]
    faults: bool,
    /// Where to write all figures, fault by fault
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
}

/// What goes wrong, and how often.
#[derive(Debug, clap::Args)]
struct GoesWrong {
    /// The share of measurements with a lead on another point
    #[arg(long, value_name = "SHARE", default_value_t = 0.03, value_parser = share)]
    misplaced: f64,
    /// The share of readings that are reported wrong, and confirmed when asked
    #[arg(long, value_name = "SHARE", default_value_t = 0.01, value_parser = share)]
    misread: f64,
    /// How well is heard, as `make bench-hear` measured it
    #[arg(long, value_enum, default_value_t = Room::Quiet)]
    hearing: Room,
    /// The share of wrong read-backs in passing that go unnoticed
    #[arg(long, value_name = "SHARE", default_value_t = 0.3, value_parser = share)]
    unheeded: f64,
    /// The share of wrong read-backs, digit by digit, that get a yes
    #[arg(long, value_name = "SHARE", default_value_t = 0.02, value_parser = share)]
    nodded: f64,
    /// The customer is asked, and tells, whether the complaint comes and goes
    #[arg(long)]
    told: bool,
    /// Nothing is misplaced, misread or misheard
    #[arg(long, conflicts_with_all = ["misplaced", "misread", "hearing", "unheeded", "nodded"])]
    clean: bool,
}

/// Where the talking is done.
#[derive(Clone, Copy, Debug, clap::ValueEnum)]
enum Room {
    /// Everything is heard
    Perfect,
    /// A quiet room
    Quiet,
    /// A kitchen at work: speech 10 dB above the noise
    Kitchen,
}

/// Runs the command.
pub fn run(args: SimulateArgs) -> miette::Result<()> {
    let shelf = shelf::shipped()?;
    let named = args.appliances.iter().map(|name| shelf::find(&shelf, name));
    let named = named.collect::<miette::Result<Vec<Arc<Appliance>>>>()?;
    let wanted = if named.is_empty() { shelf.to_vec() } else { named };
    if args.read_back {
        read_back::run(&wanted, args.goes_wrong.conditions(args.seed), args.jobs);
        return Ok(());
    }
    let others: &[&dyn Policy] = if args.alone { &[] } else { &OTHERS };
    let mut figures = Figures::default();
    for appliance in &wanted {
        let round = Round::new(appliance, args.goes_wrong.conditions(args.seed));
        let jobs = work(&round, appliance.id.as_str(), args.jobs, others);
        let rows = figures.add(&round, appliance.id.as_str(), &jobs, others);
        print!("{}", table::of(appliance.id.as_str(), rows, args.faults));
        if !args.alone {
            print!("{}", figures.bounds(round.cases().par_iter().map(Bound::of).collect()));
        }
    }
    print!("{}", figures.in_all(wanted.len()));
    if let Some(path) = &args.csv {
        let written = figures.csv().and_then(|text| std::fs::write(path, text).into_diagnostic());
        written.wrap_err_with(|| format!("the figures cannot be written to {}", path.display()))?;
    }
    figures.is_safe()
}

/// Works all jobs of a round on all cores; they come back in their order.
fn work(round: &Round, name: &str, jobs: u64, others: &[&dyn Policy]) -> Vec<Job> {
    let style = ProgressStyle::with_template("{msg} {bar:40} {pos}/{len}, {eta} to go");
    let style = style.expect("a template of known fields");
    let bar = ProgressBar::new(jobs).with_style(style).with_message(name.to_owned());
    let numbers = (0..jobs).into_par_iter();
    let jobs = numbers.map_init(Ears::default, |ears, number| {
        let job = round.job(number, others, ears);
        bar.inc(1);
        job
    });
    let jobs = jobs.collect();
    bar.finish_and_clear();
    jobs
}

impl GoesWrong {
    fn conditions(&self, seed: u64) -> Conditions {
        if self.clean {
            return Conditions { told: self.told, ..Conditions::clean(seed) };
        }
        let Self { misplaced, misread, unheeded, nodded, .. } = *self;
        let hearing = match self.hearing {
            Room::Perfect => Hearing::PERFECT,
            Room::Quiet => Hearing::QUIET,
            Room::Kitchen => Hearing::KITCHEN,
        };
        let slips = Slips { misplaced, misread, unheeded, nodded };
        Conditions { slips, hearing, read_back: ReadBack::default(), told: self.told, seed }
    }
}

fn share(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(share) if (0.0..=1.0).contains(&share) => Ok(share),
        _ => Err("a share is a number from 0 to 1, as 0.03".to_owned()),
    }
}
