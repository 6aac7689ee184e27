//! A job worked to its end, by voice alone.

use std::fs;
use std::path::Path;

use leadhand::shell::script::Script;

use super::house::House;
use super::talk::Talk;

/// The recorded dryer, but for one reading: its element is open, which is found out soon.
#[test]
fn an_open_element_is_found_out_by_voice() {
    let Some(house) = House::open(1) else { return };
    let folder = house.folder().join("job");
    fs::create_dir(&folder).unwrap();
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/dryer-no-heat");
    for entry in fs::read_dir(samples).unwrap().flatten() {
        fs::copy(entry.path(), folder.join(entry.file_name())).unwrap();
    }
    for file in ["heater-string.flac", "no-ten-point-seven.flac", "element.flac"] {
        fs::copy(folder.join("over-limit.flac"), folder.join(file)).unwrap();
    }
    let mut talk = Talk::start(&house, &["dryer-240", "--pace", "2"]);
    talk.work(
        &house,
        &mut Script::read(&folder).unwrap(),
        "conclusion: element-open; remedy: replace-element",
    );
}

#[test]
fn a_kitchen_with_everything_is_ready_and_one_with_a_muted_microphone_is_not() {
    let Some(house) = House::open(1) else { return };
    let ready = || {
        let mut program = house.program(env!("CARGO_BIN_EXE_leadhand"));
        let output =
            program.args(["ready", "--store"]).arg(house.folder().join("jobs.sqlite")).output().unwrap();
        (String::from_utf8_lossy(&output.stdout).into_owned(), output.status.success())
    };
    let (printed, fine) = ready();
    assert!(fine && printed.ends_with("Ready.\n"), "{printed}");
    house.pactl(&["set-source-mute", "air.monitor", "1"]);
    let (printed, fine) = ready();
    assert!(
        !fine && printed.contains("gives no sound at all") && printed.contains("--gated-mic"),
        "{printed}"
    );
}
