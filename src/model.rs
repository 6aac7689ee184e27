//! Appliance models: from a file to facts that cannot be wrong.
//!
//! Knows circuits, but no words of the dialogue and no belief.

pub mod appliance;
