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
use leadhand::model;
use leadhand::model::appliance::{Appliance, CheckKind, Function};
use leadhand::quantity::{Decimal, Quantity, Unit};
use leadhand::reading::Reading;
use leadhand::record::entry::{Entry, What};
use leadhand::record::job::Job;
use leadhand::say::Manner;
use leadhand::time::Timestamp;
use leadhand::understand::heard::{Candidate, Heard};
use leadhand::understand::intent::{
    Acknowledgement, Anytime, Beyond, Control, Intent, Named, Report, Trouble,
};
use stateright::{Checker, HasDiscoveries, Model, Property};

use onlooker::{Answered, DEEDS, Deed, Onlooker, RULES, Rule, Seen};

/// What can happen, at any moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Event {
    Silence,
    TooNoisy,
    NotKept,
    MicrophoneLost,
    /// Twenty minutes without a word, then "done".
    LongPause,
    /// The program dies and is started again on its record.
    Restart,
    /// Somebody says something that is nothing for us.
    Remark,
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
    Overload,
    Beep,
    /// "No, over limit".
    Correction,
    See(&'static str),
    /// A reading that was not asked for, of the first dead check.
    Known,
    /// The first finding is taken back by name.
    Scratch,
    Control(Control),
    Trouble,
    Beyond,
}

const EVENTS: [Event; 41] = [
    Event::Silence,
    Event::TooNoisy,
    Event::NotKept,
    Event::MicrophoneLost,
    Event::LongPause,
    Event::Restart,
    Event::Remark,
    Event::Say(Anytime::Stop),
    Event::Say(Anytime::Hold),
    Event::Say(Anytime::Resume),
    Event::Say(Anytime::Repeat),
    Event::Say(Anytime::Back),
    Event::Say(Anytime::Skip),
    Event::Say(Anytime::Expect),
    Event::Say(Anytime::PowerOff),
    Event::Say(Anytime::EndJob),
    Event::Say(Anytime::Wet),
    Event::Say(Anytime::Dry),
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
    Event::Ohms(240),
    Event::OhmsDoubtful,
    Event::Overload,
    Event::Beep,
    Event::Correction,
    Event::See("no"),
    Event::Known,
    Event::Scratch,
    Event::Control(Control::Others),
    Event::Control(Control::Mine),
    Event::Trouble,
    Event::Beyond,
];

/// A rule broken on purpose: the session is lied to, or what it says is taken away. The onlooker is told the truth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Broken {
    Nothing,
    /// Silence is handed on as the words that a hazard asks for.
    SilenceAcknowledges,
    /// Words hardly heard are handed on as surely heard.
    DoubtIsSurety,
    /// "Yes" is handed on as the words that a hazard asks for.
    YesAcknowledges,
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
    /// A remark is handed on as "resume".
    RemarkResumes,
    /// A hazard is not spoken.
    HazardUnspoken,
    /// The record loses that a jumper is in.
    JumperForgotten,
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
            broken,
            edges: Mutex::default(),
            finished: Mutex::default(),
            topics: Mutex::default(),
        }
    }

    /// A reading of another kind than is asked for is refused and changes nothing: `tests/dialogue.rs` shows it, and here it
    /// would only multiply what can be found.
    fn means_something(&self, topic: &str, event: Event) -> bool {
        let (kind, rest) = topic.split_once(' ').unwrap_or((topic, ""));
        let check =
            self.appliance.check(&rest.into()).filter(|_| ["check", "confirm", "known"].contains(&kind));
        let function = check.map(|check| match &check.kind {
            CheckKind::Measure(measurement) => Some(measurement.function),
            _ => None,
        });
        // What only the reading of a check is about is tried on the lamp, water and a fuller set of answers on the chime.
        let asides = matches!(
            event,
            Event::Known
                | Event::Scratch
                | Event::Correction
                | Event::OhmsDoubtful
                | Event::Volts(60)
                | Event::VoltsDoubtful(_)
                | Event::AcknowledgeOther
        );
        let water = matches!(event, Event::Say(Anytime::Wet | Anytime::Dry));
        if self.appliance.id.as_str() == "chime" && asides || self.appliance.id.as_str() == "lamp" && water {
            return false;
        }
        // What makes many states and nothing new is tried where it matters.
        match event {
            Event::Silence => {
                return check.is_some() || kind.ends_with("ack") || kind == "live" || kind == "paused";
            }
            Event::Say(Anytime::Hold) => return check.is_some() || kind.ends_with("ack") || kind == "live",
            Event::Known => return ["isolate", "state", "live"].contains(&kind),
            _ => {}
        }
        match (event, function) {
            (Event::Volts(0 | 120), Some(Some(Function::AcVolts))) => true,
            (Event::Ohms(_) | Event::OhmsDoubtful | Event::Overload, Some(Some(Function::Ohms))) => true,
            (Event::Beep | Event::Overload, Some(Some(Function::Continuity))) => true,
            (Event::See(_), Some(None)) => true,
            (
                Event::Volts(_)
                | Event::VoltsDoubtful(_)
                | Event::Ohms(_)
                | Event::OhmsDoubtful
                | Event::Overload
                | Event::Beep
                | Event::See(_),
                Some(_),
            ) => false,
            (Event::Volts(_) | Event::VoltsDoubtful(_), None) => {
                ["source", "source-again", "dead"].contains(&kind)
            }
            (Event::Ohms(_), None) => kind == "leads",
            (Event::OhmsDoubtful | Event::Beep | Event::See(_), None) => false,
            (Event::Overload, None) => ["source", "leads"].contains(&kind),
            _ => true,
        }
    }

    fn start(&self) -> World {
        let shelf = vec![Arc::clone(&self.appliance)].into();
        let mut session = Session::new(shelf, Some(Arc::clone(&self.appliance)));
        let first = session.handle(Timestamp::ZERO, Input::Start);
        let complaint = Intent::Chose(self.appliance.complaints[0].id.to_string());
        let second = session.handle(Timestamp::ZERO, Input::Heard(Heard::surely("complaint", complaint)));
        let past = [first, second.clone()].into_iter().fold(None, |past, step| keep(past, &step));
        let world = World {
            session,
            past,
            now: Timestamp::ZERO,
            topic: topic(&second),
            wakes: second.wake_after.is_some(),
            onlooker: Onlooker::BLANK,
            broke: BTreeSet::new(),
            did: None,
            key: 0,
        };
        world.sealed()
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
        let dead = self.appliance.checks.iter().find(|check| matches!(check.kind, CheckKind::Measure(_)));
        let dead = || Named::Check(dead.expect("a measurement").id.clone());
        match event {
            Event::Say(word) => surely(Intent::Anytime(word)),
            Event::Yes => surely(Intent::Yes),
            Event::No => surely(Intent::No),
            Event::Done | Event::LongPause => surely(Intent::Done),
            Event::Acknowledge => surely(own),
            Event::AcknowledgeDoubtful => doubtful(own, None),
            Event::AcknowledgeOther => surely(Intent::Acknowledge(match own {
                Intent::Acknowledge(Acknowledgement::LiveAndClear) => {
                    Acknowledgement::LiveAt("line".into(), "neutral".into())
                }
                _ => Acknowledgement::LiveAndClear,
            })),
            Event::Volts(volts) => surely(report(value(volts, Unit::Volts))),
            Event::VoltsDoubtful(volts) => {
                let rival = report(value(120 - volts, Unit::Volts));
                doubtful(report(value(volts, Unit::Volts)), Some(rival))
            }
            Event::Ohms(ohms) => surely(report(value(ohms, Unit::Ohms))),
            Event::OhmsDoubtful => doubtful(report(value(240, Unit::Ohms)), Some(report(Reading::Overload))),
            Event::Overload => surely(report(Reading::Overload)),
            Event::Beep => surely(report(Reading::Closed)),
            Event::Correction => {
                surely(Intent::Report(Report { points: None, reading: Reading::Overload, correction: true }))
            }
            Event::See(outcome) => surely(Intent::Chose(outcome.to_owned())),
            Event::Known => surely(Intent::Known(dead(), Reading::Overload)),
            Event::Scratch => surely(Intent::Scratch(dead())),
            Event::Control(control) => surely(Intent::Control(control)),
            Event::Trouble => surely(Intent::Trouble(Trouble::Fuse)),
            Event::Beyond => surely(Intent::Beyond(Beyond::Protection)),
            Event::Remark => Heard { outside: 0.98, ..Heard::default() },
            _ => Heard::default(),
        }
    }

    /// What the session is told; a broken one is told something else.
    fn input(&self, world: &World, event: Event) -> Input {
        let acks = world.topic.as_deref().is_some_and(|topic| topic.contains("ack"));
        let told = match (self.broken, event) {
            (Broken::SilenceAcknowledges, Event::Silence) if acks => Event::Acknowledge,
            (Broken::YesAcknowledges, Event::Yes) if acks => Event::Acknowledge,
            (Broken::DoubtIsSurety, Event::AcknowledgeDoubtful) => Event::Acknowledge,
            (Broken::DoubtIsSurety, Event::VoltsDoubtful(volts)) => Event::Volts(volts),
            (Broken::LossUntold, Event::MicrophoneLost) => Event::Say(Anytime::Repeat),
            (Broken::StopUnheard, Event::Say(Anytime::Stop)) => Event::Say(Anytime::Repeat),
            (Broken::VoltageWavedThrough, Event::Volts(120))
                if world.topic.as_deref().is_some_and(|topic| topic.starts_with("dead ")) =>
            {
                Event::Volts(0)
            }
            (Broken::RemarkResumes, Event::Remark) => Event::Say(Anytime::Resume),
            (_, event) => event,
        };
        match told {
            Event::Silence => Input::Silence,
            Event::TooNoisy => Input::TooNoisy { answered: true },
            Event::NotKept => Input::NotKept,
            Event::MicrophoneLost => Input::MicrophoneLost,
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
            Event::LongPause => {
                if self.broken != Broken::ClockStands {
                    world.now = world.now.after(Duration::from_secs(20 * 60));
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
            Event::Say(Anytime::Stop | Anytime::Wet) | Event::MicrophoneLost | Event::Restart => {
                Answered::Doubt
            }
            Event::LongPause => Answered::DoneLate,
            _ => Answered::Nothing,
        }
    }
}

fn doubtful(intent: Intent, rival: Option<Intent>) -> Heard {
    let candidate = |intent, probability| Candidate { words: "said".into(), intent, probability };
    let rival = rival.map(|rival| candidate(rival, 0.3));
    Heard { candidates: std::iter::once(candidate(intent, 0.6)).chain(rival).collect(), ..Heard::default() }
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
        let Some(topic) = world.topic.as_deref() else { return };
        actions.extend(EVENTS.into_iter().filter(|event| self.means_something(topic, *event)));
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
        let told_now = self.broken == Broken::ExpectedTold
            || lines.iter().any(|line| line.text.starts_with("It should be"));
        let found = || told(next.past.as_ref()).iter().any(|entry| matches!(entry.what, What::Found { .. }));
        let seen = Seen {
            topic: now_topic.as_deref(),
            spoke: !lines.is_empty(),
            hazard: self.broken != Broken::HazardUnspoken
                && lines.iter().any(|line| line.manner == Manner::Hazard),
            acknowledged: records().any(|what| matches!(what, What::Acknowledged { .. })),
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
        let rules = RULES.map(|(rule, name)| Property::always(name, never(rule)));
        let deeds = DEEDS.map(|(deed, name)| Property::sometimes(name, once(deed)));
        rules.into_iter().chain(deeds).collect()
    }
}

const fn stops(event: Event) -> bool {
    matches!(event, Event::Say(Anytime::Stop) | Event::MicrophoneLost)
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
        [DeadFirst, Acknowledged, JumperDead, JumperOut, Deliberate, Proof, StopIsSafe, Quiet, Untold]
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
            LiveWithJumper,
            Closed,
            Acknowledged,
            Proved,
            Stopped,
            WentOn,
            Told
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

fn chime() -> Arc<Appliance> {
    Arc::new(model::load("chime.toml", include_str!("models/chime.toml")).expect("a sound model"))
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

#[test]
fn every_order_of_everything_keeps_every_rule() {
    for (appliance, absent, states) in [
        (lamp(), &[Deed::JumperTouched, Deed::LiveWithJumper][..], 36_986),
        (chime(), &[Deed::LiveAsked][..], 4_433),
    ] {
        let started = std::time::Instant::now();
        let checker = Jobs::new(&appliance, Broken::Nothing).checker().threads(2);
        let checker = checker.timeout(Duration::from_secs(200)).spawn_bfs().join();
        println!(
            "whole jobs, {}: {} states, {} steps, {} s",
            appliance.id,
            checker.unique_state_count(),
            checker.state_count(),
            started.elapsed().as_secs()
        );
        println!("asked: {:?}", checker.model().topics.lock().unwrap());
        for (rule, name) in RULES {
            let found = checker.discovery(name);
            assert!(found.is_none(), "{rule:?}: {name}:\n{}", found.map(trace).unwrap_or_default());
        }
        for (deed, name) in DEEDS {
            assert_eq!(checker.discovery(name).is_none(), absent.contains(&deed), "{}: {name}", appliance.id);
        }
        let stuck = stuck(checker.model());
        assert_eq!(stuck, 0, "states from which no job can be closed");
        assert_eq!(checker.unique_state_count(), states, "{}", appliance.id);
    }
}

/// What led there, one event a line.
fn trace(path: stateright::Path<World, Event>) -> String {
    let steps = path.into_vec().into_iter();
    steps.map(|(world, event)| format!("{:?} <- {event:?} {:?}\n", world.topic, world.broke)).collect()
}

#[test]
fn every_rule_broken_on_purpose_is_found() {
    let check = |appliance: &Arc<Appliance>, broken, rule: Rule| {
        let name = RULES.iter().find(|(known, _)| *known == rule).expect("a rule").1;
        let checker = Jobs::new(appliance, broken);
        let found = HasDiscoveries::AnyOf([name].into());
        let checker = checker.checker().threads(2).finish_when(found).spawn_bfs().join();
        assert!(checker.discovery(name).is_some(), "{broken:?} breaks `{name}`");
    };
    let (lamp, chime) = (lamp(), chime());
    check(&lamp, Broken::SilenceAcknowledges, Rule::Deliberate);
    check(&lamp, Broken::YesAcknowledges, Rule::Deliberate);
    check(&lamp, Broken::DoubtIsSurety, Rule::Deliberate);
    check(&lamp, Broken::RestartTrusts, Rule::Proof);
    check(&lamp, Broken::LossUntold, Rule::StopIsSafe);
    check(&lamp, Broken::StopUnheard, Rule::StopIsSafe);
    check(&lamp, Broken::ClockStands, Rule::Proof);
    check(&lamp, Broken::VoltageWavedThrough, Rule::Proof);
    check(&lamp, Broken::RemarkResumes, Rule::Quiet);
    check(&lamp, Broken::HazardUnspoken, Rule::Acknowledged);
    check(&lamp, Broken::ExpectedTold, Rule::Untold);
    check(&chime, Broken::JumperForgotten, Rule::JumperOut);
}
