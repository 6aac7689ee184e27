//! Does it help to clean the sound before it is recognised? A denoiser and spectral subtraction against nothing, by kind
//! and level of noise.

use leadhand::hear::frame::{FRAME, RATE, mono_16k};
use leadhand::shell::sound;
use nnnoiseless::DenoiseState;
use realfft::RealFftPlanner;
use realfft::num_complex::Complex;

use crate::Extent;
use crate::clips::{Clip, Group};
use crate::figures::Draw;
use crate::mixing::{self, Level, named};
use crate::sets::{Sets, passing_file};
use crate::system::System;
use crate::table::{Tally, understood};

/// What is done with the sound first.
type Way = fn(&[f32]) -> Vec<f32>;
const WAYS: [(&str, Way); 3] =
    [("nothing", |samples| samples.to_vec()), ("nnnoiseless", rnnoise), ("subtraction", subtraction)];

const NOISY: [Level; 3] = [Some(10), Some(5), Some(0)];

pub fn run(sets: &Sets, extent: &Extent) {
    println!("\n## Cleaning the sound first: exact / wrong of all, by noise and level\n");
    let mut ours = match System::own("ours", false, &["ours"]) {
        Ok(ours) => ours,
        Err(why) => return println!("{why}"),
    };
    let spoken = sets.clips().filter(|(set, _)| matches!(set.group, Group::Readings | Group::Numbers));
    // A few clips of a noise and level are enough together; the same ones for every way.
    let clips = Draw(11).some(spoken.map(|(_, clip)| clip).collect(), (extent.clips / 4).max(2));
    print!("{:<24} {:<6} {:>4}", "noise", "level", "n");
    for (name, _) in &WAYS {
        print!(" {name:>14}");
    }
    println!();
    let mut sums = vec![Tally::default(); WAYS.len()];
    for noise in &sets.noises {
        for level in NOISY {
            print!("{:<24} {:<6} {:>4}", noise.name, named(level), clips.len());
            for ((_, way), sum) in WAYS.iter().zip(&mut sums) {
                let tally = tally(&mut ours, &clips, noise, level, *way);
                print!(" {:>14}", format!("{} / {}", tally.exact, tally.wrong));
                sum.add(&tally);
            }
            println!();
        }
    }
    print!("{:<24} {:<6} {:>4}", "all", "", sums[0].said());
    for sum in &sums {
        print!(" {:>14}", format!("{} / {}", sum.exact, sum.wrong));
    }
    println!();
    let (nothing, others) = sums.split_first().expect("there is the way of doing nothing");
    for ((name, _), sum) in WAYS.iter().skip(1).zip(others) {
        let better = sum.exact > nothing.exact && sum.wrong <= nothing.wrong;
        println!(
            "decision: {name} is {}",
            if better { "better than nothing here" } else { "not used: nothing does better, or as well" }
        );
    }
}

fn tally(
    ours: &mut System,
    clips: &[&Clip],
    noise: &mixing::Noise,
    level: Level,
    way: fn(&[f32]) -> Vec<f32>,
) -> Tally {
    let mut tally = Tally::default();
    for clip in clips {
        let mut draw = Draw(clip.seed());
        let recorded = mixing::recorded(&clip.speech, &mut draw);
        let noisy = mixing::with_noise(&recorded, noise, level, &mut draw);
        sound::write(&passing_file(), &way(&noisy)).expect("target/ can be written");
        let answer = ours.hear(&passing_file(), clip.opened);
        let meant = understood(&answer, clip, None);
        tally.count(meant.as_ref(), clip.wanted.as_ref(), answer.ms);
    }
    tally
}

/// RNNoise (Valin 2018), which works on frames of 10 ms at 48 kHz and 16-bit numbers.
fn rnnoise(samples: &[f32]) -> Vec<f32> {
    let mut state = DenoiseState::new();
    let mut out = vec![0.0; DenoiseState::FRAME_SIZE];
    let mut cleaned = Vec::new();
    for frame in tripled(samples).chunks(DenoiseState::FRAME_SIZE) {
        let mut frame: Vec<f32> = frame.iter().map(|sample| sample * 32_768.0).collect();
        frame.resize(DenoiseState::FRAME_SIZE, 0.0);
        state.process_frame(&mut out, &frame);
        cleaned.extend(out.iter().map(|sample| sample / 32_768.0));
    }
    let mut back = mono_16k(3 * RATE, 1, &cleaned).expect("48 kHz is a rate");
    back.resize(samples.len(), 0.0);
    back
}

/// Three samples for each: a windowed sinc between them.
fn tripled(samples: &[f32]) -> Vec<f32> {
    const REACH: isize = 16;
    let kernel = |x: f32| {
        let window = (x / REACH as f32 * std::f32::consts::FRAC_PI_2).cos().max(0.0).powi(2);
        if x.abs() < 1e-6 {
            1.0
        } else {
            (std::f32::consts::PI * x).sin() / (std::f32::consts::PI * x) * window
        }
    };
    let at = |place: usize| {
        let (whole, part) = ((place / 3) as isize, (place % 3) as f32 / 3.0);
        (1 - REACH..=REACH)
            .filter_map(|step| {
                Some(samples.get(usize::try_from(whole + step).ok()?)? * kernel(part - step as f32))
            })
            .sum()
    };
    (0..3 * samples.len()).map(at).collect()
}

/// Spectral subtraction of the power in the first 0.3 s, before speech, with over-subtraction and a floor (Boll 1979;
/// Berouti, Schwartz, Makhoul 1979).
fn subtraction(samples: &[f32]) -> Vec<f32> {
    const SIZE: usize = 512;
    const HOP: usize = SIZE / 4;
    const OVER: f32 = 2.0;
    const FLOOR: f32 = 0.02;
    let (mut planner, frames_of_noise) = (RealFftPlanner::<f32>::new(), 15 * FRAME / HOP);
    let (forward, back) = (planner.plan_fft_forward(SIZE), planner.plan_fft_inverse(SIZE));
    let window: Vec<f32> =
        (0..SIZE).map(|i| 0.5 - 0.5 * (std::f32::consts::TAU * i as f32 / SIZE as f32).cos()).collect();
    let starts = || (0..samples.len().saturating_sub(SIZE)).step_by(HOP);
    let spectrum = |start: usize| -> Vec<Complex<f32>> {
        let mut frame: Vec<f32> =
            samples[start..start + SIZE].iter().zip(&window).map(|(s, w)| s * w).collect();
        let mut bins = forward.make_output_vec();
        forward.process(&mut frame, &mut bins).expect("the sizes are its own");
        bins
    };
    let mut noise = vec![0.0; SIZE / 2 + 1];
    for start in starts().take(frames_of_noise) {
        for (sum, bin) in noise.iter_mut().zip(spectrum(start)) {
            *sum += bin.norm_sqr() / frames_of_noise as f32;
        }
    }
    let mut out = vec![0.0; samples.len()];
    for start in starts() {
        let mut bins = spectrum(start);
        for (bin, noise) in bins.iter_mut().zip(&noise) {
            *bin *= (1.0 - OVER * noise / bin.norm_sqr().max(1e-12)).max(FLOOR).sqrt();
        }
        // The ends of a real spectrum are real.
        bins[0].im = 0.0;
        bins[SIZE / 2].im = 0.0;
        let mut frame = back.make_output_vec();
        back.process(&mut bins, &mut frame).expect("the sizes are its own");
        for ((sum, sample), window) in out[start..].iter_mut().zip(frame).zip(&window) {
            // The transforms multiply by the size; the squared windows sum to one and a half.
            *sum += sample * window / (SIZE as f32 * 1.5);
        }
    }
    out
}
