//! The customer's two pages: what was wrong, what was done, what it costs, what to mind; no figures of the trade.

use super::{Block, Table, facts, section};
use crate::record::entry::ClosingAnswer;
use crate::record::page::sentence;
use crate::record::report::cost::Cost;
use crate::record::report::{Closed, Conclusion, Report};
use crate::record::safety_test::Outcome;

pub(super) fn blocks(report: &Report) -> Vec<Block> {
    [
        who(report),
        section("What we found", found(report)),
        section("What was done", done(report)),
        section("What it costs", cost(&report.cost)),
        section("Safety test after the repair", safety(report)),
        section("Before we left", [Block::List(closing(report))]),
        section("Please mind", [Block::List(cautions(report))]),
        section(
            "Signature",
            [Block::Text("Date and signature:  ______________________________________".into())],
        ),
    ]
    .concat()
}

fn who(report: &Report) -> Vec<Block> {
    let fact = |name: &'static str| report.visit.fact(name).map(|value| (name, value.to_owned()));
    let named = (!report.shop.is_empty()).then(|| ("Done by", report.shop.clone()));
    let all = [Some(("Date", report.header.opened.date())), named, fact("Customer"), fact("Place")];
    let machine = [fact("Maker"), fact("Model"), fact("Serial number")];
    let complaint =
        report.visit.fact("In the customer’s words").map(str::to_owned).or_else(|| report.complaint.clone());
    let complaint = complaint.map(|complaint| ("Complaint", complaint));
    facts(all.into_iter().flatten().chain(machine.into_iter().flatten()).chain(complaint))
        .into_iter()
        .collect()
}

fn found(report: &Report) -> Vec<Block> {
    let text = |text: String| Block::Text(text);
    let measured = match report.rows.len() {
        0 => "Nothing was measured or observed.".to_owned(),
        1 => "This rests on one measurement or observation.".to_owned(),
        count => format!(
            "This rests on {count} measurements and observations; the technician’s record holds them all."
        ),
    };
    let main = match &report.conclusion {
        Conclusion::None => vec![text("No cause was named on this visit.".into())],
        Conclusion::NothingWrong { .. } => {
            vec![text("Nothing electrical was found to be wrong with the machine.".into())]
        }
        Conclusion::NotSure { .. } => {
            vec![text(
                "The measurements do not single out one cause. Nothing was replaced on a guess.".into(),
            )]
        }
        Conclusion::Remedy { cause, behind, origin, .. } => {
            let more = [behind, origin].into_iter().flatten().map(|more| text(sentence(more)));
            [Block::Strong(sentence(cause))].into_iter().chain(more).collect()
        }
    };
    main.into_iter().chain([text(measured)]).chain(report.worth.clone().map(text)).collect()
}

fn done(report: &Report) -> Vec<Block> {
    let mut points = Vec::new();
    if let Conclusion::Remedy { remedy, sold, .. } = &report.conclusion {
        let advised =
            sold.as_ref().map_or_else(|| remedy.clone(), |sold| format!("{remedy} {}", sentence(sold)));
        points.push(match report.fixed {
            Some(true) => format!("Done as advised: {advised}"),
            Some(false) => format!("Advised, but not done: {advised}"),
            None => format!("Advised: {advised}"),
        });
    }
    points.extend(report.visit.parts.iter().cloned());
    points.extend(report.visit.adjustments.iter().cloned());
    points.extend(report.visit.runs.iter().cloned());
    if points.is_empty() {
        points.push("Nothing was replaced or set.".into());
    }
    vec![Block::List(points)]
}

/// The estimate as a table, what was agreed to below it.
pub(super) fn cost(cost: &Cost) -> Vec<Block> {
    let column = |name: &str, width, number| (name.to_owned(), width, number);
    let mut rows: Vec<Vec<String>> = cost.lines.iter().map(|line| line.to_vec()).collect();
    for (name, amount) in &cost.sums {
        rows.push(vec![String::new(), name.clone(), String::new(), String::new(), amount.clone()]);
    }
    let columns = vec![
        column("", 14, false),
        column("", 46, false),
        column("Count", 10, true),
        column("Each", 15, true),
        column("Price", 15, true),
    ];
    let until = cost.valid_until.as_ref().map(|day| Block::Text(format!("This estimate holds until {day}.")));
    [Block::Table(Table { columns, rows })]
        .into_iter()
        .chain(until)
        .chain([Block::List(cost.consents.clone())])
        .chain(cost.open.clone().map(Block::Strong))
        .collect()
}

fn safety(report: &Report) -> Vec<Block> {
    let tests = &report.visit.tests;
    if tests.iter().all(|test| test.outcome == Outcome::NotTested) {
        return vec![Block::Text(
            "Not tested. Whether your region asks for such a test after a repair, and who may make it, its rules say.".into(),
        )];
    }
    let failed = tests.iter().any(|test| test.outcome == Outcome::OutsideLimit);
    let warning = failed.then(|| {
        Block::Strong(
            "The machine did not keep a limit. Do not use it: it is to stay disconnected until it is mended."
                .into(),
        )
    });
    let points = tests.iter().map(|test| format!("{}: {}", test.step.name(), test.said)).collect();
    warning.into_iter().chain([Block::List(points)]).collect()
}

fn closing(report: &Report) -> Vec<String> {
    let line = |(item, closed): &(String, Closed)| {
        let answer = match closed {
            Closed::Answered(ClosingAnswer::Done) => "done",
            Closed::Answered(ClosingAnswer::NotApplicable) => return None,
            Closed::Answered(ClosingAnswer::NotDone) => "NOT done",
            Closed::NotAnswered => "not answered",
        };
        Some(format!("{} – {answer}", item.trim_end_matches('.')))
    };
    report.closing.iter().filter_map(line).collect()
}

fn cautions(report: &Report) -> Vec<String> {
    let caution = match &report.conclusion {
        Conclusion::Remedy { caution: Some(caution), .. } => Some(sentence(caution)),
        _ => None,
    };
    let usual = [
        "If you smell burning or gas, see water where none should be, or feel a tingle on metal: stop using the machine, \
         cut it off, and call for help.",
        "This report keeps what was measured, seen and done. It is no certificate, and claims conformity with no standard.",
        "Work inside the machine is for people trained for it. Local codes and the maker’s instructions come first.",
    ];
    caution.into_iter().chain(usual.map(str::to_owned)).collect()
}
