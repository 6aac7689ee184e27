//! Hours in a kitchen, faster than real time: nothing below the devices has a clock of its own.

use std::f32::consts::TAU;

use leadhand::dialogue::Input;
use leadhand::hear::frame::RATE;
use leadhand::shell::conversation::Conversation;
use leadhand::shell::ear::Ear;
use leadhand::shell::listener::Listener;
use leadhand::shell::store::Store;
use leadhand::shell::voice::Voice;
use leadhand::shell::{console, job, shelf};
use leadhand::time::Timestamp;
use leadhand::understand;
use leadhand::understand::intent::Intent;
use leadhand::understand::situation::{Kind, Situation};

/// A working day, in minutes; every fourth is loud, two hours together.
const MINUTES: u64 = 480;
/// So often somebody asks for the question again.
const TURNS_A_MINUTE: u64 = 6;
/// Memory may grow by so much after the first hour: the record of the job is in it.
const MOST_GROWN: u64 = 24 << 10;

/// A minute of a machine that hums, of air, and of pots and cutlery; loud, or as quiet as a kitchen gets.
fn minute(nth: u64) -> Vec<f32> {
    let mut state = nth + 1;
    let mut dice = move || {
        // Knuth's MMIX generator.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f32 / (1_u64 << 31) as f32
    };
    let length = 60 * RATE as usize;
    let loud = nth.is_multiple_of(4);
    let level = if loud { [0.01, 0.03, 0.1][(nth / 4 % 3) as usize] } else { 0.002 };
    let mut low = 0.0;
    let mut sound: Vec<f32> = (0..length)
        .map(|n| {
            let at = n as f32 / RATE as f32;
            low += 0.1 * (2.0 * dice() - 1.0 - low);
            let hum: f32 = (1..8).map(|k| (TAU * 60.0 * k as f32 * at).sin() / k as f32).sum();
            level * (2.0 * low + 0.3 * hum * (1.0 + 0.3 * (TAU * 2.3 * at).sin()))
        })
        .collect();
    for _ in 0..if loud { 40 } else { 2 } {
        let from = (dice() * (length - RATE as usize) as f32) as usize;
        let (pitch, gain) = (800.0 + 3_500.0 * dice(), 0.05 + 0.3 * dice());
        for (n, sample) in sound[from..from + RATE as usize / 4].iter_mut().enumerate() {
            let at = n as f32 / RATE as f32;
            let ring = (TAU * pitch * at).sin() + 0.6 * (TAU * pitch * 2.76 * at).sin();
            *sample += gain * (-30.0 * at).exp() * (ring + 0.3 * dice());
        }
    }
    sound.into_iter().map(|sample| sample.clamp(-1.0, 1.0)).collect()
}

/// What this process holds in memory, in kB.
fn resident() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:")).unwrap_or_default();
    line.trim().trim_end_matches(" kB").parse().unwrap_or_default()
}

#[test]
fn in_a_day_of_kitchen_noise_nothing_is_taken_for_an_answer_and_nothing_grows() {
    if !std::env::var("LEADHAND_LIVE").is_ok_and(|text| text == "all") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(&folder.path().join("jobs.sqlite")).unwrap();
    let opened = job::open(&shelf::shipped().unwrap(), Some("dryer-240"), None, None, store).unwrap();
    let mut conversation = Conversation::new(opened.session, opened.kept);
    let mut listener = Listener::new(Ear::open().unwrap(), RATE).unwrap();
    let mut voice = Voice::new().ok();
    let situations = [
        Situation { kind: Kind::Reading, ..Situation::default() },
        Situation { kind: Kind::Acknowledge, ..Situation::default() }.carefully(),
        Situation { kind: Kind::YesNo, ..Situation::default() },
        Situation { kind: Kind::StopOnly, ..Situation::default() },
    ];
    let mut listening = conversation.turn(Timestamp::ZERO, Input::Start).listening.unwrap();
    let (mut asked, mut taken, mut early) = (0, Vec::new(), 0);
    for nth in 0..MINUTES {
        let situation = &situations[(nth / 4 % 4) as usize];
        for (at, opinion) in listener.take_patiently(&minute(nth), situation).unwrap() {
            asked += 1;
            if let Some(best) = opinion.heard.understood().filter(|_| !opinion.too_noisy) {
                let harmless =
                    !matches!(best.intent, Intent::Report(_) | Intent::Acknowledge(_) | Intent::Yes);
                taken.push((
                    harmless,
                    format!("{at}: {} ({:.2}) in {:?}", best.words, best.probability, situation.kind),
                ));
            }
        }
        for turn in 0..TURNS_A_MINUTE {
            let again = console::typed(&understand::open(&listening.situation), "say again");
            let now = Timestamp::from_millis((nth * TURNS_A_MINUTE + turn) * 60_000 / TURNS_A_MINUTE);
            let turn = conversation.turn(now, Input::Heard(again));
            for line in &turn.lines {
                voice.as_mut().map(|voice| voice.render(&line.text, line.manner).unwrap());
            }
            listening = turn.listening.unwrap();
        }
        if nth == 60 {
            early = resident();
        }
    }
    let grown = resident().saturating_sub(early);
    println!(
        "{MINUTES} minutes, {} of them loud: {asked} times something was heard, {} understood; memory grew by {grown} kB after the first hour",
        MINUTES / 4,
        taken.len()
    );
    for (_, told) in &taken {
        println!("    {told}");
    }
    assert!(taken.iter().all(|(harmless, _)| *harmless), "taken for an answer: {taken:?}");
    assert!(grown < MOST_GROWN, "memory grew by {grown} kB");
}
