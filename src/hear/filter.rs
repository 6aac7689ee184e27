//! A differently filtered copy of a sound, for a second opinion on it.

use biquad::{Biquad, Coefficients, DirectForm2Transposed, Q_BUTTERWORTH_F32, ToHertz, Type};

use super::frame::RATE;

/// Below this the hum of motors and the rumble of drums lie, and little of speech (telephones cut there too: ITU-T
/// G.712 passes 300 to 3400 Hz).
const CUT_HERTZ: f32 = 300.0;

/// The same sound at 16 kHz without what lies below 300 Hz: a Butterworth filter of the second order.
pub fn without_rumble(samples: &[f32]) -> Vec<f32> {
    let cut = Coefficients::from_params(Type::HighPass, RATE.hz(), CUT_HERTZ.hz(), Q_BUTTERWORTH_F32);
    let cut = cut.expect("the cut lies below half the sampling rate");
    let mut filter = DirectForm2Transposed::<f32>::new(cut);
    samples.iter().map(|sample| filter.run(*sample)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rumble_goes_and_speech_stays() {
        let level = |hertz: f32| {
            let tone = |n: usize| (std::f32::consts::TAU * hertz * n as f32 / RATE as f32).sin();
            let tone: Vec<f32> = (0..16_000).map(tone).collect();
            let heard = &without_rumble(&tone)[8_000..];
            20.0 * ((heard.iter().map(|s| s * s).sum::<f32>() / heard.len() as f32 * 2.0).sqrt()).log10()
        };
        // A Butterworth filter of the second order falls by 10 log (1 + (cut / f)^4) decibels, little changed by its
        // sampling this far below half the rate.
        for (hertz, decibels) in
            [(60.0, -27.97), (120.0, -16.0), (300.0, -3.01), (1_000.0, -0.035), (3_000.0, 0.0)]
        {
            assert!((level(hertz) - decibels).abs() < 0.2, "{hertz} Hz: {} dB", level(hertz));
        }
    }
}
