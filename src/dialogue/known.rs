//! What is on record of a machine before the visit begins.

/// What is on record of a machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Known {
    /// The serial number on its plate, which tells it from all others.
    pub serial: String,
    /// The last visit to it, if there was one.
    pub last: Option<LastTime>,
}

/// The last visit to a machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LastTime {
    /// What was advised then, as a sentence of the model.
    pub advised: String,
    /// Was it done, once that was answered?
    pub fixed: Option<bool>,
}
