//! Everything a technician can mean.

use serde::{Deserialize, Serialize};

use crate::id::PointId;
use crate::quantity::{Prefix, Quantity, Unit};
use crate::reading::Reading;

/// What was meant by an utterance.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Intent {
    /// A word that is open at any time.
    Anytime(Anytime),
    /// "yes", "correct", "right".
    Yes,
    /// "no", "wrong", "negative".
    No,
    /// "ready", "done", "next".
    Done,
    /// A reading, perhaps with the points it was taken across, perhaps correcting the one before ("no, fifteen").
    Report(Report),
    /// "make that kilohms": the last reading again, in another scale.
    Rescale(Prefix, Unit),
    /// One of the choices of the situation, by its name.
    Chose(String),
    /// "heater is rated four hundred watts": what the plate says of a part, by its name.
    Rated(String, Quantity),
    /// The deliberate two-part answer to a hazard: the word "live" and what was asked to be named with it.
    Acknowledge(Acknowledgement),
    /// Digits as said, for serial, model and phone numbers.
    Digits(String),
    /// Letters and digits as on a rating plate.
    Plate(String),
}

/// A reading as reported.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Report {
    /// The two points named with it, in the order said.
    pub points: Option<(PointId, PointId)>,
    /// What the meter showed.
    pub reading: Reading,
    /// Does it correct what was said before?
    pub correction: bool,
}

/// What was named in a two-part acknowledgement.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Acknowledgement {
    /// "live at L and N": the two points, in the order said.
    LiveAt(PointId, PointId),
    /// "live and clear": nothing is touched; hands are away.
    LiveAndClear,
}

/// What can be said at any time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Anytime {
    /// Stop: everything is live from now on.
    Stop,
    /// Say nothing until told to go on.
    Hold,
    /// Go on after a hold or a stop.
    Resume,
    /// Say the last thing again.
    Repeat,
    /// Take back the last answer.
    Back,
    /// Leave this check out.
    Skip,
    /// Where are we?
    Status,
    /// What should it read? Answered only after the reading is taken.
    Expect,
    /// Why do you think so?
    Why,
    /// Why this check?
    WhyCheck,
    /// What can I say?
    Help,
    /// What should the meter be set to?
    Setting,
    /// Where do the leads go?
    Where,
    /// The next utterance is a note.
    Note,
    /// "power is off", "unplugged": said on its own, it proves nothing.
    PowerOff,
    /// Close the job here.
    EndJob,
}
