//! What goes wrong in a kitchen, in the middle of a job. Only `make test-live` runs these: each takes a minute or more.

use std::io::Write;
use std::time::{Duration, Instant};

use leadhand::id::ApplianceId;
use leadhand::record::entry::What;
use leadhand::record::header::JobId;
use leadhand::shell::store::Store;
use leadhand::shell::voice::system;

use super::figures::Ear;
use super::house::{House, QUIET};
use super::talk::{Talk, script};

/// A house, where the long tests are asked for.
fn house() -> Option<House> {
    if std::env::var("LEADHAND_LIVE").is_ok_and(|text| text == "all") { House::open(1) } else { None }
}

/// A dryer whose work is being proved dead.
fn proving_dead(house: &House, args: &[&str]) -> Talk {
    let mut talk = Talk::start(house, &[args, &["dryer-240", "--pace", "1.6"]].concat());
    talk.work(house, &mut script("dryer-no-heat"), "listening: dead line-1 neutral");
    talk
}

/// How long until a line holds the text.
fn time_until(talk: &mut Talk, text: &str) -> Duration {
    let started = Instant::now();
    talk.until(text);
    started.elapsed()
}

/// Is it on record that nothing counts as proved any more, and why?
fn doubted(house: &House, why: &str) -> bool {
    let store = Store::open_existing(&house.folder().join("jobs.sqlite")).unwrap();
    let entries = store.entries(JobId::new(1).unwrap()).unwrap();
    entries.iter().any(|entry| matches!(&entry.what, What::Supply { why: found, .. } if found == why))
}

#[test]
fn a_microphone_pulled_out_is_missed_at_once_and_taken_up_again() {
    let Some(mut house) = house() else { return };
    let mut talk = proving_dead(&house, &[]);
    house.unplug_microphone();
    let seen = time_until(&mut talk, "the microphone is lost");
    talk.until("HAZARD     The microphone is lost.");
    println!("a microphone pulled out: seen after {} ms", seen.as_millis());
    assert!(doubted(&house, "the microphone was lost"));
    talk.until("listening: paused");
    house.plug_microphone();
    let back = time_until(&mut talk, "the microphone is back");
    println!("and plugged in again: back after {} ms", back.as_millis());
    talk.until("I can hear you again.");
    talk.until("listening: paused");
    house.speak("resume");
    talk.until("listening: isolate");
    assert_eq!(talk.printed.matches("the microphone is back").count(), 1, "{}", talk.printed);
}

#[test]
fn a_microphone_that_comes_back_as_a_telephone_headset_goes_on() {
    let Some(mut house) = house() else { return };
    let mut talk = proving_dead(&house, &[]);
    house.unplug_microphone();
    talk.until("the microphone is lost");
    talk.until("listening: paused");
    house.plug_microphone_at("8000");
    // The sound system brings what it gives to the rate that we asked for; half of each word is lost all the same.
    talk.until("I can hear you again.");
    talk.until("listening: paused");
    house.speak("resume");
    talk.work(&house, &mut script("dryer-no-heat"), "listening: source-ack");
}

#[test]
fn a_microphone_that_gives_nothing_but_zeros_is_lost() {
    let Some(house) = house() else { return };
    let mut talk = proving_dead(&house, &[]);
    house.pactl(&["set-source-mute", "air.monitor", "1"]);
    let seen = time_until(&mut talk, "the microphone is lost");
    println!("a muted microphone: seen after {} ms", seen.as_millis());
    talk.until("listening: paused");
    house.pactl(&["set-source-mute", "air.monitor", "0"]);
    talk.until("the microphone is back");
}

#[test]
fn a_line_waits_for_a_loudspeaker_that_is_lost_and_is_said_again() {
    if house().is_none() {
        return;
    }
    let Some(mut house) = House::open_apart(1) else { return };
    let mut talk = proving_dead(&house, &["--speaker", "Mouth of the test"]);
    house.speak("say again");
    talk.until("leadhand   Still on volts");
    house.unplug_mouth();
    let seen = time_until(&mut talk, "the loudspeaker is lost");
    println!("a loudspeaker that died: seen after {} ms", seen.as_millis());
    house.plug_mouth();
    talk.until("listening: dead line-1 neutral");
    talk.work(&house, &mut script("dryer-no-heat"), "listening: dead line-2 neutral");
}

#[test]
fn noise_that_rises_is_told_and_what_proves_dead_waits_for_quiet() {
    let Some(mut house) = house() else { return };
    let mut talk = proving_dead(&house, &[]);
    house.noise(0.08);
    house.play_for(Duration::from_secs(3));
    house.speak("zero volts");
    talk.until("Too noisy.");
    house.noise(QUIET);
    talk.until("listening: dead line-1 neutral");
    talk.work(&house, &mut script("dryer-no-heat"), "listening: dead line-1 chassis");
}

#[test]
fn a_program_killed_in_the_middle_goes_on() {
    let Some(house) = house() else { return };
    let mut talk = proving_dead(&house, &[]);
    talk.kill();
    let mut talk = Talk::start(&house, &["--job", "1", "--pace", "1.6"]);
    talk.until("picked up again");
    assert!(!talk.printed.contains("What is wrong with it?"), "{}", talk.printed);
    talk.work(&house, &mut script("dryer-no-heat"), "listening: dead line-1 neutral");
}

#[test]
fn our_own_voice_in_the_microphone_is_no_answer() {
    let Some(house) = house() else { return };
    // What the loudspeaker says comes back 6 dB weaker.
    house.plug_in("module-loopback", &["source=loudspeaker.monitor", "sink=air", "latency_msec=30"]);
    let inputs = house.pactl(&["list", "short", "sink-inputs"]);
    let loopback = inputs.lines().find(|line| line.contains("module-loopback")).expect("a loopback");
    house.pactl(&["set-sink-input-volume", loopback.split('\t').next().expect("a number"), "-6dB"]);
    let mut talk = proving_dead(&house, &[]);
    // Nobody answers this one: it is asked again, and again, and then waited for.
    talk.until("listening: dead line-1 neutral");
    talk.until("listening: dead line-1 neutral");
    let answers = talk.printed.matches("listening: ").count() - 3;
    assert_eq!(talk.printed.matches("· heard: ").count(), answers, "{}", talk.all());
}

#[test]
fn a_microphone_is_chosen_by_name_and_remembered() {
    let Some(house) = house() else { return };
    house.plug_in("module-remap-source", &["source_name=headset", "master=air.monitor"]);
    let mut talk = proving_dead(&house, &["--mic", "Headset of the test"]);
    house.pactl(&["set-default-source", "loudspeaker.monitor"]);
    house.speak("say again");
    talk.until("listening: dead line-1 neutral");
    talk.kill();
    let mut talk = Talk::start(&house, &["--job", "1"]);
    talk.work(&house, &mut script("dryer-no-heat"), "listening: source-ack");
    let mut other = Talk::start(&house, &["--mic", "no such device"]);
    while other.line().is_some() {}
    let told = other.all();
    assert!(told.contains("no microphone is called") && told.contains("Monitor of Null Output"), "{told}");
}

#[test]
fn the_dryer_is_found_out_by_voice() {
    let Some(house) = house() else { return };
    let mut talk = Talk::start(&house, &["dryer-240"]);
    talk.work(&house, &mut script("dryer-no-heat"), "conclusion: leg-two-lost; remedy: restore-supply");
    let store = Store::open_existing(&house.folder().join("jobs.sqlite")).unwrap();
    let entries = store.entries(JobId::new(1).unwrap()).unwrap();
    let machine = ApplianceId::from("dryer-240");
    assert!(entries.iter().any(|entry| entry.what == What::Machine { appliance: machine.clone() }));
}

#[test]
fn the_ice_maker_is_found_out_by_voice() {
    let Some(house) = house() else { return };
    let mut talk = Talk::start(&house, &["ice-maker-modular", "--pace", "1.3"]);
    let mut script = script("ice-maker-no-ice");
    talk.work(&house, &mut script, "conclusion: module-jammed; remedy: replace-module");
}

#[test]
fn the_systems_own_voice_is_awaited_to_its_end_and_stopped() {
    let Some(house) = house() else { return };
    if system::version().is_err() {
        let told = writeln!(std::io::stderr(), "skipped: 1 live check, speech-dispatcher is not installed");
        return told.expect("stderr can be written");
    }
    let loudspeaker = Ear::at(&house, "loudspeaker.monitor");
    let mut talk = Talk::start(&house, &["dryer-240", "--voice", "system"]);
    talk.work(&house, &mut script("dryer-no-heat"), "listening: isolate");
    for _ in 0..3 {
        house.speak("say again");
        talk.until("leadhand   Unplug");
        let told = Instant::now();
        talk.until("listening: isolate");
        let listening = Instant::now();
        assert!(loudspeaker.first_after(told).is_some_and(|first| first < listening), "nothing was said");
        house.play_for(Duration::from_millis(700));
        let after = loudspeaker.last().unwrap().saturating_duration_since(listening);
        assert!(after < Duration::from_millis(150), "it still spoke for {} ms", after.as_millis());
    }
    house.speak("say again");
    talk.until("leadhand   Unplug");
    house.speak("stop");
    talk.until("listening: paused");
    assert!(talk.printed.contains("heard: stop"), "{}", talk.printed);
    assert!(!talk.printed.contains("the system's voice does not speak"), "{}", talk.printed);
}

#[test]
fn a_fitting_hears_five_readings_and_the_hazard_voice() {
    let Some(house) = house() else { return };
    let mut talk = Talk::run(&house, &["ready", "--fitting"]);
    talk.until("I listen with Monitor of Null Output.");
    talk.until("listening: yes or no");
    house.speak("yes");
    for _ in 0..5 {
        let line = talk.until("Please say: ");
        let words = line.split_once("Please say: ").unwrap().1.trim_end_matches('.').to_owned();
        talk.until("listening: a reading");
        house.speak(&words);
    }
    talk.until("HAZARD     This is how danger sounds.");
    talk.until("listening: yes or no");
    house.speak("yes");
    talk.until("hazard voice: heard");
    while talk.line().is_some() {}
    // The room's own noise is remembered: warnings rise with what is louder.
    let settings = std::fs::read_to_string(house.folder().join("settings.toml")).unwrap();
    assert!(settings.contains("noise = -6"), "{settings}");
    println!("{}", talk.printed.lines().filter(|line| line.starts_with("understood")).collect::<String>());
}

#[test]
fn a_fitting_offers_the_other_microphone_and_warns_of_a_telephone_headset() {
    let Some(house) = house() else { return };
    let properties = "source_properties=device.description=Telephone";
    house.plug_in(
        "module-remap-source",
        &["source_name=phone", "master=air.monitor", "rate=8000", properties],
    );
    let mut talk = Talk::run(&house, &["ready", "--fitting"]);
    let mut offered = Vec::new();
    // Ends with the telephone, or with the program.
    while !offered.iter().any(|name: &String| name.contains("Telephone")) {
        offered.push(talk.until("I listen with "));
        talk.until("listening: yes or no");
        let wanted = offered.last().is_some_and(|name| name.contains("Telephone"));
        house.speak(if wanted { "yes" } else { "no" });
    }
    assert!(offered.len() > 1, "{offered:?}");
    talk.until("This microphone is that of a telephone headset.");
    talk.until("I listen to the room.");
}
