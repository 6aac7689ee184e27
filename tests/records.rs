//! Entries to a job, a job to a report, a report to a page.

pub mod sample;

use leadhand::diagnose::verdict::Verdict;
use leadhand::id::CheckId;
use leadhand::reading::{Finding, Reading};
use leadhand::record::entry::{Entry, What};
use leadhand::record::header::{Header, JobId, Moment};
use leadhand::record::job::{Job, Stage, Standing};
use leadhand::record::page;
use leadhand::record::report::row::{Band, Live, Mark};
use leadhand::record::report::{Conclusion, Report};
use leadhand::safety::Supply;

use sample::{Line, appliance, job_of_the_dryer, value};

const HEADER: Header = Header {
    job: JobId::new(3).expect("three is above zero"),
    opened: Moment { unix_ms: 1_795_615_500_000, offset_minutes: 60 },
};

fn report(entries: &[Entry]) -> Report {
    Report::new(HEADER, &"ab".repeat(32), &Job::fold(entries), Some(&appliance()))
}

#[test]
fn a_job_holds_every_fact_of_its_entries() {
    let job = Job::fold(&job_of_the_dryer());
    assert_eq!(job.appliance, Some("dryer".into()));
    assert_eq!(job.complaint, Some("no-heat".into()));
    assert_eq!(job.supply(), Supply::ProvenDead);
    assert_eq!(job.stage(), Stage::Finished);
    let standing: Vec<&str> = job.findings().map(|found| found.check.as_str()).collect();
    assert_eq!(standing, ["drum", "line-to-line", "element", "motor", "cutoff", "exhaust"]);
    assert_eq!(job.found.len(), 8, "what was corrected or taken back stays");
    assert_eq!(job.skipped, [CheckId::from("element-chassis")]);
    assert_eq!((job.proofs.len(), job.acknowledgements.len()), (4, 1));
    assert_eq!((job.notes.len(), job.refusals.len(), job.resumed.len()), (1, 1, 1));
}

/// Entries, and what stands afterwards: check, standing and acknowledgement of everything found, then what is skipped.
#[test]
fn corrections_and_retractions_are_folded() {
    use Standing::{Corrected, Retracted, Stands};
    let check = |lines: Vec<What>, expected: &[(&str, Standing, Option<usize>)], skipped: &[&str]| {
        let job = Job::fold(&sample::at_one_moment(lines));
        let found: Vec<_> = job
            .found
            .iter()
            .map(|found| (found.check.as_str(), found.standing, found.acknowledged))
            .collect();
        assert_eq!(found, expected);
        assert_eq!(job.skipped.iter().map(CheckId::as_str).collect::<Vec<_>>(), skipped);
    };
    let found = |check: &str| sample::found(check, value("10.9"), "ten point nine ohms");
    let retracted = |check: &str| What::Retracted { check: check.into() };
    let skipped = |check: &str| What::Skipped { check: check.into() };
    let live = || What::Acknowledged { hazard: "Mains.".into(), words: "live and clear".into() };

    check(vec![found("a"), found("b")], &[("a", Stands, None), ("b", Stands, None)], &[]);
    check(vec![found("a"), found("a")], &[("a", Corrected, None), ("a", Stands, None)], &[]);
    check(vec![found("a"), retracted("a")], &[("a", Retracted, None)], &[]);
    check(vec![found("a"), retracted("a"), found("a")], &[("a", Retracted, None), ("a", Stands, None)], &[]);
    check(vec![retracted("a")], &[], &[]);
    check(vec![skipped("a"), skipped("a")], &[], &["a"]);
    check(vec![skipped("a"), found("a")], &[("a", Stands, None)], &[]);
    check(vec![skipped("a"), retracted("a")], &[], &[]);
    // An acknowledgement belongs to the finding after it, and to what corrects that one; not to the next check.
    check(vec![live(), found("a"), found("b")], &[("a", Stands, Some(0)), ("b", Stands, None)], &[]);
    check(vec![live(), found("a"), found("a")], &[("a", Corrected, Some(0)), ("a", Stands, Some(0))], &[]);
    check(vec![live(), live(), found("a")], &[("a", Stands, Some(1))], &[]);
}

#[test]
fn a_report_judges_each_finding_beside_what_was_expected() {
    let report = report(&job_of_the_dryer());
    let rows: Vec<_> = report
        .rows
        .iter()
        .map(|row| (row.title.as_str(), row.found.replace('\u{a0}', " "), row.verdict))
        .collect();
    assert_eq!(
        rows,
        [
            ("Drum, running", "it turns".to_owned(), Verdict::InLimits),
            ("Line one to line two, running", "241 V".to_owned(), Verdict::InLimits),
            ("Element, end to end", "10.9 Ω".to_owned(), Verdict::InLimits),
            ("Motor winding", "6.9 Ω".to_owned(), Verdict::Odd),
            ("Thermal cutoff, end to end", "OL".to_owned(), Verdict::Open),
            ("Exhaust temperature after ten minutes", "71°F".to_owned(), Verdict::Odd),
        ]
    );
    let plots: Vec<_> = report.rows.iter().filter_map(|row| row.plot.as_ref()).collect();
    assert_eq!(plots.len(), 5, "an observation has no line");
    assert_eq!(plots[1].mark, Mark::At(10.9));
    assert_eq!(plots[3].mark, Mark::Overload);
    assert!(matches!(plots[3].band, Band::Between(low, high) if low == 0.0 && high < 2.0));
    assert!(matches!(report.rows[1].live, Some(Live::Acknowledged { .. })));
    assert!(report.rows[2].live.is_none(), "the supply was off");
    assert_eq!(report.rows[2].earlier.len(), 1);
    assert_eq!(report.withdrawn, ["Element to chassis: OL"]);
}

#[test]
fn a_live_check_without_an_acknowledgement_says_so() {
    let lines = vec![
        What::Machine { appliance: "dryer".into() },
        sample::found("line-to-line", value("241"), "two forty one"),
    ];
    let report = report(&sample::at_one_moment(lines));
    assert_eq!(report.rows[0].live, Some(Live::NotOnRecord));
}

#[test]
fn what_was_advised_is_told_with_all_that_belongs_to_it() {
    let check = |remedy: Option<&str>, cause: &str, expected: &str| {
        let causes = [("all-good", 450), ("cutoff-open", 400), ("element-open", 150)];
        let causes = causes.map(|(cause, permille)| (cause.to_owned(), permille)).to_vec();
        let lines = vec![
            What::Believed { causes },
            What::Advised { remedy: remedy.map(Into::into), cause: cause.into(), permille: 950 },
        ];
        let said = match report(&sample::at_one_moment(lines)).conclusion {
            Conclusion::None => "none".to_owned(),
            Conclusion::NothingWrong { permille } => format!("nothing wrong {permille}"),
            Conclusion::NotSure { likeliest } => format!("not sure {likeliest:?}"),
            Conclusion::Remedy { cause, remedy, sold, .. } => format!("{cause} | {remedy} | {sold:?}"),
        };
        assert_eq!(said, expected);
    };
    check(
        Some("replace-pair"),
        "cutoff-open",
        "the thermal cutoff has blown | Replace the thermal cutoff and the high limit together. | Some(\"Sold as a pair.\")",
    );
    check(None, "all-good", "nothing wrong 950");
    check(None, "cannot-tell", "not sure Some((\"the thermal cutoff has blown\", 400))");
    check(Some("unknown"), "unknown", "unknown | unknown | None");
}

#[test]
fn the_page_reads_well_without_its_looks() {
    let html = page::html(&report(&job_of_the_dryer()));
    insta::assert_snapshot!(sample::text_of(&html));
    if let Ok(path) = std::env::var("LEADHAND_SHOW_PAGE") {
        std::fs::write(path, html).unwrap();
    }
}

#[test]
fn the_same_entries_give_the_same_bytes() {
    let html = || page::html(&report(&job_of_the_dryer()));
    assert_eq!(html(), html());
}

#[test]
fn every_job_has_a_page_however_short() {
    let entries = job_of_the_dryer();
    for count in 0..=entries.len() {
        let job = Job::fold(&entries[..count]);
        for appliance in [None, Some(&appliance())] {
            let html = page::html(&Report::new(HEADER, "", &job, appliance));
            assert!(html.contains("not tested by this program"), "{count}");
            assert!(!html.contains("passed"), "what was not tested has not passed");
        }
    }
}

/// Text that would do harm if a browser took it for anything but text.
const HOSTILE: [&str; 5] = [
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "' onload='alert(1)",
    "</style><svg onload=alert(1)>",
    "&lt;b&gt;<!-- ]]>",
];

#[test]
fn hostile_text_in_every_field_stays_text() {
    let plain = shape(&page::html(&report(&sample::spoilt("harmless"))));
    assert!(plain.len() > 200, "the page has its elements: {}", plain.len());
    for text in HOSTILE {
        let job = Job::fold(&sample::spoilt(text));
        for appliance in [Some(&appliance()), None] {
            let html = page::html(&Report::new(HEADER, text, &job, appliance));
            assert!(
                html.matches("alert(1)").count() > 10 || text.contains("<b>") || text.contains("&lt;"),
                "{text}"
            );
            if appliance.is_some() {
                assert_eq!(shape(&html), plain, "{text} changed what the page is made of");
            }
            for tag in ["<script", "<img", "<!--", "<b>"] {
                assert!(
                    !html.replace("<b>Leadhand", "").replace("<b>Technician", "").contains(tag),
                    "{tag} from {text}"
                );
            }
        }
    }
}

/// The tags of a page with the names of their attributes, in order: what text must not be able to change.
fn shape(html: &str) -> Vec<String> {
    let mut tags = Vec::new();
    for piece in html.split('<').skip(1) {
        let (tag, _) = piece.split_once('>').expect("every tag ends");
        let names: Vec<&str> = tag
            .split('"')
            .step_by(2)
            .flat_map(|names| names.split([' ', '=']))
            .filter(|name| !name.is_empty())
            .collect();
        tags.push(names.join(" "));
    }
    tags
}

#[test]
fn the_page_asks_nothing_of_the_network() {
    let html = page::html(&report(&job_of_the_dryer()));
    for word in ["http:", "https:", "//", "url(", "@import", "<script", "<link", "src=", "javascript:"] {
        assert!(!html.contains(word), "{word}");
    }
}

#[test]
fn readings_that_have_no_place_on_a_line_are_still_shown() {
    let check = |id: &str, reading: Reading, mark: Mark, verdict: Verdict| {
        let lines: Vec<Line> = vec![(0, sample::found(id, Finding::Reading(reading), "words"))];
        let report = report(&sample::entries(lines));
        let row = &report.rows[0];
        assert_eq!((row.plot.as_ref().unwrap().mark, row.verdict), (mark, verdict), "{id} {reading}");
        let _ = page::html(&report);
    };
    check("cutoff", Reading::Closed, Mark::At(0.0), Verdict::InLimits);
    check("cutoff", Reading::Unstable, Mark::Nowhere, Verdict::CannotTell);
    check("element-chassis", Reading::Overload, Mark::Overload, Verdict::InLimits);
}
