//! How well, how fast and how honestly is heard: our recogniser against others, all on the same sound in one run.
//!
//! `make bench-hear`. Each system runs in a process of its own (`child.rs`, `scripts/baselines.py`), so that its memory
//! can be told; this one makes the sound, asks, and judges. Settings of a run are read from the environment:
//!
//! | name | means | unset |
//! | --- | --- | --- |
//! | `CLIPS` | so many clips of each set at most | 40 |
//! | `SLOW` | so many clips a level for the systems that take a second each | 10 |
//! | `HOURS` | so many hours of noise | 0.1 |
//! | `REMARKS` | so many remarks and words that only sound like ours | 200 |
//! | `PARTS` | which parts: `table,asked,listening,denoise,hours,remarks,kinds,load` | all |
//! | `SHOW` | print every clip that ours did not get | no |
#![allow(
    missing_docs,
    clippy::print_stdout,
    clippy::print_stderr,
    clippy::unwrap_used,
    clippy::disallowed_methods
)]

mod asked;
mod child;
mod clips;
mod denoise;
mod figures;
mod grammar;
mod hours;
mod kinds;
mod listening;
mod load;
mod mixing;
mod normalise;
mod read_back;
mod reliability;
mod remarks;
mod sets;
mod system;
mod table;

use std::path::{Path, PathBuf};

/// How much is measured.
pub struct Extent {
    pub clips: usize,
    pub slow: usize,
    pub hours: f64,
    pub remarks: usize,
    pub parts: Option<String>,
    pub show: bool,
}

impl Extent {
    fn of_environment() -> Self {
        let number = |name: &str| std::env::var(name).ok().and_then(|text| text.parse::<f64>().ok());
        Self {
            clips: number("CLIPS").map_or(40, |n| n.max(1.0) as usize),
            slow: number("SLOW").map_or(10, |n| n as usize),
            hours: number("HOURS").unwrap_or(0.1),
            remarks: number("REMARKS").map_or(200, |n| n as usize),
            parts: std::env::var("PARTS").ok(),
            show: std::env::var("SHOW").is_ok(),
        }
    }

    /// Is this part wanted?
    pub fn wants(&self, part: &str) -> bool {
        self.parts.as_ref().is_none_or(|parts| parts.split(',').any(|wanted| wanted.trim() == part))
    }
}

/// The parts after the table.
type Part = fn(&sets::Sets, &Extent);
const PARTS: [(&str, Part); 7] = [
    ("asked", asked::run),
    ("listening", listening::run),
    ("denoise", denoise::run),
    ("hours", hours::run),
    ("remarks", remarks::run),
    ("kinds", kinds::run),
    ("load", load::run),
];

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let Some((name, rest)) = arguments.split_first()
        && name == "child"
    {
        return child::run(rest);
    }
    let extent = Extent::of_environment();
    std::fs::create_dir_all(workshop()).expect("target/ can be written");
    println!(
        "one system after the other on {} cores",
        std::thread::available_parallelism().map_or(1, usize::from)
    );
    let sets = sets::all(extent.clips);
    if extent.wants("table") {
        let judged = table::run(&sets, &extent);
        reliability::run(&judged);
        reliability::readings(&judged);
    }
    for (part, run) in PARTS {
        if extent.wants(part) {
            run(&sets, &extent);
        }
    }
}

/// Where the bench keeps what it makes.
pub fn workshop() -> PathBuf {
    root().join("target/bench")
}

/// The root of the project.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}
