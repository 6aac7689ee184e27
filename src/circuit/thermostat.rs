//! A bimetal that snaps: it opens at one temperature and closes at another.

/// Where a thermostat opens and closes, in degrees Celsius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bimetal {
    /// Open from here on.
    pub opens: f64,
    /// Closed from here on. Below `opens` it cuts heat off; above it, it starts a fan.
    pub closes: f64,
}

impl Bimetal {
    /// Is it closed at this temperature, if it was so `before`? Between its two temperatures it stays as it was.
    pub fn is_closed(self, celsius: f64, before: bool) -> bool {
        let (opens_when_hot, low, high) = if self.opens >= self.closes {
            (true, self.closes, self.opens)
        } else {
            (false, self.opens, self.closes)
        };
        match celsius {
            t if t >= high => !opens_when_hot,
            t if t <= low => opens_when_hot,
            _ => before,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_stays_as_it_was_between_its_temperatures() {
        // A dryer's cycling thermostat, 153 and 138 °F, and an ice maker's, 32 and 17 °F (makers' sheets); a fan's.
        let cycling = Bimetal { opens: 67.2, closes: 58.9 };
        let ice = Bimetal { opens: 0.0, closes: -8.3 };
        let fan = Bimetal { opens: 30.0, closes: 40.0 };
        for (bimetal, celsius, before, expected) in [
            (cycling, 20.0, false, true),
            (cycling, 63.0, true, true),
            (cycling, 63.0, false, false),
            (cycling, 67.2, true, false),
            (ice, 20.0, true, false),
            (ice, -5.0, false, false),
            (ice, -5.0, true, true),
            (ice, -18.0, false, true),
            (fan, 20.0, true, false),
            (fan, 35.0, true, true),
            (fan, 40.0, false, true),
        ] {
            assert_eq!(bimetal.is_closed(celsius, before), expected, "{bimetal:?} at {celsius}");
        }
    }
}
