//! Resistances that cannot be measured where they sit, because something lies beside them.
//!
//! An open part beside a good one reads like a good part: manuals ask again and again to lift a wire first.

use crate::circuit::{Current, Edit, Element, Kind, Meter, Mode, Netlist, Shown};
use crate::id::{ElementId, NodeId, PointId};
use crate::model::appliance::{Appliance, Check, CheckKind, Function};
use crate::model::problem::Code;
use crate::model::raw::Section;

/// Reports every resistance check on an element that would read the same if the element were open.
pub(super) fn parallel_paths(model: &Section, appliance: &Appliance) {
    for check in &appliance.checks {
        let CheckKind::Measure(measurement) = &check.kind else { continue };
        let (Function::Ohms | Function::Continuity, Some(leads)) = (measurement.function, check.points())
        else {
            continue;
        };
        let row = super::row_of(model, "check", check.id.as_str());
        let lifted = row.words("lifts").into_iter().map(|word| Edit::Open(word.text.as_str().into()));
        let here = Here::new(appliance, check, leads, &lifted.collect::<Vec<_>>());
        for element in here.elements_between() {
            if let Some(beside) = here.hidden_by(&element) {
                let reason = format!("`{element}` cannot be measured here: another way lies beside it");
                let help = match &beside[..] {
                    [] => "lift wires until nothing lies beside it, and name them in `lifts`".to_owned(),
                    found => format!("lift one wire first: `lifts = [\"{}\"]`", found[0]),
                };
                row.report(Code::ParallelPath, row.place("measure"), reason, help);
            }
        }
    }
}

/// The circuit of a check, and where its leads go.
struct Here<'a> {
    circuit: Netlist,
    leads: (&'a PointId, &'a PointId),
    appliance: &'a Appliance,
}

impl<'a> Here<'a> {
    fn new(
        appliance: &'a Appliance,
        check: &Check,
        leads: (&'a PointId, &'a PointId),
        lifted: &[Edit],
    ) -> Self {
        let state = appliance.state(&check.state).expect("a sound model knows its states");
        Self { circuit: appliance.circuit(state, None).edited(lifted), leads, appliance }
    }

    /// The nodes that the leads are on.
    fn ends(&self) -> [Option<&NodeId>; 2] {
        [self.leads.0, self.leads.1].map(|point| self.appliance.node(point))
    }

    /// The elements that lie from lead to lead and let current through.
    fn elements_between(&self) -> Vec<ElementId> {
        let ends = self.ends();
        let between =
            |e: &&Element| ends == [Some(&e.from), Some(&e.to)] || ends == [Some(&e.to), Some(&e.from)];
        self.circuit.elements.iter().filter(between).filter(|e| conducts(e)).map(|e| e.id.clone()).collect()
    }

    /// If the reading hardly moves when the element is open: the elements any one of which would have to be lifted.
    fn hidden_by(&self, element: &ElementId) -> Option<Vec<ElementId>> {
        let good = self.reads(&[])?;
        let open = [Edit::Open(element.clone())];
        let Shown::Value(with) = &good else { return None };
        match self.reads(&open)? {
            Shown::Value(without) if without.low <= with.high => {}
            _ => return None,
        }
        let leads = self.ends();
        let touches = |e: &&Element| leads.iter().any(|node| *node == Some(&e.from) || *node == Some(&e.to));
        let candidates =
            self.circuit.elements.iter().filter(touches).filter(|e| e.id != *element && conducts(e));
        let enough = |e: &&Element| {
            let both = [Edit::Open(element.clone()), Edit::Open(e.id.clone())];
            matches!(self.reads(&both), Some(Shown::Overload))
        };
        Some(candidates.filter(enough).map(|e| e.id.clone()).collect())
    }

    /// What the meter shows after some edits; `None` if that leaves nothing to solve.
    fn reads(&self, edits: &[Edit]) -> Option<Shown> {
        let [from, to] = self.ends();
        let solution = self.circuit.clone().edited(edits).solve(Current::Direct).ok()?;
        solution.probe(Mode::Ohms, from?, to?, &Meter::SERVICE)
    }
}

/// Does an ohmmeter send current through it?
const fn conducts(element: &Element) -> bool {
    match element.kind {
        Kind::Resistance { .. } | Kind::Winding { .. } | Kind::Sensor { .. } => true,
        Kind::Contact { closed, .. } | Kind::Thermostat { closed, .. } => closed,
        _ => false,
    }
}
