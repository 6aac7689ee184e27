//! What a meter would show between two points of a circuit.
//!
//! A [`Netlist`] is solved by modified nodal analysis over complex phasors (Ho, Ruehli and Brennan 1975) at the supply's
//! frequency, or at direct current for the ohmmeter. The meter is part of the circuit: its input loads what it measures.
//! Knows nodes and elements, but no appliances, no words and no belief.
//!
//! **Opens are finite.** An open contact, a blown fuse and a broken wire are [`OPEN_OHMS`], never absent. So no node ever
//! floats, "singular matrix" cannot happen to a connected circuit, and what a meter shows on a wire that hangs free comes
//! out of the model: with nothing but [`OPEN_OHMS`] it reads about zero, with a stray capacitance in the netlist it shows
//! the ghost voltage that a real meter shows.

pub mod check;
pub mod edit;
pub mod law;
pub mod meter;
pub mod netlist;
pub mod probe;
pub mod solve;
pub mod spread;
pub mod survey;
pub mod thermocouple;
pub mod thermostat;
pub mod wire;

pub use check::Flaw;
pub use edit::Edit;
pub use law::Law;
pub use meter::{Meter, Mode};
pub use netlist::{Element, Follow, Kind, Netlist, OPEN_OHMS};
pub use probe::{Band, Shown};
pub use solve::{Current, Solution};
pub use spread::Spread;
pub use survey::{Samples, Survey};
pub use thermostat::Bimetal;
pub use wire::Wire;
