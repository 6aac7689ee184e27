//! Typed names: a part is not a point, a fault is not a check.
//!
//! A name is a short kebab-case word from an appliance model. Cloning one is cheap.

use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

macro_rules! names {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(Arc<str>);

        impl $name {
            /// The name as the appliance model writes it.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl From<&str> for $name {
            fn from(text: &str) -> Self {
                Self(text.into())
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{:?}", &self.0)
            }
        }
    )*};
}

names! {
    /// An appliance model: the file that describes a machine's circuit.
    ApplianceId,
    /// A point: where a lead goes.
    PointId,
    /// A node of the circuit.
    NodeId,
    /// An element of the circuit: a resistance, a contact, a source.
    ElementId,
    /// A part: what can be bought and fitted.
    PartId,
    /// A fault: a part and how it failed.
    FaultId,
    /// A state: which switches are closed, supply on or off, jumper in or out.
    StateId,
    /// A check: one thing to do and report.
    CheckId,
    /// A remedy: what to replace or adjust.
    RemedyId,
    /// A complaint: what the customer says is wrong.
    ComplaintId,
}
