//! From the last sound to the value: how long somebody waits who has said a reading, endpointing and all.

use std::time::Instant;

use leadhand::hear::endpoint::{Endpointer, Event, Limits};
use leadhand::hear::frame::{Framer, RATE};
use leadhand::shell::ear::Ear;
use leadhand::understand::progress::Progress;
use leadhand::understand::situation::Situation;

use crate::Extent;
use crate::clips::Group;
use crate::figures::{Draw, quantile};
use crate::mixing;
use crate::sets::Sets;

/// What was waited for, in milliseconds, and how much of it was work.
#[derive(Default)]
struct Waits {
    all: Vec<f64>,
    work: Vec<f64>,
    complete: usize,
}

pub fn run(sets: &Sets, _extent: &Extent) {
    println!("\nfrom the last sound to the value, readings by synthetic voices, quiet");
    println!(
        "{:>28} {:>5} {:>9} {:>6} {:>6} {:>9} {:>9}",
        "", "n", "at pause", "p50", "p95", "work p50", "work p95"
    );
    let mut ear = Ear::open().expect("the weights lie in models/speech");
    for set in sets.sets.iter().filter(|set| set.group == Group::Readings) {
        let mut waits = Waits::default();
        for clip in &set.clips {
            let (sound, _) = mixing::in_a_stream(&clip.speech, &mut Draw(clip.seed()));
            wait(&mut ear, &sound, &clip.opened.situation(), &mut waits);
        }
        let at = |values: &[f64], share| quantile(values, share).unwrap_or_default();
        println!(
            "{:>28} {:>5} {:>9} {:>6.0} {:>6.0} {:>9.0} {:>9.0}",
            set.name,
            waits.all.len(),
            waits.complete,
            at(&waits.all, 0.5),
            at(&waits.all, 0.95),
            at(&waits.work, 0.5),
            at(&waits.work, 0.95),
        );
    }
    println!(
        "at pause: the words were complete, so the answer was taken at the pause of 240 ms; else at 600 ms"
    );
}

/// Listens as `shell/listener.rs` does, with time counted in samples and work in milliseconds.
fn wait(ear: &mut Ear, sound: &[f32], situation: &Situation, waits: &mut Waits) {
    let mut endpointer = Endpointer::new(Limits::SHORT);
    let mut framer = Framer::new(RATE, 1).expect("our own rate is a rate");
    let mut known = None;
    for frame in framer.push(sound) {
        match endpointer.push(&frame) {
            Some(Event::Paused(utterance)) => {
                let silent = frame.begin().since(utterance.speech_end).as_secs_f64() * 1e3 + 20.0;
                let begin = Instant::now();
                let opinion = ear.judge(&utterance, situation).expect("every clip is recognised");
                let work = begin.elapsed().as_secs_f64() * 1e3;
                known = Some((silent + work, work));
                if opinion.progress == Progress::Complete {
                    endpointer.take();
                    waits.complete += 1;
                    waits.all.push(silent + work);
                    waits.work.push(work);
                    return;
                }
            }
            Some(Event::Ended(utterance)) => {
                let silent = frame.begin().since(utterance.speech_end).as_secs_f64() * 1e3 + 20.0;
                let Some((after_pause, work)) = known else { return };
                waits.all.push(silent.max(after_pause));
                waits.work.push(work);
                return;
            }
            Some(Event::Glimpse(_)) | None => {}
        }
    }
}
