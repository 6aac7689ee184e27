//! circuit.
