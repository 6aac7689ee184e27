//! What may be asked of a person holding leads, and why.
//!
//! Trusts nobody: it knows nothing of words, circuits or belief, only what was proved, spoken and acknowledged.
//! The rules are those of `tests/interlock.rs`, each a named property.

pub mod evidence;
pub mod interlock;
pub mod permit;
pub mod supply;

pub use interlock::{Interlock, Refusal};
pub use supply::{ProofStage, Supply};
