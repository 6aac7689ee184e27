//! How far a part's value may lie from its nominal one.
//!
//! Kept in log space, where "half to double" is as even as "ten per cent either way" and no value turns negative.

/// The ends of the 95 % interval of a part's value, as natural logarithms of the ratio to its nominal value.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spread {
    /// How far down: `ln(nominal / low)`, not negative.
    pub down: f64,
    /// How far up: `ln(high / nominal)`, not negative.
    pub up: f64,
    /// Elements with the same number move together: both legs of one supply.
    pub together: Option<u8>,
}

impl Spread {
    /// No spread at all.
    pub const EXACT: Self = Self { down: 0.0, up: 0.0, together: None };

    /// From the ends of the 95 % interval; `None` unless `0 < low <= nominal <= high`.
    pub fn between(low: f64, nominal: f64, high: f64) -> Option<Self> {
        let ordered = low > 0.0 && low <= nominal && nominal <= high && high.is_finite();
        ordered.then(|| Self { down: (nominal / low).ln(), up: (high / nominal).ln(), together: None })
    }

    /// The same percentage either way; 10 % is a factor of 1.1 up and down.
    pub fn percent(percent: f64) -> Self {
        let width = (percent.max(0.0) / 100.0).ln_1p();
        Self { down: width, up: width, together: None }
    }
}
