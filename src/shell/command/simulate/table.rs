//! The figures of pretend jobs, as a table to read and one to reckon with.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use miette::{IntoDiagnostic, miette};

use crate::record::figures::Share;
use crate::simulate::optimum::Bound;
use crate::simulate::policy::{Ours, Policy};
use crate::simulate::round::{Job, Round};
use crate::simulate::tally::{Mean, Tally};

/// The figures of one policy over some jobs.
#[derive(Clone, Debug)]
pub struct Row {
    appliance: String,
    /// The complaint and the fault; `None` for all of an appliance.
    fault: Option<(String, String)>,
    policy: &'static str,
    tally: Tally,
    /// What was advised most often instead of what cures, and how often.
    instead: Option<(String, u32)>,
}

/// All figures of a run.
#[derive(Debug, Default)]
pub struct Figures {
    rows: Vec<Row>,
    /// All jobs of each policy.
    totals: Vec<(&'static str, Tally)>,
    /// Costs of ours and the least, over all complaints.
    bounds: (Mean, Mean),
    /// Jobs in which the first advice did not help, and in how many of them a later one on the same visit did.
    second: Share,
    unsafe_orders: Vec<String>,
    left: Vec<String>,
}

impl Figures {
    /// Adds the jobs of a round; its rows, policies over all faults first.
    pub fn add(&mut self, round: &Round, appliance: &str, jobs: &[Job], others: &[&dyn Policy]) -> &[Row] {
        let first = self.rows.len();
        let row = |policy, tally| Row {
            appliance: appliance.to_owned(),
            fault: None,
            policy,
            tally,
            instead: None,
        };
        self.total(row(Ours.name(), Tally::of(jobs.iter().map(|job| &job.ours))));
        for (place, other) in others.iter().enumerate() {
            self.total(row(other.name(), Tally::of(jobs.iter().map(|job| &job.others[place]))));
        }
        let mut by_fault: BTreeMap<(usize, String), Vec<&Job>> = BTreeMap::new();
        for job in jobs {
            by_fault.entry((job.case, round.cause_name(job.case, job.cause))).or_default().push(job);
            let orders = job.unsafe_orders.iter().map(|order| format!("{appliance}: {order}"));
            self.unsafe_orders.extend(orders);
            if !job.ours.right {
                self.second.of += 1;
                self.second.count += u32::from(job.mended);
            }
            self.left.extend(job.left_at.iter().map(|topic| format!("{appliance}: {topic}")));
        }
        for ((case, cause), jobs) in by_fault {
            let complaint = round.cases()[case].complaint.to_string();
            let tally = Tally::of(jobs.iter().map(|job| &job.ours));
            let row = row(Ours.name(), tally);
            self.rows.push(Row { fault: Some((complaint, cause)), instead: instead(&jobs), ..row });
        }
        &self.rows[first..]
    }

    fn total(&mut self, row: Row) {
        match self.totals.iter_mut().find(|(policy, _)| *policy == row.policy) {
            Some((_, tally)) => tally.merge(&row.tally),
            None => self.totals.push((row.policy, row.tally.clone())),
        }
        self.rows.push(row);
    }

    /// Adds what an appliance's complaints cost at the least; its lines.
    pub fn bounds(&mut self, bounds: Vec<Bound>) -> String {
        let mut text = String::new();
        for Bound { complaint, checks: (checks, of), ours, least } in bounds {
            self.bounds.0.add(ours);
            self.bounds.1.add(least);
            let over = 100.0 * (ours / least - 1.0);
            let named = complaint.as_str();
            let _ = writeln!(
                text,
                "  {named:24}  {checks} of {of} checks: ours {ours:.1}, optimum {least:.1} ({over:+.1} %)"
            );
        }
        text
    }

    /// The whole run, in a table and two lines.
    pub fn in_all(&self, appliances: usize) -> String {
        let mut text = String::new();
        if appliances > 1 {
            let jobs = self.totals.first().map_or(0, |(_, tally)| tally.right.of);
            let _ = writeln!(text, "all {appliances} appliances, {jobs} jobs\n{HEAD}");
            for (policy, tally) in &self.totals {
                let _ = writeln!(text, "{}", line(policy, tally));
            }
        }
        let (ours, least) = (self.bounds.0.mean(), self.bounds.1.mean());
        if least > 0.0 {
            let over = 100.0 * (ours / least - 1.0);
            let _ = writeln!(text, "small complaints: ours {ours:.1}, optimum {least:.1} ({over:+.1} %)");
        }
        let Share { count, of } = self.second;
        let _ = writeln!(text, "first advice wrong: {of} jobs, {count} of them mended on the same visit");
        let _ = writeln!(text, "unsafe orders: {}", self.unsafe_orders.len());
        let _ = writeln!(text, "jobs not closed: {}", self.left.len());
        text
    }

    /// Everything, fault by fault, for a spreadsheet.
    pub fn csv(&self) -> miette::Result<Vec<u8>> {
        let mut csv = csv::Writer::from_writer(Vec::new());
        let means = ["checks", "live", "minutes", "wrong_parts", "cost"];
        let means = means.iter().flat_map(|name| [(*name).to_owned(), format!("{name}_half_width")]);
        let head = [
            "appliance",
            "complaint",
            "fault",
            "policy",
            "jobs",
            "right",
            "right_low",
            "right_high",
            "claimed",
        ];
        csv.write_record(head.map(str::to_owned).into_iter().chain(means)).into_diagnostic()?;
        for Row { appliance, fault, policy, tally, .. } in &self.rows {
            let (complaint, fault) = fault.clone().unwrap_or_default();
            let (low, high) = tally.right.interval();
            let numbers = [f64::from(tally.right.count), low, high, tally.claimed.mean()];
            let means = means_of(tally).into_iter().flat_map(|mean| [mean.mean(), mean.half_width()]);
            let named =
                [appliance.clone(), complaint, fault, (*policy).to_owned(), tally.right.of.to_string()];
            let numbers = numbers.into_iter().chain(means).map(|number| format!("{number:.4}"));
            csv.write_record(named.into_iter().chain(numbers)).into_diagnostic()?;
        }
        csv.into_inner().map_err(|error| miette!("{error}"))
    }

    /// Fails if anything ordered was not safe, or a job was never closed.
    pub fn is_safe(&self) -> miette::Result<()> {
        match (self.unsafe_orders.first(), self.left.first()) {
            (None, None) => Ok(()),
            (Some(order), _) => Err(miette!("an order was not safe: {order}")),
            (None, Some(topic)) => Err(miette!("a job was never closed; it was left at `{topic}`")),
        }
    }
}

/// What was advised most often where the remedy was not the one that cures.
fn instead(jobs: &[&Job]) -> Option<(String, u32)> {
    let mut count: BTreeMap<String, u32> = BTreeMap::new();
    for job in jobs.iter().filter(|job| !job.ours.right) {
        let advice = job.advice.as_ref().filter(|advice| advice.told);
        let named = advice.map_or("cannot-tell".to_owned(), |advice| {
            advice.remedy.as_ref().map_or("all-good".to_owned(), ToString::to_string)
        });
        *count.entry(named).or_default() += 1;
    }
    count.into_iter().reduce(|most, next| if next.1 > most.1 { next } else { most })
}

const HEAD: &str = "                            right, %            checks        live          minutes       wrong parts   cost";

/// The rows of an appliance as a table.
pub fn of(appliance: &str, rows: &[Row], faults: bool) -> String {
    let jobs = rows.first().map_or(0, |row| row.tally.right.of);
    let mut text = format!("{appliance}, {jobs} jobs\n{HEAD}\n");
    for row in rows {
        match &row.fault {
            None => drop(writeln!(text, "{}", line(row.policy, &row.tally))),
            Some((complaint, fault)) if faults => {
                let line = line(&format!("{complaint} / {fault}"), &row.tally);
                let instead = row.instead.as_ref().map(|(remedy, n)| format!("  {n} × {remedy}"));
                let _ = writeln!(text, "{line}  of {}{}", row.tally.right.of, instead.unwrap_or_default());
            }
            Some(_) => {}
        }
    }
    text
}

fn line(name: &str, tally: &Tally) -> String {
    let (low, high) = tally.right.interval();
    let right = 100.0 * f64::from(tally.right.count) / f64::from(tally.right.of.max(1));
    let mut text = format!("  {name:24}  {right:5.1} ({:4.1}–{:5.1})", 100.0 * low, 100.0 * high);
    for (mean, places) in means_of(tally).into_iter().zip([2, 2, 1, 3, 1]) {
        let shown = format!("{:.places$} ±{:.places$}", mean.mean(), mean.half_width());
        let _ = write!(text, "  {shown:12}");
    }
    text.trim_end().to_owned()
}

fn means_of(tally: &Tally) -> [Mean; 5] {
    [tally.checks, tally.live, tally.minutes, tally.wrong_parts, tally.cost]
}
