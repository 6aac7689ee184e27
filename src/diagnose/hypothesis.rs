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
}

impl Hypothesis {
    /// The fault, if it is one.
    pub const fn fault(&self) -> Option<&FaultId> {
        match self {
            Self::AllGood => None,
            Self::Fault(fault) => Some(fault),
        }
    }
}

/// `all-good`, or the fault's name in the appliance model.
impl fmt::Display for Hypothesis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AllGood => f.write_str("all-good"),
            Self::Fault(fault) => fault.fmt(f),
        }
    }
}

impl Serialize for Hypothesis {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
