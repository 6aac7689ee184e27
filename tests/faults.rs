//! A disk that is full, fails, may not be written, or loses power: each told clearly, and nothing lost that was kept.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use leadhand::record::entry::{Entry, What};
use leadhand::shell::store::Store;

use crate::store::{OPENED, job, note, shop};

/// Works a job with typed words under a shell line; `$LEADHAND` is the program, `$STORE` the record.
fn under(line: &str, store: &Path) -> Output {
    let mut shell = Command::new("unshare");
    shell.args(["-rm", "sh", "-c", line]).env("LEADHAND", env!("CARGO_BIN_EXE_leadhand")).env("STORE", store);
    shell.stdin(Stdio::null()).output().unwrap()
}

/// May this process mount file systems of its own?
fn may_mount() -> bool {
    cfg!(target_os = "linux")
        && Command::new("unshare")
            .args(["-rm", "mount", "-t", "tmpfs", "tmpfs", "/mnt"])
            .output()
            .is_ok_and(|o| o.status.success())
}

/// Answers that go on for longer than the disk has room.
const TALK: &str = "(echo 'no heat'; yes done | head -n 4000)";

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&[output.stdout.clone(), output.stderr.clone()].concat()).into_owned()
}

#[test]
fn a_disk_that_gives_out_is_told_of_and_what_was_kept_is_there() {
    if !may_mount() {
        println!("skipped: 3 checks of disks that give out, no file system may be mounted here");
        return;
    }
    let (_folder, path) = shop();
    let folder = path.parent().unwrap();
    fs::create_dir_all(folder).unwrap();
    let check = |name: &str, line: String, spoken: &str, help: &str| {
        let output = under(&line, &path);
        let text = said(&output);
        assert!(text.contains(spoken), "{name}: {}", &text[text.len().saturating_sub(1500)..]);
        assert!(
            help.is_empty() || text.contains(help),
            "{name}: {}",
            &text[text.len().saturating_sub(1500)..]
        );
        assert!(!text.contains("panicked"), "{name}: {text}");
        text
    };
    let folder_text = folder.display();
    // A small disk of memory: SQLite meets ENOSPC.
    let full = format!(
        "mount -t tmpfs -o size=1500k tmpfs '{folder_text}' && {TALK} | \"$LEADHAND\" type dryer-240 --store \"$STORE\"; \
         \"$LEADHAND\" verify --store \"$STORE\"; \"$LEADHAND\" export --store \"$STORE\" | wc -l"
    );
    let text = check("full", full, "no room is left for the job record", "The record is whole");
    // What was said to be kept before the disk was full is there after it.
    let lines: usize = text.trim_end().lines().last().unwrap().trim().parse().unwrap();
    assert!(lines > 20, "{lines} lines are on record");
    // No file may grow beyond a limit: writes fail with EFBIG, which SQLite takes for a failing disk (as EIO).
    let failing = format!(
        "trap '' XFSZ; ulimit -f 300; {TALK} | \"$LEADHAND\" type dryer-240 --store '{folder_text}/failing.sqlite'; \
         \"$LEADHAND\" verify --store '{folder_text}/failing.sqlite'"
    );
    check("failing", failing, "the disk refuses to keep the job record", "");
    // A disk mounted for reading only.
    drop(Store::open(&path).unwrap());
    let mounted = format!(
        "mount --bind '{folder_text}' '{folder_text}' && mount -o remount,ro,bind '{folder_text}' && \
         {TALK} | \"$LEADHAND\" type dryer-240 --store \"$STORE\""
    );
    let output = under(&mounted, &path);
    let text = said(&output);
    assert!(!output.status.success() || text.contains("may only be read"), "{text}");
    assert!(
        text.contains("may only be read")
            || text.contains("cannot be guarded")
            || text.contains("cannot be opened"),
        "{text}"
    );
}

/// What a disk may hold after the power failed: all that was told to be on it, and any part of what came after.
#[test]
fn what_was_acknowledged_survives_the_loss_of_power() {
    let (_folder, path) = shop();
    let mut store = Store::open(&path).unwrap();
    let lease = store.create_job(OPENED).unwrap();
    let log = path.with_file_name("jobs.sqlite-wal");
    let mut acknowledged = Vec::new();
    for n in 1..=40 {
        let what = What::Noted { text: format!("note {n}, {}", "long ".repeat(n as usize * 13 % 300)) };
        store.append(&lease, &Entry { what, ..note(n) }).unwrap();
        acknowledged.push((n, fs::metadata(&log).unwrap().len()));
    }
    let (database, written) = (fs::read(&path).unwrap(), fs::read(&log).unwrap());
    let (mut seed, mut cuts) = (0x5EED_u64, 0);
    for round in 0..120_u64 {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let end = (seed >> 20) as usize % written.len();
        let (kept, safe) =
            acknowledged.iter().rev().find(|(_, at)| *at <= end as u64).copied().unwrap_or((0, 0));
        let mut torn = written[..end].to_vec();
        // What was on its way may have arrived in part, or as nothing but zeros.
        match round % 3 {
            0 => {}
            1 => torn[safe as usize..].fill(0),
            _ => torn.extend((0..4096).map(|n| (seed >> (n % 50)) as u8)),
        }
        let copy = tempfile::tempdir().unwrap();
        let at = copy.path().join("jobs.sqlite");
        fs::write(&at, &database).unwrap();
        fs::write(copy.path().join("jobs.sqlite-wal"), torn).unwrap();
        let mut store = Store::open(&at).unwrap();
        if store.count().unwrap() == 0 {
            assert_eq!(kept, 0, "round {round}");
            continue;
        }
        let there = store.entries(job(1)).unwrap().len() as u32;
        assert!(there >= kept, "round {round}: {kept} were acknowledged, {there} are there");
        assert_eq!(store.verify().unwrap().breaks, [], "round {round}");
        let lease = store.lease(job(1)).unwrap();
        assert_eq!(store.append(&lease, &note(1)).unwrap(), there + 1, "and it goes on");
        cuts += 1;
    }
    println!("120 losses of power, {cuts} of them within the job: all acknowledged entries are there");
}
