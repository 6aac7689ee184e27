//! The line on which a reading stands beside what was expected: positions from 0 (left end) to 1 (right end).

use crate::quantity::Unit;
use crate::record::report::figure::figure;

/// A line from a least to a most, in even steps or in decades.
#[derive(Clone, Debug, PartialEq)]
pub struct Scale {
    least: f64,
    most: f64,
    decades: bool,
    unit: Unit,
}

impl Scale {
    /// Ohms that differ by more than this factor are drawn in decades.
    const WIDE: f64 = 20.0;
    /// Below this, ohms are as good as none: the left end of a line in decades.
    const NO_OHMS: f64 = 0.1;
    /// Where nothing but "overload" is to be shown, the line runs from here to here.
    const ALL_OHMS: (f64, f64) = (1.0, 1e6);

    /// The line for a band of expected values and a number read, either of which may be missing.
    pub fn holding(band: Option<(f64, f64)>, value: Option<f64>, unit: Unit) -> Self {
        let shown: Vec<f64> = band.into_iter().flat_map(|(low, high)| [low, high]).chain(value).collect();
        let low = shown.iter().copied().fold(f64::INFINITY, f64::min);
        let high = shown.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if unit == Unit::Ohms {
            let lone = band.is_none();
            let (low, high) = if shown.is_empty() { Self::ALL_OHMS } else { (low, high) };
            let (least, most) = (low.max(Self::NO_OHMS), high.max(Self::NO_OHMS * 10.0));
            if lone {
                return Self::in_decades(least.min(Self::ALL_OHMS.0), most.max(Self::ALL_OHMS.1));
            }
            if most > 1.5 && most / least > Self::WIDE {
                return Self::in_decades(least, most);
            }
        }
        Self::in_steps(low, high, band, unit)
    }

    fn in_decades(low: f64, high: f64) -> Self {
        let least = 10_f64.powf(low.log10().floor());
        let most = 10_f64.powf((high * 1.05).log10().ceil());
        Self { least, most, decades: true, unit: Unit::Ohms }
    }

    /// With room of a band's width beside the band; from zero where zero is near.
    fn in_steps(low: f64, high: f64, band: Option<(f64, f64)>, unit: Unit) -> Self {
        let (low, high) = if low <= high { (low, high) } else { (0.0, 1.0) };
        let width = band.map_or(0.0, |(low, high)| high - low);
        let room = width.max((high - low) * 0.12).max(high.abs() * 0.02).max(0.1);
        let may_be_negative = matches!(unit, Unit::Degrees | Unit::Celsius | Unit::Fahrenheit) || low < 0.0;
        let least = if may_be_negative { low - room } else { (low - room).max(0.0) };
        let least = if !may_be_negative && least < high * 0.3 { 0.0 } else { least };
        Self { least, most: high + room, decades: false, unit }
    }

    /// Is the line drawn in decades?
    pub const fn is_in_decades(&self) -> bool {
        self.decades
    }

    /// Where a value stands; what is beyond an end stands at that end.
    pub fn place(&self, value: f64) -> f64 {
        let place = if self.decades {
            let of = |v: f64| v.max(f64::MIN_POSITIVE).log10();
            (of(value) - of(self.least)) / (of(self.most) - of(self.least))
        } else {
            (value - self.least) / (self.most - self.least)
        };
        place.clamp(0.0, 1.0)
    }

    /// The marks below the line: where they stand and what they say.
    pub fn ticks(&self) -> Vec<(f64, String)> {
        let values = if self.decades { self.decade_ticks() } else { self.even_ticks() };
        values.into_iter().map(|value| (self.place(value), figure(value, self.unit))).collect()
    }

    /// At most eight decades fit: every other one is named beyond four.
    fn decade_ticks(&self) -> Vec<f64> {
        let (first, last) = (self.least.log10().round() as i32, self.most.log10().round() as i32);
        let step = if last - first > 4 { 2 } else { 1 };
        (first..=last).step_by(step).map(|exponent| 10_f64.powi(exponent)).collect()
    }

    /// Three to six marks at 1, 2 or 5 times a power of ten.
    fn even_ticks(&self) -> Vec<f64> {
        let rough = (self.most - self.least) / 4.0;
        let power = 10_f64.powf(rough.log10().floor());
        let step = match rough / power {
            r if r < 1.5 => power,
            r if r < 3.5 => 2.0 * power,
            r if r < 7.5 => 5.0 * power,
            _ => 10.0 * power,
        };
        // A hair of slack: 20.4 / 0.2 is a little less than 102.
        let (first, last) =
            ((self.least / step - 1e-9).ceil() as i64, (self.most / step + 1e-9).floor() as i64);
        (first..=last).take(8).map(|n| n as f64 * step).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(band: Option<(f64, f64)>, value: Option<f64>, unit: Unit, decades: bool, ticks: &str) {
        let scale = Scale::holding(band, value, unit);
        assert_eq!(scale.is_in_decades(), decades, "{scale:?}");
        let said: Vec<String> = scale.ticks().iter().map(|(_, text)| text.replace('\u{a0}', " ")).collect();
        assert_eq!(said.join(" · "), ticks);
        assert!(scale.ticks().iter().all(|(place, _)| (0.0..=1.0).contains(place)));
        for shown in band.into_iter().flat_map(|(low, high)| [low, high]).chain(value) {
            let place = scale.place(shown);
            assert!((0.0..1.0).contains(&place), "{shown} stands at {place}");
        }
    }

    #[test]
    fn the_line_suits_what_it_shows() {
        check(Some((10.2, 11.9)), Some(10.4), Unit::Ohms, false, "9 Ω · 10 Ω · 11 Ω · 12 Ω · 13 Ω");
        check(Some((10.2, 11.9)), Some(8800.0), Unit::Ohms, true, "10 Ω · 100 Ω · 1 kΩ · 10 kΩ");
        check(Some((0.0, 1.0)), Some(0.3), Unit::Ohms, false, "0 Ω · 0.5 Ω · 1 Ω · 1.5 Ω · 2 Ω");
        check(Some((0.0, 1.0)), Some(71.0), Unit::Ohms, true, "0.1 Ω · 1 Ω · 10 Ω · 100 Ω");
        check(None, None, Unit::Ohms, true, "1 Ω · 100 Ω · 10 kΩ · 1 MΩ");
        check(None, Some(10.7), Unit::Ohms, true, "1 Ω · 100 Ω · 10 kΩ · 1 MΩ");
        check(
            Some((228.0, 252.0)),
            Some(0.2),
            Unit::Volts,
            false,
            "0 V · 50 V · 100 V · 150 V · 200 V · 250 V",
        );
        check(
            Some((0.0, 2.0)),
            Some(240.0),
            Unit::Volts,
            false,
            "0 V · 50 V · 100 V · 150 V · 200 V · 250 V",
        );
        check(Some((-23.0, -13.0)), Some(-18.0), Unit::Celsius, false, "−30°C · −20°C · −10°C");
        check(
            Some((20.0, 20.0)),
            Some(20.0),
            Unit::Psi,
            false,
            "19.6 psi · 19.8 psi · 20 psi · 20.2 psi · 20.4 psi",
        );
    }
}
