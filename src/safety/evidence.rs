//! Readings as evidence that the meter works and that the work is dead.
//!
//! Turns volts into the few facts the interlock knows. Keeps no state.

/// What a reading of the known source says of the meter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Source {
    /// The meter shows what the source must have.
    Good,
    /// It does not: blown lead fuse, wrong jack, wrong function, or no supply.
    Bad,
}

/// What a reading across the work says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Work {
    /// No voltage.
    Zero,
    /// There is voltage.
    Voltage,
}

/// What a reading across something that keeps a charge says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Charge {
    /// Too little to hurt.
    Empty,
    /// It waits longer, or is discharged through a resistor by somebody trained for it.
    Left,
}

/// From this many volts on, direct, a charge can hurt (common practice; 60 V in common standards, from memory).
pub const CHARGED_VOLTS: f64 = 30.0;

/// Above this many volts the work is not dead.
///
/// A working figure of ours: far below the 50 V (29 CFR 1910.333(a)(1)) and 30 V limits in use, and above what a
/// good meter shows on shorted leads. A floating wire that shows more must be explained, not waved through.
pub const DEAD_VOLTS: f64 = 2.0;

/// The two readings of the known source may differ by this share (common practice).
pub const SOURCE_AGREEMENT: f64 = 0.10;

/// Judges the first reading of a known source against the volts it can have.
pub fn judge_source(volts: f64, (least, most): (f64, f64)) -> Source {
    if (least..=most).contains(&volts) { Source::Good } else { Source::Bad }
}

/// Judges the second reading of the known source against the first.
pub fn judge_source_again(volts: f64, first: f64) -> Source {
    if (volts - first).abs() <= SOURCE_AGREEMENT * first.abs() { Source::Good } else { Source::Bad }
}

/// Judges a reading across the work.
pub fn judge_work(volts: f64) -> Work {
    if volts.abs() <= DEAD_VOLTS { Work::Zero } else { Work::Voltage }
}

/// Judges a reading across something that keeps a charge.
pub fn judge_charge(volts: f64) -> Charge {
    if volts.abs() < CHARGED_VOLTS { Charge::Empty } else { Charge::Left }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_charge_is_empty_below_thirty_volts() {
        assert_eq!(judge_charge(29.9), Charge::Empty);
        for volts in [30.0, -300.0, f64::NAN] {
            assert_eq!(judge_charge(volts), Charge::Left, "{volts}");
        }
    }

    #[test]
    fn a_source_is_good_only_within_its_range() {
        assert_eq!(judge_source(121.0, (108.0, 132.0)), Source::Good);
        for volts in [0.0, 60.0, 240.0, f64::NAN] {
            assert_eq!(judge_source(volts, (108.0, 132.0)), Source::Bad, "{volts}");
        }
    }

    #[test]
    fn the_second_reading_must_agree_within_ten_percent() {
        assert_eq!(judge_source_again(119.0, 121.0), Source::Good);
        assert_eq!(judge_source_again(100.0, 121.0), Source::Bad);
        assert_eq!(judge_source_again(f64::NAN, 121.0), Source::Bad);
    }

    #[test]
    fn a_ghost_voltage_is_not_dead() {
        assert_eq!(judge_work(0.3), Work::Zero);
        for volts in [35.0, -120.0, f64::NAN] {
            assert_eq!(judge_work(volts), Work::Voltage, "{volts}");
        }
    }
}
