//! What we know of the supply, and the readings that prove it dead.

use serde::{Deserialize, Serialize};

/// What we know of the supply.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Supply {
    /// Nothing is known: treat it as live.
    Unknown,
    /// It is on.
    Live,
    /// Cut off, not yet proved.
    Isolated,
    /// Proved dead at the work, with a meter proved before and after.
    ProvenDead,
}

/// The three readings that prove dead, and the one that proves the leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ProofStage {
    /// The meter on a known source.
    KnownSource,
    /// The work.
    Work,
    /// The meter on the known source again.
    KnownSourceAgain,
    /// The leads touched together, on ohms.
    Leads,
    /// What is left in something that keeps a charge.
    Charge,
}
