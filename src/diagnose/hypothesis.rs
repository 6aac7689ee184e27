//! What can be the matter.

use std::fmt;

use serde::{Serialize, Serializer};

use crate::id::FaultId;

/// One explanation of the complaint.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hypothesis {
    /// Nothing electrical is wrong with the machine.
    AllGood,
    /// One fault, and everything else good.
    Fault(FaultId),
    /// Two faults at once; where one brought the other about, that one stands second, behind it.
    Both(FaultId, FaultId),
}

impl Hypothesis {
    /// The faults, none to two.
    pub fn faults(&self) -> impl Iterator<Item = &FaultId> {
        let (first, second) = match self {
            Self::AllGood => (None, None),
            Self::Fault(fault) => (Some(fault), None),
            Self::Both(first, second) => (Some(first), Some(second)),
        };
        first.into_iter().chain(second)
    }

    /// The hypothesis of this name, as [`fmt::Display`] writes it.
    pub fn named(name: &str) -> Self {
        match name.split_once(AND) {
            None if name == ALL_GOOD => Self::AllGood,
            None => Self::Fault(name.into()),
            Some((first, second)) => Self::Both(first.into(), second.into()),
        }
    }
}

const ALL_GOOD: &str = "all-good";

/// Stands between two faults; no name holds it.
const AND: char = '+';

/// `all-good`, the fault's name in the appliance model, or two of them with a plus between.
impl fmt::Display for Hypothesis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AllGood => f.write_str(ALL_GOOD),
            Self::Fault(fault) => fault.fmt(f),
            Self::Both(first, second) => write!(f, "{first}{AND}{second}"),
        }
    }
}

impl Serialize for Hypothesis {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_read_as_it_is_written() {
        let both = Hypothesis::Both("fuse-open".into(), "vent-blocked".into());
        for hypothesis in [Hypothesis::AllGood, Hypothesis::Fault("fuse-open".into()), both] {
            assert_eq!(Hypothesis::named(&hypothesis.to_string()), hypothesis);
        }
        assert_eq!(Hypothesis::named("fuse-open").faults().count(), 1);
    }
}
