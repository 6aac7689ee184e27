//! The technician's record: every reading with band, verdict and source, belief over time, guards, and what was not tested.

use super::customer::cost;
use super::{Block, Table, facts, section};
use crate::record::job::{Remark, Standing, Voice};
use crate::record::page::section as words;
use crate::record::page::{clock, percent, sentence};
use crate::record::report::guard::Guard;
use crate::record::report::row::{Live, Row};
use crate::record::report::{Closed, Conclusion, Report};

pub(super) fn blocks(report: &Report) -> Vec<Block> {
    [
        head(report),
        section("What was found", conclusion(report)),
        section("Readings", readings(report)),
        section(
            "How the conclusion came about",
            [Block::Belief(Box::new(report.history.clone())), Block::Table(belief(report))],
        ),
        section("How the work was kept safe", [Block::List(guards(report))]),
        visit(report),
        section("Before leaving", [Block::List(report.closing.iter().map(closing).collect())]),
        section("Not tested", [Block::List(not_tested(report))]),
        section("Notes", [Block::List(remarks(&report.notes))]),
        section("Refused", [Block::List(remarks(&report.refusals))]),
        section(
            "Please note",
            [Block::List(
                words::CAUTIONS.iter().map(|c| (*c).to_owned()).chain(report.limits.clone()).collect(),
            )],
        ),
        section("The conversation, word for word", [Block::List(conversation(report))]),
    ]
    .concat()
}

fn head(report: &Report) -> Vec<Block> {
    let minutes = report.took.as_secs().div_ceil(60);
    let complaint = report.complaint.clone().map(|complaint| ("Complaint", complaint));
    let all = [("Opened", report.header.opened.to_string()), ("Took", format!("{minutes} min"))];
    facts(all.into_iter().chain(complaint)).into_iter().collect()
}

fn conclusion(report: &Report) -> Vec<Block> {
    match &report.conclusion {
        Conclusion::None => vec![Block::Text("Nothing was concluded.".into())],
        Conclusion::NothingWrong { permille } => vec![Block::Text(format!(
            "Nothing electrical was found to be wrong. Probability, given the readings: {}.",
            percent(*permille)
        ))],
        Conclusion::NotSure { likeliest } => {
            let likeliest = likeliest.as_ref().map(|(cause, permille)| {
                Block::Text(format!(
                    "Most likely: {cause} ({}). No remedy was advised on this ground.",
                    percent(*permille)
                ))
            });
            [Block::Text("The readings do not single out a cause.".into())]
                .into_iter()
                .chain(likeliest)
                .collect()
        }
        Conclusion::Remedy { cause, permille, remedy, sold, behind, caution, change, origin } => {
            let sure = format!(
                "Probability that the remedy is the right one, given the readings: {}.",
                percent(*permille)
            );
            let fact = |name, text: Option<&String>| text.map(|text| (name, sentence(text)));
            let all = [
                fact("Advised", Some(remedy)),
                fact("How it is sold", sold.as_ref()),
                fact("Cause behind it", behind.as_ref()),
                fact("Caution", caution.as_ref()),
                fact("Where it comes from", origin.as_ref()),
                fact("Could still change it", change.as_ref()),
            ];
            let fixed = report
                .fixed
                .map(|done| ("Work", if done { "said to be done" } else { "left undone" }.to_owned()));
            let worth = report.worth.clone().map(|worth| ("Repair or replace", worth));
            [Block::Strong(sentence(cause)), Block::Text(sure)]
                .into_iter()
                .chain(facts(all.into_iter().flatten().chain(fixed).chain(worth)))
                .collect()
        }
    }
}

fn readings(report: &Report) -> Vec<Block> {
    if report.rows.is_empty() {
        return vec![Block::Text("Nothing was measured or observed.".into())];
    }
    let withdrawn =
        report.withdrawn.iter().map(|text| format!("Taken back, and not taken again: {text}")).collect();
    report.rows.iter().flat_map(reading).chain([Block::List(withdrawn)]).collect()
}

fn reading(row: &Row) -> Vec<Block> {
    let expected = row.expected.as_ref().map_or_else(
        || "what to expect is not on record".to_owned(),
        |expected| {
            let source =
                row.provenance.map(|source| format!(" ({})", words::source(source))).unwrap_or_default();
            format!("expected {expected}{source}")
        },
    );
    let how = row.how.as_ref().map(|how| format!("{how}. ")).unwrap_or_default();
    let mut asides =
        vec![format!("{how}Heard at {}: “{}” ({}).", clock(row.at), row.words, percent(row.permille))];
    for earlier in &row.earlier {
        let fate = if earlier.standing == Standing::Corrected { "corrected" } else { "taken back" };
        asides.push(format!("Before that: {}, heard as “{}”, {fate}.", earlier.found, earlier.words));
    }
    match &row.live {
        None => {}
        Some(Live::Acknowledged { hazard, words }) => {
            asides.push(format!("Live check. Said: “{hazard}” Answered: “{words}”"));
        }
        Some(Live::NotOnRecord) => {
            asides.push("Live check. No acknowledgement of the hazard is on record.".into());
        }
    }
    let title =
        format!("{}. {}: {} – {}; {expected}", row.number, row.title, row.found, words::words(row.verdict));
    let plot = row.plot.clone().map(|plot| Block::Plot(Box::new(plot)));
    [Block::Strong(title)].into_iter().chain(plot).chain([Block::Text(asides.join(" "))]).collect()
}

/// One row a cause, one column a step; at most the last eight steps fit.
fn belief(report: &Report) -> Table {
    let history = &report.history;
    let first = history.steps.len().saturating_sub(8);
    let steps = &history.steps[first..];
    let width = (60 / steps.len().max(1)) as u8;
    let column = |step: &String| {
        (if step == "start" || step == "–" { step.clone() } else { format!("#{step}") }, width, true)
    };
    let row = |line: &crate::record::report::belief::Line| {
        let shares = line.permille[first..].iter().map(|permille| percent(*permille));
        [line.name.clone()].into_iter().chain(shares).collect()
    };
    Table {
        columns: [("Cause, after reading".to_owned(), 40, false)]
            .into_iter()
            .chain(steps.iter().map(column))
            .collect(),
        rows: history.causes.iter().map(row).collect(),
    }
}

fn guards(report: &Report) -> Vec<String> {
    let line = |guard: &Guard| match guard {
        Guard::Supply { words, why, .. } => format!("{words}: {why}"),
        Guard::Proof { place, readings } => format!("{place}: {}", readings.join("; ")),
        Guard::Acknowledged { hazard, words } => format!("Hazard spoken: “{hazard}” Answered: “{words}”"),
    };
    if report.guarded.is_empty() {
        return vec!["Nothing about the supply is on record: it was treated as live throughout.".into()];
    }
    report.guarded.iter().map(|guarded| format!("{}  {}", clock(guarded.at), line(&guarded.what))).collect()
}

/// The facts beside the readings.
pub(super) fn visit(report: &Report) -> Vec<Block> {
    let visit = &report.visit;
    let about = visit.customer.iter().chain(&visit.plate).map(|(name, value)| (*name, value.clone()));
    let about: Vec<Block> = facts(about).into_iter().collect();
    let asked = visit.interview.iter().map(|(question, answer)| format!("{question} – {answer}")).collect();
    let photographs = visit
        .photographs
        .iter()
        .map(|photo| format!("{}  {} ({})", clock(photo.at), photo.shows, photo.file))
        .collect();
    let mended: Vec<String> =
        [&visit.parts, &visit.adjustments, &visit.runs].into_iter().flatten().cloned().collect();
    let limit = |test: &crate::record::report::visit::Tested| {
        let limit = test.step.limit().map(|limit| format!(" Limit: {limit}.")).unwrap_or_default();
        format!("{}: {}.{limit}", test.step.name(), test.said)
    };
    let rules = "Limits as printed for Europe in DIN VDE 0701-0702:2008, protective class I. Elsewhere the rules of the place hold.";
    let pace =
        visit.pace.iter().map(|(name, minutes)| format!("{name} {minutes:.1} min")).collect::<Vec<_>>();
    let forgotten = visit.forgotten.then(|| Block::Strong("Personal data was removed from this job.".into()));
    [
        past(report),
        section("Customer and machine", about.into_iter().chain(forgotten)),
        section("Asked", [Block::List(asked)]),
        section("Photographs", [Block::List(photographs)]),
        section("Fitted, set and run", [Block::List(mended)]),
        section("Estimate and consent", if report.cost.is_empty() { vec![] } else { cost(&report.cost) }),
        section(
            "Safety test after the repair",
            [Block::List(visit.tests.iter().map(limit).collect()), Block::Text(rules.into())],
        ),
        section("Time", [Block::Text(pace.join(", "))]),
    ]
    .concat()
}

fn past(report: &Report) -> Vec<Block> {
    let Some(past) = &report.past else { return Vec::new() };
    let fixed = match past.fixed {
        Some(true) => " It was said to be done.",
        Some(false) => " It was left undone.",
        None => "",
    };
    let text = format!("{}, job {}: {}{fixed}", past.header.opened.date(), past.header.job, past.advised);
    let column = |name: &str, width| (name.to_owned(), width, false);
    let rows = past
        .compared
        .iter()
        .map(|(title, then, now)| vec![title.clone(), then.clone(), now.clone()])
        .collect();
    let columns = vec![column("Check", 50), column("Then", 25), column("Now", 25)];
    section("Last time here", [Block::Text(text), Block::Table(Table { columns, rows })])
}

fn closing((item, closed): &(String, Closed)) -> String {
    format!("{item} – {}", words::answer(*closed))
}

fn not_tested(report: &Report) -> Vec<String> {
    let left_out =
        report.left_out.iter().map(|title| format!("{title}: not tested; left out by the technician"));
    let not_made = (!report.not_made.is_empty())
        .then(|| format!("Checks of this machine that were not made: {}", report.not_made.join("; ")));
    left_out.chain(not_made).chain([words::SAFETY_TEST.to_owned()]).collect()
}

fn remarks(remarks: &[Remark]) -> Vec<String> {
    remarks.iter().map(|remark| format!("{}  {}", clock(remark.at), remark.text)).collect()
}

fn conversation(report: &Report) -> Vec<String> {
    let turn = |utterance: &crate::record::job::Utterance| {
        let (who, how) = match utterance.voice {
            Voice::Program => ("Leadhand", String::new()),
            Voice::Hazard => ("Leadhand, hazard voice", String::new()),
            Voice::Technician { permille, understood: true } => {
                ("Technician", format!(" ({})", percent(permille)))
            }
            Voice::Technician { .. } => ("Technician", " (not understood)".to_owned()),
        };
        format!("{}  {who}: {}{how}", clock(utterance.at), utterance.words)
    };
    report.conversation.iter().map(turn).collect()
}
