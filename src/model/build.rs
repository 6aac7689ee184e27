//! From the text of a file to an appliance, or to everything that is wrong with the text.

use std::collections::BTreeSet;
use std::ops::Range;

use toml::de::DeTable;

use crate::circuit::{Flaw, Netlist};
use crate::id::ElementId;
use crate::model::appliance::Appliance;
use crate::model::lint::lint;
use crate::model::names::Names;
use crate::model::predict::predictions;
use crate::model::problem::{Code, Problems};
use crate::model::raw::{Section, Source};
use crate::model::read::{checks, circuit, facts};

/// Reads, checks, predicts, looks again.
pub(super) fn build(name: &str, text: &str) -> Result<Appliance, Problems> {
    let source = Source::new(name, text);
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in errors {
        let at = error.span().unwrap_or(0..0);
        source.report(Code::Syntax, at, error.message().to_owned(), "write it as TOML 1.0 wants it");
    }
    if !source.is_sound() {
        return Err(Problems::new(source.take()));
    }
    let model = Section::model(&source, table.get_ref());
    let appliance = read(&model).map(|appliance| Appliance { file: (name.into(), text.into()), ..appliance });
    match appliance {
        Some(appliance) if source.is_sound() => Ok(appliance),
        _ => Err(Problems::new(source.take())),
    }
}

/// `None` if something was reported that leaves nothing to predict from.
fn read(model: &Section) -> Option<Appliance> {
    let names = Names::gather(model);
    let wiring = circuit::wiring(model, &names);
    let mut appliance = facts::appliance(model, &names, wiring);
    appliance.checks = checks::checks(model, &names, &appliance);
    if let Err(flaws) = appliance.wiring.netlist.check() {
        report(model, flaws);
    }
    report(model, dead_ends(&appliance));
    if model.source.is_sound() {
        report(model, shorted_states(&appliance));
    }
    if !model.source.is_sound() {
        return None;
    }
    match predictions(&appliance) {
        Ok(predictions) => appliance.predictions = predictions,
        Err(flaws) => {
            report(model, flaws);
            return None;
        }
    }
    lint(model, &names, &appliance);
    Some(appliance)
}

/// What is wrong with the circuit once a state has closed its contacts: a supply that they short.
fn shorted_states(appliance: &Appliance) -> Vec<Flaw> {
    let circuits = appliance.states.iter().map(|state| appliance.circuit(state, None));
    let flaws: BTreeSet<Flaw> = circuits.filter_map(|circuit| circuit.check().err()).flatten().collect();
    flaws.into_iter().collect()
}

/// Nodes that a single element touches and no lead: nearly always a slip in a name.
fn dead_ends(appliance: &Appliance) -> Vec<Flaw> {
    let netlist: &Netlist = &appliance.wiring.netlist;
    let ends = netlist.nodes().into_iter().filter(|node| **node != netlist.reference);
    let probed = |node| appliance.wiring.nodes.values().any(|probed| probed == node);
    let flaws = ends.filter(|node| !probed(*node)).filter_map(|node| {
        let touching = netlist.elements.iter().filter(|e| e.from == *node || e.to == *node);
        let elements: Vec<ElementId> = touching.map(|e| e.id.clone()).collect();
        (elements.len() == 1).then(|| Flaw::DeadEnd { node: node.clone(), elements })
    });
    flaws.collect()
}

fn report(model: &Section, flaws: Vec<Flaw>) {
    let rows = model.rows("element");
    let place = |id: &ElementId| -> Option<Range<usize>> {
        let row =
            rows.iter().find(|row| row.maybe_word("id").is_some_and(|word| word.text == id.as_str()))?;
        Some(row.place("id"))
    };
    for flaw in flaws {
        let at = flaw.elements().first().and_then(place).unwrap_or_else(|| model.place("reference"));
        let help = "look at the `between` of the elements named, letter by letter";
        model.report(Code::BadCircuit, at, flaw.to_string(), help);
    }
}
