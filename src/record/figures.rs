//! The shop's figures over many jobs: how often the first visit mends it, how long it takes, what fails.

pub mod page;

use std::collections::BTreeMap;

/// What one job adds to the figures.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Visit {
    /// The appliance model.
    pub appliance: String,
    /// The cause advised last; empty where none was.
    pub cause: String,
    /// Was it closed with the advised work done?
    pub mended: bool,
    /// Is it a callback itself?
    pub callback: bool,
    /// Did another visit go back to it within the shop's window?
    pub called_back: bool,
    /// How many parts turned out to be wrong.
    pub wrong_parts: u32,
    /// Minutes from the first entry to the last.
    pub minutes: u32,
}

/// The figures of a shop.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Figures {
    /// Closed first visits, and how many of them mended the machine with no callback.
    pub first_visits: Share,
    /// Jobs with a wrong part, of all in which a cause was named.
    pub wrong_parts: Share,
    /// Minutes a job took, by appliance model.
    pub minutes: BTreeMap<String, Minutes>,
    /// How often each cause was found, by appliance model, the most frequent first.
    pub causes: BTreeMap<String, Vec<(String, u32)>>,
}

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Share {
    /// So many …
    pub count: u32,
    /// … of so many.
    pub of: u32,
}

/// How long jobs took: a quarter of them less than `low`, half less than `middle`, a quarter more than `high`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Minutes {
    /// How many jobs.
    pub jobs: u32,
    /// The lower quartile.
    pub low: u32,
    /// The median.
    pub middle: u32,
    /// The upper quartile.
    pub high: u32,
}

impl Share {
    /// The 95 % interval of the share (Wilson's score interval); everything where nothing was counted.
    pub fn interval(self) -> (f64, f64) {
        if self.of == 0 {
            return (0.0, 1.0);
        }
        let (n, p, z) = (f64::from(self.of), f64::from(self.count) / f64::from(self.of), 1.959_964);
        let middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
        let half = z / (1.0 + z * z / n) * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
        ((middle - half).max(0.0), (middle + half).min(1.0))
    }

    fn add(&mut self, counts: bool) {
        self.of += 1;
        self.count += u32::from(counts);
    }
}

impl Figures {
    /// The figures of closed jobs.
    pub fn of(visits: &[Visit]) -> Self {
        let mut figures = Self::default();
        let mut minutes: BTreeMap<&str, Vec<u32>> = BTreeMap::new();
        let mut causes: BTreeMap<&str, BTreeMap<&str, u32>> = BTreeMap::new();
        for visit in visits {
            if !visit.callback {
                figures.first_visits.add(visit.mended && !visit.called_back);
            }
            minutes.entry(&visit.appliance).or_default().push(visit.minutes);
            if !visit.cause.is_empty() {
                figures.wrong_parts.add(visit.wrong_parts > 0);
                *causes.entry(&visit.appliance).or_default().entry(&visit.cause).or_default() += 1;
            }
        }
        figures.minutes =
            minutes.into_iter().map(|(name, took)| (name.to_owned(), quartiles(took))).collect();
        figures.causes = causes
            .into_iter()
            .map(|(name, counts)| {
                let mut counts: Vec<_> = counts.into_iter().map(|(cause, n)| (cause.to_owned(), n)).collect();
                counts.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
                (name.to_owned(), counts)
            })
            .collect();
        figures
    }
}

fn quartiles(mut took: Vec<u32>) -> Minutes {
    took.sort_unstable();
    let at = |share: usize| took[(took.len() - 1) * share / 4];
    Minutes { jobs: took.len() as u32, low: at(1), middle: at(2), high: at(3) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_interval_is_wilsons() {
        // R. G. Newcombe, Statistics in Medicine 17 (1998) 857–872, table I, method 3.
        for (count, of, low, high) in [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ] {
            let (a, b) = Share { count, of }.interval();
            assert!((a - low).abs() < 6e-5 && (b - high).abs() < 6e-5, "{count}/{of}: {a} {b}");
        }
        assert_eq!(Share { count: 0, of: 0 }.interval(), (0.0, 1.0));
    }

    #[test]
    fn figures_count_what_they_say() {
        let visit = |cause: &str, mended, callback, called_back, wrong_parts, minutes| Visit {
            appliance: "dryer".into(),
            cause: cause.into(),
            mended,
            callback,
            called_back,
            wrong_parts,
            minutes,
        };
        let figures = Figures::of(&[
            visit("element-open", true, false, false, 0, 40),
            visit("element-open", true, false, true, 1, 50),
            visit("cutoff-open", true, true, false, 0, 20),
            visit("", false, false, false, 0, 10),
        ]);
        assert_eq!(figures.first_visits, Share { count: 1, of: 3 });
        assert_eq!(figures.wrong_parts, Share { count: 1, of: 3 });
        assert_eq!(figures.minutes["dryer"], Minutes { jobs: 4, low: 10, middle: 20, high: 40 });
        assert_eq!(figures.causes["dryer"], [("element-open".into(), 2), ("cutoff-open".into(), 1)]);
        assert_eq!(Figures::of(&[]), Figures::default());
    }
}
