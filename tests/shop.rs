//! The record of a shop: personal words that can be removed, records that travel, lists, history, money, claims.

use std::fs;
use std::path::Path;

use leadhand::record::entry::{CustomerField, Entry, PlateField, What};
use leadhand::record::header::JobId;
use leadhand::record::job::Job;
use leadhand::shell::store::exchange::Taken;
use leadhand::shell::store::{Store, Wanted};
use leadhand::time::Timestamp;

use crate::records::sample::{at_one_moment, job_of_the_dryer};
use crate::store::{OPENED, job, leadhand, shop, shop_with_jobs};

const SECRETS: [&str; 4] = ["Ada Alder", "7 Hill Lane", "555-0100", "burnt toast"];

fn customer(field: CustomerField, value: &str) -> What {
    What::Customer { field, value: value.into() }
}

fn serial(value: &str) -> What {
    What::Plate { field: PlateField::Serial, value: value.into() }
}

/// A record with one job after these entries.
fn record(path: &Path, whats: Vec<What>) -> Store {
    let mut store = Store::open(path).unwrap();
    write(&mut store, whats);
    store
}

fn write(store: &mut Store, whats: Vec<What>) {
    let lease = store.create_job(OPENED).unwrap();
    for entry in at_one_moment(whats) {
        store.append(&lease, &entry).unwrap();
    }
}

fn personal() -> Vec<What> {
    vec![
        What::Machine { appliance: "dryer-240".into() },
        customer(CustomerField::Name, SECRETS[0]),
        customer(CustomerField::Place, SECRETS[1]),
        customer(CustomerField::Telephone, SECRETS[2]),
        What::Noted { text: format!("smells of {}", SECRETS[3]) },
        What::Heard { words: SECRETS[0].into(), permille: 90, understood: false },
        serial("AB 1234"),
    ]
}

/// Does any file of the record hold these bytes?
fn lies_about(path: &Path, secret: &str) -> bool {
    let folder = fs::read_dir(path.parent().unwrap()).unwrap();
    let files = folder.map(|file| file.unwrap().path()).filter(|path| path.is_file());
    files
        .map(|file| fs::read(file).unwrap())
        .any(|bytes| bytes.windows(secret.len()).any(|w| w == secret.as_bytes()))
}

#[test]
fn what_is_forgotten_is_gone_and_the_record_stays_whole() {
    let (_folder, path) = shop();
    let mut store = record(&path, personal());
    let before = store.entries(job(1)).unwrap();
    assert_eq!(before, at_one_moment(personal()), "personal words come back while they are there");
    for secret in SECRETS {
        assert!(lies_about(&path, secret), "{secret} is on record");
    }
    let find = |store: &Store, word: &str| {
        store.jobs(&Wanted { words: vec![word.into()], ..Wanted::default() }).unwrap().len()
    };
    assert_eq!((find(&store, "alder"), find(&store, "toast")), (1, 1));

    let lease = store.lease(job(1)).unwrap();
    let forgot = store.forget(&lease, Timestamp::from_millis(9)).unwrap();
    assert_eq!((forgot.texts, forgot.files, forgot.stay), (5, 0, 0));
    for secret in SECRETS {
        assert!(!lies_about(&path, secret), "{secret} is left behind");
    }
    assert_eq!((find(&store, "alder"), find(&store, "toast"), find(&store, "1234")), (0, 0, 1));
    let after = store.entries(job(1)).unwrap();
    assert_eq!(
        (after.len(), &after[0], &after[6]),
        (8, &before[0], &before[6]),
        "the technical record stays"
    );
    assert_eq!(after[1].what, customer(CustomerField::Name, "(removed)"));
    assert_eq!(store.verify().unwrap().breaks, []);

    // Nobody else's are gone, and words that vanish otherwise show.
    write(&mut store, personal());
    let db = rusqlite::Connection::open(&path).unwrap();
    db.execute("DELETE FROM personal WHERE job = 2 AND entry = 2", []).unwrap();
    let breaks: Vec<String> = store.verify().unwrap().breaks.iter().map(ToString::to_string).collect();
    assert_eq!(breaks, ["job 2: personal words are missing that nobody removed: 1"]);
    let error = db.execute("UPDATE personal SET words = 'Eve'", []).unwrap_err().to_string();
    assert!(error.contains("removed, never changed"), "{error}");
}

#[test]
fn an_exported_record_can_be_read_back() {
    let (_folder, path) = shop_with_jobs();
    let export = leadhand(&path, &["export"]).1;
    let copy = path.with_file_name("copy.sqlite");
    fs::write(path.with_file_name("all.jsonl"), &export).unwrap();
    let (well, said) = leadhand(&copy, &["import", "all.jsonl"]);
    assert_eq!((well, said.trim_end()), (true, "Read: jobs 3; new entries 53."));
    let (well, said) = leadhand(&copy, &["import", "all.jsonl"]);
    assert_eq!((well, said.trim_end()), (true, "Read: jobs 3; new entries 0."), "twice is once");
    let (from, to) = (Store::open(&path).unwrap(), Store::open(&copy).unwrap());
    assert_eq!(from.heads().unwrap(), to.heads().unwrap());
    assert_eq!(from.entries(job(1)).unwrap(), to.entries(job(1)).unwrap());
    assert_eq!(to.verify().unwrap().breaks, []);
    let refused = to.lease(job(1)).unwrap_err();
    assert_eq!(refused.to_string(), "job 1 was written on another technician's machine");

    // A line changed, one left out, or half of one: nothing is taken in.
    let lines: Vec<&str> = export.lines().collect();
    let without: Vec<&str> =
        lines.iter().enumerate().filter(|(n, _)| *n != 5).map(|(_, line)| *line).collect();
    let late = [lines[0], lines[2]].join("\n");
    for (text, expected) in [
        (export.replacen("it turns", "it burns", 1), "was changed after it was written"),
        (export.replacen("Mrs. Alder", "Mrs. Elm", 1), "are not those that were written"),
        (without.join("\n"), "line 6: the line of its job does not come before it"),
        (late, "line 2: the line of its job does not come before it"),
        (export[..900].to_owned(), "line 3"),
        ("nonsense".to_owned(), "line 1: expected"),
    ] {
        fs::write(path.with_file_name("bad.jsonl"), text).unwrap();
        let bad = path.with_file_name("bad.sqlite");
        let (well, said) = leadhand(&bad, &["import", "bad.jsonl"]);
        let said = said.replace("\n  │ ", " ");
        assert!(!well && said.contains(expected), "{expected}: {said}");
        assert_eq!(Store::open(&bad).unwrap().count().unwrap(), 0);
        fs::remove_file(&bad).unwrap();
    }

    let technical = leadhand(&path, &["export", "--technical"]).1;
    assert!(export.contains("Mrs. Alder") && !technical.contains("Mrs. Alder"));
}

#[test]
fn what_comes_late_waits_and_what_disagrees_is_refused() {
    let (_folder, path) = shop();
    let mut from = record(&path, personal());
    write(&mut from, personal());
    let mut to = Store::open(&path.with_file_name("to.sqlite")).unwrap();
    let (first, second) = (from.parcel(job(1), 1).unwrap(), from.parcel(job(2), 1).unwrap());
    let tail = from.parcel(job(1), 4).unwrap();
    let mut head = first.clone();
    head.entries.truncate(3);
    assert_eq!(
        to.take_in(std::slice::from_ref(&second)).unwrap(),
        [Taken::Waits],
        "its first job is missing"
    );
    assert_eq!(to.take_in(&[head.clone(), tail.clone()]).unwrap(), [Taken::In(3), Taken::In(4)]);
    assert_eq!(to.take_in(&[tail, head, first.clone(), second]).unwrap()[..3], [Taken::In(0); 3]);
    assert_eq!(from.heads().unwrap(), to.heads().unwrap());

    // A copy of the record, gone on with elsewhere.
    let copy = path.with_file_name("fork.sqlite");
    from.backup(&copy).unwrap();
    let mut fork = Store::open(&copy).unwrap();
    for (store, text) in [(&mut from, "here"), (&mut fork, "there")] {
        let lease = store.lease(job(1)).unwrap();
        let entry = Entry { at: Timestamp::ZERO, what: What::Refused { why: text.into() } };
        store.append(&lease, &entry).unwrap();
    }
    let other = fork.parcel(job(1), 1).unwrap();
    let before = from.heads().unwrap();
    let error = from.take_in(&[other]).unwrap_err().to_string();
    assert!(error.ends_with("entry 8 is another one here"), "{error}");
    assert_eq!(from.heads().unwrap(), before);
}

#[test]
fn a_backup_takes_the_place_of_a_lost_record() {
    let (_folder, path) = shop_with_jobs();
    assert!(leadhand(&path, &["backup", "copy.sqlite"]).0);
    write(&mut Store::open(&path).unwrap(), personal());
    let (well, said) = leadhand(&path, &["restore", "copy.sqlite"]);
    let expected =
        "SHOP/jobs.sqlite: jobs 3, entries 53\nThe record that was there is now SHOP/jobs.sqlite-before-1.";
    assert_eq!((well, said.trim_end()), (true, expected));
    assert_eq!(Store::open(&path).unwrap().count().unwrap(), 3);
    let aside = Store::open(&path.with_file_name("jobs.sqlite-before-1")).unwrap();
    assert_eq!(aside.count().unwrap(), 4, "what was there is not lost");
    let (well, said) = leadhand(&path, &["restore", "nothing.sqlite"]);
    assert!(!well && said.contains("there is no job record at nothing.sqlite"), "{said}");
    let mut bytes = fs::read(path.with_file_name("copy.sqlite")).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle..middle + 4096].fill(0x55);
    fs::write(path.with_file_name("torn.sqlite"), bytes).unwrap();
    assert!(!leadhand(&path, &["restore", "torn.sqlite"]).0, "a torn backup replaces nothing");
    assert_eq!(Store::open(&path).unwrap().count().unwrap(), 3);
}

#[test]
fn jobs_are_found_by_what_is_in_them() {
    let (_folder, path) = shop();
    let mut store = record(&path, personal());
    write(
        &mut store,
        vec![What::Machine { appliance: "ice-maker-modular".into() }, serial("ZZ 9"), What::Finished],
    );
    let advised =
        What::Advised { remedy: Some("replace-element".into()), cause: "element-open".into(), permille: 970 };
    let back = What::CalledBack { of: store.job_hash(job(1)).unwrap().to_string() };
    write(&mut store, vec![back, serial("AB 1234"), customer(CustomerField::Name, "Zoë Ångström"), advised]);
    let check = |wanted: Wanted, expected: &[u32]| {
        let found: Vec<u32> = store.jobs(&wanted).unwrap().iter().map(|row| row.header.job.get()).collect();
        assert_eq!(found, expected, "{wanted:?}");
    };
    let all = Wanted::default;
    let words = |text: &str| Wanted { words: text.split(' ').map(str::to_owned).collect(), ..all() };
    check(all(), &[3, 2, 1]);
    check(Wanted { most: Some(1), ..all() }, &[3]);
    check(Wanted { open: Some(true), ..all() }, &[3, 1]);
    check(Wanted { open: Some(false), ..all() }, &[2]);
    check(Wanted { machine: Some("dryer-240".into()), ..all() }, &[1]);
    check(Wanted { cause: Some("element-open".into()), ..all() }, &[3]);
    check(Wanted { serial: Some("AB 1234".into()), ..all() }, &[3, 1]);
    check(Wanted { callbacks: true, ..all() }, &[3]);
    check(words("ada"), &[1]);
    check(words("ANGSTROM"), &[3]);
    check(words("hill smell"), &[1]);
    check(words("hill ice"), &[]);
    check(words("1234"), &[3, 1]);
    // Signs of the search language are only signs.
    for hostile in ["\"", "*", "a OR b", "NEAR(", "text:ada", "'; DROP TABLE job; --", "^", "-"] {
        let _ = store.jobs(&words(hostile)).unwrap();
    }
    assert_eq!(store.callbacks(job(1)).unwrap(), [job(3)]);
    assert_eq!(store.last_here("AB 1234", Some(job(3))).unwrap().unwrap().header.job, job(1));
    assert!(store.last_here("AB 1234", Some(job(1))).unwrap().is_none());
    assert!(store.last_here("none", None).unwrap().is_none());
}

#[test]
fn a_machine_on_record_is_recognised_at_the_start() {
    let (_folder, path) = shop_with_jobs();
    assert!(leadhand(&path, &["enter", "2", "plate", "serial", "AB 1234"]).0);
    let (well, said) = leadhand(&path, &["type", "dryer-240", "--serial", "AB 1234"]);
    assert!(well && said.contains("Last time here: Nothing was advised."), "{said}");
    let (well, said) = leadhand(&path, &["type", "dryer-240", "--serial", "other"]);
    assert!(well && !said.contains("Last time here"), "{said}");
    let store = Store::open(&path).unwrap();
    assert_eq!(store.row(job(4)).unwrap().serial.as_deref(), Some("AB 1234"));
    assert_eq!(store.entries(job(4)).unwrap()[2].what, serial("AB 1234"));
}

/// Words typed about a job, step by step, with what is answered.
#[test]
fn a_change_above_the_estimate_asks_for_consent() {
    let (_folder, path) = shop_with_jobs();
    fs::write(
        path.with_file_name("shop.toml"),
        "name = 'Birch Repairs'\ntechnician = 'M. Birch'\ncurrency = 'USD'\nhour = '90'\ntravel = '45'\n\
         [[tax]]\nname = 'Sales tax'\npercent = '8.25'\non = ['part']\n",
    )
    .unwrap();
    let enter = |args: &[&str]| leadhand(&path, &[&["enter", "2"], args].concat());
    let check = |args: &[&str], well: bool, expected: &str| {
        let (went, said) = enter(args);
        assert!(went == well && said.contains(expected), "{args:?}: {said}");
    };
    check(&["consent", "--who", "Ada Alder"], false, "there is no estimate to agree to");
    check(&["estimate"], false, "the estimate has no lines");
    // 34.95 + 0.5 × 90 + 45 + 8.25 % of 34.95 = 127.83.
    let first = &["estimate", "--part", "Heating element=34.95", "--hours", "0.5", "--travel"];
    check(
        first,
        true,
        "The estimate comes to $127.83.\nThe customer has not agreed to it yet: ask about $127.83 more.",
    );
    check(&["consent", "--who", "Ada Alder", "--by", "telephone"], false, "the number that was called");
    check(&["consent", "--who", "Ada Alder", "--by", "letter"], false, "expected one of");
    let (well, said) = enter(&["consent", "--who", "Ada Alder"]);
    assert!(well && said.is_empty(), "{said}");
    let more = &[
        "estimate",
        "--part",
        "Heating element=34.95",
        "--part",
        "Cutoff=22.50",
        "--hours",
        "1",
        "--travel",
    ];
    check(more, true, "ask about $69.36 more");
    check(&["consent", "--who", "Ada Alder", "--refused"], true, "ask about $69.36 more");
    let (well, said) = enter(&["consent", "--who", "Ada Alder", "--by", "telephone", "--number", "555-0100"]);
    assert!(well && said.is_empty(), "{said}");
    let (well, text) = leadhand(&path, &["report", "2", "--customer", "-o", "two.txt"]);
    assert!(well, "{text}");
    let text = fs::read_to_string(path.with_file_name("two.txt")).unwrap();
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in [
        "Ada Alder agreed by word of mouth to Heating element, Hours",
        "Ada Alder did not agree by word of mouth",
        "Ada Alder agreed by telephone (555-0100) to Heating element, Cutoff, Hours",
        "$69.36 more, $197.19 in all; taken by M. Birch.",
        "Birch Repairs",
    ] {
        assert!(flat.contains(part), "{part}: {flat}");
    }
    fs::write(path.with_file_name("shop.toml"), "hours = '90'\n").unwrap();
    check(first, false, "does not say what a shop charges");
}

#[test]
fn a_part_that_was_replaced_is_one_of_the_machine() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("jobs.sqlite");
    drop(record(&path, vec![What::Machine { appliance: "dryer-240".into() }]));
    let (well, said) = leadhand(&path, &["enter", "1", "replaced", "sprocket"]);
    assert!(
        !well && said.contains("electric dryer has no part `sprocket`") && said.contains("element"),
        "{said}"
    );
    for args in [["replaced", "element"], ["recurs", "sometimes"]] {
        let (well, said) = leadhand(&path, &[&["enter", "1"][..], &args].concat());
        assert!(well, "{said}");
    }
    assert!(leadhand(&path, &["report", "1", "-o", "one.txt"]).0);
    let text = fs::read_to_string(path.with_file_name("one.txt")).unwrap();
    let told = ["Replaced for it already? – heating element", "Does it come and go? – it comes and goes"];
    assert!(told.iter().all(|told| text.contains(told)), "{text}");
}

#[test]
fn where_a_known_screw_is_set_is_typed_in_known_words() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("jobs.sqlite");
    drop(record(&path, vec![What::Machine { appliance: "ice-maker-modular".into() }]));
    let adjusted = |setting: &str, before: &str, after: &str| {
        leadhand(&path, &["enter", "1", "adjusted", setting, before, after])
    };
    for (before, after) in
        [("as found", "two notches down"), ("middle", "as found"), ("as found", "two turns less than found")]
    {
        let (well, said) = adjusted("Fill screw", before, after);
        assert!(!well && said.contains("a quarter turn more than found"), "{said}");
    }
    assert!(adjusted("Fill screw", "as found", "half a turn less than found").0);
    assert!(adjusted("vent", "crushed", "straight").0);
    let store = Store::open(&path).unwrap();
    let job = Job::fold(&store.entries(JobId::new(1).unwrap()).unwrap());
    assert_eq!(job.adjustments[0].0, "fill screw");
}

#[test]
fn what_is_typed_stands_in_the_claim_and_the_lists() {
    let (_folder, path) = shop_with_jobs();
    fs::write(path.with_file_name("photo.png"), b"not really a picture").unwrap();
    for args in [
        &["customer", "name", "Ada Alder"][..],
        &["plate", "maker", "Norwell"],
        &["plate", "serial", "=AB+1234"],
        &["asked", "Since when?", "Since Monday"],
        &["recurs", "sometimes"],
        &["replaced", "element"],
        &["photo", "photo.png", "the terminal block"],
        &["part", "Cutoff kit", "--old", "C-1", "--new", "C-2"],
        &["part", "Motor", "--wrong"],
        &["adjusted", "Vent", "crushed", "straight"],
        &["tested", "protective-conductor", "within-limit", "--value", "0.12 ohms", "--by", "tester 4"],
        &["ran", "Ten minutes, high heat"],
        &["callback", "2"],
        &["note", "Steel hose wanted"],
    ] {
        let (well, said) = leadhand(&path, &[&["enter", "1"], args].concat());
        assert!(well, "{args:?}: {said}");
    }
    for (args, expected) in [
        (&["customer", "shoe-size", "44"][..], "unknown variant `shoe-size`, expected one of `name`"),
        (&["tested", "insulation", "passed"], "unknown variant `passed`"),
        (&["tested", "insulation", "within-limit", "--value", "2 furlongs"], "is no measured value"),
        (&["photo", "nothing.png", "nothing"], "reading nothing.png"),
        (&["recurs", "often"], "`often` is neither"),
        (&["callback", "99"], "there is no job 99"),
        (&["estimate", "--part", "Belt"], "write it as PART=PRICE"),
    ] {
        let (well, said) = leadhand(&path, &[&["enter", "1"], args].concat());
        assert!(!well && said.contains(expected), "{args:?}: {said}");
    }
    let (well, said) = leadhand(&path, &["claim", "1", "-o", "claim.csv"]);
    assert!(well && said.contains("Not on record yet: model, bought"), "{said}");
    let claim = fs::read_to_string(path.with_file_name("claim.csv")).unwrap();
    for line in [
        "customer,Ada Alder",
        "maker,Norwell",
        "serial,'=AB+1234",
        "parts.1.new,C-2",
        "failure_code,cutoff-open",
    ] {
        assert!(claim.lines().any(|l| l == line), "{line}: {claim}");
    }
    assert!(!claim.contains("Motor"), "what was not fitted is not claimed");
    let parts = leadhand(&path, &["export", "--as", "parts"]).1;
    assert_eq!(
        parts,
        "job,part,old,new,count,condition,fitted\n1,Cutoff kit,C-1,C-2,1,new,true\n1,Motor,,,1,new,false\n"
    );
    let jobs = leadhand(&path, &["export", "1", "--as", "jobs"]).1;
    assert!(jobs.lines().nth(1).unwrap().ends_with("25.3,'=AB+1234"), "{jobs}");
    let readings = leadhand(&path, &["export", "--as", "readings"]).1;
    assert!(readings.contains("1,171.0,element,15,,corrected,0.987,fifteen ohms"), "{readings}");
    // The photograph goes with what is forgotten.
    assert_eq!(fs::read_dir(path.with_file_name("jobs.sqlite-files")).unwrap().count(), 1);
    let (well, said) = leadhand(&path, &["forget", "1"]);
    assert!(well && said.starts_with("Removed from job 1: texts 7, files 1."), "{said}");
    assert_eq!(fs::read_dir(path.with_file_name("jobs.sqlite-files")).unwrap().count(), 0);
    let (well, said) = leadhand(&path, &["verify"]);
    assert!(well, "{said}");
}

/// The entries of every kind, against the schema that is shipped.
#[test]
fn every_line_is_as_the_schemas_say() {
    let (_folder, path) = shop_with_jobs();
    for args in [
        &["customer", "name", "Ada Alder"][..],
        &["part", "Cutoff kit", "--new", "C-2"],
        &["tested", "insulation", "not-tested"],
        &["tested", "protective-conductor", "within-limit", "--value", "0.12 ohms"],
        &["estimate", "--hours", "1.5"],
        &["consent", "--who", "Ada Alder", "--taken-by", "M. Birch"],
        &["callback", "2"],
    ] {
        assert!(leadhand(&path, &[&["enter", "1"], args].concat()).0, "{args:?}");
    }
    let schema = |command: &[&str]| -> jsonschema::Validator {
        let text = leadhand(&path, command).1;
        jsonschema::validator_for(&serde_json::from_str(&text).unwrap()).unwrap()
    };
    let line = schema(&["export", "--schema"]);
    let export = leadhand(&path, &["export"]).1;
    for text in export.lines() {
        let value: serde_json::Value = serde_json::from_str(text).unwrap();
        let errors: Vec<String> = line.iter_errors(&value).map(|error| error.to_string()).collect();
        assert!(errors.is_empty(), "{text}: {errors:?}");
        let mut wrong = value.clone();
        wrong["hash"] = "short".into();
        assert!(!line.is_valid(&wrong));
        if value.get("entry").is_some() {
            let mut wrong = value;
            wrong["entry"]["what"] = "unheard-of".into();
            assert!(!line.is_valid(&wrong));
        }
    }
    assert!(leadhand(&path, &["claim", "1", "-o", "claim.json"]).0);
    let claim = fs::read_to_string(path.with_file_name("claim.json")).unwrap();
    let claim: serde_json::Value = serde_json::from_str(&claim).unwrap();
    let errors: Vec<String> =
        schema(&["claim", "--schema"]).iter_errors(&claim).map(|error| format!("{error}")).collect();
    assert!(errors.is_empty(), "{errors:?}");
}

#[test]
fn the_shops_figures_are_drawn() {
    let (_folder, path) = shop();
    let mut store = Store::open(&path).unwrap();
    for _ in 0..3 {
        let lease = store.create_job(OPENED).unwrap();
        for entry in &job_of_the_dryer() {
            store.append(&lease, entry).unwrap();
        }
    }
    drop(store);
    let (well, said) = leadhand(&path, &["shop"]);
    assert!(well, "{said}");
    let page = fs::read_to_string(path.with_file_name("shop.html")).unwrap();
    assert!(page.contains("<svg") && page.contains("Closed jobs: 3.") && page.contains("25 min, jobs 3"));
    assert!(!page.contains("<script") && !page.contains("src="));
}
