//! A job of our own: a dryer that turns but does not heat. People, place and machine are invented.

use leadhand::model::{self, Appliance};
use leadhand::quantity::{Prefix, Quantity};
use leadhand::reading::{Finding, Reading};
use leadhand::record::entry::{ClosingAnswer, Entry, What};
use leadhand::safety::{ProofStage, Supply};
use leadhand::time::Timestamp;

/// A moment in seconds, and what happened.
pub type Line = (u64, What);

pub fn appliance() -> Appliance {
    let text = include_str!("dryer.toml");
    model::load("tests/records/dryer.toml", text).unwrap_or_else(|problems| panic!("{problems:?}"))
}

pub fn entries(lines: Vec<Line>) -> Vec<Entry> {
    lines.into_iter().map(|(s, what)| Entry { at: Timestamp::from_millis(s * 1000), what }).collect()
}

pub fn at_one_moment(lines: Vec<What>) -> Vec<Entry> {
    entries(lines.into_iter().map(|what| (1, what)).collect())
}

pub fn found(check: &str, finding: Finding, words: &str) -> What {
    What::Found { check: check.into(), finding, words: words.to_owned(), permille: 987, others: Vec::new() }
}

/// The same where something else may have been meant.
pub fn or(mut found: What, other: Finding) -> What {
    if let What::Found { others, .. } = &mut found {
        others.push((other, 90));
    }
    found
}

/// A number, said without its unit.
pub fn value(number: &str) -> Finding {
    let number = number.parse().unwrap();
    Finding::Reading(Reading::Value(Quantity { number, prefix: Prefix::One, unit: None }))
}

fn proof(stage: ProofStage, points: Option<(&str, &str)>, number: &str) -> What {
    let Finding::Reading(reading) = value(number) else { unreachable!("a value is a reading") };
    What::Proof { stage, points: points.map(|(a, b)| (a.into(), b.into())), reading }
}

fn said(text: &str, hazard: bool) -> What {
    What::Said { text: text.to_owned(), hazard }
}

fn heard(words: &str, permille: u16) -> What {
    What::Heard { words: words.to_owned(), permille, understood: permille > 500 }
}

fn supply(supply: Supply, why: &str) -> What {
    What::Supply { supply, why: why.to_owned() }
}

fn believed(causes: &[(&str, u16)]) -> What {
    What::Believed {
        causes: causes.iter().map(|(cause, permille)| ((*cause).to_owned(), *permille)).collect(),
    }
}

fn closed(item: &str, answer: ClosingAnswer) -> What {
    What::Closed { item: item.to_owned(), answer }
}

pub fn job_of_the_dryer() -> Vec<Entry> {
    let overload = Finding::Reading(Reading::Overload);
    let danger = "Two hundred forty volts at the terminal block.";
    entries(vec![
        (0, What::Opened { version: "0.1.0".into() }),
        (2, What::Machine { appliance: "dryer".into() }),
        (3, What::Complained { complaint: "no-heat".into() }),
        (4, believed(&[("element-open", 415), ("cutoff-open", 277), ("leg-lost", 208), ("all-good", 100)])),
        (5, said("Does the drum turn?", false)),
        (21, heard("it turns", 991)),
        (22, found("drum", Finding::Outcome("turns".into()), "it turns")),
        (22, believed(&[("element-open", 415), ("cutoff-open", 277), ("leg-lost", 208), ("all-good", 100)])),
        (30, supply(Supply::Live, "the dryer runs for a live check")),
        (31, said(danger, true)),
        (38, heard("live at line one and line two", 962)),
        (38, What::Acknowledged { hazard: danger.into(), words: "live at line one and line two".into() }),
        (39, said("Volts. Line one to line two. Reading?", false)),
        (52, heard("two forty one", 974)),
        (53, found("line-to-line", value("241"), "two forty one")),
        (53, believed(&[("element-open", 520), ("cutoff-open", 347), ("all-good", 125), ("leg-lost", 8)])),
        (60, said("Unplug the dryer.", false)),
        (75, heard("unplugged", 993)),
        (75, supply(Supply::Isolated, "said to be unplugged; not yet proved")),
        (90, proof(ProofStage::KnownSource, None, "121")),
        (104, proof(ProofStage::Work, Some(("line-1", "line-2")), "0.0")),
        (110, proof(ProofStage::Work, Some(("line-1", "chassis")), "0.1")),
        (118, proof(ProofStage::KnownSourceAgain, None, "121")),
        (118, supply(Supply::ProvenDead, "the meter was proved before and after")),
        (150, said("Ohms. Cutoff two to element two. Reading?", false)),
        (171, heard("fifteen ohms", 610)),
        (171, or(found("element", value("15"), "fifteen ohms"), value("50"))),
        (171, believed(&[("cutoff-open", 610), ("all-good", 230), ("element-open", 150), ("leg-lost", 10)])),
        (174, said("Fifteen ohms.", false)),
        (178, heard("no, ten point nine", 958)),
        (178, found("element", value("10.9"), "no, ten point nine")),
        (178, believed(&[("cutoff-open", 722), ("all-good", 249), ("leg-lost", 17), ("element-open", 12)])),
        (190, What::Resumed),
        (200, heard("kitchen radio", 120)),
        (210, found("element-chassis", overload.clone(), "O L")),
        (214, What::Retracted { check: "element-chassis".into() }),
        (215, What::Skipped { check: "element-chassis".into() }),
        (230, found("motor", value("6.9"), "six point nine ohms")),
        (230, believed(&[("cutoff-open", 722), ("all-good", 249), ("leg-lost", 17), ("element-open", 12)])),
        (260, found("cutoff", overload, "open line")),
        (260, believed(&[("cutoff-open", 991), ("all-good", 6), ("element-open", 2), ("leg-lost", 1)])),
        (300, found("exhaust", value("71"), "seventy-one degrees")),
        (300, believed(&[("cutoff-open", 997), ("all-good", 1), ("element-open", 1), ("leg-lost", 1)])),
        (
            302,
            What::Advised { remedy: Some("replace-pair".into()), cause: "cutoff-open".into(), permille: 997 },
        ),
        (310, What::Refused { why: "I do not bridge a cutoff.".into() }),
        (
            340,
            What::Noted {
                text: "Vent hose was crushed behind the machine; Mrs. Alder wants a steel one.".into(),
            },
        ),
        (1500, closed("covers", ClosingAnswer::Done)),
        (1510, closed("vent", ClosingAnswer::NotDone)),
        (1515, closed("level", ClosingAnswer::NotApplicable)),
        (1520, What::Finished),
    ])
}

/// The same job with a text in every field that can hold one.
pub fn spoilt(text: &str) -> Vec<Entry> {
    let t = || text.to_owned();
    let mut all = at_one_moment(vec![
        What::Opened { version: t() },
        What::Machine { appliance: text.into() },
        What::Complained { complaint: text.into() },
        said(text, true),
        heard(text, 900),
        heard(text, 100),
        supply(Supply::Unknown, text),
        proof(ProofStage::Work, Some((text, text)), "0"),
        What::Acknowledged { hazard: t(), words: t() },
        found("element", value("15"), text),
        found("element", Finding::Outcome(t()), text),
        found("line-to-line", value("241"), text),
        found(text, Finding::Outcome(t()), text),
        found("motor", value("3"), text),
        What::Retracted { check: "motor".into() },
        What::Rated {
            part: text.into(),
            value: Quantity { number: "12".parse().unwrap(), prefix: Prefix::One, unit: None },
        },
        What::Skipped { check: "cutoff".into() },
        What::Skipped { check: format!("{text}2").as_str().into() },
        believed(&[(text, 900), ("all-good", 100)]),
        What::Advised { remedy: Some(text.into()), cause: t(), permille: 900 },
        closed(text, ClosingAnswer::NotDone),
        What::Noted { text: t() },
        What::Refused { why: t() },
    ]);
    all.extend(at_one_moment(vec![What::Finished]));
    all
}

/// A page as a reader without eyes gets it: the text, the names of the drawings, one block a line.
pub fn text_of(html: &str) -> String {
    let body = html.split_once("<body>").expect("a page has a body").1;
    let mut text = String::new();
    for piece in body.split('<').skip(1) {
        let (tag, words) = piece.split_once('>').expect("every tag ends");
        if let Some((_, label)) = tag.split_once("aria-label=\"") {
            text.push_str(&format!("\n  [{}]", label.split('"').next().unwrap_or("")));
        }
        let name = tag.trim_start_matches('/').split(' ').next().unwrap_or("");
        let inline = ["span", "strong", "b", "dd", "td", "text", "tspan"].contains(&name);
        if matches!(name, "text" | "rect" | "line" | "polygon" | "svg") {
            continue;
        }
        if !inline && !text.ends_with('\n') {
            text.push('\n');
        }
        if inline && !text.ends_with(' ') && !words.is_empty() && !tag.starts_with('/') {
            text.push(' ');
        }
        text.push_str(words);
    }
    let lines = text.lines().map(str::trim_end).filter(|line| !line.is_empty());
    lines.collect::<Vec<_>>().join("\n").replace('\u{a0}', " ")
}
