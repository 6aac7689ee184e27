//! Somebody who stands beside the technician and trusts nobody: judges each step by what was said, asked and answered
//! before it, and never asks the interlock.

use std::collections::BTreeSet;

use leadhand::hazard::Hazard;
use leadhand::model::appliance::Appliance;
use leadhand::safety::evidence::{CHARGED_VOLTS, DEAD_VOLTS, SOURCE_AGREEMENT};

/// What must never happen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    /// No resistance, continuity or hands in the machine unless proved dead and not spoiled since.
    DeadFirst,
    /// No live prompt without its hazard spoken and acknowledged in that visit to the state.
    Acknowledged,
    /// No jumper touched unless proved dead.
    JumperDead,
    /// No job closed with a jumper in.
    JumperOut,
    /// No hazard counts as acknowledged but by its own words, surely heard, and a yes neither cuts off, switches on nor
    /// moves a jumper.
    Deliberate,
    /// The known source is read only cut off and acknowledged; the work only with a proved meter.
    Proof,
    /// Stop, a lost microphone: in one step nothing is asked and everything counts as live.
    StopIsSafe,
    /// Nothing is asked while the technician has not said to go on.
    Quiet,
    /// What should be read is not said before it was.
    Untold,
    /// Nobody is sent to a known source or switches anything on while it is wet.
    Dry,
    /// No hands at what keeps a charge unless it was read as empty since the work was proved dead.
    Drained,
    /// What is never helped with is refused and kept, and nothing else comes of it.
    Beyond,
    /// What was too doubtful to be understood is never kept as found: it is asked about.
    Unclear,
}

/// Every rule, with what it forbids, and the deed that shows that it does not hold because nothing is ever done.
pub const RULES: [(Rule, &str, Deed); 13] = [
    (
        Rule::DeadFirst,
        "no resistance, continuity or hands inside unless proved dead and not spoiled since",
        Deed::DeadAsked,
    ),
    (
        Rule::Acknowledged,
        "no live prompt without its hazard spoken and acknowledged in that visit",
        Deed::LiveAsked,
    ),
    (Rule::JumperDead, "no jumper is touched unless proved dead", Deed::JumperTouched),
    (Rule::JumperOut, "no job is closed with a jumper in", Deed::JumperGone),
    (Rule::Deliberate, "no hazard is acknowledged but by its own words, surely heard", Deed::Acknowledged),
    (Rule::Proof, "known source and work are read only in their order", Deed::Proved),
    (Rule::StopIsSafe, "stop reaches a safe state in one step", Deed::Stopped),
    (Rule::Quiet, "nothing is asked until told to go on", Deed::WentOn),
    (Rule::Untold, "what should be read is not said before it was", Deed::Told),
    (Rule::Dry, "nothing is live while it is wet", Deed::Dried),
    (Rule::Drained, "no hands at what keeps a charge unless read as empty", Deed::Drained),
    (Rule::Beyond, "what is never helped with is refused and kept", Deed::Refused),
    (Rule::Unclear, "nothing is kept as found that was not understood", Deed::PutBack),
];

/// What happened at least once, so that no rule holds because nothing is ever asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Deed {
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
    PutBack,
}

/// Every deed, with its name.
pub const DEEDS: [(Deed, &str); 16] = [
    (Deed::DeadAsked, "a resistance or continuity is asked for"),
    (Deed::LiveAsked, "a live reading or observation is asked for"),
    (Deed::SwitchedOn, "something is switched on"),
    (Deed::JumperTouched, "a jumper is put in or taken out"),
    (Deed::JumperGone, "a jumper is out again"),
    (Deed::LiveWithJumper, "something is looked at live with a jumper in"),
    (Deed::Closed, "a job is closed"),
    (Deed::Acknowledged, "a hazard is acknowledged"),
    (Deed::Proved, "the work is proved dead"),
    (Deed::Stopped, "live work is stopped"),
    (Deed::WentOn, "a stopped job goes on"),
    (Deed::Told, "what should be read is told"),
    (Deed::Dried, "it is dry again"),
    (Deed::Drained, "a charge is read as gone"),
    (Deed::Refused, "something is refused"),
    (Deed::PutBack, "a doubtful reading is put back"),
];

/// What was answered, as the onlooker hears it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Answered {
    /// It is done.
    Done,
    /// Yes.
    Yes,
    /// No.
    No,
    /// Somebody else can restore the supply.
    NotHeld,
    /// So many volts, surely heard.
    Volts(f64),
    /// The hazard's own words, surely heard.
    Acknowledged,
    /// Done, after so long that nothing before it counts any more.
    DoneLate,
    /// Something that is no answer, after so long that nothing counts any more.
    NothingLate,
    /// Go on.
    Resume,
    /// Go on, after so long that whoever held on may have left.
    ResumeLate,
    /// It is wet.
    Wet,
    /// It is dry.
    Dry,
    /// Only the technician can restore the supply.
    Held,
    /// Everything is in doubt from here on: stop, a lost microphone, a restart.
    Doubt,
    /// Anything else, doubtful readings and doubtful words among it.
    Nothing,
}

/// What is known of the supply.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Supply {
    Unknown,
    CutOff,
    /// Tenths of volts of the known source.
    MeterProved(i64),
    Dead,
    Live(String),
}

/// What an onlooker knows.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Onlooker {
    supply: Supply,
    zeros: BTreeSet<String>,
    /// The hazard whose words were asked for last, if it was spoken.
    spoken: Option<String>,
    acknowledged: Option<String>,
    jumper: bool,
    paused: bool,
    /// Was the meter said to be fit?
    fit: bool,
    wet: bool,
    /// Was what keeps a charge read as empty?
    drained: bool,
}

/// A step as it is seen: what is asked, what was said.
pub struct Seen<'a> {
    /// The topic that is listened for; `None` once the job is closed.
    pub topic: Option<&'a str>,
    /// Was anything said?
    pub spoke: bool,
    /// Was anything said in the hazard voice?
    pub hazard: bool,
    /// Was an acknowledgement recorded?
    pub acknowledged: bool,
    /// Was something recorded as refused?
    pub refused: bool,
    /// Was the job recorded as closed?
    pub closed: bool,
    /// Was it said what a check should read?
    pub told: bool,
    /// Is a finding on record?
    pub found: bool,
    /// Is an answer waited for?
    pub waits: bool,
}

impl Seen<'_> {
    /// Nothing is asked, and the technician was told to keep the hands away.
    pub fn is_stopped(&self) -> bool {
        self.topic.is_none() || (self.topic == Some("paused") && self.hazard && !self.waits)
    }
}

impl Onlooker {
    pub const BLANK: Self = Self {
        supply: Supply::Unknown,
        zeros: BTreeSet::new(),
        spoken: None,
        acknowledged: None,
        jumper: false,
        paused: false,
        fit: false,
        wet: false,
        drained: false,
    };

    /// Everything that a step broke and did.
    pub fn watch(
        &mut self,
        appliance: &Appliance,
        asked: Option<&str>,
        answered: Answered,
        seen: &Seen<'_>,
    ) -> (Vec<Rule>, Option<Deed>) {
        let (mut broke, mut did) = (Vec::new(), None);
        let was = self.clone();
        self.answered(appliance, asked, answered);
        did = did
            .or((was.jumper && !self.jumper).then_some(Deed::JumperGone))
            .or((was.wet && !self.wet).then_some(Deed::Dried))
            .or((!was.drained && self.drained).then_some(Deed::Drained));
        if seen.acknowledged {
            let own = answered == Answered::Acknowledged && asked.is_some_and(|topic| topic.contains("ack"));
            broke.extend((!own).then_some(Rule::Deliberate));
        }
        let in_words =
            |topic| ["isolate", "dry", "jumper-in", "jumper-out", "live"].contains(&split(topic).0);
        let back = matches!(seen.topic, Some("isolate" | "dry"));
        if answered == Answered::Yes && asked.is_some_and(in_words) && seen.topic != asked && !back {
            broke.push(Rule::Deliberate);
        }
        if seen.told {
            broke.extend((!seen.found).then_some(Rule::Untold));
            did = Some(Deed::Told);
        }
        if seen.closed {
            broke.extend(self.jumper.then_some(Rule::JumperOut));
        }
        self.paused = seen.topic == Some("paused");
        if was.paused && !self.paused {
            match answered {
                Answered::Resume | Answered::ResumeLate => did = Some(Deed::WentOn),
                // A restart asks anew, and from making safe on.
                Answered::Doubt => {}
                _ => broke.push(Rule::Quiet),
            }
        }
        // The same question goes on where its hazard was spoken a moment ago.
        let same = seen.topic == self.spoken.as_deref() && seen.topic == asked;
        if seen.spoke && !self.paused && (seen.hazard || !same) {
            self.ordered(appliance, seen, &mut broke);
        }
        (broke, did)
    }

    /// The technician, or the world, did something.
    fn answered(&mut self, appliance: &Appliance, asked: Option<&str>, answered: Answered) {
        let (kind, rest) = split(asked.unwrap_or_default());
        match (kind, answered) {
            (_, Answered::Doubt) => self.doubt(),
            (_, Answered::NothingLate) => self.doubt(),
            (_, Answered::DoneLate) => {
                self.doubt();
                self.answered(appliance, asked, Answered::Done);
            }
            (_, Answered::ResumeLate) if self.paused => self.doubt(),
            (_, Answered::Wet) => {
                self.doubt();
                self.wet = true;
            }
            (_, Answered::Dry) if !self.paused => self.wet = false,
            ("meter", Answered::Yes) => self.fit = true,
            ("meter", Answered::No) => {
                self.doubt();
                self.fit = false;
            }
            ("charge", Answered::Volts(volts)) => self.drained = volts.abs() < CHARGED_VOLTS,
            ("isolate" | "control", Answered::NotHeld) | ("control", Answered::No) => self.doubt(),
            ("isolate" | "control", Answered::Held) | ("control", Answered::Yes) => {
                self.doubt();
                self.supply = Supply::CutOff;
            }
            ("source-ack" | "ack", Answered::Acknowledged) if self.spoken.as_deref() == asked => {
                self.acknowledged = self.spoken.take();
            }
            ("source", Answered::Volts(volts)) => {
                let (least, most) = appliance.known_source_volts;
                if (least..=most).contains(&volts) && self.supply == Supply::CutOff {
                    self.supply = Supply::MeterProved((volts * 10.0) as i64);
                    self.zeros.clear();
                }
            }
            ("dead", Answered::Volts(volts)) if volts.abs() <= DEAD_VOLTS => {
                self.zeros.insert(rest.to_owned());
            }
            ("dead", Answered::Volts(_)) => self.doubt(),
            ("source-again", Answered::Volts(volts)) => {
                let Supply::MeterProved(first) = self.supply else { return };
                let agrees = (volts - first as f64 / 10.0).abs() <= SOURCE_AGREEMENT * first as f64 / 10.0;
                let all = appliance.prove_dead.iter().all(|(a, b)| self.zeros.contains(&format!("{a} {b}")));
                self.doubt();
                if agrees && all {
                    self.supply = Supply::Dead;
                }
            }
            ("jumper-out", Answered::Done) if self.supply == Supply::Dead => self.jumper = false,
            _ => {}
        }
    }

    /// Nothing counts any more; a jumper that is in stays in, a fit meter stays fit, and wet stays wet.
    fn doubt(&mut self) {
        let Self { jumper, paused, fit, wet, .. } = *self;
        *self = Self { jumper, paused, fit, wet, ..Self::BLANK };
    }

    /// Something was asked for.
    fn ordered(&mut self, appliance: &Appliance, seen: &Seen<'_>, broke: &mut Vec<Rule>) {
        let Some(topic) = seen.topic else { return };
        let (kind, rest) = split(topic);
        let mut judge = |fine: bool, rule: Rule| broke.extend((!fine).then_some(rule));
        let dead = self.supply == Supply::Dead;
        match kind {
            "source-ack" | "ack" => {
                judge(seen.hazard, Rule::Acknowledged);
                self.acknowledged = None;
                self.spoken = Some(topic.to_owned());
            }
            "source" => {
                let own = self.acknowledged.as_deref() == Some("source-ack");
                judge(self.supply == Supply::CutOff && own && self.fit, Rule::Proof);
                judge(!self.wet, Rule::Dry);
            }
            "dead" | "source-again" => {
                judge(matches!(self.supply, Supply::MeterProved(_)), Rule::Proof);
                judge(!self.wet, Rule::Dry);
            }
            "state" | "before" | "leads" | "charge" => judge(dead, Rule::DeadFirst),
            "fixed" => judge(dead && !self.jumper, Rule::DeadFirst),
            "jumper-in" | "jumper-out" => {
                judge(dead, Rule::JumperDead);
                self.jumper = true;
            }
            "live" => {
                let acknowledged = self.acknowledged.as_deref().and_then(|topic| topic.strip_prefix("ack "));
                let check = acknowledged.and_then(|id| appliance.check(&id.into()));
                let own = check.is_some_and(|check| check.state.as_str() == rest);
                judge(own && self.supply != Supply::Unknown, Rule::Acknowledged);
                judge(!self.wet, Rule::Dry);
                self.drained = false;
                self.supply = Supply::Live(rest.to_owned());
            }
            "check" | "confirm" => {
                let check = appliance.check(&rest.into()).expect("a check of this machine");
                let state = appliance.state(&check.state).expect("a state of this machine");
                if state.energised {
                    let own = self.acknowledged.as_deref().is_some_and(|topic| topic.starts_with("ack "));
                    let on = self.supply == Supply::Live(state.id.to_string());
                    judge(on && own, Rule::Acknowledged);
                } else {
                    judge(dead, Rule::DeadFirst);
                    let keeps = check.hazards.contains(&Hazard::StoredCharge);
                    judge(!keeps || self.drained, Rule::Drained);
                }
            }
            _ => {}
        }
    }

    /// Does what is seen show that this was done?
    pub fn shows(&self, topic: Option<&str>, deed: Deed) -> bool {
        let Some(topic) = topic else { return deed == Deed::Closed };
        let (kind, _) = split(topic);
        let live = matches!(self.supply, Supply::Live(_)) && kind == "check";
        match deed {
            Deed::DeadAsked => self.supply == Supply::Dead && kind == "check",
            Deed::LiveAsked => live && !self.jumper,
            Deed::LiveWithJumper => live && self.jumper,
            Deed::SwitchedOn => kind == "live",
            Deed::JumperTouched => kind.starts_with("jumper"),
            Deed::Acknowledged => self.acknowledged.is_some(),
            Deed::Proved => self.supply == Supply::Dead,
            Deed::Stopped => self.paused,
            Deed::Closed | Deed::WentOn | Deed::Told | Deed::JumperGone => false,
            Deed::Dried | Deed::Drained | Deed::Refused | Deed::PutBack => false,
        }
    }
}

fn split(topic: &str) -> (&str, &str) {
    topic.split_once(' ').unwrap_or((topic, ""))
}
