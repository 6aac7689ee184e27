//! What is handed over: the customer's two pages and the technician's record, as HTML, PDF and text.

use std::path::{Path, PathBuf};
use std::process::Command;

use leadhand::model;
use leadhand::money::{Currency, Locale};
use leadhand::record::consent::{Consent, Means};
use leadhand::record::entry::{Condition, CustomerField, Entry, PartUsed, PlateField, What};
use leadhand::record::estimate::{Estimate, Kind, Line, Tax};
use leadhand::record::header::{Header, JobId, Moment};
use leadhand::record::job::Job;
use leadhand::record::page;
use leadhand::record::paper::{self, Paper};
use leadhand::record::report::Report;
use leadhand::record::report::past::Past;
use leadhand::record::safety_test::{Outcome, SafetyTest, Step};

use crate::records::sample::{self, appliance, at_one_moment, job_of_the_dryer, value};

const HEADER: Header = Header {
    job: JobId::new(3).expect("three is above zero"),
    opened: Moment { unix_ms: 1_795_615_500_000, offset_minutes: 60 },
};

fn money(text: &str) -> rust_decimal::Decimal {
    text.parse().unwrap()
}

fn customer(field: CustomerField, value: &str) -> What {
    What::Customer { field, value: value.into() }
}

fn plate(field: PlateField, value: &str) -> What {
    What::Plate { field, value: value.into() }
}

/// What is typed beside the readings. People, place and machine are invented.
fn typed() -> Vec<What> {
    let line = |kind, what: &str, count: &str, each: &str| Line {
        kind,
        what: what.into(),
        count: money(count),
        each: money(each),
    };
    vec![
        customer(CustomerField::Name, "Ada Alder"),
        customer(CustomerField::Place, "Guest house, 7 Hill Lane"),
        customer(CustomerField::Complaint, "It turns and turns and the towels stay wet"),
        plate(PlateField::Maker, "Norwell"),
        plate(PlateField::Model, "Tumble 7"),
        plate(PlateField::Serial, "AB 1234"),
        What::Asked { question: "Since when?".into(), answer: "Since Monday".into() },
        What::Photographed {
            file: "0f3a.jpg".into(),
            sha256: "0f".repeat(32),
            shows: "the terminal block".into(),
        },
        What::Estimated(Estimate {
            currency: Currency::USD,
            locale: Locale("en-US".into()),
            lines: vec![
                line(Kind::Part, "Cutoff and high limit, a pair", "1", "34.95"),
                line(Kind::Labour, "Hours", "0.75", "90"),
                line(Kind::Travel, "Coming to the place of the work", "1", "45"),
            ],
            taxes: vec![Tax { name: "Sales tax".into(), percent: money("8.25"), on: vec![Kind::Part] }],
            valid_until: Some("2026-12-25".into()),
        }),
        What::Consented(Consent {
            given: true,
            when: HEADER.opened,
            who: "Ada Alder".into(),
            means: Means::Telephone,
            number: Some("555-0100".into()),
            taken_by: "M. Birch".into(),
            work: "the pair, and three quarters of an hour".into(),
            extra: money("150.33"),
            total: money("150.33"),
            currency: Currency::USD,
            words: None,
        }),
        What::Part(PartUsed {
            part: "Cutoff and high limit".into(),
            old: Some("C-1".into()),
            new: Some("C-2".into()),
            count: 1,
            condition: Condition::New,
            fitted: true,
        }),
        What::Adjusted { setting: "Vent hose".into(), before: "crushed".into(), after: "straight".into() },
        What::Fixed { done: true },
        What::SafetyTested(SafetyTest {
            step: Step::Visual,
            outcome: Outcome::WithinLimit,
            value: None,
            by: None,
        }),
        What::Ran { how: "Ten minutes on high heat".into(), well: true },
    ]
}

/// Three jobs: one with everything, one broken off, and one on another machine where nothing was found.
fn reports() -> Vec<(&'static str, Report)> {
    let mut whole = job_of_the_dryer();
    whole.extend(at_one_moment(typed()));
    let before = Job::fold(&job_of_the_dryer());
    let whole_job = Job::fold(&whole);
    let past =
        Past::new(Header { job: JobId::new(1).unwrap(), ..HEADER }, &before, &whole_job, Some(&appliance()));
    let whole = Report {
        past: Some(past),
        shop: "Birch Repairs".into(),
        ..Report::new(HEADER, &"ab".repeat(32), &whole_job, Some(&appliance()))
    };
    let broken_off = Job::fold(&job_of_the_dryer()[..22]);
    let shipped = model::shipped();
    let (name, text) = shipped.iter().find(|(name, _)| name.contains("ice")).unwrap();
    let ice = model::load(name, text).unwrap();
    let check = ice.checks.iter().find(|check| check.id.as_str().contains("ohm")).unwrap_or(&ice.checks[0]);
    let nothing = at_one_moment(vec![
        What::Machine { appliance: ice.id.clone() },
        sample::found(check.id.as_str(), value("72"), "seventy two"),
        What::Advised { remedy: None, cause: "all-good".into(), permille: 930 },
        What::Finished,
    ]);
    vec![
        ("whole", whole),
        ("broken-off", Report::new(HEADER, &"ab".repeat(32), &broken_off, Some(&appliance()))),
        ("nothing-wrong", Report::new(HEADER, &"ab".repeat(32), &Job::fold(&nothing), Some(&ice))),
    ]
}

fn papers() -> Vec<(String, Paper)> {
    let both = |(name, report): &(&str, Report)| {
        [
            (format!("{name}-customer"), Paper::customer(report)),
            (format!("{name}-technician"), Paper::technician(report)),
        ]
    };
    reports().iter().flat_map(both).collect()
}

#[test]
fn three_jobs_read_well_as_text() {
    let all: String = papers()
        .iter()
        .map(|(name, paper)| format!("##### {name}\n{}\n", paper::text::text(paper)))
        .collect();
    insta::assert_snapshot!(all);
    for line in all.lines() {
        assert!(line.chars().count() <= 100, "{line}");
    }
}

#[test]
fn what_was_not_tested_is_never_passed() {
    for (name, report) in reports() {
        for text in [
            page::html(&report),
            paper::html::page(&Paper::customer(&report)),
            paper::text::text(&Paper::technician(&report)),
            paper::text::text(&Paper::customer(&report)),
        ] {
            assert!(text.to_lowercase().contains("not tested"), "{name}: {text}");
            assert!(!text.contains("passed"), "{name}");
        }
    }
}

/// A folder in which the papers lie as files; `LEADHAND_SHOW_PAPERS` names one that stays.
fn laid_out() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let at = std::env::var_os("LEADHAND_SHOW_PAPERS").map_or_else(|| folder.path().to_owned(), PathBuf::from);
    std::fs::create_dir_all(&at).unwrap();
    for (name, paper) in papers() {
        std::fs::write(at.join(format!("{name}.pdf")), paper::pdf::pdf(&paper).unwrap()).unwrap();
        std::fs::write(at.join(format!("{name}.html")), paper::html::page(&paper)).unwrap();
    }
    for (name, report) in reports() {
        std::fs::write(at.join(format!("{name}-page.html")), page::html(&report)).unwrap();
    }
    (folder, at)
}

/// What a program says, or `None` where it is missing.
fn run(program: &str, args: &[&str], file: &Path) -> Option<(bool, String)> {
    let output = Command::new(program).args(args).arg(file).output().ok()?;
    let said = [output.stdout, output.stderr].concat();
    Some((output.status.success(), String::from_utf8_lossy(&said).into_owned()))
}

#[test]
fn the_same_job_gives_the_same_pdf_and_other_programs_open_it() {
    let (_folder, at) = laid_out();
    let mut skipped = 0;
    for (name, paper) in papers() {
        let bytes = paper::pdf::pdf(&paper).unwrap();
        assert_eq!(bytes, paper::pdf::pdf(&paper).unwrap(), "{name}");
        let file = at.join(format!("{name}.pdf"));
        match run("qpdf", &["--check"], &file) {
            Some((well, said)) => {
                assert!(well && said.contains("No syntax or stream encoding errors"), "{name}: {said}")
            }
            None => skipped += 1,
        }
        match run("pdftotext", &["-layout", "-q"], &file) {
            Some((well, _)) => {
                let text = std::fs::read_to_string(file.with_extension("txt")).unwrap();
                assert!(
                    well && text.contains(&paper.title) && text.contains("Made by Leadhand"),
                    "{name}: {text}"
                );
            }
            None => skipped += 1,
        }
        match run("pdfinfo", &[], &file) {
            Some((_, said)) => {
                let pages: u32 =
                    said.lines().find_map(|l| l.strip_prefix("Pages:")).unwrap().trim().parse().unwrap();
                assert!(pages <= 2 || name.ends_with("technician"), "{name} has {pages} pages");
                assert!(!said.contains("JavaScript:     yes"), "{said}");
            }
            None => skipped += 1,
        }
    }
    if skipped > 0 {
        println!("skipped: {skipped} readings of PDF reports, qpdf or poppler-utils is not installed");
    }
}

#[test]
fn the_pages_are_valid_html() {
    let validator = Path::new(env!("CARGO_MANIFEST_DIR")).join("node_modules/.bin/html-validate");
    if !validator.exists() {
        println!("skipped: 9 pages to be validated, html-validate is not installed");
        return;
    }
    let (_folder, at) = laid_out();
    let rules = r#"{ "root": true, "extends": ["html-validate:standard"], "rules": { "no-inline-style": "off", "long-title": "off" } }"#;
    std::fs::write(at.join(".htmlvalidate.json"), rules).unwrap();
    let output = Command::new(validator).arg(&at).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stdout));
}

/// Text that would do harm if a browser, a reader of PDF or a terminal took it for anything but text.
const HOSTILE: [&str; 6] = [
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    ") Tj ET /JS (app.alert(1))",
    "\u{1b}[2J\u{1b}]0;title\u{7}",
    "\u{202e}txt.exe \u{2066}\u{0} \u{feff}",
    "=HYPERLINK(\"x\") 漢字 🧰 ﷽ \u{301}\u{301}\u{301}",
];

#[test]
fn hostile_text_is_inert_in_every_form() {
    for text in HOSTILE {
        let mut entries = sample::spoilt(text);
        entries.extend(at_one_moment(typed_with(text)));
        let report = Report {
            shop: text.into(),
            ..Report::new(HEADER, text, &Job::fold(&entries), Some(&appliance()))
        };
        for paper in [Paper::customer(&report), Paper::technician(&report)] {
            let html = paper::html::page(&paper);
            for tag in ["<script", "<img", "<!--"] {
                assert!(!html.contains(tag), "{tag} from {text}");
            }
            let plain = paper::text::text(&paper);
            assert!(plain.chars().all(|c| c == '\n' || !c.is_control()), "{plain:?}");
            let pdf = paper::pdf::pdf(&paper).unwrap();
            let holds = |what: &[u8]| pdf.windows(what.len()).any(|w| w == what);
            assert!(
                !holds(b"/JavaScript") && !holds(b"/JS ") && !holds(b"/Launch") && !holds(b"/URI"),
                "{text}"
            );
        }
    }
}

/// What is typed, with a text in every field that can hold one.
fn typed_with(text: &str) -> Vec<What> {
    let t = || text.to_owned();
    let fields = CustomerField::ALL.into_iter().map(|(field, _)| customer(field, text));
    let plates = PlateField::ALL.into_iter().map(|(field, _)| plate(field, text));
    let rest = typed().into_iter().map(|what| match what {
        What::Asked { .. } => What::Asked { question: t(), answer: t() },
        What::Photographed { sha256, .. } => What::Photographed { file: t(), sha256, shows: t() },
        What::Estimated(mut estimate) => {
            estimate.lines.iter_mut().for_each(|line| line.what = t());
            estimate.taxes.iter_mut().for_each(|tax| tax.name = t());
            What::Estimated(Estimate { valid_until: Some(t()), locale: Locale(t()), ..estimate })
        }
        What::Consented(consent) => What::Consented(Consent {
            who: t(),
            number: Some(t()),
            taken_by: t(),
            work: t(),
            words: Some(t()),
            ..consent
        }),
        What::Part(part) => What::Part(PartUsed { part: t(), old: Some(t()), new: Some(t()), ..part }),
        What::Adjusted { .. } => What::Adjusted { setting: t(), before: t(), after: t() },
        What::SafetyTested(test) => What::SafetyTested(SafetyTest { by: Some(t()), ..test }),
        What::Ran { well, .. } => What::Ran { how: t(), well },
        other => other,
    });
    fields.chain(plates).chain(rest).collect()
}

#[test]
fn every_kind_of_entry_is_read_back_as_it_was_written() {
    for what in typed() {
        let entry = Entry { at: leadhand::time::Timestamp::ZERO, what };
        let text = serde_json::to_string(&entry).unwrap();
        assert_eq!(serde_json::from_str::<Entry>(&text).unwrap(), entry, "{text}");
    }
}
