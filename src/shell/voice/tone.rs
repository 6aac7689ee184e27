//! The tone that opens a hazard: two rising notes, twice, then a short silence. Nothing else sounds like it.

use std::f32::consts::TAU;

/// The notes, in hertz, each [`NOTE_MS`] long. Within 500 to 2500 Hz, where small loudspeakers are loud.
const NOTES: [f32; 4] = [880.0, 1320.0, 880.0, 1320.0];
const NOTE_MS: u32 = 90;
/// Rise and fall of a note, so that it does not click.
const EDGE_MS: u32 = 8;
/// Silence between the tone and the words.
const SILENCE_MS: u32 = 120;

/// The hazard tone at a rate, `peak` of full scale.
pub fn hazard(rate: u32, peak: f32) -> Vec<i16> {
    let mut samples: Vec<i16> = NOTES.iter().flat_map(|&hertz| note(rate, hertz, peak)).collect();
    samples.resize(samples.len() + (rate * SILENCE_MS / 1000) as usize, 0);
    samples
}

fn note(rate: u32, hertz: f32, peak: f32) -> impl Iterator<Item = i16> {
    let length = rate * NOTE_MS / 1000;
    let edge = (rate * EDGE_MS / 1000).max(1);
    (0..length).map(move |i| {
        let to_edge = i.min(length - 1 - i).min(edge);
        let level = peak * to_edge as f32 / edge as f32;
        (level * f32::from(i16::MAX) * (TAU * hertz * i as f32 / rate as f32).sin()) as i16
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tone_starts_and_ends_in_silence() {
        let samples = hazard(22_050, 0.95);
        assert_eq!(samples.first(), Some(&0));
        assert!(samples.iter().rev().take(22_050 / 10).all(|&s| s == 0));
        assert!(samples.iter().any(|&s| s > 30_000));
        assert!(samples.len() < 22_050, "longer than a second");
    }
}
