//! The real session on small machines, driven by everything that can happen in every order.
//!
//! The clock is left out, but for a pause so long that proofs expire; the record is kept as a list that no state is told
//! from another by. An onlooker who knows only what was said and answered judges every step. Each rule is then broken on
//! purpose, by a session that is lied to, and found out.

mod onlooker;

use std::collections::{BTreeMap, BTreeSet};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use leadhand::dialogue::{Action, Input, Session, Step};
use leadhand::id::{CheckId, PointId};
use leadhand::model;
use leadhand::model::appliance::Appliance;
use leadhand::quantity::{Decimal, Prefix, Quantity, Unit};
use leadhand::reading::Reading;
use leadhand::record::entry::{Entry, What};
use leadhand::record::job::Job;
use leadhand::say::Manner;
use leadhand::time::Timestamp;
use leadhand::understand::heard::{Candidate, Heard};
use leadhand::understand::intent::{
    Acknowledgement, Anytime, Beyond, Control, Dictated, Elsewhere, Intent, Named, Report, Trouble,
};
use stateright::{Checker, HasDiscoveries, Model, Property};

use onlooker::{Answered, DEEDS, Deed, Onlooker, RULES, Rule, Seen};

/// What can happen, at any moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Event {
    Silence,
    /// Noise, through which an answer was understood all the same.
    TooNoisy,
    /// Noise alone.
    Noise,
    NotKept,
    MicrophoneLost,
    MicrophoneBack,
    /// So many minutes without a word, then this.
    After(u64, Then),
    /// The program dies and is started again on its record.
    Restart,
    /// Somebody says something that is nothing for us, our own voice is heard; or a note is spoken.
    Remark,
    /// Something was meant for us and not understood.
    Mumble,
    Say(Anytime),
    Yes,
    No,
    Done,
    /// The words that the hazard asks for.
    Acknowledge,
    /// The same, hardly heard.
    AcknowledgeDoubtful,
    /// The words for another hazard: a late answer, or a misheard one.
    AcknowledgeOther,
    Volts(u32),
    /// A reading that proves dead, hardly heard.
    VoltsDoubtful(u32),
    Ohms(u32),
    /// A resistance that was perhaps an overload.
    OhmsDoubtful,
    /// A resistance too doubtful to be taken.
    OhmsUnclear,
    Overload,
    Beep,
    Unstable,
    /// An overload across the points of the first dead check, or across others.
    Across(bool),
    /// "No, over limit".
    Correction,
    /// "Make that kilohms".
    Rescale,
    /// "Not this one, that one": from the points of no check to those of the first dead check.
    Elsewhere,
    See(&'static str),
    /// A reading that was not asked for, of the first dead check.
    Known,
    /// The first finding is taken back by name.
    Scratch,
    Control(Control),
    Trouble,
    Beyond,
    /// It smells of gas.
    Smell,
    /// What the plate says of the first part; it goes with no machine.
    Rated,
    /// A number will be read out, and is.
    Dictate,
    Plate,
}

/// What is said after a pause.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Then {
    Done,
    Resume,
    Acknowledge,
    Mumble,
    Noise,
}

const EVENTS: [Event; 79] = [
    Event::Silence,
    Event::TooNoisy,
    Event::Noise,
    Event::NotKept,
    Event::MicrophoneLost,
    Event::MicrophoneBack,
    Event::After(20, Then::Done),
    Event::After(20, Then::Acknowledge),
    Event::After(20, Then::Mumble),
    Event::After(20, Then::Noise),
    Event::After(5, Then::Resume),
    Event::Restart,
    Event::Remark,
    Event::Mumble,
    Event::Say(Anytime::Stop),
    Event::Say(Anytime::Hold),
    Event::Say(Anytime::Resume),
    Event::Say(Anytime::Repeat),
    Event::Say(Anytime::Back),
    Event::Say(Anytime::Skip),
    Event::Say(Anytime::Status),
    Event::Say(Anytime::HowMany),
    Event::Say(Anytime::Slower),
    Event::Say(Anytime::Faster),
    Event::Say(Anytime::Louder),
    Event::Say(Anytime::Softer),
    Event::Say(Anytime::Shorter),
    Event::Say(Anytime::Fuller),
    Event::Say(Anytime::Photo),
    Event::Say(Anytime::Wet),
    Event::Say(Anytime::Dry),
    Event::Say(Anytime::Expect),
    Event::Say(Anytime::Why),
    Event::Say(Anytime::WhyCheck),
    Event::Say(Anytime::Help),
    Event::Say(Anytime::Setting),
    Event::Say(Anytime::Where),
    Event::Say(Anytime::Note),
    Event::Say(Anytime::PowerOff),
    Event::Say(Anytime::EndJob),
    Event::Yes,
    Event::No,
    Event::Done,
    Event::Acknowledge,
    Event::AcknowledgeDoubtful,
    Event::AcknowledgeOther,
    Event::Volts(0),
    Event::Volts(120),
    Event::Volts(60),
    Event::VoltsDoubtful(0),
    Event::VoltsDoubtful(120),
    Event::Ohms(0),
    Event::Ohms(240),
    Event::OhmsDoubtful,
    Event::OhmsUnclear,
    Event::Overload,
    Event::Beep,
    Event::Unstable,
    Event::Across(true),
    Event::Across(false),
    Event::Correction,
    Event::Rescale,
    Event::Elsewhere,
    Event::See("yes"),
    Event::See("no"),
    Event::See("dark"),
    Event::Known,
    Event::Scratch,
    Event::Control(Control::Others),
    Event::Control(Control::Mine),
    Event::Trouble,
    Event::Beyond,
    Event::Smell,
    Event::Rated,
    Event::Dictate,
    Event::Plate,
    Event::See("coil"),
    Event::See("silent"),
    Event::See("nothing of the kind"),
];

/// A rule broken on purpose: the session is lied to, or what it says is taken away. The onlooker is told the truth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Broken {
    Nothing,
    /// Silence is handed on as the words that a hazard asks for.
    SilenceAcknowledges,
    /// Noise is.
    NoiseAcknowledges,
    /// A remark, or our own voice, is.
    RemarkAcknowledges,
    /// "Yes" is.
    YesAcknowledges,
    /// "Yes" is handed on as "done".
    YesIsDone,
    /// The words for another hazard are.
    OtherAcknowledges,
    /// Words for a hazard that come after so long that nothing counts any more are handed on as if at once.
    LateAcknowledges,
    /// Words hardly heard are handed on as surely heard.
    DoubtIsSurety,
    /// A reading too doubtful to be taken is handed on as surely heard.
    UnclearIsTaken,
    /// A restart goes on with the session as it was.
    RestartTrusts,
    /// A lost microphone is not told.
    LossUntold,
    /// A long pause is not noticed.
    ClockStands,
    /// "Stop" is handed on as "say again".
    StopUnheard,
    /// Voltage at the work is handed on as zero.
    VoltageWavedThrough,
    /// Voltage at what keeps a charge is handed on as zero.
    ChargeWavedThrough,
    /// "They hold the plug" is handed on as "plug is in my hand".
    PlugMisheard,
    /// That the meter is not fit is handed on as a yes.
    MeterMisheard,
    /// "It is wet" is handed on as "say again".
    WetUnheard,
    /// What is never helped with is handed on as "done".
    BeyondMisheard,
    /// A remark is handed on as "resume".
    RemarkResumes,
    /// A hazard is not spoken.
    HazardUnspoken,
    /// The record loses that a jumper is in.
    JumperForgotten,
    /// That the jumper is out is never heard.
    JumperOutUnheard,
    /// What should be read is told with every question.
    ExpectedTold,
}

/// What was kept, the last first: shared by the states that grew out of one.
#[derive(Debug)]
struct Past {
    entries: Vec<Entry>,
    before: Option<Arc<Past>>,
}

fn told(past: Option<&Arc<Past>>) -> Vec<Entry> {
    let mut steps: Vec<&Past> = Vec::new();
    let mut at = past.map(AsRef::as_ref);
    while let Some(step) = at {
        steps.push(step);
        at = step.before.as_deref();
    }
    steps.into_iter().rev().flat_map(|step| step.entries.iter().cloned()).collect()
}

#[derive(Clone, Debug)]
struct World {
    session: Session,
    past: Option<Arc<Past>>,
    now: Timestamp,
    topic: Option<String>,
    wakes: bool,
    onlooker: Onlooker,
    broke: BTreeSet<Rule>,
    /// What this step alone shows: that a stopped job went on, that something was told.
    did: Option<Deed>,
    /// All of the above that tells two states apart.
    key: u64,
}

impl PartialEq for World {
    fn eq(&self, other: &Self) -> bool {
        self.key == other.key
    }
}

impl Hash for World {
    fn hash<H: Hasher>(&self, hasher: &mut H) {
        hasher.write_u64(self.key);
    }
}

impl World {
    fn sealed(mut self) -> Self {
        let mut hasher = DefaultHasher::new();
        self.session.standing().hash(&mut hasher);
        (&self.topic, self.wakes, &self.onlooker, &self.broke, &self.did).hash(&mut hasher);
        self.key = hasher.finish();
        self
    }
}

struct Jobs {
    appliance: Arc<Appliance>,
    /// Is as little said as possible?
    brief: bool,
    broken: Broken,
    edges: Mutex<BTreeMap<u64, Vec<u64>>>,
    finished: Mutex<BTreeSet<u64>>,
    /// Everything that was ever asked.
    topics: Mutex<BTreeSet<String>>,
}

impl Jobs {
    fn new(appliance: &Arc<Appliance>, broken: Broken) -> Self {
        let appliance = Arc::clone(appliance);
        Self {
            appliance,
            brief: false,
            broken,
            edges: Mutex::default(),
            finished: Mutex::default(),
            topics: Mutex::default(),
        }
    }

    /// Everything happens everywhere, but for what would only multiply what can be found:
    /// - Short or long is chosen at the start, since it decides words only; said shortly, a job has no asides.
    /// - On the lamp readings are doubtful, known already, corrected and taken back; on the chime there are covers, a jumper,
    ///   a charge, water and asides.
    /// - The ladder is climbed where it matters most; `tests/ladder.rs` climbs it at every question of every machine.
    /// - A check is answered by one reading of each kind that leads elsewhere; the same in another scale is another value.
    /// - A part was replaced before only where little is said: all that follows is the same with other probabilities.
    /// - What is read out begins at an action and at a check; elsewhere only where it is refused.
    fn may_happen(&self, world: &World, event: Event) -> bool {
        let topic = world.topic.as_deref().unwrap_or_default();
        let kind = topic.split(' ').next().unwrap_or_default();
        let lamp = self.appliance.id.as_str() == "lamp";
        let answers = ["check", "confirm", "known"].contains(&kind);
        let safe = ["isolate", "state", "live"].contains(&kind);
        let hot = answers || kind.ends_with("ack") || kind == "live";
        let between = ["meter", "control", "source", "dead", "source-again", "dry", "charge"].contains(&kind)
            || ["state", "before", "jumper-out", "fixed"].contains(&kind);
        match event {
            Event::Say(Anytime::Shorter) => self.brief,
            Event::Say(Anytime::Fuller) => !self.brief,
            Event::Silence | Event::Mumble | Event::After(_, Then::Mumble) => {
                hot || kind == "paused" || kind == "note"
            }
            Event::Say(Anytime::Hold) => hot,
            Event::Say(Anytime::Note) => !lamp && !self.brief,
            Event::Dictate | Event::Rated => !lamp && !self.brief && !between,
            Event::Say(Anytime::Wet) => !lamp,
            Event::See("coil") => self.brief,
            Event::Known => lamp && safe,
            Event::Across(true) => !answers && !safe && (lamp || !between),
            Event::Across(false) | Event::Elsewhere => !answers || !lamp && !self.brief,
            Event::Scratch | Event::Correction => lamp,
            Event::Overload if topic == "check supply" => false,
            Event::Beep => !lamp || !answers,
            Event::See("yes") => !answers,
            Event::OhmsUnclear => lamp && kind == "check",
            Event::OhmsDoubtful | Event::Ohms(240) => lamp || !answers,
            Event::Volts(60) | Event::VoltsDoubtful(_) | Event::Ohms(_) | Event::Unstable => !answers,
            Event::Rescale => !lamp,
            _ => true,
        }
    }

    fn start(&self) -> World {
        let shelf = vec![Arc::clone(&self.appliance)].into();
        let mut session = Session::new(shelf, Some(Arc::clone(&self.appliance)));
        let mut step = session.handle(Timestamp::ZERO, Input::Start);
        if self.brief {
            let shorter = Heard::surely("shorter", Intent::Anytime(Anytime::Shorter));
            step.actions.retain(|action| matches!(action, Action::Record(_)));
            step.actions.extend(session.handle(Timestamp::ZERO, Input::Heard(shorter)).actions);
        }
        let world = World {
            session,
            past: keep(None, &step),
            now: Timestamp::ZERO,
            topic: topic(&step),
            wakes: step.wake_after.is_some(),
            onlooker: Onlooker::BLANK,
            broke: BTreeSet::new(),
            did: None,
            key: 0,
        };
        world.sealed()
    }

    /// The first check that is made dead, and its points.
    fn dead(&self) -> (CheckId, (PointId, PointId)) {
        let mut checks = self.appliance.checks.iter();
        let found =
            checks.find_map(|check| check.points().map(|(a, b)| (check.id.clone(), (a.clone(), b.clone()))));
        found.expect("a measurement")
    }

    /// The words that the open hazard asks for.
    fn acknowledgement(&self, topic: Option<&str>) -> Acknowledgement {
        let check = topic.and_then(|topic| topic.strip_prefix("ack "));
        match check.and_then(|id| self.appliance.check(&id.into())).and_then(|check| check.points()) {
            Some((a, b)) => Acknowledgement::LiveAt(a.clone(), b.clone()),
            None => Acknowledgement::LiveAndClear,
        }
    }

    fn heard(&self, world: &World, event: Event) -> Heard {
        let surely = |intent| Heard::surely("said", intent);
        let report = |reading| Intent::Report(Report { points: None, reading, correction: false });
        let value = |n, unit| Reading::Value(Quantity::new(Decimal::whole(n), unit));
        let own = Intent::Acknowledge(self.acknowledgement(world.topic.as_deref()));
        let across =
            |points| Intent::Report(Report { points, reading: Reading::Overload, correction: false });
        let (dead, (a, b)) = self.dead();
        let nowhere = || PointId::from("nowhere");
        match event {
            Event::Say(word) => surely(Intent::Anytime(word)),
            Event::Yes => surely(Intent::Yes),
            Event::No => surely(Intent::No),
            Event::Done | Event::After(_, Then::Done) => surely(Intent::Done),
            Event::After(_, Then::Resume) => surely(Intent::Anytime(Anytime::Resume)),
            Event::Acknowledge | Event::After(_, Then::Acknowledge) => surely(own),
            Event::AcknowledgeDoubtful => heard_with(DOUBTFUL, own, None),
            Event::AcknowledgeOther => surely(Intent::Acknowledge(match own {
                Intent::Acknowledge(Acknowledgement::LiveAndClear) => {
                    Acknowledgement::LiveAt("line".into(), "neutral".into())
                }
                _ => Acknowledgement::LiveAndClear,
            })),
            Event::Volts(volts) => surely(report(value(volts, Unit::Volts))),
            Event::VoltsDoubtful(volts) => {
                let rival = report(value(120 - volts, Unit::Volts));
                heard_with(DOUBTFUL, report(value(volts, Unit::Volts)), Some(rival))
            }
            Event::Ohms(ohms) => surely(report(value(ohms, Unit::Ohms))),
            Event::OhmsDoubtful | Event::OhmsUnclear => {
                let probability = if event == Event::OhmsUnclear { UNCLEAR } else { DOUBTFUL };
                heard_with(probability, report(value(240, Unit::Ohms)), Some(report(Reading::Overload)))
            }
            Event::Overload => surely(report(Reading::Overload)),
            Event::Beep => surely(report(Reading::Closed)),
            Event::Unstable => surely(report(Reading::Unstable)),
            Event::Across(true) => surely(across(Some((a, b)))),
            Event::Across(false) => surely(across(Some((a, nowhere())))),
            Event::Correction => {
                surely(Intent::Report(Report { points: None, reading: Reading::Overload, correction: true }))
            }
            Event::Rescale => surely(Intent::Rescale(Prefix::Kilo, Unit::Ohms)),
            Event::Elsewhere => surely(Intent::Elsewhere(Elsewhere::Instead { not: nowhere(), but: b })),
            Event::See(outcome) => surely(Intent::Chose(outcome.to_owned())),
            Event::Known => surely(Intent::Known(Named::Check(dead), Reading::Overload)),
            Event::Scratch => surely(Intent::Scratch(Named::Check(dead))),
            Event::Control(control) => surely(Intent::Control(control)),
            Event::Trouble => surely(Intent::Trouble(Trouble::Fuse)),
            Event::Beyond => surely(Intent::Beyond(Beyond::Protection)),
            Event::Smell => surely(Intent::Beyond(Beyond::Smell)),
            Event::Rated => {
                let part = self.appliance.parts[0].id.to_string();
                surely(Intent::Rated(part, Quantity::new(Decimal::whole(1), Unit::Amps)))
            }
            Event::Dictate => surely(Intent::Dictate(Dictated::Serial)),
            Event::Plate => surely(Intent::Plate("A13".to_owned())),
            Event::Remark => Heard { outside: 0.98, ..Heard::default() },
            _ => Heard { outside: 0.2, ..Heard::default() },
        }
    }

    /// What the session is told; a broken one is told something else.
    fn input(&self, world: &World, event: Event) -> Input {
        let asks = |kind: &str| world.topic.as_deref().is_some_and(|topic| topic.starts_with(kind));
        let acks = world.topic.as_deref().is_some_and(|topic| topic.contains("ack"));
        let repeat = Event::Say(Anytime::Repeat);
        let told = match (self.broken, event) {
            (Broken::SilenceAcknowledges, Event::Silence)
            | (Broken::NoiseAcknowledges, Event::Noise)
            | (Broken::RemarkAcknowledges, Event::Remark)
            | (Broken::YesAcknowledges, Event::Yes)
            | (Broken::OtherAcknowledges, Event::AcknowledgeOther)
                if acks =>
            {
                Event::Acknowledge
            }
            (Broken::YesIsDone, Event::Yes) => Event::Done,
            (Broken::DoubtIsSurety, Event::AcknowledgeDoubtful) => Event::Acknowledge,
            (Broken::DoubtIsSurety, Event::VoltsDoubtful(volts)) => Event::Volts(volts),
            (Broken::UnclearIsTaken, Event::OhmsUnclear) => Event::Ohms(240),
            (Broken::LossUntold, Event::MicrophoneLost)
            | (Broken::StopUnheard, Event::Say(Anytime::Stop))
            | (Broken::WetUnheard, Event::Say(Anytime::Wet)) => repeat,
            (Broken::VoltageWavedThrough, Event::Volts(120)) if asks("dead ") => Event::Volts(0),
            (Broken::ChargeWavedThrough, Event::Volts(120)) if asks("charge") => Event::Volts(0),
            (Broken::PlugMisheard, Event::Control(Control::Others)) => Event::Control(Control::Mine),
            (Broken::MeterMisheard, Event::No) if asks("meter") => Event::Yes,
            (Broken::BeyondMisheard, Event::Beyond) => Event::Done,
            (Broken::JumperOutUnheard, Event::Done | Event::Yes) if asks("jumper-out") => repeat,
            (Broken::RemarkResumes, Event::Remark) => Event::Say(Anytime::Resume),
            (_, event) => event,
        };
        match told {
            Event::Silence => Input::Silence,
            Event::TooNoisy => Input::TooNoisy { answered: true },
            Event::Noise | Event::After(_, Then::Noise) => Input::TooNoisy { answered: false },
            Event::NotKept => Input::NotKept,
            Event::MicrophoneLost => Input::MicrophoneLost,
            Event::MicrophoneBack => Input::MicrophoneBack,
            other => Input::Heard(self.heard(world, other)),
        }
    }

    fn step(&self, world: &mut World, event: Event) -> Option<Step> {
        match event {
            // Nobody is woken who waits for nothing.
            Event::Silence if !world.wakes => None,
            Event::Restart => {
                let mut entries = told(world.past.as_ref());
                if self.broken == Broken::JumperForgotten {
                    entries.retain(|entry| !matches!(entry.what, What::Jumper { .. }));
                }
                if self.broken != Broken::RestartTrusts {
                    let shelf = vec![Arc::clone(&self.appliance)].into();
                    let before = world.session.memory();
                    world.session =
                        Session::resume(shelf, &Job::fold(&entries)).expect("the machine is on the shelf");
                    assert!(
                        self.broken != Broken::Nothing || world.session.memory() == before,
                        "the record brings back {}, not {before}",
                        world.session.memory()
                    );
                }
                Some(world.session.handle(world.now, Input::Start))
            }
            Event::After(minutes, then) => {
                let late = self.broken == Broken::LateAcknowledges && then == Then::Acknowledge;
                if self.broken != Broken::ClockStands && !late {
                    world.now = world.now.after(Duration::from_secs(minutes * 60));
                }
                Some(world.session.handle(world.now, self.input(world, event)))
            }
            _ => Some(world.session.handle(world.now, self.input(world, event))),
        }
    }

    /// What the onlooker hears of it, the truth.
    fn answered(event: Event) -> Answered {
        match event {
            Event::Done => Answered::Done,
            Event::Yes => Answered::Yes,
            Event::No => Answered::No,
            Event::Control(Control::Others) => Answered::NotHeld,
            Event::Control(Control::Mine) => Answered::Held,
            Event::Volts(volts) => Answered::Volts(f64::from(volts)),
            Event::Acknowledge => Answered::Acknowledged,
            Event::Say(Anytime::Resume) => Answered::Resume,
            Event::Say(Anytime::Stop) | Event::MicrophoneLost | Event::Restart | Event::Smell => {
                Answered::Doubt
            }
            Event::Say(Anytime::Wet) => Answered::Wet,
            Event::Say(Anytime::Dry) => Answered::Dry,
            Event::After(_, Then::Done) => Answered::DoneLate,
            Event::After(_, Then::Resume) => Answered::ResumeLate,
            Event::After(_, Then::Acknowledge | Then::Mumble | Then::Noise) => Answered::NothingLate,
            _ => Answered::Nothing,
        }
    }
}

/// Enough to be taken, and too little for it.
const DOUBTFUL: f32 = 0.75;
const UNCLEAR: f32 = 0.5;

fn heard_with(probability: f32, intent: Intent, rival: Option<Intent>) -> Heard {
    let candidate = |intent, probability| Candidate { words: "said".into(), intent, probability };
    let rival = rival.map(|rival| candidate(rival, 0.2));
    let candidates = std::iter::once(candidate(intent, probability)).chain(rival).collect();
    Heard { candidates, ..Heard::default() }
}

fn topic(step: &Step) -> Option<String> {
    step.actions.iter().find_map(|action| match action {
        Action::Listen(listening) => Some(listening.topic.clone()),
        _ => None,
    })
}

fn keep(past: Option<Arc<Past>>, step: &Step) -> Option<Arc<Past>> {
    let entries: Vec<Entry> = step
        .actions
        .iter()
        .filter_map(|action| match action {
            Action::Record(entry) if !matches!(entry.what, What::Said { .. } | What::Heard { .. }) => {
                Some(entry.clone())
            }
            _ => None,
        })
        .collect();
    if entries.is_empty() { past } else { Some(Arc::new(Past { entries, before: past })) }
}

impl Model for Jobs {
    type State = World;
    type Action = Event;

    fn init_states(&self) -> Vec<World> {
        vec![self.start()]
    }

    fn actions(&self, world: &World, actions: &mut Vec<Event>) {
        if world.topic.is_some() {
            actions.extend(EVENTS.into_iter().filter(|event| self.may_happen(world, *event)));
        }
    }

    fn next_state(&self, world: &World, event: Event) -> Option<World> {
        let mut next = world.clone();
        let step = self.step(&mut next, event)?;
        let lines = step.actions.iter().filter_map(|action| match action {
            Action::Say(line) => Some(line),
            _ => None,
        });
        let lines: Vec<_> = lines.collect();
        let records = || {
            step.actions.iter().filter_map(|action| match action {
                Action::Record(entry) => Some(&entry.what),
                _ => None,
            })
        };
        let now_topic = topic(&step);
        let told_now =
            self.broken == Broken::ExpectedTold || lines.iter().any(|line| line.text.contains(" should be "));
        let found = || told(next.past.as_ref()).iter().any(|entry| matches!(entry.what, What::Found { .. }));
        let seen = Seen {
            topic: now_topic.as_deref(),
            spoke: !lines.is_empty(),
            hazard: self.broken != Broken::HazardUnspoken
                && lines.iter().any(|line| line.manner == Manner::Hazard),
            acknowledged: records().any(|what| matches!(what, What::Acknowledged { .. })),
            refused: records().any(|what| matches!(what, What::Refused { .. })),
            closed: records().any(|what| matches!(what, What::Finished)),
            told: told_now,
            found: told_now && found(),
            waits: step.wake_after.is_some(),
        };
        let answered = Self::answered(event);
        let (broke, did) = next.onlooker.watch(&self.appliance, world.topic.as_deref(), answered, &seen);
        next.broke = broke.into_iter().collect();
        next.did = did;
        if stops(event) && !seen.is_stopped() {
            next.broke.insert(Rule::StopIsSafe);
        }
        if event == Event::Beyond {
            let quiet = matches!(world.topic.as_deref(), Some("paused" | "note"));
            // After a long pause making safe comes first.
            let there = seen.topic == world.topic.as_deref() || matches!(seen.topic, Some("isolate" | "dry"));
            let refused = seen.refused && there;
            next.broke.extend((!quiet && !refused).then_some(Rule::Beyond));
            next.did = seen.refused.then_some(Deed::Refused).or(next.did);
        }
        if event == Event::OhmsUnclear {
            let kept = records().any(|what| matches!(what, What::Found { .. }));
            next.broke.extend(kept.then_some(Rule::Unclear));
            let put_back = seen.topic.is_some_and(|topic| topic.starts_with("confirm "));
            next.did = put_back.then_some(Deed::PutBack).or(next.did);
        }
        next.past = keep(next.past, &step);
        next.topic = now_topic;
        next.wakes = step.wake_after.is_some();
        let next = next.sealed();
        self.edges.lock().unwrap().entry(next.key).or_default().push(world.key);
        self.topics.lock().unwrap().extend(next.topic.clone());
        if next.topic.is_none() {
            self.finished.lock().unwrap().insert(next.key);
        }
        Some(next)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        let rules = RULES.map(|(rule, name, _)| Property::always(name, never(rule)));
        let deeds = DEEDS.map(|(deed, name)| Property::sometimes(name, once(deed)));
        rules.into_iter().chain(deeds).collect()
    }
}

const fn stops(event: Event) -> bool {
    matches!(event, Event::Say(Anytime::Stop) | Event::MicrophoneLost | Event::Smell)
}

type Holds = fn(&Jobs, &World) -> bool;

/// A property is a plain function, so each rule has its own.
macro_rules! each {
    ($kind:ident, $given:expr, $holds:expr, [$($name:ident),*]) => {
        match $given { $($kind::$name => (|_, world| $holds(world, $kind::$name)) as Holds),* }
    };
}

fn never(rule: Rule) -> Holds {
    each!(
        Rule,
        rule,
        |world: &World, rule| !world.broke.contains(&rule),
        [
            DeadFirst,
            Acknowledged,
            JumperDead,
            JumperOut,
            Deliberate,
            Proof,
            StopIsSafe,
            Quiet,
            Untold,
            Dry,
            Drained,
            Beyond,
            Unclear
        ]
    )
}

fn once(deed: Deed) -> Holds {
    each!(
        Deed,
        deed,
        |world: &World, deed| world.did == Some(deed) || world.onlooker.shows(world.topic.as_deref(), deed),
        [
            DeadAsked,
            LiveAsked,
            SwitchedOn,
            JumperTouched,
            JumperGone,
            LiveWithJumper,
            Closed,
            Acknowledged,
            Proved,
            Stopped,
            WentOn,
            Told,
            Dried,
            Drained,
            Refused,
            PutBack
        ]
    )
}

/// A lamp whose cord can be open, which only a live reading shows.
fn lamp() -> Arc<Appliance> {
    let cord = "[[fault]]\nid = \"cord-open\"\npart = \"bulb\"\nname = \"the cord is open\"\nweight = { dark = 9 }\n\
                remedy = \"cord\"\nmark = \"invented\"\nedit = [{ open = \"cord\" }]\n\n";
    // Its third check would only multiply what was found; the chime has something to look at.
    let text = include_str!("models/lamp.toml").split("[[check]]\nid = \"glow\"").next().expect("the rest");
    let text = text.replacen("[[check]]", &format!("{cord}[[check]]"), 1);
    Arc::new(model::load("lamp.toml", &text).expect("a sound model"))
}

/// A chime with a cover, a jumper, a beeper, and something that keeps a charge.
fn chime() -> Arc<Appliance> {
    let text = include_str!("models/chime.toml");
    let text = text.replacen("before = ", "hazards = [\"stored-charge\"]\nbefore = ", 1);
    Arc::new(model::load("chime.toml", &text).expect("a sound model"))
}

/// The states from which no way leads to a closed job.
fn stuck(jobs: &Jobs) -> usize {
    let edges = jobs.edges.lock().unwrap();
    let mut open: Vec<u64> = jobs.finished.lock().unwrap().iter().copied().collect();
    let mut reaches: BTreeSet<u64> = open.iter().copied().collect();
    while let Some(state) = open.pop() {
        for before in edges.get(&state).into_iter().flatten() {
            if reaches.insert(*before) {
                open.push(*before);
            }
        }
    }
    let all: BTreeSet<u64> = edges.iter().flat_map(|(to, from)| from.iter().chain([to])).copied().collect();
    all.difference(&reaches).count()
}

/// More steps than any of these jobs has.
const MOST_STEPS: usize = 50_000_000;

fn keeps_every_rule(appliance: &Arc<Appliance>, brief: bool, absent: &[Deed], states: usize) {
    let jobs = Jobs { brief, ..Jobs::new(appliance, Broken::Nothing) };
    let checker = jobs.checker().threads(2).target_state_count(MOST_STEPS).spawn_bfs().join();
    let shortly = if brief { ", said shortly" } else { "" };
    let (found, steps) = (checker.unique_state_count(), checker.state_count());
    println!("whole jobs, {}{shortly}: {found} states, {steps} steps", appliance.id);
    println!("asked: {:?}", checker.model().topics.lock().unwrap());
    for (rule, name, _) in RULES {
        let found = checker.discovery(name);
        assert!(found.is_none(), "{rule:?}: {name}:\n{}", found.map(trace).unwrap_or_default());
    }
    for (deed, name) in DEEDS {
        assert_eq!(checker.discovery(name).is_none(), absent.contains(&deed), "{}: {name}", appliance.id);
    }
    assert_eq!(stuck(checker.model()), 0, "states from which no job can be closed");
    assert_eq!(found, states, "{}{shortly}", appliance.id);
}

#[test]
fn every_order_of_everything_keeps_every_rule_on_the_lamp() {
    keeps_every_rule(&lamp(), false, &NO_JUMPER, 159_948);
}

#[test]
fn every_order_of_everything_keeps_every_rule_on_the_chime() {
    keeps_every_rule(&chime(), false, &NO_LIVE, 43_885);
}

#[test]
fn every_order_of_everything_keeps_every_rule_on_the_chime_said_shortly() {
    keeps_every_rule(&chime(), true, &NO_LIVE, 31_488);
}

#[test]
fn no_rule_holds_because_nothing_is_done() {
    for (rule, _, deed) in RULES {
        assert!(!NO_JUMPER.contains(&deed) || !NO_LIVE.contains(&deed), "{rule:?}");
    }
}

/// What can never be done to the lamp, and to the chime.
const NO_JUMPER: [Deed; 5] =
    [Deed::JumperTouched, Deed::JumperGone, Deed::LiveWithJumper, Deed::Drained, Deed::Dried];
const NO_LIVE: [Deed; 2] = [Deed::LiveAsked, Deed::PutBack];

/// What led there, one event a line.
fn trace(path: stateright::Path<World, Event>) -> String {
    let steps = path.into_vec().into_iter();
    steps.map(|(world, event)| format!("{:?} <- {event:?} {:?}\n", world.topic, world.broke)).collect()
}

#[test]
fn every_rule_broken_on_purpose_is_found() {
    let (lamp, chime) = (lamp(), chime());
    let broken = [
        (&lamp, Broken::PlugMisheard, Rule::DeadFirst),
        (&lamp, Broken::VoltageWavedThrough, Rule::DeadFirst),
        (&lamp, Broken::HazardUnspoken, Rule::Acknowledged),
        (&chime, Broken::VoltageWavedThrough, Rule::JumperDead),
        (&chime, Broken::RestartTrusts, Rule::JumperDead),
        (&chime, Broken::JumperForgotten, Rule::JumperOut),
        (&lamp, Broken::SilenceAcknowledges, Rule::Deliberate),
        (&lamp, Broken::NoiseAcknowledges, Rule::Deliberate),
        (&lamp, Broken::RemarkAcknowledges, Rule::Deliberate),
        (&lamp, Broken::YesAcknowledges, Rule::Deliberate),
        (&lamp, Broken::YesIsDone, Rule::Deliberate),
        (&lamp, Broken::OtherAcknowledges, Rule::Deliberate),
        (&lamp, Broken::LateAcknowledges, Rule::Deliberate),
        (&lamp, Broken::DoubtIsSurety, Rule::Deliberate),
        (&lamp, Broken::RestartTrusts, Rule::Proof),
        (&lamp, Broken::ClockStands, Rule::Proof),
        (&lamp, Broken::VoltageWavedThrough, Rule::Proof),
        (&lamp, Broken::MeterMisheard, Rule::Proof),
        (&lamp, Broken::LossUntold, Rule::StopIsSafe),
        (&lamp, Broken::StopUnheard, Rule::StopIsSafe),
        (&lamp, Broken::RemarkResumes, Rule::Quiet),
        (&lamp, Broken::ExpectedTold, Rule::Untold),
        (&chime, Broken::WetUnheard, Rule::Dry),
        (&chime, Broken::ChargeWavedThrough, Rule::Drained),
        (&lamp, Broken::BeyondMisheard, Rule::Beyond),
        (&lamp, Broken::UnclearIsTaken, Rule::Unclear),
    ];
    for (appliance, broken, rule) in broken {
        let name = RULES.iter().find(|(known, ..)| *known == rule).expect("a rule").1;
        let checker = Jobs::new(appliance, broken);
        let found = HasDiscoveries::AnyOf([name].into());
        let checker = checker.checker().threads(2).finish_when(found).spawn_bfs().join();
        assert!(checker.discovery(name).is_some(), "{broken:?} breaks `{name}`");
    }
    for (rule, ..) in RULES {
        assert!(broken.iter().any(|(.., found)| *found == rule), "nobody breaks {rule:?}");
    }
    // A jumper whose taking out is never heard: such a job can never be closed.
    let deaf = Jobs::new(&chime, Broken::JumperOutUnheard).checker().threads(2).spawn_bfs().join();
    assert_ne!(stuck(deaf.model()), 0, "a job that cannot be closed is found");
}
