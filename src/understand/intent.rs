//! Everything a technician can mean.

use serde::{Deserialize, Serialize};

use crate::id::{CheckId, PointId};
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
    /// "not H, M", "no, L to M": the last reading was taken across other points.
    Elsewhere(Elsewhere),
    /// "scratch the heater reading": a named reading is taken back.
    Scratch(Named),
    /// "I know: heater is seventy one ohms": a reading that was not asked for.
    Known(Named, Reading),
    /// What is wrong with the meter or how it is used.
    Trouble(Trouble),
    /// Who holds the plug.
    Control(Control),
    /// "serial number": what is read out next, sign by sign.
    Dictate(Dictated),
    /// Something that this program never helps with.
    Beyond(Beyond),
    /// One of the choices of the situation, by its name.
    Chose(String),
    /// One of the choices and what was said along with it, in the order said.
    ChoseBoth(String, String),
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

/// The points a reading was taken across, corrected.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Elsewhere {
    /// "no, L to M".
    Across(PointId, PointId),
    /// "not H, M".
    Instead {
        /// The point that was not meant.
        not: PointId,
        /// The one that was.
        but: PointId,
    },
}

/// A reading, by what it was taken of.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Named {
    /// By its check: "the heater reading".
    Check(CheckId),
    /// By its points: "L to H".
    Across(PointId, PointId),
}

/// What is wrong with the meter or how it is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Trouble {
    /// The fuse of its leads is open.
    Fuse,
    /// A lead is in the wrong terminal.
    Terminal,
    /// Its dial is on the wrong setting.
    Setting,
    /// It is a tester that lights, buzzes or shakes: it shows no number.
    Tester,
}

/// Who holds the plug.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Control {
    /// The technician: in the hand, in sight, or the breaker locked.
    Mine,
    /// Somebody else, or nobody.
    Others,
}

/// What is read out sign by sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Dictated {
    /// The serial number on the plate.
    Serial,
    /// The maker's name of the model.
    Model,
    /// A telephone number of the customer.
    Telephone,
}

/// What this program never helps with, whatever is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Beyond {
    /// Behind a microwave's cover.
    Microwave,
    /// Gas.
    Gas,
    /// A smell of gas: nothing is switched and nobody stays.
    Smell,
    /// The sealed refrigerant system.
    Refrigerant,
    /// A protection bridged or taken away: a fuse, a cutoff, a door switch, the earth.
    Protection,
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
    /// How many checks are still to come?
    HowMany,
    /// Speak slower.
    Slower,
    /// Speak faster.
    Faster,
    /// Speak louder.
    Louder,
    /// Speak softer.
    Softer,
    /// Say less.
    Shorter,
    /// Say everything again.
    Fuller,
    /// A photo is taken now: mark it.
    Photo,
    /// It is wet where the technician stands or works.
    Wet,
    /// It is dry again.
    Dry,
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
