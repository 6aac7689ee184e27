//! The real interlock, tried in every order of events.
//!
//! Each rule is a property with a name; each `always` has a `sometimes` that shows it is not empty. The number of
//! states is pinned: if it moves, somebody changed what the interlock does.

use leadhand::safety::evidence::{Charge, Source, Work};
use leadhand::safety::{Interlock, Refusal, Supply};
use stateright::{Checker, Model, Property};

/// Pairs of the work that must read zero in this model.
const PAIRS: u8 = 2;

/// What can happen, in any order and any number of times.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Event {
    Doubt,
    Meter { fit: bool },
    Wet,
    Dry,
    Isolated { held: bool },
    HazardSpoken,
    Acknowledged,
    SourceRead(Source),
    WorkRead(Work),
    SourceReadAgain(Source),
    AskJumperIn,
    AskJumperOut,
    JumperOut,
    AskEnergise,
    AskDead,
    AskLive,
    AskSource,
    AskAbsence,
    AskCharge,
    ChargeRead(Charge),
    AskDrained,
}

const EVENTS: [Event; 27] = [
    Event::Doubt,
    Event::Meter { fit: true },
    Event::Meter { fit: false },
    Event::Wet,
    Event::Dry,
    Event::Isolated { held: true },
    Event::Isolated { held: false },
    Event::HazardSpoken,
    Event::Acknowledged,
    Event::SourceRead(Source::Good),
    Event::SourceRead(Source::Bad),
    Event::WorkRead(Work::Zero),
    Event::WorkRead(Work::Voltage),
    Event::SourceReadAgain(Source::Good),
    Event::SourceReadAgain(Source::Bad),
    Event::AskJumperIn,
    Event::AskJumperOut,
    Event::JumperOut,
    Event::AskEnergise,
    Event::AskDead,
    Event::AskLive,
    Event::AskSource,
    Event::AskAbsence,
    Event::AskCharge,
    Event::ChargeRead(Charge::Empty),
    Event::ChargeRead(Charge::Left),
    Event::AskDrained,
];

/// What the last event was granted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Granted {
    Nothing,
    Dead,
    Live,
    Energise,
    Source,
    Absence,
    Jumper,
    Charge,
    Drained,
}

/// What an onlooker who trusts nobody has seen since the last doubt. Kept apart from the interlock, in its own terms.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Onlooker {
    isolated: bool,
    meter_good: bool,
    zeros: u8,
    proved_again: bool,
    hazard_spoken: bool,
    acknowledged: bool,
    switched_on: bool,
    jumper: bool,
    drained: bool,
    /// These two outlast a doubt.
    fit: bool,
    wet: bool,
}

impl Onlooker {
    const BLANK: Self = Self {
        isolated: false,
        meter_good: false,
        zeros: 0,
        proved_again: false,
        hazard_spoken: false,
        acknowledged: false,
        switched_on: false,
        jumper: false,
        drained: false,
        fit: false,
        wet: false,
    };

    /// Nothing counts any more but what outlasts a doubt.
    fn doubt(&mut self) {
        *self = Self { jumper: self.jumper, fit: self.fit, wet: self.wet, ..Self::BLANK };
    }

    fn dead(&self) -> bool {
        self.isolated && self.meter_good && self.zeros >= PAIRS && self.proved_again && !self.switched_on
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct World {
    interlock: Interlock,
    seen: Onlooker,
    granted: Granted,
}

/// A rule broken on purpose, to show that the check finds it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Broken {
    Nothing,
    /// A hazard counts as acknowledged once it is spoken.
    SilenceAcknowledges,
    /// The second reading of the known source is waved through.
    OneProofIsEnough,
    /// A restart keeps the proof.
    DoubtKeepsProof,
    /// It counts as cut off whoever holds the plug.
    AnybodyHoldsThePlug,
    /// A charge counts as gone whatever is read.
    ChargeUnread,
}

struct Rules {
    broken: Broken,
}

fn apply(world: &mut World, event: Event, broken: Broken) {
    let World { interlock, seen, granted } = world;
    *granted = Granted::Nothing;
    match event {
        Event::Doubt => {
            if broken != Broken::DoubtKeepsProof {
                interlock.doubt();
            }
            seen.doubt();
        }
        Event::Meter { fit } => {
            interlock.meter(fit);
            seen.fit = fit;
            if !fit {
                seen.doubt();
            }
        }
        Event::Wet => {
            interlock.wet();
            seen.wet = true;
            seen.doubt();
        }
        Event::Dry => {
            interlock.dry();
            seen.wet = false;
        }
        Event::Isolated { held } => {
            let held_as_told = held || broken == Broken::AnybodyHoldsThePlug;
            seen.doubt();
            if interlock.isolated(held_as_told).is_ok() {
                seen.isolated = held;
            }
        }
        Event::HazardSpoken => {
            interlock.hazard_spoken();
            (seen.hazard_spoken, seen.acknowledged) = (true, false);
            if broken == Broken::SilenceAcknowledges {
                interlock.acknowledged().expect("spoken just now");
            }
        }
        Event::Acknowledged => {
            if interlock.acknowledged().is_ok() {
                seen.acknowledged = true;
            }
        }
        Event::SourceRead(source) => {
            if interlock.source_read(source).is_ok() {
                (seen.meter_good, seen.zeros, seen.proved_again) = (source == Source::Good, 0, false);
            }
        }
        Event::WorkRead(work) => {
            if interlock.work_read(work).is_ok() {
                match work {
                    Work::Zero => seen.zeros = PAIRS.min(seen.zeros + 1),
                    Work::Voltage => seen.doubt(),
                }
            }
        }
        Event::SourceReadAgain(source) => {
            let believed = if broken == Broken::OneProofIsEnough { Source::Good } else { source };
            if interlock.source_read_again(believed).is_ok() {
                seen.proved_again = source == Source::Good;
                (seen.hazard_spoken, seen.acknowledged) = (false, false);
            }
        }
        Event::AskJumperIn => {
            if interlock.permit_jumper_in().is_ok() {
                (seen.jumper, *granted) = (true, Granted::Jumper);
            }
        }
        Event::AskJumperOut => {
            if interlock.permit_jumper_out().is_ok() {
                *granted = Granted::Jumper;
            }
        }
        Event::JumperOut => {
            if interlock.jumper_out().is_ok() {
                seen.jumper = false;
            }
        }
        Event::AskEnergise => {
            if interlock.permit_energise().is_ok() {
                (seen.switched_on, seen.drained, *granted) = (true, false, Granted::Energise);
            }
        }
        Event::AskDead => *granted = grant(interlock.permit_dead(), Granted::Dead),
        Event::AskLive => *granted = grant(interlock.permit_live(), Granted::Live),
        Event::AskSource => *granted = grant(interlock.permit_source(), Granted::Source),
        Event::AskAbsence => *granted = grant(interlock.permit_absence(), Granted::Absence),
        Event::AskCharge => *granted = grant(interlock.permit_charge(), Granted::Charge),
        Event::ChargeRead(charge) => {
            let believed = if broken == Broken::ChargeUnread { Charge::Empty } else { charge };
            if interlock.charge_read(believed).is_ok() {
                seen.drained = charge == Charge::Empty;
            }
        }
        Event::AskDrained => *granted = grant(interlock.permit_drained(), Granted::Drained),
    }
}

fn grant<P>(permit: Result<P, Refusal>, granted: Granted) -> Granted {
    if permit.is_ok() { granted } else { Granted::Nothing }
}

impl Model for Rules {
    type State = World;
    type Action = Event;

    fn init_states(&self) -> Vec<World> {
        let interlock = Interlock::new(PAIRS);
        vec![World { interlock, seen: Onlooker::BLANK, granted: Granted::Nothing }]
    }

    fn actions(&self, _: &World, actions: &mut Vec<Event>) {
        actions.extend(EVENTS);
    }

    fn next_state(&self, world: &World, event: Event) -> Option<World> {
        let mut next = world.clone();
        apply(&mut next, event, self.broken);
        Some(next)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        vec![
            Property::always(
                "no resistance is asked for unless proved dead and not spoiled since",
                |_, w: &World| w.granted != Granted::Dead || w.seen.dead(),
            ),
            Property::sometimes("a resistance is asked for", |_, w: &World| w.granted == Granted::Dead),
            Property::always("no live reading without its hazard spoken and acknowledged", |_, w: &World| {
                w.granted != Granted::Live
                    || (w.seen.hazard_spoken && w.seen.acknowledged && w.seen.switched_on)
            }),
            Property::sometimes("a live reading is asked for", |_, w: &World| w.granted == Granted::Live),
            Property::always(
                "nothing is switched on without its hazard spoken and acknowledged",
                |_, w: &World| {
                    w.granted != Granted::Energise || (w.seen.hazard_spoken && w.seen.acknowledged)
                },
            ),
            Property::sometimes("something is switched on", |_, w: &World| w.granted == Granted::Energise),
            Property::always("the known source is read only isolated and acknowledged", |_, w: &World| {
                w.granted != Granted::Source
                    || (w.seen.isolated && w.seen.acknowledged && !w.seen.switched_on)
            }),
            Property::sometimes("the known source is read", |_, w: &World| w.granted == Granted::Source),
            Property::always("absence of voltage is tested only with a proved meter", |_, w: &World| {
                w.granted != Granted::Absence || (w.seen.isolated && w.seen.meter_good)
            }),
            Property::sometimes("absence of voltage is tested", |_, w: &World| w.granted == Granted::Absence),
            Property::always(
                "the supply counts as cut off only where the technician holds it",
                |_, w: &World| w.interlock.supply() != Supply::Isolated || w.seen.isolated,
            ),
            Property::sometimes("a supply that somebody else holds is not cut off", |_, w: &World| {
                w.interlock.supply() == Supply::Unknown && w.seen.fit
            }),
            Property::always("the known source is read only with a fit meter", |_, w: &World| {
                w.granted != Granted::Source || w.seen.fit
            }),
            Property::always("nothing live is asked for where it is wet", |_, w: &World| {
                !w.seen.wet || !matches!(w.granted, Granted::Source | Granted::Energise | Granted::Live)
            }),
            Property::sometimes("something is switched on where it was wet and is dry", |_, w: &World| {
                w.granted == Granted::Energise && !w.seen.wet
            }),
            Property::always(
                "what keeps a charge is touched only once it was read as empty",
                |_, w: &World| w.granted != Granted::Drained || (w.seen.dead() && w.seen.drained),
            ),
            Property::sometimes("what keeps a charge is touched", |_, w: &World| {
                w.granted == Granted::Drained
            }),
            Property::always("a charge is read only at dead work", |_, w: &World| {
                w.granted != Granted::Charge || w.seen.dead()
            }),
            Property::sometimes("a charge is read", |_, w: &World| w.granted == Granted::Charge),
            Property::always("no jumper is touched unless proved dead", |_, w: &World| {
                w.granted != Granted::Jumper || w.seen.dead()
            }),
            Property::sometimes("a jumper is in while the machine is live", |_, w: &World| {
                w.granted == Granted::Live && w.seen.jumper
            }),
            Property::always("a job with a jumper in cannot be closed", |_, w: &World| {
                w.interlock.may_close().is_err() == w.seen.jumper
            }),
            Property::always("after a doubt nothing is known", |_, w: &World| {
                w.seen.isolated || w.seen.switched_on || w.interlock.supply() == Supply::Unknown
            }),
            Property::sometimes("a doubt spoils a proof", |_, w: &World| {
                w.interlock.supply() == Supply::Unknown && w.seen.jumper
            }),
        ]
    }
}

#[test]
fn every_order_of_events_keeps_every_rule() {
    let checker = Rules { broken: Broken::Nothing }.checker().spawn_bfs().join();
    checker.assert_properties();
    println!("interlock: {} states, every rule kept", checker.unique_state_count());
    assert_eq!(checker.unique_state_count(), 184);
}

#[test]
fn a_rule_broken_on_purpose_is_found() {
    let check = |broken, property: &'static str| {
        let checker = Rules { broken }.checker().spawn_bfs().join();
        assert!(checker.discovery(property).is_some(), "{broken:?} breaks `{property}`");
    };
    check(Broken::SilenceAcknowledges, "nothing is switched on without its hazard spoken and acknowledged");
    check(Broken::OneProofIsEnough, "no resistance is asked for unless proved dead and not spoiled since");
    check(Broken::DoubtKeepsProof, "after a doubt nothing is known");
    check(Broken::AnybodyHoldsThePlug, "the supply counts as cut off only where the technician holds it");
    check(Broken::ChargeUnread, "what keeps a charge is touched only once it was read as empty");
}
