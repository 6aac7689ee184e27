//! What a type K thermocouple gives, and the temperature that it tells: the probe that plugs into a service meter.
//!
//! Reference functions and coefficients: NIST Standard Reference Database 60, ITS-90 (Monograph 175).

/// Millivolts from −270 to 0 °C: a power series in degrees Celsius, constant term first.
const COLD: [f64; 11] = [
    0.0,
    0.394_501_280_250e-1,
    0.236_223_735_980e-4,
    -0.328_589_067_840e-6,
    -0.499_048_287_770e-8,
    -0.675_090_591_730e-10,
    -0.574_103_274_280e-12,
    -0.310_888_728_940e-14,
    -0.104_516_093_650e-16,
    -0.198_892_668_780e-19,
    -0.163_226_974_860e-22,
];

/// The same from 0 to 1372 °C; [`BUMP`] is added.
const HOT: [f64; 10] = [
    -0.176_004_136_860e-1,
    0.389_212_049_750e-1,
    0.185_587_700_320e-4,
    -0.994_575_928_740e-7,
    0.318_409_457_190e-9,
    -0.560_728_448_890e-12,
    0.560_750_590_590e-15,
    -0.320_207_200_030e-18,
    0.971_511_471_520e-22,
    -0.121_047_212_750e-25,
];

/// `a0 · exp(a1 · (t − a2)²)`, in millivolts.
const BUMP: [f64; 3] = [0.118_597_600_000, -0.118_343_200_000e-3, 0.126_968_600_000e3];

/// The range of the functions, in degrees Celsius.
const RANGE: (f64, f64) = (-270.0, 1372.0);

/// Voltage of a type K thermocouple whose other end is at 0 °C, in millivolts; `None` beyond −270 to 1372 °C.
pub fn millivolts(celsius: f64) -> Option<f64> {
    if !(RANGE.0..=RANGE.1).contains(&celsius) {
        return None;
    }
    let series = |terms: &[f64]| terms.iter().rev().fold(0.0, |sum, term| sum * celsius + term);
    Some(if celsius < 0.0 {
        series(&COLD)
    } else {
        series(&HOT) + BUMP[0] * (BUMP[1] * (celsius - BUMP[2]).powi(2)).exp()
    })
}

/// Temperature of the tip, in degrees Celsius, from the millivolts read and the temperature of the other end, the meter's
/// socket; `None` beyond the range. Found by halving, so that it is the reference function's own inverse.
pub fn celsius(read: f64, socket: f64) -> Option<f64> {
    let wanted = read + millivolts(socket)?;
    let (mut low, mut high) = RANGE;
    // A nanovolt beyond the ends is rounding.
    if wanted < millivolts(low)? - 1e-6 || wanted > millivolts(high)? + 1e-6 {
        return None;
    }
    // Fifty halvings of 1642 degrees reach the last bit.
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if millivolts(middle)? < wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(f64::midpoint(low, high))
}
