//! Lists of the record as CSV (RFC 4180), for spreadsheets.

use std::io::{self, Write};

use crate::quantity::Unit;
use crate::reading::{Finding, Reading};
use crate::record::header::JobId;
use crate::record::job::{Found, Job, Standing};
use crate::shell::store::Store;

/// What went wrong with the record, around what went wrong with writing.
type Written = miette::Result<io::Result<()>>;

/// A line a job.
pub fn jobs(store: &Store, jobs: &[JobId], out: &mut dyn Write) -> Written {
    let names = [
        "site",
        "job",
        "opened",
        "machine",
        "complaint",
        "cause",
        "remedy",
        "closed",
        "fixed",
        "callback",
        "minutes",
        "serial",
    ];
    let line = |job: JobId| -> miette::Result<Vec<Vec<String>>> {
        let row = store.row(job)?;
        let or_none = |text: Option<String>| text.unwrap_or_default();
        Ok(vec![vec![
            row.site.clone(),
            job.to_string(),
            row.header.opened.rfc3339(),
            or_none(row.appliance),
            or_none(row.complaint),
            or_none(row.cause),
            or_none(row.remedy),
            row.finished.to_string(),
            or_none(row.fixed.map(|fixed| fixed.to_string())),
            row.callback_of.is_some().to_string(),
            format!("{:.1}", row.took as f64 / 60_000.0),
            or_none(row.serial),
        ]])
    };
    write(&names, jobs, line, out)
}

/// A line a finding, also of what was corrected or taken back.
pub fn readings(store: &Store, jobs: &[JobId], out: &mut dyn Write) -> Written {
    let names = ["job", "at_s", "check", "found", "unit", "standing", "probability", "words"];
    let lines = |id: JobId| -> miette::Result<Vec<Vec<String>>> {
        let job = Job::fold(&store.entries(id)?);
        Ok(job.found.iter().map(|found| reading(id, found)).collect())
    };
    write(&names, jobs, lines, out)
}

fn reading(job: JobId, found: &Found) -> Vec<String> {
    let (value, unit) = match &found.finding {
        Finding::Reading(Reading::Value(quantity)) => {
            let unit = quantity.unit.map_or("", Unit::symbol);
            (quantity.number.to_string(), format!("{}{unit}", quantity.prefix.symbol()))
        }
        other => (other.to_string(), String::new()),
    };
    let standing = match found.standing {
        Standing::Stands => "stands",
        Standing::Corrected => "corrected",
        Standing::Retracted => "taken back",
        Standing::Before => "before a remedy that did not help",
    };
    vec![
        job.to_string(),
        format!("{:.1}", found.at.as_millis() as f64 / 1000.0),
        found.check.to_string(),
        value,
        unit,
        standing.to_owned(),
        format!("{:.3}", f64::from(found.permille) / 1000.0),
        found.words.clone(),
    ]
}

/// A line a part.
pub fn parts(store: &Store, jobs: &[JobId], out: &mut dyn Write) -> Written {
    let names = ["job", "part", "old", "new", "count", "condition", "fitted"];
    let lines = |id: JobId| -> miette::Result<Vec<Vec<String>>> {
        let job = Job::fold(&store.entries(id)?);
        let line = |part: &crate::record::entry::PartUsed| {
            vec![
                id.to_string(),
                part.part.clone(),
                part.old.clone().unwrap_or_default(),
                part.new.clone().unwrap_or_default(),
                part.count.to_string(),
                format!("{:?}", part.condition).to_lowercase(),
                part.fitted.to_string(),
            ]
        };
        Ok(job.parts.iter().map(line).collect())
    };
    write(&names, jobs, lines, out)
}

fn write(
    names: &[&str],
    jobs: &[JobId],
    lines: impl Fn(JobId) -> miette::Result<Vec<Vec<String>>>,
    out: &mut dyn Write,
) -> Written {
    let mut table = csv::Writer::from_writer(out);
    let mut written = table.write_record(names);
    for job in jobs {
        for line in lines(*job)? {
            written = written.and_then(|()| table.write_record(line.iter().map(|cell| inert(cell))));
        }
    }
    Ok(written.map_err(io::Error::from).and_then(|()| table.flush()))
}

/// A cell that no spreadsheet takes for a formula: such a text gets an apostrophe in front; a number stays.
pub fn inert(cell: &str) -> String {
    let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err();
    if formula { format!("'{cell}") } else { cell.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_cell_is_a_formula() {
        for (cell, expected) in [
            ("=1+1", "'=1+1"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("-18", "-18"),
            ("-cmd", "'-cmd"),
            ("Ada", "Ada"),
            ("", ""),
        ] {
            assert_eq!(inert(cell), expected);
        }
    }
}
