//! Numbers drawn at random as inputs of a conversation, and what must hold whatever they are. Both the property test and the
//! target of cargo-fuzz (`fuzz/`) use this.

use std::sync::Arc;
use std::time::Duration;

use leadhand::dialogue::{Action, Input, Session, Step};
use leadhand::id::{CheckId, PointId};
use leadhand::model;
use leadhand::model::appliance::{Appliance, CheckKind};
use leadhand::quantity::{Decimal, Prefix, Quantity, Unit};
use leadhand::reading::Reading;
use leadhand::record::entry::{Entry, What};
use leadhand::record::job::Job;
use leadhand::time::Timestamp;
use leadhand::understand::heard::{Candidate, Heard};
use leadhand::understand::intent::{
    Acknowledgement, Anytime, Beyond, Control, Dictated, Elsewhere, Intent, Named, Report, Trouble,
};

/// Inputs in one conversation, at the most.
pub const LONGEST: usize = 200;

/// An input drawn: what, which, how much, how probable, how long after the one before.
pub type Drawn = (u8, u8, u16, u8, u8);

const ANYTIME: [Anytime; 27] = [
    Anytime::Stop,
    Anytime::Hold,
    Anytime::Resume,
    Anytime::Repeat,
    Anytime::Back,
    Anytime::Skip,
    Anytime::Status,
    Anytime::HowMany,
    Anytime::Slower,
    Anytime::Faster,
    Anytime::Louder,
    Anytime::Softer,
    Anytime::Shorter,
    Anytime::Fuller,
    Anytime::Photo,
    Anytime::Wet,
    Anytime::Dry,
    Anytime::Expect,
    Anytime::Why,
    Anytime::WhyCheck,
    Anytime::Help,
    Anytime::Setting,
    Anytime::Where,
    Anytime::Note,
    Anytime::PowerOff,
    Anytime::EndJob,
    Anytime::Resume,
];

const UNITS: [Unit; 8] = [
    Unit::Volts,
    Unit::Ohms,
    Unit::Amps,
    Unit::Degrees,
    Unit::Fahrenheit,
    Unit::Seconds,
    Unit::Percent,
    Unit::Watts,
];

/// A machine, with all that an input can name of it.
pub struct Machine {
    pub appliance: Arc<Appliance>,
    points: Vec<PointId>,
    checks: Vec<CheckId>,
    outcomes: Vec<String>,
}

impl Machine {
    /// One of a model that comes with the program.
    pub fn shipped(name: &str) -> Self {
        Self::new(model::by_name(name).expect("a shipped model"))
    }

    /// A lamp, which is worked out quickly.
    pub fn lamp() -> Self {
        Self::new(model::load("lamp.toml", include_str!("../models/lamp.toml")).expect("a sound model"))
    }

    /// A chime, with a cover and a jumper.
    pub fn chime() -> Self {
        Self::new(model::load("chime.toml", include_str!("../models/chime.toml")).expect("a sound model"))
    }

    fn new(appliance: Appliance) -> Self {
        let outcomes = appliance.checks.iter().flat_map(|check| match &check.kind {
            CheckKind::Observe(observation) => observation.outcomes.iter().map(|o| o.name.clone()).collect(),
            _ => Vec::new(),
        });
        let complaints = appliance.complaints.iter().map(|complaint| complaint.id.to_string());
        let parts = appliance.parts.iter().map(|part| part.id.to_string());
        Self {
            outcomes: complaints
                .chain(parts)
                .chain(outcomes)
                .chain(["nothing-of-the-kind".to_owned()])
                .collect(),
            points: appliance.points.iter().map(|point| point.id.clone()).chain(["nowhere".into()]).collect(),
            checks: appliance.checks.iter().map(|check| check.id.clone()).chain(["nothing".into()]).collect(),
            appliance: Arc::new(appliance),
        }
    }

    fn pick<T: Clone>(all: &[T], which: u16) -> T {
        all[usize::from(which) % all.len()].clone()
    }

    fn points(&self, which: u16) -> (PointId, PointId) {
        (Self::pick(&self.points, which), Self::pick(&self.points, which / 7))
    }

    fn reading(which: u8, much: u16) -> Reading {
        let prefix = [Prefix::One, Prefix::Kilo, Prefix::Mega, Prefix::Milli][usize::from(which % 4)];
        let number =
            Decimal::new(much.is_multiple_of(11), u64::from(much), which % 5).unwrap_or(Decimal::whole(0));
        let unit = (!which.is_multiple_of(3)).then(|| Self::pick(&UNITS, u16::from(which / 3)));
        match which % 16 {
            0 => Reading::Overload,
            1 => Reading::Closed,
            2 => Reading::Unstable,
            3 => Reading::Value(Quantity::new(Decimal::whole(120), Unit::Volts)),
            4 => Reading::Value(Quantity::new(Decimal::whole(0), Unit::Volts)),
            _ => Reading::Value(Quantity { number, prefix, unit }),
        }
    }

    fn named(&self, which: u8, much: u16) -> Named {
        if which.is_multiple_of(2) {
            return Named::Check(Self::pick(&self.checks, much));
        }
        let (a, b) = self.points(much);
        Named::Across(a, b)
    }

    /// What is said, mostly what a technician would say who is asked this.
    fn intent(&self, topic: &str, what: u8, which: u8, much: u16) -> Intent {
        let reading = Self::reading(which, much);
        let (kind, rest) = topic.split_once(' ').unwrap_or((topic, ""));
        let check = self.appliance.check(&rest.into());
        match what % 20 {
            0 | 1 => Intent::Done,
            2 | 3 => Intent::Yes,
            4 => Intent::No,
            5 => Intent::Anytime(Self::pick(&ANYTIME, much)),
            6 | 7 if kind.ends_with("ack") => {
                Intent::Acknowledge(match check.and_then(|check| check.points()) {
                    Some((a, b)) => Acknowledgement::LiveAt(a.clone(), b.clone()),
                    None => Acknowledgement::LiveAndClear,
                })
            }
            6..=8 if ["recurs", "replaced", "which-part", "that-part"].contains(&kind) => {
                Intent::Anytime(Anytime::Skip)
            }
            9 if kind == "which-part" => {
                let part = &self.appliance.parts[usize::from(much) % self.appliance.parts.len()];
                Intent::Chose(part.id.to_string())
            }
            6 | 7 if kind == "source" || kind == "source-again" => {
                Intent::Report(Report { points: None, reading: Self::reading(3, much), correction: false })
            }
            6 | 7 if kind == "dead" => {
                Intent::Report(Report { points: None, reading: Self::reading(4, much), correction: false })
            }
            6..=9 => Intent::Report(Report { points: None, reading, correction: what % 20 == 9 }),
            10 => Intent::Report(Report { points: Some(self.points(much)), reading, correction: false }),
            11 => Intent::Chose(Self::pick(&self.outcomes, much)),
            12 => Intent::Known(self.named(which, much), reading),
            13 => Intent::Scratch(self.named(which, much)),
            14 => {
                let (a, b) = self.points(much);
                Intent::Elsewhere(match which % 2 {
                    0 => Elsewhere::Across(a, b),
                    _ => Elsewhere::Instead { not: a, but: b },
                })
            }
            15 => Intent::Rescale(Prefix::Kilo, Self::pick(&UNITS, much)),
            16 => {
                let (a, b) = self.points(much);
                Intent::Acknowledge(if which.is_multiple_of(2) {
                    Acknowledgement::LiveAndClear
                } else {
                    Acknowledgement::LiveAt(a, b)
                })
            }
            17 => Intent::Control(if which.is_multiple_of(2) { Control::Mine } else { Control::Others }),
            18 => match which % 6 {
                0 => Intent::Trouble(Trouble::Fuse),
                1 => Intent::Beyond(Beyond::Gas),
                2 => Intent::Beyond(Beyond::Smell),
                3 => Intent::Dictate(Dictated::Serial),
                4 => Intent::Plate("A13".into()),
                _ => Intent::Digits("047".into()),
            },
            _ => {
                let part = &self.appliance.parts[usize::from(much) % self.appliance.parts.len()];
                let watts = Quantity::new(Decimal::whole(u32::from(much)), Unit::Watts);
                Intent::Rated(part.id.to_string(), watts)
            }
        }
    }

    fn input(&self, topic: &str, (what, which, much, likely, _): Drawn) -> Input {
        match what {
            0..=9 => return Input::Silence,
            10..=13 => return Input::TooNoisy { answered: which.is_multiple_of(2) },
            14 | 15 => return Input::NotKept,
            16 => return Input::MicrophoneLost,
            17 => return Input::MicrophoneBack,
            _ => {}
        }
        // Most of what is heard is heard surely.
        let probability = if likely < 160 { 1.0 } else { f32::from(likely) / 255.0 };
        let candidate = |what, probability| Candidate {
            words: "said".into(),
            intent: self.intent(topic, what, which, much),
            probability,
        };
        let other = candidate(what.wrapping_add(which), (1.0 - probability) / 2.0);
        let candidates = match likely % 16 {
            0 => Vec::new(),
            _ => vec![candidate(what, probability), other],
        };
        let outside = f32::from(which) / 255.0;
        Input::Heard(Heard { candidates, outside, free: String::new() })
    }
}

fn topic(step: &Step) -> Option<String> {
    step.actions.iter().find_map(|action| match action {
        Action::Listen(listening) => Some(listening.topic.clone()),
        _ => None,
    })
}

/// What a step may not be, whatever came.
fn sound(step: &Step, entries: &mut Vec<Entry>) {
    let mut lines = 0;
    for (at, action) in step.actions.iter().enumerate() {
        match action {
            Action::Record(entry) => {
                assert!(lines == 0, "recorded before it is said");
                // The talk itself decides nothing.
                if !matches!(entry.what, What::Said { .. } | What::Heard { .. } | What::Believed { .. }) {
                    entries.push(entry.clone());
                }
            }
            Action::Say(line) => {
                lines += 1;
                assert!(!line.text.is_empty() && line.text.len() < 400, "{}", line.text);
            }
            Action::Listen(_) | Action::Finish => assert_eq!(at + 1, step.actions.len(), "the last"),
        }
    }
    assert!(lines <= 24 && step.actions.len() <= 80, "{lines} lines");
}

/// One conversation. Panics where anything is not as it must be.
pub fn conversation(machine: &Machine, drawn: &[Drawn]) {
    let shelf: Arc<[Arc<Appliance>]> = vec![Arc::clone(&machine.appliance)].into();
    let mut session = Session::new(Arc::clone(&shelf), Some(Arc::clone(&machine.appliance)));
    let (mut now, mut entries) = (Timestamp::ZERO, Vec::new());
    let mut asked = session.handle(now, Input::Start);
    sound(&asked, &mut entries);
    let complaint = Intent::Chose(machine.appliance.complaints[0].id.to_string());
    for (at, one) in drawn.iter().enumerate() {
        let Some(topic) = topic(&asked) else { break };
        let input = match at {
            0 => Input::Heard(Heard::surely("complaint", complaint.clone())),
            _ => machine.input(&topic, *one),
        };
        let pause = if one.4 == 0 { 30 * 60 } else { u64::from(one.4 % 60) };
        now = now.after(Duration::from_secs(pause));
        asked = session.handle(now, input);
        sound(&asked, &mut entries);
        assert!(session.standing().len() < 64 * 1024, "a session stays small");
        if one.4 == 1 || at + 1 == drawn.len().min(LONGEST) {
            let job = Job::fold(&entries);
            let resumed = Session::resume(Arc::clone(&shelf), &job).expect("the machine is on the shelf");
            assert_eq!(resumed.memory(), session.memory(), "the record brings the session back");
        }
    }
}

/// Bytes as numbers drawn, six a piece.
#[allow(dead_code)] // Only the target of cargo-fuzz has bytes.
pub fn drawn(bytes: &[u8]) -> Vec<Drawn> {
    let piece = |piece: &[u8]| match *piece {
        [what, which, low, high, likely, pause] => {
            Some((what, which, u16::from_le_bytes([low, high]), likely, pause))
        }
        _ => None,
    };
    bytes.chunks_exact(6).take(LONGEST).filter_map(piece).collect()
}
