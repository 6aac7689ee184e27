//! What is sound field by field but wrong as a whole: the rules of the trade that a model must keep.
//!
//! Looks at a finished appliance and reports at the rows of the file. Rules about single fields are kept where the fields
//! are read.

mod lifting;
mod points;

use std::collections::BTreeSet;

use crate::circuit::Kind;
use crate::id::{ElementId, FaultId};
use crate::model::appliance::Appliance;
use crate::model::names::Names;
use crate::model::problem::Code;
use crate::model::raw::Section;

/// Keeps every rule.
pub(super) fn lint(model: &Section, names: &Names, appliance: &Appliance) {
    silent_faults(model, appliance);
    twins(model, names, appliance);
    idle_complaints(model, appliance);
    unseen_parts(model, appliance);
    idle_contacts(model, appliance);
    points::alike(model, appliance);
    lifting::parallel_paths(model, appliance);
}

/// The row of a table that has this name.
fn row_of<'a>(model: &Section<'a>, table: &'static str, id: &str) -> Section<'a> {
    let mut rows = model.rows(table).into_iter();
    rows.find(|row| row.maybe_word("id").is_some_and(|word| word.text == id)).expect("it was read from there")
}

fn silent_faults(model: &Section, appliance: &Appliance) {
    for fault in &appliance.faults {
        if !appliance.checks.iter().any(|check| appliance.tells_apart(check, Some(&fault.id), None)) {
            let row = row_of(model, "fault", fault.id.as_str());
            let reason = format!("no check looks different under `{}`", fault.id);
            row.report(Code::SilentFault, row.place("id"), reason, "add a check that sees it");
        }
    }
}

fn twins(model: &Section, names: &Names, appliance: &Appliance) {
    for (a, b) in appliance.twins() {
        let (row, other) = (row_of(model, "fault", a.as_str()), row_of(model, "fault", b.as_str()));
        let listed =
            |row: &Section, twin: &FaultId| row.words("twins").iter().any(|word| word.text == twin.as_str());
        let remedy = |fault: &FaultId| appliance.fault(fault).map(|fault| &fault.remedy);
        if remedy(&a) != remedy(&b) && !listed(&row, &b) && !listed(&other, &a) {
            let reason = format!("no check tells `{a}` from `{b}`, and they want different remedies");
            let help = format!("add a check that does, share the remedy, or list `twins = [\"{b}\"]`");
            row.report(Code::TwinFaults, row.place("id"), reason, help);
        }
    }
    for row in model.rows("fault") {
        let _: Vec<FaultId> = names.list(&row, "fault", "twins");
    }
}

fn idle_complaints(model: &Section, appliance: &Appliance) {
    for complaint in &appliance.complaints {
        if !appliance.faults.iter().any(|fault| fault.weight.contains_key(&complaint.id)) {
            let row = row_of(model, "complaint", complaint.id.as_str());
            let reason = format!("no fault has a weight for `{}`", complaint.id);
            let help = "give the faults that cause it a weight for it";
            row.report(Code::IdleComplaint, row.place("id"), reason, help);
        }
    }
}

/// A part that no fault is of: no check can say anything about it, and no remedy is for it.
fn unseen_parts(model: &Section, appliance: &Appliance) {
    for part in &appliance.parts {
        if !appliance.faults.iter().any(|fault| fault.part == part.id) {
            let row = row_of(model, "part", part.id.as_str());
            let reason = format!("no check can see `{}`: no fault is of this part", part.id);
            row.report(Code::UnseenPart, row.place("id"), reason, "say how it fails, or leave it out");
        }
    }
}

/// A contact that is open in every state: a slip in some list of `closed`, and everything behind it looks dead.
fn idle_contacts(model: &Section, appliance: &Appliance) {
    let closed: BTreeSet<&ElementId> = appliance.wiring.closed.values().flatten().collect();
    for element in &appliance.wiring.netlist.elements {
        if matches!(element.kind, Kind::Contact { .. }) && !closed.contains(&element.id) {
            let row = row_of(model, "element", element.id.as_str());
            let reason = format!("no state closes `{}`", element.id);
            row.report(
                Code::IdleContact,
                row.place("id"),
                reason,
                "name it in `closed` of the states where it is",
            );
        }
    }
}
