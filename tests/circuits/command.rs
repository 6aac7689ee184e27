//! `leadhand model` from outside.

use std::path::Path;
use std::process::Command;

/// Exit status, standard output, standard error.
fn leadhand(folder: &Path, arguments: &[&str]) -> (bool, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_leadhand"))
        .arg("model")
        .args(arguments)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.success(), text(&output.stdout), text(&output.stderr))
}

fn here() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

#[test]
fn probe_shows_what_a_meter_shows() {
    // Each: arguments, what stands in the answer, and what does not.
    for (arguments, shows, hides) in [
        (&["--pair", "element-1", "element-2"][..], "10.7 Ω", "V"),
        (&["--state", "running", "--pair", "line-1", "line-2"], "V", "Ω"),
        (&["--state", "running", "--fault", "leg-two-lost", "--pair", "line-1", "line-2"], "0.000 V", "240"),
        (&["--fault", "element-open", "--pair", "element-1", "element-2"], "OL", "10.7"),
        (&["--mode", "continuity", "--pair", "element-1", "element-2"], "beeps", "OL"),
        (&["--pair", "element-2", "element-1", "--json"], "\"unit\": \"Ω\"", "in 95"),
    ] {
        let arguments: Vec<&str> = ["probe", "dryer-240"].iter().chain(arguments).copied().collect();
        let (well, out, err) = leadhand(here(), &arguments);
        assert!(well && out.contains(shows), "{arguments:?}: {out}{err}");
        assert!(!out.contains(hides), "{arguments:?}: {out}");
    }
    // Every pair if none is asked for: two lines of heading, then one a pair.
    let (_, all, _) = leadhand(here(), &["probe", "dryer-240"]);
    assert_eq!(all.lines().count(), 2 + 14 * 13 / 2, "{all}");
}

#[test]
fn what_is_not_known_is_named_with_what_is() {
    for (arguments, reason, help) in [
        (&["probe", "dryer-24"][..], "no appliance model `dryer-24`", "did you mean `dryer-240`?"),
        (&["probe", "dryer-240", "--state", "runing"], "no state `runing`", "did you mean `running`?"),
        (&["probe", "dryer-240", "--fault", "moon"], "no fault `moon`", "there are:"),
        (&["probe", "dryer-240", "--pair", "line-1", "line-3"], "no point `line-3`", "did you mean `line-"),
        (&["probe", "dryer-240", "--state", "running", "--mode", "ohms"], "the supply is on", "--state"),
        (&["new", "--from", "dryer-240", "--set", "heater=10.7"], "no unit known here", "heater=10.7ohm"),
        (
            &["new", "--from", "dryer-240", "--set", "moon=1ohm", "--out", "x.toml"],
            "no element `moon`",
            "there are:",
        ),
        (&["check", "missing.toml"], "missing.toml", ""),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let (well, out, err) = leadhand(folder.path(), arguments);
        // Messages are wrapped to the width of the terminal.
        let flat = err.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ");
        assert!(!well, "{arguments:?}: {out}");
        assert!(flat.contains(reason) && flat.contains(help), "{arguments:?}: {err}");
        assert!(std::fs::read_dir(folder.path()).unwrap().next().is_none(), "{arguments:?} wrote a file");
    }
}

#[test]
fn check_tells_every_problem_with_its_line() {
    let bad = "tests/models/bad/power-mismatch.toml";
    let (well, out, err) = leadhand(here(), &["check", "tests/models/lamp.toml", bad]);
    assert!(!well && out.contains("lamp.toml: sound"), "{out}{err}");
    for part in ["power-mismatch", bad, "help:", "1 of 2 files"] {
        assert!(err.contains(part), "`{part}` is not in {err}");
    }
    let (well, out, _) = leadhand(here(), &["check", "tests/models/lamp.toml"]);
    assert!(well && out.lines().count() == 1, "{out}");
}

#[test]
fn a_copy_keeps_its_comments_and_takes_the_values() {
    let folder = tempfile::tempdir().unwrap();
    let set = ["--set", "heater=10.2ohm", "--set", "motor-run=2.1ohm"];
    let new = [&["new", "--from", "dryer-240", "--out", "mine.toml"][..], &set].concat();
    let (well, out, err) = leadhand(folder.path(), &new);
    assert!(well && out.contains("mine.toml"), "{out}{err}");
    let copy = std::fs::read_to_string(folder.path().join("mine.toml")).unwrap();
    let original = std::fs::read_to_string(here().join("models/appliances/dryer-240.toml")).unwrap();
    let comments = |text: &str| text.lines().filter(|line| line.starts_with('#')).count();
    assert_eq!(comments(&copy), comments(&original));
    for line in ["id = \"mine\"", "ohms = 10.2", "ohms = 2.1", "provenance = \"plate\""] {
        assert!(copy.contains(line), "`{line}` is not in the copy");
    }
    // It is sound, reads as set, and is not written over.
    let (_, shown, _) = leadhand(folder.path(), &["probe", "mine.toml", "--pair", "element-1", "element-2"]);
    assert!(shown.contains("10.2 Ω"), "{shown}");
    let (well, _, err) = leadhand(folder.path(), &new);
    assert!(!well && err.contains("already there"), "{err}");
    // A copy of a variant is that variant, and a value set lies over the variant's own.
    let variant = ["new", "--from", "washer-230", "--set", "heater=1900W", "--out", "washer.toml"];
    let (well, out, err) = leadhand(folder.path(), &variant);
    assert!(well, "{out}{err}");
    let (_, drawn, _) = leadhand(folder.path(), &["draw", "washer.toml"]);
    assert!(drawn.contains("27.8 Ω"), "230²/1900 is not drawn"); // by hand
    // A value that makes no sound model is told with its line, and nothing is written.
    let wrong = ["new", "--from", "dryer-240", "--set", "thermal-fuse=5ohm", "--out", "wrong.toml"];
    let (well, _, err) = leadhand(folder.path(), &wrong);
    assert!(!well && err.contains("out-of-range") && !folder.path().join("wrong.toml").exists(), "{err}");
}

#[test]
fn every_model_can_be_drawn() {
    for (name, _) in leadhand::model::shipped() {
        let (well, svg, err) = leadhand(here(), &["draw", name]);
        assert!(well, "{name}: {err}");
        assert!(svg.starts_with("<svg xmlns=") && svg.trim_end().ends_with("</svg>"), "{name}: {svg}");
        let appliance = leadhand::model::by_name(name).unwrap();
        for point in &appliance.points {
            assert!(
                svg.contains(&point.name) && svg.contains(&point.place),
                "{name}: {} is not drawn",
                point.id
            );
        }
    }
    let folder = tempfile::tempdir().unwrap();
    let live = ["draw", "dryer-240", "--state", "running", "--fault", "element-open", "--out", "dryer.svg"];
    let (well, out, err) = leadhand(folder.path(), &live);
    assert!(well && out.trim() == "dryer.svg", "{out}{err}");
    let svg = std::fs::read_to_string(folder.path().join("dryer.svg")).unwrap();
    assert!(svg.contains("class=\"fault\"") && svg.contains(" V</text>"), "{svg}");
}
