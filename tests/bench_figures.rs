//! The bench's own arithmetic, against published figures.

#[path = "../benches/hearing/figures.rs"]
#[allow(dead_code, reason = "the bench uses more of it")]
mod figures;

use figures::{Draw, Line, hash, quantile};

#[test]
fn quantiles() {
    assert_eq!(quantile(&[], 0.5), None);
    assert_eq!(quantile(&[3.0, 1.0, 2.0], 0.5), Some(2.0));
    assert_eq!(quantile(&[3.0, 1.0, 2.0], 0.95), Some(3.0));
}

#[test]
fn names_and_draws_repeat() {
    // The test vector of the FNV reference for "a"; splitmix64 from seed 0, first value of its reference code.
    assert_eq!(hash("a"), 0xaf63_dc4c_8601_ec8c);
    assert_eq!(Draw(0).bits(), 0xe220_a839_7b1d_cdaf);
    let mut some = Draw(1).some((0..9).collect(), 20);
    some.sort_unstable();
    assert_eq!(some, (0..9).collect::<Vec<_>>());
    assert_eq!(Draw(1).some(vec![1, 2, 3], 2).len(), 2);
}

#[test]
fn a_line_is_found_again() {
    // Happens as often as the line says: drawn from it, and fitted to it.
    let check = |line: Line| {
        let mut draw = Draw(5);
        let happened = |_| {
            let said = f64::from(draw.share()).clamp(0.01, 0.99);
            let noisiness = f64::from(draw.share());
            (said, noisiness, f64::from(draw.share()) < line.applied(said, noisiness))
        };
        let fitted = Line::fitted(&(0..20_000).map(happened).collect::<Vec<_>>());
        assert!((fitted.slope - line.slope).abs() < 0.06, "{fitted:?} for {line:?}");
        assert!((fitted.offset - line.offset).abs() < 0.1, "{fitted:?} for {line:?}");
        assert!((fitted.noise - line.noise).abs() < 0.15, "{fitted:?} for {line:?}");
        assert!((line.undone(line.applied(0.7, 0.4), 0.4, 0.0) - 0.7).abs() < 1e-9);
    };
    check(Line::NONE);
    check(Line { slope: 0.6, offset: -0.4, noise: 0.3 });
    check(Line { slope: 1.5, offset: 0.5, noise: -1.0 });
    // Where everything is right it stays a number.
    assert!(Line::fitted(&[(0.9, 0.0, true), (0.99, 1.0, true)]).offset.is_finite());
}
