//! What was believed over time: one line a cause, one step a belief.

use std::collections::BTreeMap;

use crate::model::appliance::Appliance;
use crate::record::job::{Belief, Job, Standing};
use crate::record::report::row::Row;

/// What was believed over time.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct History {
    /// After what each belief was held: "start", "1" for the first finding of the report.
    pub steps: Vec<String>,
    /// The causes, the likeliest at the end first; small ones together in the last.
    pub causes: Vec<Line>,
}

/// A cause over time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The cause as people say it.
    pub name: String,
    /// Its probability in thousandths, one a step.
    pub permille: Vec<u16>,
}

/// More causes than this cannot be read on a page.
const MOST: usize = 8;

/// A cause that was never more probable than this, in thousandths, stands with the others.
const SMALL: u16 = 50;

/// What was believed over time; empty if nothing was.
pub fn history(job: &Job, rows: &[Row], appliance: Option<&Appliance>) -> History {
    let steps: Vec<String> = job.beliefs.iter().map(|belief| step(belief, job, rows)).collect();
    let mut lines: BTreeMap<&str, Vec<u16>> = BTreeMap::new();
    for (index, belief) in job.beliefs.iter().enumerate() {
        for (cause, permille) in &belief.causes {
            lines.entry(cause).or_insert_with(|| vec![0; steps.len()])[index] = *permille;
        }
    }
    let mut lines: Vec<(&str, Vec<u16>)> = lines.into_iter().collect();
    lines.sort_by(|a, b| b.1.last().cmp(&a.1.last()).then_with(|| b.1.iter().max().cmp(&a.1.iter().max())));
    let large = |line: &(&str, Vec<u16>)| line.1.iter().any(|permille| *permille > SMALL);
    let (mut shown, mut others): (Vec<_>, Vec<_>) = lines.into_iter().partition(large);
    others.extend(shown.split_off(shown.len().min(MOST)));
    let mut causes: Vec<Line> = shown
        .into_iter()
        .map(|(cause, permille)| Line { name: super::cause_name(cause, appliance), permille })
        .collect();
    causes.extend(together(&others, steps.len()));
    History { steps, causes }
}

fn together(others: &[(&str, Vec<u16>)], steps: usize) -> Option<Line> {
    let sum = |step: usize| others.iter().fold(0_u16, |sum, (_, line)| sum.saturating_add(line[step]));
    let name = match others.len() {
        0 => return None,
        1 => "1 other cause".to_owned(),
        count => format!("{count} other causes"),
    };
    Some(Line { name, permille: (0..steps).map(sum).collect() })
}

/// The number in the report of the finding that a belief followed.
fn step(belief: &Belief, job: &Job, rows: &[Row]) -> String {
    let Some(found) = belief.after.checked_sub(1).and_then(|index| job.found.get(index)) else {
        return "start".to_owned();
    };
    let counts = matches!(found.standing, Standing::Stands | Standing::Before);
    let row = rows.iter().find(|row| row.at == found.at && counts);
    row.map_or_else(|| "–".to_owned(), |row| row.number.to_string())
}
