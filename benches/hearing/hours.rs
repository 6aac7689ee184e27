//! Hours of household noise in which nobody speaks: what is taken for a reading, and what for the answer to a hazard.
//!
//! Two noises are mixed and looped from drawn places on, a minute at a time, at several levels, and go the whole way of
//! a microphone's sound: endpointer, recogniser, and for acknowledgements the second opinion. "Put back" is a reading too
//! doubtful to be taken, which is asked about where one is awaited.

use leadhand::hear::frame::RATE;
use leadhand::shell::sound;
use leadhand::understand::heard::Candidate;
use leadhand::understand::intent::Intent;

use crate::Extent;
use crate::figures::Draw;
use crate::grammar::Opened;
use crate::mixing;
use crate::sets::{Sets, passing_file};
use crate::system::System;

/// Below full scale: a quiet room, a running machine, a loud one, one beside the microphone.
const LOUD: [f32; 4] = [-55.0, -40.0, -30.0, -20.0];

pub fn run(sets: &Sets, extent: &Extent) {
    let minutes = (extent.hours * 60.0).round().max(1.0) as usize;
    let hours = minutes as f64 / 60.0;
    println!("\n## Noise without speech: {hours:.2} hours (HOURS=10 for the whole)\n");
    println!(
        "{:<14} {:>10} {:>9} {:>7} {:>9} {:>14} {:>22}",
        "open", "utterances", "put back", "taken", "wanted", "of these", "at most an hour, 95 %"
    );
    for opened in [Opened::Reading, Opened::Acknowledge] {
        let mut stream = match System::own("ours, from the stream", false, &["stream"]) {
            Ok(stream) => stream,
            Err(why) => return println!("{why}"),
        };
        // Babble is people: it is measured with the remarks.
        let noises: Vec<&mixing::Noise> =
            sets.noises.iter().filter(|noise| !noise.name.starts_with("babble")).collect();
        let mut draw = Draw(21);
        let (mut utterances, mut put_back, mut taken, mut dangerous) = (0, 0, 0, 0);
        for minute in 0..minutes {
            let level = LOUD[minute % LOUD.len()];
            let (names, samples) = a_minute(&noises, level, &mut draw);
            sound::write(&passing_file(), &samples).expect("target/ can be written");
            let answer = stream.hear(&passing_file(), opened);
            utterances += answer.opinions.len();
            for heard in &answer.opinions {
                let asked_about = |best: &Candidate| matches!(best.intent, Intent::Report(_));
                put_back += usize::from(heard.doubtful().is_some_and(asked_about));
                let Some(best) = heard.understood() else { continue };
                taken += 1;
                if matches!(
                    (opened, &best.intent),
                    (Opened::Reading, Intent::Report(_)) | (_, Intent::Acknowledge(_))
                ) {
                    dangerous += 1;
                }
                println!("  taken at {level} dBFS in {names}: {} ({:.2})", best.words, best.probability);
            }
        }
        // Of none in n hours: three over n (the rule of three); of some, Poisson's upper end, closely.
        let bound =
            if dangerous == 0 { 3.0 } else { f64::from(dangerous) + 2.0 * f64::from(dangerous).sqrt() + 2.0 };
        println!(
            "{:<14} {utterances:>10} {put_back:>9} {taken:>7} {:>9} {dangerous:>14} {:>22.2}",
            opened.name(),
            if opened == Opened::Reading { "readings" } else { "answers" },
            bound / hours
        );
    }
}

/// A minute of two noises: their names, and the sound.
fn a_minute(noises: &[&mixing::Noise], level: f32, draw: &mut Draw) -> (String, Vec<f32>) {
    let length = 60 * RATE as usize;
    let mut sum = vec![0.0; length];
    let chosen = [(); 2].map(|()| noises[draw.below(noises.len())]);
    for noise in chosen {
        let (from, share) = (draw.below(noise.samples.len()), 0.2 + draw.share());
        let piece = noise.samples.iter().cycle().skip(from);
        let gain = share / mixing::root_mean_square(&noise.samples).max(1e-6);
        sum.iter_mut().zip(piece).for_each(|(sum, sample)| *sum += gain * sample);
    }
    (chosen.map(|noise| &*noise.name).join(" and "), mixing::at_level(&sum, level))
}
