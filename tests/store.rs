//! The job record on disk: kept, guarded, never changed, and whole after any end of the process.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use leadhand::record::entry::{Entry, What};
use leadhand::record::header::{JobId, Moment};
use leadhand::shell::store::{Store, StoreError, Wanted};
use leadhand::time::Timestamp;
use miette::Diagnostic;
use sha2::Digest;
use tempfile::TempDir;

use crate::records::sample::{at_one_moment, job_of_the_dryer};

pub const OPENED: Moment = Moment { unix_ms: 1_795_615_500_000, offset_minutes: 60 };

pub fn note(n: u32) -> Entry {
    Entry { at: Timestamp::from_millis(u64::from(n)), what: What::Refused { why: format!("note {n}") } }
}

pub fn shop() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop/jobs.sqlite");
    (folder, path)
}

/// A store with two jobs of three entries.
fn two_jobs(path: &Path) -> Store {
    let mut store = Store::open(path).unwrap();
    for _ in 0..2 {
        let lease = store.create_job(OPENED).unwrap();
        for n in 1..=3 {
            store.append(&lease, &note(n)).unwrap();
        }
    }
    store
}

pub fn job(number: u32) -> JobId {
    JobId::new(number).unwrap()
}

#[test]
fn entries_come_back_as_they_were_kept_after_the_store_is_opened_again() {
    let (_folder, path) = shop();
    drop(two_jobs(&path));
    let store = Store::open_existing(&path).unwrap();
    for number in [1, 2] {
        assert_eq!(store.entries(job(number)).unwrap(), [note(1), note(2), note(3)]);
        assert_eq!(store.header(job(number)).unwrap().opened, OPENED);
    }
    let numbers: Vec<u32> =
        store.jobs(&Wanted::default()).unwrap().iter().map(|row| row.header.job.get()).collect();
    assert_eq!(numbers, [2, 1], "the newest first");
    assert_ne!(store.fingerprint(job(1)).unwrap(), store.fingerprint(job(2)).unwrap());
    let verified = store.verify().unwrap();
    assert_eq!((verified.jobs, verified.entries, verified.breaks), (2, 6, vec![]));
}

#[test]
fn a_job_is_open_in_one_place_at_a_time() {
    let (_folder, path) = shop();
    let mut store = Store::open(&path).unwrap();
    let lease = store.create_job(OPENED).unwrap();
    let other_window = Store::open(&path).unwrap();
    let refused = other_window.lease(lease.job()).unwrap_err();
    let ours = std::process::id();
    assert_eq!(refused.to_string(), format!("job 1 is open in another window (process {ours})"));
    assert!(store.create_job(OPENED).is_ok(), "another job is free");
    drop(lease);
    let lease = other_window.lease(job(1)).unwrap();
    drop(lease);
    let left: Vec<_> = std::fs::read_dir(path.parent().unwrap())
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.contains("-job-"))
        .collect();
    assert!(left.is_empty(), "a lease given back leaves no file: {left:?}");
}

#[test]
fn nothing_kept_can_be_changed_or_removed_through_sql() {
    let (_folder, path) = shop();
    let store = two_jobs(&path);
    let db = rusqlite::Connection::open(&path).unwrap();
    let zeros = "zeroblob(32)";
    for (sql, refusal) in [
        ("UPDATE entry SET body = '{}' WHERE job = 1".to_owned(), "an entry is never changed"),
        ("DELETE FROM entry WHERE number = 3".to_owned(), "an entry is never removed"),
        ("UPDATE job SET opened_at = 0".to_owned(), "a job is never changed"),
        ("DELETE FROM job WHERE number = 2".to_owned(), "a job is never removed"),
        (
            format!("INSERT INTO entry VALUES (1, 9, '{{}}', {zeros}, {zeros})"),
            "an entry takes the next number",
        ),
        (
            format!("INSERT OR REPLACE INTO entry VALUES (1, 2, '{{}}', {zeros}, {zeros})"),
            "an entry takes the next number",
        ),
        (format!("INSERT INTO job VALUES (9, 0, 0, {zeros}, {zeros}, 0, 9)"), "a job takes the next number"),
    ] {
        let error = db.execute(&sql, []).unwrap_err().to_string();
        assert!(error.contains(refusal), "{sql}: {error}");
    }
    assert_eq!(store.verify().unwrap().breaks, []);
}

/// What a hand with the triggers out of the way leaves behind, and what `verify` says of it.
#[test]
fn an_edit_behind_our_back_shows() {
    let check = |sql: &str, expected: &[&str]| {
        let (_folder, path) = shop();
        let store = two_jobs(&path);
        let db = rusqlite::Connection::open(&path).unwrap();
        db.execute_batch("DROP TRIGGER entry_stays; DROP TRIGGER entry_is_kept; DROP TRIGGER job_stays; DROP TRIGGER job_is_kept;").unwrap();
        db.pragma_update(None, "foreign_keys", false).unwrap();
        db.execute_batch(sql).unwrap();
        let said: Vec<String> = store.verify().unwrap().breaks.iter().map(ToString::to_string).collect();
        assert_eq!(said, expected, "{sql}");
    };
    check("SELECT 1", &[]);
    check(
        r#"UPDATE entry SET body = '{"at":2,"what":"refused","why":"note two"}' WHERE job = 1 AND number = 2"#,
        &["job 1, entry 2: was changed after it was written"],
    );
    check(
        "DELETE FROM entry WHERE job = 2 AND number = 2",
        &["job 2, entry 3: entry 2 should come here; entries were removed"],
    );
    check(
        "UPDATE entry SET previous = zeroblob(32) WHERE job = 1 AND number = 3",
        &[
            "job 1, entry 3: does not follow the entry before it",
            "job 1, entry 3: was changed after it was written",
        ],
    );
    check("UPDATE job SET opened_at = 0 WHERE number = 2", &["job 2: when it was opened was changed"]);
    check(
        "DELETE FROM job WHERE number = 1",
        &[
            "job 2: job 1 should come here; jobs were removed",
            "job 1: was removed, and left entries behind: 3",
        ],
    );
    check(
        "UPDATE entry SET body = '{}' WHERE job = 1 AND number = 1",
        &[
            "job 1, entry 1: was changed after it was written",
            "job 1, entry 1: cannot be read: missing field `at` at line 1 column 2",
        ],
    );
}

/// The message and the help of what opening gives.
fn opening(path: &Path, prepare: impl FnOnce(&Path)) -> String {
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    prepare(path);
    let error = Store::open(path).and_then(|store| store.verify()).map(|_| ()).unwrap_err();
    let shown = format!("{error}\n{}", error.help().expect("every error helps"));
    shown.replace(path.parent().unwrap().to_str().unwrap(), "SHOP")
}

#[test]
fn a_file_that_is_no_good_gets_a_clear_message() {
    let (_folder, path) = shop();
    let mut all = String::new();
    let mut check = |name: &str, prepare: &dyn Fn(&Path)| {
        let path = path.with_file_name(format!("{name}.sqlite"));
        writeln!(all, "{}\n", opening(&path, prepare)).unwrap();
    };
    check("text", &|path| {
        std::fs::write(path, "this is a shopping list, not a database\n".repeat(99)).unwrap()
    });
    check("other", &|path| {
        rusqlite::Connection::open(path).unwrap().execute_batch("CREATE TABLE other (x)").unwrap();
    });
    check("newer", &|path| {
        drop(two_jobs(path));
        rusqlite::Connection::open(path).unwrap().pragma_update(None, "user_version", 99).unwrap();
    });
    check("folder", &|path| std::fs::create_dir(path).unwrap());
    check("damaged", &|path| {
        drop(two_jobs(path));
        let mut bytes = std::fs::read(path).unwrap();
        let last = bytes.len() - 4096 * 3;
        bytes[4096..last].fill(0xAA);
        std::fs::write(path, bytes).unwrap();
    });
    insta::assert_snapshot!(all);

    let absent = Store::open_existing(Path::new("nowhere/jobs.sqlite")).unwrap_err();
    assert_eq!(absent.to_string(), "there is no job record at nowhere/jobs.sqlite");
    let under_a_file = path.with_file_name("text.sqlite").join("deeper/jobs.sqlite");
    assert!(matches!(Store::open(&under_a_file), Err(StoreError::Folder { .. })));
}

#[test]
fn a_job_that_is_not_there_is_answered_with_those_that_are() {
    let (_folder, path) = shop();
    let mut store = Store::open(&path).unwrap();
    let mut check = |jobs: u32, expected: &str| {
        for _ in 0..jobs {
            store.create_job(OPENED).unwrap();
        }
        let error = store.entries(job(40)).unwrap_err();
        assert_eq!(error.to_string(), "there is no job 40");
        assert_eq!(error.help().unwrap().to_string(), expected);
    };
    check(0, "There are no jobs yet.");
    check(1, "There is only job 1.");
    check(8, "Near it there are jobs 5, 6, 7, 8, 9. `leadhand jobs` lists all.");
}

#[test]
fn another_program_that_keeps_the_file_busy_is_told_of() {
    let (_folder, path) = shop();
    let mut store = two_jobs(&path);
    let lease = store.lease(job(1)).unwrap();
    let other = rusqlite::Connection::open(&path).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let error = store.append(&lease, &note(4)).unwrap_err();
    assert!(matches!(error, StoreError::Locked { .. }), "{error}");
    other.execute_batch("ROLLBACK").unwrap();
    assert_eq!(store.append(&lease, &note(4)).unwrap(), 4, "and then it goes on");
}

/// Names the store that this process, started again as a child, writes on until it is killed.
const WRITER: &str = "LEADHAND_TEST_WRITE_UNTIL_KILLED";

/// Not a check of its own: the child of the next one.
#[test]
fn writes_until_killed() {
    let Some(path) = std::env::var_os(WRITER) else { return };
    let mut store = Store::open(Path::new(&path)).unwrap();
    let lease = match store.newest_open().unwrap() {
        Some(row) => store.lease(row.header.job).unwrap(),
        None => store.create_job(OPENED).unwrap(),
    };
    for n in 1..=1_000_000 {
        let number = store.append(&lease, &note(n)).unwrap();
        println!("\nkept {number}");
    }
}

/// Kills a writing process at seeded random moments: what it had acknowledged is there, the chain is whole, and the
/// next process gets the lease of the dead one. `LEADHAND_CRASH_ROUNDS` asks for more rounds.
#[cfg(unix)]
#[test]
fn what_was_acknowledged_survives_kill_9() {
    let rounds: u64 = std::env::var("LEADHAND_CRASH_ROUNDS").map_or(12, |text| text.parse().unwrap());
    let (_folder, path) = shop();
    let (mut kept, mut cut) = (BTreeSet::new(), 0);
    let mut seed = 0x5EED_u64;
    for round in 0..rounds {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let (lines, spins) = (seed >> 33 & 15, seed >> 40 & 0xF_FFFF);
        let acknowledged = write_and_kill(&path, lines as usize, spins);
        for number in acknowledged {
            assert!(kept.insert(number), "round {round}: {number} was given twice");
        }

        let store = Store::open(&path).unwrap();
        if kept.is_empty() {
            continue; // killed before the first entry
        }
        let there = store.entries(job(1)).unwrap().len() as u32;
        let last = kept.last().copied().unwrap();
        assert!(there >= last, "round {round}: entry {last} was acknowledged, {there} are there");
        cut = there - kept.len() as u32;
        assert_eq!(store.verify().unwrap().breaks, [], "round {round}");
    }
    println!(
        "{rounds} kills: all {} acknowledged entries are there; {cut} more were kept unacknowledged",
        kept.len()
    );
}

/// The numbers acknowledged by a writer that is killed some spins after it has printed some lines.
#[cfg(unix)]
fn write_and_kill(path: &Path, lines: usize, spins: u64) -> Vec<u32> {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "store::writes_until_killed", "--nocapture"])
        .env(WRITER, path)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let number = |line: String| line.strip_prefix("kept ").and_then(|n| n.parse().ok());
    let mut said =
        BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok).filter_map(number);
    let mut acknowledged: Vec<u32> = said.by_ref().take(lines).collect();
    for _ in 0..spins {
        std::hint::spin_loop();
    }
    child.kill().unwrap(); // SIGKILL
    child.wait().unwrap();
    acknowledged.extend(said);
    acknowledged
}

/// Runs the program on the shop's record; what it prints, and what it says of an error, without the folder's name.
pub fn leadhand(path: &Path, args: &[&str]) -> (bool, String) {
    let folder = path.parent().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_leadhand"))
        .args(args)
        .arg("--store")
        .arg(path)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    let said = [output.stdout, output.stderr].concat();
    (output.status.success(), String::from_utf8(said).unwrap().replace(folder.to_str().unwrap(), "SHOP"))
}

/// A shop with a job of the dryer, one just opened on a machine that the program knows, and an empty one.
pub fn shop_with_jobs() -> (TempDir, PathBuf) {
    let (folder, path) = shop();
    let mut store = Store::open(&path).unwrap();
    let opened = vec![
        What::Opened { version: "0.1.0".into() },
        What::Machine { appliance: "dryer-240".into() },
        What::Complained { complaint: "no-heat".into() },
    ];
    for entries in [job_of_the_dryer(), at_one_moment(opened), vec![]] {
        let lease = store.create_job(OPENED).unwrap();
        for entry in &entries {
            store.append(&lease, entry).unwrap();
        }
    }
    (folder, path)
}

#[test]
fn the_commands_show_the_record() {
    let (_folder, path) = shop_with_jobs();
    let mut all = String::new();
    for args in [
        &["jobs"][..],
        &["jobs", "--open"],
        &["jobs", "--closed", "--cause", "cutoff-open"],
        &["jobs", "--machine", "toaster"],
        &["verify"],
        &["report", "1"],
        &["report", "job-2", "-o", "two.html"],
        &["report", "9"],
        &["report", "dryer"],
        &["report", "3", "-o", "no/such/folder.html"],
    ] {
        let (well, said) = leadhand(&path, args);
        let outcome = if well { "" } else { " (fails)" };
        writeln!(all, "$ leadhand {}{outcome}\n{said}", args.join(" ")).unwrap();
    }
    insta::assert_snapshot!(all);
    let page = std::fs::read_to_string(path.with_file_name("two.html")).unwrap();
    assert!(page.starts_with("<!DOCTYPE html>") && page.contains("Electric dryer"));
}

#[test]
fn a_backup_is_a_record_itself() {
    let (_folder, path) = shop_with_jobs();
    let copy = path.with_file_name("copy.sqlite");
    let (well, said) = leadhand(&path, &["backup", "copy.sqlite"]);
    assert_eq!((well, said.trim_end()), (true, "copy.sqlite: jobs 3, entries 53"));
    let (record, copied) = (Store::open(&path).unwrap(), Store::open_existing(&copy).unwrap());
    assert_eq!(copied.jobs(&Wanted::default()).unwrap(), record.jobs(&Wanted::default()).unwrap());
    assert_eq!(copied.entries(job(1)).unwrap(), record.entries(job(1)).unwrap());
    assert_eq!(copied.fingerprint(job(1)).unwrap(), record.fingerprint(job(1)).unwrap());
    let (well, said) = leadhand(&path, &["backup", "copy.sqlite"]);
    assert!(!well && said.contains("there is a file at copy.sqlite already"), "{said}");
    let (well, said) = leadhand(&path, &["backup", "no/such/copy.sqlite"]);
    assert!(!well && said.contains("cannot be opened: no/such/copy.sqlite"), "{said}");
}

#[test]
fn a_shop_without_jobs_says_how_the_first_is_made() {
    let (_folder, path) = shop();
    drop(Store::open(&path).unwrap());
    let (well, said) = leadhand(&path, &["jobs"]);
    assert!(well && said.starts_with("There are no jobs on record yet."), "{said}");
    let (well, said) = leadhand(&path.with_file_name("elsewhere.sqlite"), &["jobs"]);
    assert!(!well && said.contains("there is no job record at SHOP/elsewhere.sqlite"), "{said}");
}

/// The chain, checked from the exported lines alone by what `001-jobs.sql` says of it.
#[test]
fn an_export_can_be_checked_without_this_program() {
    let (_folder, path) = shop_with_jobs();
    let (well, said) = leadhand(&path, &["export"]);
    assert!(well, "{said}");
    let lines: Vec<serde_json::Value> =
        said.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(lines.len(), job_of_the_dryer().len() + 3 + 3, "three jobs, and their entries");
    let bytes = |line: &serde_json::Value, key: &str| -> Vec<u8> {
        let hex = line[key].as_str().unwrap();
        (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap()).collect()
    };
    for (text, line) in said.lines().zip(&lines) {
        let mut hash = sha2::Sha256::new();
        let number = |key: &str| line[key].as_i64().unwrap().to_be_bytes();
        hash.update(bytes(line, "previous"));
        hash.update(number("job"));
        if let Some((_, body)) = text.split_once("\"entry\":") {
            hash.update(number("number"));
            hash.update(body.strip_suffix('}').unwrap());
        } else {
            hash.update(number("opened_ms"));
            hash.update(number("offset_minutes"));
        }
        assert_eq!(hash.finalize().to_vec(), bytes(line, "hash"), "{text}");
    }
    assert_eq!(lines[1]["previous"], lines[0]["hash"]);
    assert_eq!(lines[0]["opened"], "2026-11-25T15:05:00+01:00");
    let of_one = leadhand(&path, &["export", "2"]).1;
    assert_eq!(of_one.lines().count(), 4);
}
