//! Every sentence we can speak, as a value.
//!
//! A prompt that could hurt someone holds the permit it needs, so it cannot be built without one.

use rust_decimal::Decimal;

use crate::diagnose::remedy::Confidence;
use crate::diagnose::verdict::Verdict;
use crate::model::appliance::Function;
use crate::money::Currency;
use crate::quantity::{Quantity, Unit};
use crate::reading::{Finding, Reading};
use crate::safety::permit::{AbsenceTest, ChargeTest, DeadWork, Energise, JumperWork, LiveWork, SourceTest};
use crate::understand::intent::{Beyond, Dictated, Trouble};

use super::{Line, wording};

/// Something we say.
#[derive(Debug)]
pub enum Prompt {
    /// Which machine is it?
    AskMachine,
    /// What is wrong with it?
    AskComplaint {
        /// The machine's name.
        machine: String,
    },
    /// Does it come and go? With the complaint before it, as it was heard, where it can still be taken back.
    AskRecurs(Option<String>),
    /// Was a part replaced for it already? With the complaint likewise.
    AskReplaced(Option<String>),
    /// Which one?
    AskWhichPart,
    /// A setting was turned.
    Turned {
        /// How far and which way: "half a turn less".
        amount: String,
        /// About how many cubic centimetres that is, in words.
        brings: String,
    },
    /// How far a setting may still go that way; nothing where it may not.
    TurnsLeft(Option<String>),
    /// What can be done where it may not.
    AtLimit,
    /// A setting may not go as far as is usual: how far did it go?
    SayHowFar,
    /// A setting was typed in other words, so that nobody knows where it is.
    SetByHand,
    /// Said once a job: local rules come first.
    Scope,
    /// Said once a job: what holds in this region, a sentence or two.
    Region(String),
    /// The machine is made for another supply than this region's.
    OtherSupply,
    /// Something this program does not do on this machine.
    Refuses(String),
    /// Is the meter fit for the job?
    AskMeter,
    /// The meter is not fit.
    MeterNotFit,
    /// Cut the supply off.
    Isolate(String),
    /// Who can restore the supply?
    AskControl,
    /// It is wet: that first.
    DryFirst,
    /// Read what keeps a charge.
    ReadCharge {
        /// The right to ask.
        permit: ChargeTest,
    },
    /// There is charge left.
    StillCharged,
    /// What a residual-current device does and does not; once a job, before anything is switched on.
    Protection,
    /// Covers are off where something is switched on.
    CoversOff,
    /// The outlet that proves the meter is live.
    SourceHazard {
        /// The known source.
        source: String,
    },
    /// Read the known source.
    ReadSource {
        /// The known source.
        source: String,
        /// Second reading?
        again: bool,
        /// The right to ask.
        permit: SourceTest,
    },
    /// The known source does not read what it must.
    SourceBad,
    /// Read a pair of the work; it must be dead.
    ReadAbsence {
        /// The first point.
        from: String,
        /// The second point.
        to: String,
        /// The right to ask.
        permit: AbsenceTest,
    },
    /// The work is not dead.
    NotDead,
    /// The work is proved dead.
    ProvenDead,
    /// Why the next check is live.
    WhyLive(String),
    /// What is dangerous in the state to come, and where.
    LiveHazard(String),
    /// What to answer: the word and the two points.
    AskLiveAt {
        /// The first point.
        from: String,
        /// The second point.
        to: String,
    },
    /// What to answer where nothing is touched.
    AskLiveClear,
    /// An acknowledgement that does not count.
    NotAcknowledged,
    /// Put the machine into a live state.
    GoLive {
        /// What to do.
        make: String,
        /// The right to ask.
        permit: Energise,
    },
    /// Put a jumper in.
    JumperIn {
        /// What to bridge and how.
        how: String,
        /// The right to ask.
        permit: JumperWork,
    },
    /// Take the jumper out.
    JumperOut {
        /// The right to ask.
        permit: JumperWork,
    },
    /// Put the machine into a dead state.
    MakeDead {
        /// What to do.
        make: String,
        /// The right to ask.
        permit: DeadWork,
    },
    /// What must be done before a check.
    Before {
        /// What to do.
        what: String,
        /// The right to ask.
        permit: DeadWork,
    },
    /// A measurement.
    Measure {
        /// Where the meter is put.
        at: Place,
        /// What the meter is set to.
        function: Function,
        /// The range to choose by hand.
        range: Option<String>,
        /// The right to ask.
        permit: Either,
    },
    /// An observation, or a reading of another instrument.
    Observe {
        /// As asked.
        question: String,
        /// The right to ask.
        permit: Either,
    },
    /// Switch off after the live checks.
    PowerOff(String),
    /// A reading read back, the dialogue going on.
    ReadBack {
        /// What was read.
        reading: Reading,
        /// Does the meter beep, rather than show it?
        beeps: bool,
    },
    /// A reading read back digit by digit, waiting for an answer.
    ConfirmReading {
        /// What was read.
        reading: Reading,
        /// Does the meter beep, rather than show it?
        beeps: bool,
    },
    /// The same for a reading that was not asked for.
    ConfirmKnown {
        /// What it is of.
        place: String,
        /// What was read.
        reading: Reading,
        /// Does the meter beep, rather than show it?
        beeps: bool,
    },
    /// No dead check takes that reading.
    NotKnown,
    /// What was said has to wait for the open question.
    NotNow,
    /// Something that this program never helps with.
    Beyond(Beyond),
    /// What is to be read out, sign by sign.
    Dictate(Dictated),
    /// What was read out, read back.
    ConfirmDictated(String),
    /// An estimate, for the customer to agree to.
    AskConsent {
        /// What it comes to, taxes with it.
        total: Amount,
        /// How much of that is beyond what was agreed to before, if anything was.
        more: Option<Amount>,
    },
    /// What the customer said to it, read back.
    ConfirmConsent {
        /// Do they agree?
        given: bool,
        /// To what.
        total: Amount,
    },
    /// Why such a meter proves nothing.
    Trouble(Trouble),
    /// Nobody we know of keeps the supply off.
    PlugNotHeld,
    /// It is wet.
    Wet,
    /// It is dry again.
    Dry,
    /// An observation read back, waiting for an answer.
    ConfirmOutcome(String),
    /// What the rating plate says, read back, waiting for an answer.
    ConfirmRated {
        /// The part.
        part: String,
        /// What it says.
        value: Quantity,
    },
    /// The plate's value is taken.
    Rated,
    /// The plate's value does not go with the machine.
    NotRated,
    /// A reading taken back.
    TakenBack,
    /// What the reading means.
    Verdict(Verdict),
    /// What the reading should have been, said after it was taken.
    Expected {
        /// Of what.
        place: String,
        /// What it should have been.
        expected: Expected,
    },
    /// "What do you expect" asked too early.
    ExpectLater,
    /// The two points named are not those asked for.
    OtherPoints {
        /// The first point asked for.
        from: String,
        /// The second point asked for.
        to: String,
    },
    /// The unit does not fit the check.
    OtherUnit(Unit),
    /// What we think is wrong.
    Advice {
        /// The cause, as a clause: "the heating element is open".
        cause: String,
        /// How sure we are.
        confidence: Confidence,
    },
    /// Nothing electrical is wrong.
    NothingElectrical {
        /// How sure we are.
        confidence: Confidence,
    },
    /// The checks that can be done do not tell.
    CannotTell,
    /// What to do about it, how it is sold, the cause behind it, cautions: sentences of the model.
    Plain(String),
    /// Say when the work is done.
    AskFixed,
    /// The same, where nothing electrical is to be done.
    AskLooked,
    /// A closing item.
    Closing(String),
    /// The job cannot be closed.
    CannotClose,
    /// What this program has not tested.
    NotTested,
    /// The job is closed.
    Finished,
    /// Everything stops.
    Stopped,
    /// Nothing more is said until told to go on.
    Holding,
    /// Back at work.
    GoingOn,
    /// A job is picked up again.
    PickedUp,
    /// Nothing was heard for so long that nothing counts as proved.
    LongPause,
    /// The machine is on record: what was advised last time, and whether it was done.
    LastTime {
        /// A sentence of the model.
        advised: String,
        /// Was it done, once that was answered?
        fixed: Option<bool>,
    },
    /// Nothing understood: say it again.
    SayAgain,
    /// Nothing understood twice: an example.
    Example(String),
    /// A plain yes does not count here: these words do.
    InWords(String),
    /// Nothing understood three times.
    UseKeys,
    /// What can be said.
    Help(String),
    /// Nothing to take back.
    NothingBack,
    /// That does not fit here.
    NotHere,
    /// Go on and speak the note.
    NoteGoOn,
    /// A note is kept.
    NoteKept,
    /// A note was announced and did not come.
    NoNote,
    /// A photo is marked, by its number.
    PhotoMarked(usize),
    /// So many checks are left, at the most.
    Left(usize),
    /// Where we are.
    Status {
        /// How many findings are taken.
        taken: usize,
        /// The likeliest cause, as a clause.
        cause: Option<String>,
        /// How likely it is.
        confidence: Confidence,
    },
    /// What moved the belief, and how far.
    Why {
        /// The one or two findings that moved it most, each with what was looked at.
        found: Vec<(String, Finding)>,
        /// How sure it would be without them.
        before: Confidence,
        /// How sure it is.
        now: Confidence,
        /// The likeliest cause.
        cause: String,
    },
    /// Why this check: the two causes that it tells most about.
    WhyCheck {
        /// The one.
        cause: String,
        /// The other.
        other: String,
    },
    /// What could still change the advice.
    CouldChange {
        /// What would be looked at.
        check: String,
        /// The cause that it could point to.
        cause: String,
    },
    /// Nothing that is left could change the advice.
    NothingChanges,
    /// No cause explains a finding: it is taken again.
    TakeAgain,
    /// The meter may be in the wrong mode: a reading is taken again.
    LookAtDial,
    /// Taken again, and still no cause explains it.
    StaysUnexplained,
    /// The leads, touched together.
    TouchLeads {
        /// Because too much reads open?
        doubted: bool,
        /// The right to ask.
        permit: DeadWork,
    },
    /// A lead is open, and what was measured with it is taken back.
    LeadOpen,
    /// The machine was run, and the complaint is still there.
    DidNotHelp,
    /// The leads are good.
    LeadsGood,
    /// Nothing moved the belief yet.
    WhyNothing,
    /// Where a point is.
    Where(String),
    /// What the meter is to be set to.
    Setting(Function),
    /// A check left out.
    Skipped,
    /// What makes safe is not left out.
    NotSkipped,
    /// The record could not be kept.
    NotKept,
    /// The microphone is gone.
    MicrophoneLost,
    /// The microphone is there again; only a word of the technician's goes on.
    MicrophoneBack,
    /// The noise is too loud.
    TooNoisy,
}

/// An amount of money.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Amount {
    /// How much.
    pub sum: Decimal,
    /// Of what.
    pub currency: Currency,
}

/// Where the meter is put, as said.
#[derive(Clone, Debug)]
pub enum Place {
    /// The leads on two points.
    Across(String, String),
    /// The clamp round a wire.
    Around(String),
}

/// A permit for work that is done dead or live, as the check has it.
#[derive(Debug)]
pub enum Either {
    /// Proved dead.
    Dead(DeadWork),
    /// Live, spoken and acknowledged.
    Live(LiveWork),
}

/// What a check should show in a good machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Expected {
    /// About this much.
    About(Quantity),
    /// More than the meter shows.
    Overload,
    /// Nothing can be said.
    Unknown,
}

impl Prompt {
    /// The words for it.
    pub fn line(&self) -> Line {
        wording::line(self)
    }

    /// The fewest words for it: what goes without saying is left out, a hazard never is.
    pub fn brief_line(&self) -> Line {
        wording::brief(self)
    }
}
