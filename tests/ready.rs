//! `leadhand ready` where something is missing: it says what, and what mends it.

use std::fs;
use std::path::Path;
use std::process::Command;

/// What it prints for a record at this place; whether it found all that a job takes.
fn ready(store: &Path) -> (String, bool) {
    let output =
        Command::new(env!("CARGO_BIN_EXE_leadhand")).arg("ready").arg("--store").arg(store).output().unwrap();
    // A sound system that finds no card says so in its own words; we say it in ours.
    let complaints = String::from_utf8_lossy(&output.stderr);
    assert!(!complaints.contains("ALSA lib"), "{complaints}");
    (String::from_utf8_lossy(&output.stdout).into_owned(), output.status.success())
}

#[test]
fn what_is_missing_is_said_with_what_mends_it() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("settings.toml"), "microfone = 1").unwrap();
    let (printed, fine) = ready(&folder.path().join("jobs.sqlite"));
    assert!(!fine, "{printed}");
    for part in [
        "ok       machines",
        "ok       weights",
        "ok       job record",
        "MISSING  settings",
        "Mend it, or remove it",
    ] {
        assert!(printed.contains(part), "{part}\n{printed}");
    }
    // A file is no folder.
    let (printed, fine) = ready(&folder.path().join("settings.toml/jobs.sqlite"));
    assert!(!fine, "{printed}");
    assert!(printed.contains("MISSING  job record") && printed.contains("--store FILE"), "{printed}");
    let parts = printed.lines().filter(|line| !line.starts_with(' ') && *line != "Ready.").count();
    assert_eq!(parts, 7, "{printed}");
}
