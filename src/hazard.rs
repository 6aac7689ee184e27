//! What can hurt a person at a check.

use serde::{Deserialize, Serialize};

/// A danger that a prompt must name before hands go near it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hazard {
    /// Supply voltage on what is to be touched or stands open beside it.
    Mains,
    /// A capacitor that keeps its charge after the supply is gone.
    StoredCharge,
    /// A drum, blade or fan that can start.
    Motion,
    /// A surface hot enough to burn.
    Heat,
    /// Water near electrics, or about to flow.
    Water,
    /// Sheet-metal edges, glass, springs.
    SharpEdges,
}
