//! Listening, from sound to answer: when an answer is taken, and when it is not.

use std::path::Path;

use leadhand::id::PointId;
use leadhand::shell::ear::{Ear, Opinion};
use leadhand::shell::listener::Listener;
use leadhand::shell::recogniser::scripted::Scripted;
use leadhand::shell::sound;
use leadhand::shell::weights::{Manifest, Weights};
use leadhand::understand::heard::{Candidate, Heard};
use leadhand::understand::situation::{Kind, Situation, SpokenPoint};
use leadhand::understand::{open, typed};

const RATE: usize = 16_000;

fn clip(name: &str) -> Vec<f32> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/clips");
    sound::read(&folder.join(format!("{name}.flac"))).unwrap()
}

fn silence(seconds: f32) -> Vec<f32> {
    vec![0.0; (seconds * RATE as f32) as usize]
}

fn situation(kind: Kind) -> Situation {
    let point = |letter: &str| SpokenPoint { point: PointId::from(letter), say: vec![letter.to_owned()] };
    Situation { kind, points: ["L", "N", "M", "H", "T", "V"].map(point).to_vec(), ..Situation::default() }
}

/// What typed words mean, as surely as said.
fn means(kind: Kind, words: &str, probability: f32) -> Heard {
    let mut heard = typed(&open(&situation(kind)), words);
    heard.candidates.iter_mut().for_each(|candidate| candidate.probability = probability);
    heard
}

/// Listens to a sound with an ear that hears what it is told to; gives when it had each answer, in ms.
fn listen(script: &[Heard], sound: &[f32], situation: &Situation) -> Vec<(u64, Opinion)> {
    let manifest = Manifest::read(&Weights::folder()).unwrap();
    let ear = Ear::with(Scripted::new(script.to_vec()), manifest);
    let mut listener = Listener::new(ear, RATE as u32).unwrap();
    let heard = listener.take_patiently(sound, situation).unwrap();
    heard.into_iter().map(|(at, opinion)| (at.as_millis(), opinion)).collect()
}

/// The time from the end of "fifty ohms" to the answer, when it is heard as these words.
fn waits(words: &str, probability: f32) -> u64 {
    let sound = [silence(1.0), clip("fifty-ohms"), silence(3.0)].concat();
    let heard = means(Kind::Reading, words, probability);
    let script = vec![heard; 3];
    let found = listen(&script, &sound, &situation(Kind::Reading));
    assert_eq!(found.len(), 1, "{words}");
    let limits = leadhand::hear::endpoint::Limits::SHORT;
    let spoken = leadhand::hear::utterances(&sound, limits);
    found[0].0 - spoken[0].speech_end.as_millis()
}

#[test]
fn complete_words_are_taken_at_the_pause_and_incomplete_ones_get_time() {
    assert_eq!(waits("fifty ohms", 1.0), 240);
    // What is doubtful, or may go on, waits for the usual silence; what must go on for a long one.
    assert_eq!(waits("fifty ohms", 0.7), 600);
    assert_eq!(waits("fifty", 1.0), 600);
    assert_eq!(waits("fifty point", 1.0), 2_000);
    assert_eq!(waits("the kids are home", 1.0), 600);
}

#[test]
fn speech_that_goes_on_is_one_answer() {
    let sound = [silence(1.0), clip("ten-point"), silence(0.9), clip("seven-ohms"), silence(3.0)].concat();
    let (begun, whole) =
        (means(Kind::Reading, "ten point", 1.0), means(Kind::Reading, "ten point seven ohms", 1.0));
    let found = listen(&[begun, whole.clone(), whole.clone()], &sound, &situation(Kind::Reading));
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].1.heard, whole);
    // Without patience it would have been two.
    let (first, second) = (means(Kind::Reading, "ten", 1.0), means(Kind::Reading, "seven ohms", 1.0));
    assert_eq!(listen(&[first, second.clone(), second], &sound, &situation(Kind::Reading)).len(), 2);
}

#[test]
fn what_is_dangerous_must_be_heard_twice() {
    let sound = [silence(1.0), clip("live-at-l-and-h"), silence(3.0)].concat();
    let careful = situation(Kind::Acknowledge).carefully();
    let live = means(Kind::Acknowledge, "live at L and H", 0.95);
    let other = means(Kind::Acknowledge, "live at L and N", 0.95);
    let understood = |script: &[Heard]| {
        let found = listen(script, &sound, &careful);
        assert_eq!(found.len(), 1);
        found[0].1.heard.understood().map(|best| best.intent.clone())
    };
    let intent = Some(live.candidates[0].intent.clone());
    assert_eq!(understood(&[live.clone(), live.clone()]), intent);
    assert_eq!(understood(&[live.clone(), other]), None);
    assert_eq!(understood(&[live, Heard { outside: 1.0, ..Heard::default() }]), None);
    // "Stop" is taken at once, whatever the second opinion.
    let stop = means(Kind::Acknowledge, "stop", 0.95);
    let nothing = Heard { outside: 1.0, ..Heard::default() };
    assert_eq!(understood(&[stop.clone(), nothing]), Some(stop.candidates[0].intent.clone()));
}

/// Noise of a fan, so many decibels below the speech.
fn in_noise(speech: &[f32], below: f32) -> Vec<f32> {
    let mut state = 1_u64;
    let mut low = 0.0;
    let noise: Vec<f32> = (0..speech.len() + 4 * RATE)
        .map(|_| {
            // Knuth's MMIX generator.
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            low += 0.2 * ((state >> 33) as f32 / (1_u64 << 30) as f32 - 1.0 - low);
            low
        })
        .collect();
    let power = |samples: &[f32]| samples.iter().map(|s| s * s).sum::<f32>() / samples.len() as f32;
    let gain = (power(speech) / power(&noise) / 10_f32.powf(below / 10.0)).sqrt();
    let mut sound = [silence(2.0), speech.to_vec(), silence(2.0)].concat();
    sound.iter_mut().zip(noise).for_each(|(sample, noise)| *sample += gain * noise);
    sound
}

#[test]
fn what_is_dangerous_is_not_taken_in_noise() {
    let live = means(Kind::Acknowledge, "live at L and H", 0.95);
    let stop = means(Kind::Acknowledge, "stop", 0.95);
    let careful = situation(Kind::Acknowledge).carefully();
    let too_noisy = |heard: &Heard, below, situation: &Situation| {
        let found = listen(&vec![heard.clone(); 8], &in_noise(&clip("live-at-l-and-h"), below), situation);
        // What the noise itself was taken for comes first.
        found.last().map(|(_, opinion)| opinion.too_noisy)
    };
    assert_eq!(too_noisy(&live, 30.0, &careful), Some(false));
    assert_eq!(too_noisy(&live, 3.0, &careful), Some(true));
    assert_eq!(too_noisy(&stop, 3.0, &careful), Some(false));
    // An ordinary answer that was understood counts; one that was not is put down to the noise only where it is loud.
    let once = situation(Kind::Acknowledge);
    assert_eq!(too_noisy(&live, 3.0, &once), Some(false));
    let unclear =
        Heard { candidates: vec![Candidate { probability: 0.3, ..live.candidates[0].clone() }], ..live };
    assert_eq!(too_noisy(&unclear, 3.0, &once), Some(true));
    assert_eq!(too_noisy(&unclear, 20.0, &once), Some(false));
}

#[test]
fn while_we_speak_a_stop_is_taken_before_its_end_and_its_beginning_is_not() {
    let sound = [silence(1.0), clip("stop"), silence(3.0)].concat();
    let spoken = leadhand::hear::utterances(&sound, leadhand::hear::endpoint::Limits::SHORT);
    let end = spoken[0].speech_end.as_millis();
    let (stop, other) = (means(Kind::StopOnly, "stop", 0.95), Heard { outside: 1.0, ..Heard::default() });
    let first = |script: &[Heard]| {
        let found = listen(script, &sound, &situation(Kind::StopOnly));
        let said = found.into_iter().find(|(_, opinion)| opinion.heard.says_stop());
        said.map(|(at, _)| i64::try_from(at).unwrap() - i64::try_from(end).unwrap())
    };
    let before_its_end = first(&vec![stop.clone(); 12]);
    assert!(before_its_end.is_some_and(|after| after < 0), "{before_its_end:?}");
    // "Start" begins like it.
    assert_eq!(first(&[vec![stop; 2], vec![other; 12]].concat()), None);
}

#[test]
fn what_was_said_before_we_listened_is_no_answer() {
    let manifest = Manifest::read(&Weights::folder()).unwrap();
    let ear = Ear::with(Scripted::new(vec![means(Kind::YesNo, "yes", 1.0); 4]), manifest);
    let mut listener = Listener::new(ear, RATE as u32).unwrap();
    let situation = situation(Kind::YesNo);
    let speech = clip("fifty-ohms");
    let (before, after) = speech.split_at(speech.len() * 2 / 3);
    assert!(
        listener.take_patiently(&[silence(1.0), before.to_vec()].concat(), &situation).unwrap().is_empty()
    );
    listener.restart();
    // What is left of the word is short and may still be heard as something, but never with what came before.
    let rest = [after.to_vec(), silence(2.0)].concat();
    let began = listener.take_patiently(&rest, &situation).unwrap().len();
    assert!(began <= 1);
    assert_eq!(listener.take_patiently(&[speech, silence(2.0)].concat(), &situation).unwrap().len(), 1);
}

#[cfg(feature = "whisper")]
#[test]
fn a_stop_is_heard_through_our_own_voice_and_our_own_voice_is_none() {
    let mut listener = Listener::new(Ear::open().unwrap(), RATE as u32).unwrap();
    let mut stops = |sound: &[f32]| {
        listener.restart();
        let found = listener.take_patiently(sound, &situation(Kind::StopOnly)).unwrap();
        found.into_iter().find(|(_, opinion)| opinion.heard.says_stop()).is_some()
    };
    let ourselves = [silence(0.5), clip("remark"), clip("live-at-l-and-h"), clip("l-to-h-71-ohms")].concat();
    assert!(!stops(&ourselves));
    let stop = clip("stop");
    for at in [RATE, RATE * 3 / 2, 2 * RATE] {
        let mut both: Vec<f32> = ourselves.iter().map(|sample| sample / 4.0).collect();
        both.iter_mut().skip(at).zip(&stop).for_each(|(sample, said)| *sample += said);
        assert!(stops(&both), "at {at}");
    }
}

#[cfg(feature = "whisper")]
#[test]
fn a_reading_said_in_two_pieces_is_heard_as_one() {
    let mut listener = Listener::new(Ear::open().unwrap(), RATE as u32).unwrap();
    let mut hear = |sound: &[f32], situation: &Situation| {
        let found = listener.take_patiently(sound, situation).unwrap();
        found
            .into_iter()
            .map(|(_, opinion)| opinion.heard.understood().map(|best| best.intent.clone()))
            .collect::<Vec<_>>()
    };
    let wanted = |kind, words| Some(means(kind, words, 1.0).candidates[0].intent.clone());
    let sound = [silence(1.0), clip("ten-point"), silence(0.9), clip("seven-ohms"), silence(3.0)].concat();
    assert_eq!(hear(&sound, &situation(Kind::Reading)), [wanted(Kind::Reading, "ten point seven ohms")]);
    let live = [clip("live-at-l-and-h"), silence(2.0)].concat();
    let careful = situation(Kind::Acknowledge).carefully();
    assert_eq!(hear(&live, &careful), [wanted(Kind::Acknowledge, "live at L and H")]);
    let remark = [clip("remark"), silence(2.0)].concat();
    assert!(hear(&remark, &careful).iter().all(Option::is_none));
}
