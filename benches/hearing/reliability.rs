//! Does a probability mean what it says? The best candidate's probability against how often it is right: a table and
//! a diagram of ten bins, the expected calibration error, and a straight line in the logarithm of the odds, fitted on
//! the development half alone.

use leadhand::shell::recogniser::calibration::Calibration;
use plotters::prelude::*;

use crate::figures::{Line, Said};
use crate::mixing::named;
use crate::table::Judged;
use crate::workshop;

pub fn run(judged: &[Judged]) {
    println!("\n## How honest the probabilities are\n");
    let set = Calibration::FITTED;
    let set =
        Line { slope: f64::from(set.slope), offset: f64::from(set.offset), noise: f64::from(set.noise) };
    // The settings' own calibration is taken off, so that the line fitted is the one to be set; and what is added to one word
    // alone, which comes from noise and not from these clips.
    let said = |held_back: bool| -> Vec<Said> {
        let half = judged.iter().filter(|judged| judged.held_back == held_back);
        let noisiness = |judged: &Judged| f64::from(judged.noisiness);
        let before = |judged: &Judged| {
            set.undone(f64::from(judged.probability), noisiness(judged), f64::from(judged.against))
        };
        half.map(|judged| (before(judged), noisiness(judged), judged.right)).collect()
    };
    let after = |line: Line, half: &[Said]| -> Vec<(f64, bool)> {
        half.iter().map(|(p, noisiness, right)| (line.applied(*p, *noisiness), *right)).collect()
    };
    let (development, held_back) = (said(false), said(true));
    if development.len() < 50 || held_back.len() < 50 {
        println!("skipped: {} clips are too few", development.len() + held_back.len());
        return;
    }
    let fitted = Line::fitted(&development);
    println!("{:<12} {:>5} {:>22} {:>22} {:>22}", "", "", "as the weights say", "as set now", "fitted");
    println!(
        "{:<12} {:>5} {:>10} {:>11} {:>10} {:>11} {:>10} {:>11}",
        "half", "n", "ECE", "log loss", "ECE", "log loss", "ECE", "log loss"
    );
    for (name, half) in [("development", &development), ("held back", &held_back)] {
        print!("{name:<12} {:>5}", half.len());
        for line in [Line::NONE, set, fitted] {
            let after = after(line, half);
            print!(" {:>10.4} {:>11.4}", calibration_error(&after), log_loss(&after));
        }
        println!();
    }
    println!(
        "\nfitted on the development half: slope {:.3}, offset {:.3}, noise {:.3} (now set: {:.3}, {:.3}, {:.3})",
        fitted.slope, fitted.offset, fitted.noise, set.slope, set.offset, set.noise
    );
    let (development, held_back) = (after(set, &development), after(set, &held_back));
    let all = [&*development, &*held_back].concat();
    println!(
        "\n{:<12} {:>6} {:>12} {:>8}   (both halves, as set now)",
        "probability", "n", "said, mean", "right"
    );
    for (low, bin) in bins(&all) {
        let Some((said, right)) = means(&bin) else { continue };
        println!(
            "{:<12} {:>6} {said:>12.3} {right:>8.3}",
            format!("{low:.1} to {:.1}", low + 0.1),
            bin.len()
        );
    }
    let path = workshop().join("reliability.svg");
    match draw(&path, &development, &held_back) {
        Ok(()) => println!("\ndrawn in target/bench/reliability.svg"),
        Err(why) => println!("\nskipped: the diagram; {why}"),
    }
}

/// Where the parts of the table begin that `src/simulate/hearing.rs` holds: finer where most readings are.
const PARTS: [f32; 8] = [0.0, 0.5, 0.7, 0.9, 0.97, 0.99, 0.999, 1.01];

/// How readings are heard at two levels, as pretend jobs are worked with it.
pub fn readings(judged: &[Judged]) {
    println!("\n## How readings are heard, for `src/simulate/hearing.rs`\n");
    for level in [None, Some(10)] {
        let all: Vec<&Judged> = judged.iter().filter(|judged| judged.reading_at == Some(level)).collect();
        let wrong: Vec<_> = all.iter().filter(|judged| !judged.right).collect();
        let listed = wrong.iter().filter(|judged| judged.listed).count();
        println!(
            "{}: {} readings, {} not right, what was said a candidate in {listed}",
            named(level),
            all.len(),
            wrong.len()
        );
        for part in PARTS.windows(2) {
            let bin: Vec<_> =
                all.iter().filter(|judged| (part[0]..part[1]).contains(&judged.probability)).collect();
            if bin.is_empty() {
                continue;
            }
            let said = bin.iter().map(|judged| judged.probability).sum::<f32>() / bin.len() as f32;
            let right = bin.iter().filter(|judged| judged.right).count();
            println!("            Row::of({said:.4}, {right}, {}),", bin.len());
        }
    }
}

/// Ten bins of equal width: where each begins, and what lies in it.
fn bins(pairs: &[(f64, bool)]) -> Vec<(f64, Vec<(f64, bool)>)> {
    let mut bins: Vec<(f64, Vec<_>)> = (0..10).map(|n| (f64::from(n) / 10.0, Vec::new())).collect();
    for pair in pairs {
        bins[((pair.0 * 10.0) as usize).min(9)].1.push(*pair);
    }
    bins
}

fn means(bin: &[(f64, bool)]) -> Option<(f64, f64)> {
    let n = bin.len() as f64;
    let right = bin.iter().filter(|(_, right)| *right).count() as f64;
    (!bin.is_empty()).then(|| (bin.iter().map(|(p, _)| p).sum::<f64>() / n, right / n))
}

/// The mean distance between what is said and what is right, over ten bins, each by what lies in it (Naeini, Cooper,
/// Hauskrecht 2015, AAAI).
fn calibration_error(pairs: &[(f64, bool)]) -> f64 {
    let distance = |(_, bin): &(f64, Vec<(f64, bool)>)| {
        means(bin).map_or(0.0, |(said, right)| (said - right).abs() * bin.len() as f64)
    };
    bins(pairs).iter().map(distance).sum::<f64>() / pairs.len() as f64
}

fn log_loss(pairs: &[(f64, bool)]) -> f64 {
    let loss = |(p, right): &(f64, bool)| {
        let p = p.clamp(1e-4, 1.0 - 1e-4);
        -(if *right { p } else { 1.0 - p }).ln()
    };
    pairs.iter().map(loss).sum::<f64>() / pairs.len() as f64
}

fn draw(
    path: &std::path::Path,
    development: &[(f64, bool)],
    held_back: &[(f64, bool)],
) -> Result<(), Box<dyn std::error::Error>> {
    let root = SVGBackend::new(path, (560, 520)).into_drawing_area();
    root.fill(&WHITE)?;
    let mut chart = ChartBuilder::on(&root)
        .margin(20)
        .x_label_area_size(40)
        .y_label_area_size(50)
        .build_cartesian_2d(0.0..1.0, 0.0..1.0)?;
    chart.configure_mesh().x_desc("probability said").y_desc("share that is right").draw()?;
    chart.draw_series(LineSeries::new([(0.0, 0.0), (1.0, 1.0)], BLACK.mix(0.4)))?;
    for (half, colour, name) in [(development, BLUE, "development"), (held_back, RED, "held back")] {
        let binned = bins(half);
        let points: Vec<(f64, f64)> = binned.iter().filter_map(|(_, bin)| means(bin)).collect();
        chart
            .draw_series(LineSeries::new(points.clone(), colour))?
            .label(name)
            .legend(move |(x, y)| PathElement::new([(x, y), (x + 15, y)], colour));
        chart.draw_series(points.iter().map(|point| Circle::new(*point, 4, colour.filled())))?;
    }
    chart.configure_series_labels().position(SeriesLabelPosition::UpperLeft).border_style(BLACK).draw()?;
    root.present()?;
    Ok(())
}
