//! Looks on from outside whether an order was safe: by what was said and answered before it, and by nothing else.
//!
//! Knows nothing of the interlock. It sees the topic of each question, whether a hazard was spoken with it, and that it was
//! answered, as somebody would who stands beside the technician.

use std::collections::BTreeSet;

use crate::model::appliance::{Appliance, CheckKind};

/// What an onlooker knows.
#[derive(Clone, Debug)]
pub struct Watch<'a> {
    appliance: &'a Appliance,
    supply: Supply,
    /// The pairs of the work read since the meter was proved.
    read: BTreeSet<String>,
    /// The topic of the hazard that was answered last, and not used up.
    answered: Option<String>,
    jumper: bool,
    unsafe_orders: Vec<String>,
}

/// What an onlooker knows of the supply.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Supply {
    Unknown,
    CutOff,
    MeterProved,
    Dead,
    Live(String),
}

impl<'a> Watch<'a> {
    /// At the beginning of a job.
    pub const fn new(appliance: &'a Appliance) -> Self {
        Self {
            appliance,
            supply: Supply::Unknown,
            read: BTreeSet::new(),
            answered: None,
            jumper: false,
            unsafe_orders: Vec::new(),
        }
    }

    /// The orders that were not safe.
    pub fn unsafe_orders(&self) -> &[String] {
        &self.unsafe_orders
    }

    /// Something is ordered, by the topic of its question; `hazard` if a hazard was spoken with it.
    pub fn ordered(&mut self, topic: &str, hazard: bool) {
        let (kind, rest) = topic.split_once(' ').unwrap_or((topic, ""));
        let fine = match kind {
            "source-ack" | "ack" => hazard,
            "source" => self.supply == Supply::CutOff && self.answered.as_deref() == Some("source-ack"),
            "dead" | "source-again" => self.supply == Supply::MeterProved,
            "state" | "before" | "leads" | "charge" | "jumper-in" | "jumper-out" => {
                self.supply == Supply::Dead
            }
            "live" => self.may_go_live(),
            "check" | "confirm" => self.may_check(rest),
            // Hands go into the machine to mend it; the questions at the end ask for nothing.
            "fixed" => self.supply == Supply::Dead && !self.jumper,
            _ => true,
        };
        if !fine {
            self.unsafe_orders.push(format!("{topic} ({:?})", self.supply));
        }
    }

    /// It was answered that it is done, or what was read.
    pub fn answered(&mut self, topic: &str) {
        let (kind, rest) = topic.split_once(' ').unwrap_or((topic, ""));
        match kind {
            "control" => {
                self.supply = Supply::CutOff;
                self.answered = None;
            }
            "source-ack" | "ack" => self.answered = Some(topic.to_owned()),
            "source" => {
                self.supply = Supply::MeterProved;
                self.read.clear();
            }
            "dead" => drop(self.read.insert(rest.to_owned())),
            "source-again" => {
                let pairs = self.appliance.prove_dead.iter().map(|(a, b)| format!("{a} {b}"));
                let all = pairs.into_iter().all(|pair| self.read.contains(&pair));
                self.supply = if all { Supply::Dead } else { Supply::Unknown };
            }
            "jumper-in" => self.jumper = true,
            "jumper-out" => self.jumper = false,
            "live" => self.supply = Supply::Live(rest.to_owned()),
            _ => {}
        }
    }

    /// The supply goes on only right after a hazard of its own was answered.
    fn may_go_live(&self) -> bool {
        self.answered.as_deref().is_some_and(|topic| topic.starts_with("ack "))
            && !matches!(self.supply, Supply::Unknown)
    }

    /// A check is asked for in its own state; ohms and hands only where the work was proved dead.
    fn may_check(&self, check: &str) -> bool {
        let Some(check) = self.appliance.check(&check.into()) else { return false };
        let Some(state) = self.appliance.state(&check.state) else { return false };
        if state.energised {
            let dead = matches!(&check.kind, CheckKind::Measure(m) if m.function.wants_dead());
            return self.supply == Supply::Live(state.id.to_string()) && !dead && self.may_go_live();
        }
        self.supply == Supply::Dead
    }
}
