//! What holds in a region: set up once, spoken once a job, and never without somebody's word.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::store::shop;

/// The program with these words typed, and whether it ended well.
fn typed(store: &Path, arguments: &[&str], words: &[&str]) -> (bool, String) {
    std::fs::create_dir_all(store.parent().unwrap()).unwrap();
    let mut program = Command::new(env!("CARGO_BIN_EXE_leadhand"))
        .args(arguments)
        .arg("--store")
        .arg(store)
        .env("NO_COLOR", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = program.stdin.take().unwrap();
    for word in words {
        writeln!(stdin, "{word}").unwrap();
    }
    drop(stdin);
    let output = program.wait_with_output().unwrap();
    let said = [output.stdout, output.stderr].concat();
    (output.status.success(), String::from_utf8(said).unwrap())
}

const SUPPLY: &str = "The supply here is two hundred thirty volts";
const OTHER: &str = "made for another supply";

#[test]
fn a_region_is_spoken_once_a_job() {
    let (_folder, store) = shop();
    let (well, text) = typed(&store, &["type", "dryer-230"], &["no heat", "skip", "skip", "yes"]);
    assert!(well && !text.contains(SUPPLY) && !text.contains(OTHER), "nothing is set: {text}");
    let (well, text) = typed(&store, &["region", "europe", "--by", "M. Birch"], &["yes"]);
    assert!(well && text.contains(SUPPLY) && text.contains("says no law"), "{text}");
    let (well, text) = typed(&store, &["region"], &[]);
    assert!(well && text.contains("Europe") && text.contains("M. Birch said on 2"), "{text}");

    let (_, text) = typed(&store, &["type", "dryer-230"], &["no heat", "skip", "skip", "yes", "say again"]);
    assert_eq!(text.matches(SUPPLY).count(), 1, "{text}");
    assert!(text.contains("A plug can be turned round") && !text.contains(OTHER), "{text}");
    let (_, text) = typed(&store, &["type", "--job", "2"], &["yes"]);
    assert!(!text.contains(SUPPLY), "once a job, not once a visit: {text}");
    let (_, text) = typed(&store, &["type", "dryer-240"], &["no heat", "skip", "skip"]);
    assert!(text.contains(OTHER), "{text}");
}

/// "Dryer" is the dryer of this place; the other is not offered.
#[test]
fn machines_for_another_supply_are_not_on_the_shelf() {
    let (_folder, store) = shop();
    let (_, text) = typed(&store, &["type"], &["electric dryer"]);
    assert!(text.contains("What is wrong with it?"), "{text}");
    typed(&store, &["region", "europe", "--by", "M. Birch"], &["yes"]);
    let (_, text) = typed(&store, &["type"], &["electric dryer"]);
    assert!(!text.contains("What is wrong with it?"), "{text}");
    let (_, text) = typed(&store, &["type"], &["dryer two thirty"]);
    assert!(text.contains("What is wrong with it?"), "{text}");
}

#[test]
fn no_region_without_a_word_for_it() {
    let (_folder, store) = shop();
    for (arguments, words, why) in [
        (&["region", "europe"][..], &["yes"][..], "nobody is named"),
        (&["region", "europe", "--by", "M. Birch"], &["no"], "nothing was set"),
        (&["region", "europe", "--by", "M. Birch"], &[], "nothing was set"),
        (&["region", "atlantis", "--by", "M. Birch"], &["yes"], "no region `atlantis`"),
        (&["region", "nowhere.toml", "--by", "M. Birch"], &["yes"], "reading nowhere.toml"),
    ] {
        let (well, text) = typed(&store, arguments, words);
        assert!(!well && text.contains(why), "{arguments:?}: {text}");
        let (_, text) = typed(&store, &["region"], &[]);
        assert!(text.contains("no region is set"), "{text}");
    }
    // A profile put there by hand has nobody's word, and a job does not begin with it.
    let profile = store.with_file_name("region.toml");
    std::fs::copy("models/regions/europe.toml", &profile).unwrap();
    let (well, text) = typed(&store, &["type", "dryer-230"], &["no heat", "skip", "skip"]);
    assert!(!well && text.contains("nobody has said that they may"), "{text}");
    let own = profile.with_file_name("valley.toml");
    std::fs::copy("models/regions/europe.toml", &own).unwrap();
    let (well, text) = typed(&store, &["region", own.to_str().unwrap(), "--by", "M. Birch"], &["yes"]);
    assert!(well, "{text}");
    std::fs::write(&own, "name = \"Valley\"\nvolts = 12").unwrap();
    let (well, text) = typed(&store, &["region", own.to_str().unwrap(), "--by", "M. Birch"], &["yes"]);
    assert!(!well && text.contains("is no region's profile: TOML parse error"), "{text}");
}
