//! The recorded jobs, worked from their sound alone by the program as it is.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")
}

/// What the program prints for a recorded job.
fn replay(folder: &Path, out: &Path) -> String {
    let program =
        Command::new(env!("CARGO_BIN_EXE_leadhand")).arg("replay").arg(folder).arg("--out").arg(out).output();
    let output = program.expect("the program starts");
    let printed = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{printed}\n{}", String::from_utf8_lossy(&output.stderr));
    printed
}

#[test]
fn the_dryer_is_found_out_from_its_sound() {
    let out = tempfile::tempdir().expect("a folder");
    let printed = replay(&samples().join("dryer-no-heat"), out.path());
    assert!(printed.contains("conclusion: leg-two-lost; remedy: restore-supply"), "{printed}");
    assert!(printed.contains("heard: seventy degrees"), "beside the running drum:\n{printed}");
    assert!(
        printed.contains("heard: no ten point seven ohms"),
        "a slip is corrected in one breath:\n{printed}"
    );
    assert!(printed.contains("HAZARD     Two hundred forty volts at the terminal block."), "{printed}");
    for file in ["dryer-no-heat.wav", "dryer-no-heat.html", "jobs.sqlite"] {
        assert!(out.path().join(file).metadata().expect("left behind").len() > 10_000, "{file}");
    }
}

#[test]
fn sound_in_dispute_is_kept_where_it_is_asked_for_and_no_longer_than_that() {
    let out = tempfile::tempdir().expect("a folder");
    let files = out.path().join("jobs.sqlite-files");
    fs::create_dir_all(&files).expect("a folder");
    let long_ago = std::time::SystemTime::UNIX_EPOCH + std::time::Duration::from_secs(86_400 * 365);
    let old = fs::File::create(files.join("sound-9-1.wav")).expect("a file");
    old.set_modified(long_ago).expect("its time");
    fs::File::create(files.join("sound-9-2.wav")).expect("a file of today");
    let program = Command::new(env!("CARGO_BIN_EXE_leadhand"))
        .arg("replay")
        .arg(samples().join("dryer-no-heat"))
        .args(["--keep-sound", "30", "--out"])
        .arg(out.path())
        .output()
        .expect("the program starts");
    assert!(program.status.success(), "{}", String::from_utf8_lossy(&program.stderr));
    let mut names: Vec<String> = fs::read_dir(&files)
        .expect("the folder")
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    assert!(
        names.contains(&"sound-9-2.wav".to_owned()) && !names.contains(&"sound-9-1.wav".to_owned()),
        "{names:?}"
    );
    // The slip, and what took it back.
    let kept: Vec<&String> = names.iter().filter(|name| name.starts_with("sound-1-")).collect();
    assert_eq!(kept.len(), 2, "{names:?}");
    let longer = |name: &&String| fs::metadata(files.join(name)).expect("a file").len() > 16_000;
    assert!(kept.iter().all(longer), "half a second each at least: {kept:?}");
    let forget = Command::new(env!("CARGO_BIN_EXE_leadhand"))
        .args(["forget", "1", "--store"])
        .arg(out.path().join("jobs.sqlite"))
        .output()
        .expect("the program starts");
    assert!(String::from_utf8_lossy(&forget.stdout).contains("files 2"), "{forget:?}");
    assert_eq!(fs::read_dir(&files).expect("the folder").count(), 1);
}

#[test]
fn the_ice_maker_is_found_out_from_its_sound() {
    let out = tempfile::tempdir().expect("a folder");
    let printed = replay(&samples().join("ice-maker-no-ice"), out.path());
    assert!(printed.contains("conclusion: module-jammed; remedy: replace-module"), "{printed}");
    assert!(printed.contains("Take the jumper out now"), "{printed}");
}

/// The same recordings, but for one reading: an open element instead of a good one.
#[test]
fn another_reading_leads_to_another_conclusion() {
    let folder = tempfile::tempdir().expect("a folder");
    let from = samples().join("dryer-no-heat");
    for entry in fs::read_dir(&from).expect("the samples").flatten() {
        fs::copy(entry.path(), folder.path().join(entry.file_name())).expect("copied");
    }
    let open = folder.path().join("over-limit.flac");
    for file in ["heater-string.flac", "no-ten-point-seven.flac", "element.flac"] {
        fs::copy(&open, folder.path().join(file)).expect("replaced");
    }
    let printed = replay(folder.path(), folder.path());
    assert!(printed.contains("conclusion: element-open; remedy: replace-element"), "{printed}");
}

#[test]
fn what_is_missing_is_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let refused = |text: &str, wanted: &str| {
        fs::write(folder.path().join("job.toml"), text).expect("written");
        let program = Command::new(env!("CARGO_BIN_EXE_leadhand"));
        let output = { program }.arg("replay").arg(folder.path()).arg("--out").arg(folder.path()).output();
        let output = output.expect("the program starts");
        let message = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(!output.status.success() && message.contains(wanted), "{message}");
    };
    refused("say = 3", "not a recorded job");
    refused("appliance = \"drier\"\nsay = []", "no appliance model `drier`");
    refused("appliance = \"dryer-240\"\nsay = []", "no recording answers `complaint`");
}
