//! What finished jobs teach about how often each fault comes, and that it can be taken back.

use std::path::Path;
use std::sync::Arc;

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::hypothesis::Hypothesis;
use leadhand::diagnose::learn::{Learned, Lesson, Proof};
use leadhand::model::{self, Appliance, Rated};
use leadhand::record::entry::What;
use leadhand::record::header::{JobId, Moment};
use leadhand::shell::learned::Lessons;
use leadhand::shell::store::Store;

use crate::records::sample::at_one_moment;
use crate::store::{OPENED, leadhand, shop};

/// A closed job on the dryer that turns but does not heat: what was advised, and how the machine ran afterwards.
fn job(cause: &str, ran: Option<bool>) -> Vec<What> {
    let mut whats = vec![
        What::Machine { appliance: "dryer-240".into() },
        What::Complained { complaint: "no-heat".into() },
        What::Advised { remedy: None, cause: cause.into(), permille: 970 },
        What::Fixed { done: true },
    ];
    whats.extend(ran.map(|well| What::Ran { how: "ten minutes of heat".into(), well }));
    whats.push(What::Finished);
    whats
}

fn write(store: &mut Store, days_later: i64, whats: Vec<What>) -> JobId {
    let opened = Moment { unix_ms: OPENED.unix_ms + days_later * 86_400_000, ..OPENED };
    let lease = store.create_job(opened).unwrap();
    for entry in at_one_moment(whats) {
        store.append(&lease, &entry).unwrap();
    }
    lease.job()
}

fn called_back(store: &Store, of: JobId, mut whats: Vec<What>) -> Vec<What> {
    let of = store.job_hash(of).unwrap().to_string();
    whats.insert(2, What::CalledBack { of });
    whats
}

/// The belief in a fault before anything is found, by what the shop has learned.
fn believed(store: &Path, fault: &str) -> f64 {
    let learned = Lessons::beside(store).unwrap().now();
    let dryer = learned.apply(&Arc::new(model::by_name("dryer-240").unwrap()));
    // Alone, or with what brought it about.
    let ranked = Diagnosis::new(&dryer, &"no-heat".into()).belief().ranked();
    let first = |h: &Hypothesis| h.faults().next().is_some_and(|first| first.as_str() == fault);
    ranked.iter().filter(|(hypothesis, _)| first(hypothesis)).map(|(_, p)| p).sum()
}

#[test]
fn a_shop_learns_from_its_own_jobs_and_takes_it_back() {
    let (_folder, path) = shop();
    let mut store = Store::open(&path).unwrap();
    write(&mut store, 0, job("cutoff-open", Some(true)));
    write(&mut store, 0, job("cutoff-open", Some(true)));
    // Not seen to run well, not done, nothing electrical, not told: these teach nothing.
    for (cause, ran) in [
        ("element-open", None),
        ("element-open", Some(false)),
        ("all-good", Some(true)),
        ("cannot-tell", Some(true)),
        ("no-such-fault", Some(true)),
    ] {
        write(&mut store, 0, job(cause, ran));
    }
    drop(store);
    let before = believed(&path, "cutoff-open");
    // By the file: 4 of 23. "All good" has a tenth.
    assert!((before - 0.9 * 4.0 / 23.0).abs() < 1e-12, "{before}");
    let (well, looked) = leadhand(&path, &["learn", "--look"]);
    assert!(well && looked.contains("the thermal cutoff has blown"), "{looked}");
    assert_eq!(believed(&path, "cutoff-open"), before, "looking keeps nothing");
    let (well, text) = leadhand(&path, &["learn"]);
    assert!(well, "{text}");
    assert!(text.contains("17.4 % ->  24.0 %  +2.0 jobs"), "{text}");
    assert!((believed(&path, "cutoff-open") - 0.9 * 6.0 / 25.0).abs() < 1e-12);
    assert!((believed(&path, "element-open") - 0.9 * 6.0 / 25.0).abs() < 1e-12);
    let (_, again) = leadhand(&path, &["learn"]);
    assert!(again.contains("Nothing new"), "{again}");
    let (well, undone) = leadhand(&path, &["learn", "--undo"]);
    assert!(well && undone.contains("24.0 % ->  17.4 %  -2.0 jobs"), "{undone}");
    assert_eq!(believed(&path, "cutoff-open"), before);
    let (_, none) = leadhand(&path, &["learn", "--undo"]);
    assert!(none.contains("Nothing was learned"), "{none}");
}

#[test]
fn a_callback_counts_against_the_remedy() {
    let (_folder, path) = shop();
    let mut store = Store::open(&path).unwrap();
    let first = write(&mut store, 0, job("element-open", Some(true)));
    let back = called_back(&store, first, job("leg-two-lost", None));
    write(&mut store, 20, back);
    drop(store);
    let before = [believed(&path, "element-open"), believed(&path, "leg-two-lost")];
    assert!(leadhand(&path, &["learn"]).0);
    // One job is shared among the 17 of 23 that another remedy cures.
    assert!((believed(&path, "element-open") - 0.9 * 6.0 / 24.0).abs() < 1e-12);
    assert!((believed(&path, "leg-two-lost") - 0.9 * (3.0 + 3.0 / 17.0) / 24.0).abs() < 1e-12);
    assert!(believed(&path, "element-open") < before[0] && believed(&path, "leg-two-lost") > before[1]);
}

#[test]
fn a_callback_that_finds_the_cause_teaches_it() {
    let proofs = |days, ran| {
        let (_folder, path) = shop();
        let mut store = Store::open(&path).unwrap();
        let first = write(&mut store, 0, job("element-open", Some(true)));
        let back = called_back(&store, first, job("leg-two-lost", ran));
        write(&mut store, days, back);
        store.lessons(90).unwrap().iter().map(|lesson| lesson.proof).collect::<Vec<_>>()
    };
    assert_eq!(proofs(20, Some(true)), [Proof::Corrected, Proof::Confirmed]);
    assert_eq!(proofs(20, None), [Proof::CalledBack, Proof::None]);
    assert_eq!(proofs(91, Some(true)), [Proof::Confirmed, Proof::Confirmed], "too late for a callback");
}

#[test]
fn what_is_learned_stays_when_a_plate_is_read_out() {
    let (_folder, path) = shop();
    let mut store = Store::open(&path).unwrap();
    write(&mut store, 0, job("cutoff-open", Some(true)));
    drop(store);
    assert!(leadhand(&path, &["learn"]).0);
    let taught = Lessons::beside(&path).unwrap().now().apply(&Arc::new(model::by_name("dryer-240").unwrap()));
    let rated = taught.with_value("element", Rated::Watts { watts: 4000.0, volts: None }).unwrap();
    let weights =
        |appliance: &Appliance| appliance.faults.iter().map(|fault| fault.weight.clone()).collect::<Vec<_>>();
    assert_eq!(weights(&rated), weights(&taught));
    assert_ne!(weights(&rated), weights(&model::by_name("dryer-240").unwrap()), "something was learned");
}

#[test]
fn what_is_no_part_of_the_model_teaches_nothing() {
    let shelf = [Arc::new(model::by_name("dryer-240").unwrap())];
    let lesson = |appliance: &str, complaint: &str, cause: &str| Lesson {
        appliance: appliance.into(),
        complaint: complaint.into(),
        cause: cause.into(),
        proof: Proof::Confirmed,
    };
    for (appliance, complaint, cause, taught) in [
        ("dryer-240", "no-heat", "element-open", true),
        ("dryer-240", "no-heat", "vent-blocked", false),
        ("dryer-240", "no-heat", "no-such-fault", false),
        ("washer", "no-heat", "element-open", false),
    ] {
        let learned = Learned::of(&[lesson(appliance, complaint, cause)], &shelf);
        assert_eq!(!learned.is_empty(), taught, "{appliance} {complaint} {cause}");
    }
    let untouched = Learned::default().apply(&shelf[0]);
    assert!(Arc::ptr_eq(&untouched, &shelf[0]));
}

#[test]
fn a_file_that_says_nothing_sensible_is_told_of() {
    let (_folder, path) = shop();
    drop(Store::open(&path).unwrap());
    std::fs::write(path.with_file_name("learned.json"), "[{\"dryer").unwrap();
    let (well, text) = leadhand(&path, &["learn"]);
    assert!(!well && text.contains("does not say what was learned"), "{text}");
    let (well, text) = leadhand(&path.with_file_name("none.sqlite"), &["learn"]);
    assert!(!well, "{text}");
}
