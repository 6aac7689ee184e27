//! The bench: what is known on this job, whatever phase it is in.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::id::{CheckId, ComplaintId, PartId, PointId, StateId};
use crate::model::Rated;
use crate::model::appliance::{Appliance, Check, CheckKind, State};
use crate::quantity::{Quantity, Unit};
use crate::reading::Reading;
use crate::record::entry::What;
use crate::safety::{Interlock, Supply};
use crate::understand::intent::Named;
use crate::understand::situation::{Choice, Kind, Situation, SpokenPoint};
use crate::understand::vocabulary;

use super::findings::Findings;
use super::outbox::Outbox;
use super::phase::adjusting::{Quarters, Turned};
use super::phase::measuring;
use super::read_back::ReadBack;

/// What is known on this job.
#[derive(Clone, Debug)]
pub(super) struct Bench {
    pub(super) appliance: Arc<Appliance>,
    pub(super) interlock: Interlock,
    /// The state that the machine was last put into; `None` where we do not know.
    pub(super) state: Option<StateId>,
    /// What was done to get at the work, and stays done: covers off, panels open.
    pub(super) prepared: BTreeSet<String>,
    pub(super) findings: Findings,
    /// How far each setting is from where it was found.
    turned: BTreeMap<String, Turned>,
    /// When a reading waits for a yes.
    pub(super) read_back: ReadBack,
    /// What the rating plate says of parts.
    pub(super) rated: BTreeMap<PartId, Quantity>,
    /// What is said once a job was said before anything is switched on.
    pub(super) warned: bool,
}

impl Bench {
    pub(super) fn new(appliance: Arc<Appliance>, complaint: &ComplaintId) -> Self {
        let pairs =
            u8::try_from(appliance.prove_dead.len()).expect("a checked model has at most sixteen pairs");
        let findings = Findings::new(&appliance, complaint);
        Self {
            appliance,
            interlock: Interlock::new(pairs),
            state: None,
            prepared: BTreeSet::new(),
            findings,
            turned: BTreeMap::new(),
            read_back: ReadBack::default(),
            rated: BTreeMap::new(),
            warned: false,
        }
    }

    /// Takes what the rating plate says of a part, in watts or ohms; `false`, and nothing changes, where that does not go
    /// with the machine.
    pub(super) fn rate(&mut self, part: &PartId, value: Quantity) -> bool {
        let rated = Rated::of(value).and_then(|rated| self.appliance.with_value(part.as_str(), rated).ok());
        let Some(appliance) = rated else { return false };
        self.findings = self.findings.on(&appliance);
        self.appliance = Arc::new(appliance);
        self.rated.insert(part.clone(), value);
        true
    }

    /// A check of this machine.
    ///
    /// # Panics
    /// If the check is not of this machine: phases hold only names that came from it.
    pub(super) fn check(&self, id: &CheckId) -> &Check {
        self.appliance.check(id).expect("a phase holds a check of its own machine")
    }

    /// The state a check needs.
    pub(super) fn state_of(&self, check: &Check) -> &State {
        self.appliance.state(&check.state).expect("a checked model names only its own states")
    }

    /// How far a setting is from where it was found.
    pub(super) fn turned(&self, setting: &str) -> Turned {
        self.turned.get(setting).cloned().unwrap_or(Turned::By(0))
    }

    /// A setting was turned.
    pub(super) fn turn(&mut self, setting: &str, to: Quarters) {
        self.turned.insert(setting.to_owned(), Turned::By(to));
    }

    /// What is on record of a setting.
    pub(super) fn recall(&mut self, setting: String, turned: Turned) {
        self.turned.insert(setting, turned);
    }

    /// All settings that were turned.
    pub(super) const fn settings(&self) -> &BTreeMap<String, Turned> {
        &self.turned
    }

    /// A point's name as said.
    pub(super) fn point_name(&self, id: &PointId) -> String {
        self.appliance.point_name(id)
    }

    /// Everything counts as live from now on.
    pub(super) fn doubt(&mut self, out: &mut Outbox, why: &str) {
        self.interlock.doubt();
        self.state = None;
        self.record_supply(out, why);
    }

    /// Keeps what we now know of the supply.
    pub(super) fn record_supply(&self, out: &mut Outbox, why: &str) {
        out.record(What::Supply { supply: self.interlock.supply(), why: why.to_owned() });
    }

    /// Is the machine on, as far as we know?
    pub(super) fn is_live(&self) -> bool {
        self.interlock.supply() == Supply::Live
    }

    /// The names to open for a reading between two points.
    pub(super) fn reading_situation(&self, asked: Option<(PointId, PointId)>, units: Vec<Unit>) -> Situation {
        Situation { asked, units, ..self.situation(Kind::Reading) }
    }

    /// The situation in which a check is answered.
    pub(super) fn situation_of(&self, check: &Check) -> Situation {
        match &check.kind {
            CheckKind::Measure(m) => {
                let asked = m.points().map(|(from, to)| (from.clone(), to.clone()));
                self.reading_situation(asked, vec![m.function.unit()])
            }
            CheckKind::Gauge(gauge) => self.reading_situation(None, vec![gauge.unit]),
            CheckKind::Observe(observation) => Situation {
                choices: observation
                    .outcomes
                    .iter()
                    .map(|o| Choice { name: o.name.clone(), say: o.say.clone() })
                    .collect(),
                ..self.situation(Kind::Observe)
            },
        }
    }

    /// The names to open for a kind that needs none but the points.
    pub(super) fn situation(&self, kind: Kind) -> Situation {
        let rated = match kind {
            Kind::Step | Kind::Reading | Kind::Observe => self.rated(),
            _ => Vec::new(),
        };
        let named = match kind {
            Kind::Acknowledge | Kind::StopOnly => Vec::new(),
            _ => self.named(),
        };
        Situation { kind, points: self.spoken_points(), rated, named, ..Situation::default() }
    }

    /// The readings that may be named, each by the words of its check's name, and of its part's.
    fn named(&self) -> Vec<Choice> {
        let choice = |check: &Check| {
            let part = self.appliance.parts.iter().find(|part| part.id.as_str() == check.id.as_str());
            let mut say: Vec<String> = part.map(|part| part.say.clone()).unwrap_or_default();
            let name = check.id.as_str().replace('-', " ");
            if vocabulary::knows(&name) && !say.contains(&name) {
                say.push(name);
            }
            (!say.is_empty()).then(|| Choice { name: check.id.to_string(), say })
        };
        self.appliance.checks.iter().filter_map(choice).collect()
    }

    /// The check that takes such a reading at dead work, by its name or its points.
    pub(super) fn dead_check(&self, named: &Named, reading: Reading) -> Option<&Check> {
        let fits = |check: &&Check| {
            let wanted = match (named, &check.kind) {
                (Named::Check(id), CheckKind::Measure(_)) => check.id == *id,
                (Named::Across(a, b), CheckKind::Measure(m)) => {
                    m.points().is_some_and(|(from, to)| (from, to) == (a, b) || (from, to) == (b, a))
                }
                _ => false,
            };
            let unit = reading.quantity().and_then(|quantity| quantity.unit);
            let same_unit = unit.is_none_or(|unit| unit == measuring::unit_of(check));
            wanted && same_unit && !self.state_of(check).energised
        };
        self.appliance.checks.iter().find(fits)
    }

    fn rated(&self) -> Vec<Choice> {
        let named = self.appliance.parts.iter().filter(|part| !part.say.is_empty());
        named.map(|part| Choice { name: part.id.to_string(), say: part.say.clone() }).collect()
    }

    fn spoken_points(&self) -> Vec<SpokenPoint> {
        let spoken =
            |p: &crate::model::appliance::Point| SpokenPoint { point: p.id.clone(), say: p.say.clone() };
        self.appliance.points.iter().map(spoken).collect()
    }
}
