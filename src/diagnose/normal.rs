//! The normal distribution.

/// Probability that a standard normal variable is at most `z`.
pub fn cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Probability that a normal variable lies between `low` and `high`; zero if they are the wrong way round.
///
/// A standard deviation of zero is a point: it lies between if it is above `low` and at most `high`.
pub fn mass(mean: f64, sd: f64, low: f64, high: f64) -> f64 {
    if low >= high {
        return 0.0;
    }
    if sd <= 0.0 {
        return f64::from(u8::from(low < mean && mean <= high));
    }
    // From the far side both terms are small numbers, and their difference keeps its digits.
    let (a, b) = ((low - mean) / sd, (high - mean) / sd);
    if a > 0.0 { cdf(-a) - cdf(-b) } else { cdf(b) - cdf(a) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One-sided z of JCGM 106:2012 table 1 (five digits computed with scipy 1.17.1).
    #[test]
    fn the_usual_quantiles() {
        for (z, p) in
            [(0.841_621, 0.80), (1.281_552, 0.90), (1.644_854, 0.95), (2.326_348, 0.99), (3.090_232, 0.999)]
        {
            assert!((cdf(z) - p).abs() < 1e-6, "{z}");
            assert!((cdf(-z) - (1.0 - p)).abs() < 1e-6, "-{z}");
        }
    }

    #[test]
    fn mass_far_out_keeps_its_digits() {
        // 1 − Φ(10) = 7.619853e-24 (scipy.stats.norm.sf).
        assert!((mass(0.0, 1.0, 10.0, f64::INFINITY) / 7.619_853e-24 - 1.0).abs() < 1e-5);
        assert!(mass(0.0, 1.0, 1.0, 1.0) == 0.0 && mass(0.0, 1.0, 2.0, 1.0) == 0.0);
        assert!(mass(3.0, 0.0, 2.0, 3.0) > 0.5 && mass(3.0, 0.0, 3.0, 4.0) == 0.0);
    }
}
