//! The same jobs three ways: what waiting for a yes costs, and what it keeps out.

use std::sync::Arc;

use crate::dialogue::ReadBack;
use crate::model::Appliance;
use crate::record::figures::Share;
use crate::simulate::conversation::Exchange;
use crate::simulate::round::{Conditions, Job, Round};

use super::work;

/// The ways, and how they are called.
const WAYS: [(&str, ReadBack); 3] = [
    ("where it matters", ReadBack::WhereItMatters),
    ("always", ReadBack::Always),
    ("never", ReadBack::Never),
];

/// Works so many jobs on each appliance each way, and prints what came of them.
pub fn run(appliances: &[Arc<Appliance>], conditions: Conditions, jobs: u64) {
    println!("a yes to a reading is waited for          of 100 readings              a job");
    println!(
        "                    right, %   yes asked  said again  taken wrong   s speech/reading  warnings"
    );
    for (name, read_back) in WAYS {
        let worked: Vec<Job> = appliances
            .iter()
            .flat_map(|appliance| {
                let round = Round::new(appliance, Conditions { read_back, ..conditions });
                work(&round, appliance.id.as_str(), jobs, &[])
            })
            .collect();
        println!("{}", line(name, &worked));
    }
}

fn line(name: &str, jobs: &[Job]) -> String {
    let sum = |of: fn(&Exchange) -> f64| jobs.iter().map(|job| of(&job.exchange)).sum::<f64>();
    let readings = sum(|e| f64::from(e.readings)).max(1.0);
    let of_100 = |of| 100.0 * sum(of) / readings;
    let right = jobs.iter().filter(|job| job.ours.right).count() as u32;
    let (low, high) = Share { count: right, of: jobs.len() as u32 }.interval();
    let right = 100.0 * f64::from(right) / jobs.len().max(1) as f64;
    format!(
        "{name:18} {right:5.1} ({:4.1}–{:4.1})  {:6.1}  {:10.1}  {:11.2}  {:17.1}  {:8.2}",
        100.0 * low,
        100.0 * high,
        of_100(|e| f64::from(e.asked)),
        of_100(|e| f64::from(e.again)),
        of_100(|e| f64::from(e.wrong)),
        sum(|e| e.seconds) / readings,
        sum(|e| f64::from(e.warnings)) / jobs.len().max(1) as f64,
    )
}
