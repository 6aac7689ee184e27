//! A pretend technician: able, but leads slip, displays are misread, and not every read-back is listened to.

use std::collections::BTreeMap;

use crate::diagnose::history;
use crate::diagnose::hypothesis::Hypothesis;
use crate::diagnose::trouble::Trouble;
use crate::id::CheckId;
use crate::model::appliance::{Appliance, Check, CheckKind, Measurement, Site};
use crate::reading::{Finding, Reading};
use crate::understand::numerals::quantity_words;

use super::dice::{Chance, Dice};
use super::hearing::neighbour;
use super::machine::Machine;

/// How often things go wrong, as shares of the readings taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slips {
    /// A lead is on another point than was asked for.
    pub misplaced: f64,
    /// Another number is reported than the display shows, and every read-back of it is confirmed.
    pub misread: f64,
    /// What was heard wrongly is read back in the next sentence, and goes unnoticed.
    pub unheeded: f64,
    /// What was heard wrongly is read back digit by digit, and gets a yes all the same.
    pub nodded: f64,
}

impl Slips {
    /// Nothing goes wrong.
    pub const NONE: Self = Self { misplaced: 0.0, misread: 0.0, unheeded: 0.0, nodded: 0.0 };
}

/// A technician at a machine. The same check always brings the same to light, whenever it is asked for.
#[derive(Debug)]
pub struct Technician<'a> {
    /// The machine.
    pub machine: Machine<'a>,
    trouble: &'a Trouble,
    /// How often what goes wrong.
    pub slips: Slips,
    chance: Chance,
    found: BTreeMap<CheckId, Finding>,
    /// How many remedies were carried out.
    mended: u16,
}

/// The first purposes of a job's chance are those of the machine; checks come after them.
const CHECKS: u16 = 16;
const HEARING: u16 = 2;
const CUSTOMER: u16 = 3;

impl<'a> Technician<'a> {
    /// A technician with a machine that is drawn by one purpose of the job's chance.
    pub fn new(
        appliance: &'a Appliance,
        trouble: &'a Trouble,
        slips: Slips,
        chance: Chance,
        machine: u16,
    ) -> Self {
        let machine = Machine::draw(appliance, trouble, &mut chance.dice(machine));
        Self { machine, trouble, slips, chance, found: BTreeMap::new(), mended: 0 }
    }

    /// Does what is done about a cause, and runs the machine: is the complaint gone? What was found before says nothing of
    /// the machine as it is now.
    pub fn mend(&mut self, cause: &Hypothesis) -> bool {
        self.machine.mend(cause, self.trouble);
        self.found.clear();
        self.mended += 1;
        !self.machine.complains(self.trouble)
    }

    /// What the technician reports of a check, and confirms when asked; `None` for a check of another machine.
    pub fn find(&mut self, id: &CheckId) -> Option<&Finding> {
        if !self.found.contains_key(id) {
            let place = self.machine.appliance.checks.iter().position(|check| check.id == *id)?;
            let check = &self.machine.appliance.checks[place];
            let purpose = usize::from(self.mended) * self.machine.appliance.checks.len() + place;
            let dice = self.chance.dice(CHECKS + u16::try_from(purpose).ok()?);
            self.found.insert(id.clone(), self.take(check, dice));
        }
        self.found.get(id)
    }

    /// What the customer says who is asked whether the complaint comes and goes.
    pub fn recurs(&self) -> bool {
        let cause = &self.trouble.hypotheses[self.machine.cause];
        self.chance.dice(CUSTOMER).falls(history::recurs(self.machine.appliance, cause))
    }

    /// The chance of what is heard of this technician.
    pub fn hearing(&self) -> Dice {
        self.chance.dice(HEARING)
    }

    fn take(&self, check: &Check, mut dice: Dice) -> Finding {
        // All is thrown whether it counts or not, so that a rate moves only its own slips.
        let (misplaced, misread) = (dice.share(), dice.share());
        let shown = match &check.kind {
            CheckKind::Measure(m) if misplaced < self.slips.misplaced => self.misplaced(check, m, &mut dice),
            _ => self.machine.shows(check, self.trouble, &mut dice),
        };
        if misread < self.slips.misread { neighbour(&shown, &mut dice).unwrap_or(shown) } else { shown }
    }

    /// One of the leads on any other point of the machine.
    fn misplaced(&self, check: &Check, m: &Measurement, dice: &mut Dice) -> Finding {
        let first = dice.falls(0.5);
        let Some((from, to)) = m.points() else { return self.machine.shows(check, self.trouble, dice) };
        let (wrong, right) = if first { (from, to) } else { (to, from) };
        let others = self.machine.appliance.points.iter().map(|p| &p.id);
        let others: Vec<_> = others.filter(|p| *p != wrong && *p != right).collect();
        let Some(there) = others.get(dice.below(others.len())) else {
            return self.machine.shows(check, self.trouble, dice);
        };
        let (from, to) = if first { (*there, right) } else { (right, *there) };
        let there = Site::Across(from.clone(), to.clone());
        self.machine.meter_shows(check, m, &there, self.trouble, dice)
    }
}

/// A finding as the technician says it.
pub fn words(appliance: &Appliance, check: &CheckId, finding: &Finding) -> String {
    match finding {
        Finding::Reading(Reading::Value(quantity)) => quantity_words(*quantity),
        Finding::Reading(Reading::Overload) => "over limit".to_owned(),
        Finding::Reading(Reading::Closed) => "continuity".to_owned(),
        Finding::Reading(Reading::Unstable) => "unstable".to_owned(),
        Finding::Outcome(name) => {
            appliance.check(check).map_or(name.as_str(), |check| check.kind.outcome(name)).to_owned()
        }
    }
}
