//! What is sound field by field but wrong as a whole: faults nobody can see, twins, complaints without a cause.

use crate::id::FaultId;
use crate::model::appliance::Appliance;
use crate::model::names::Names;
use crate::model::problem::Code;
use crate::model::raw::Section;

/// Looks at a finished appliance, and reports at the rows of the file.
pub(super) fn lint(model: &Section, names: &Names, appliance: &Appliance) {
    let rows = model.rows("fault");
    let row_of = |fault: &FaultId| {
        let mut rows = rows.iter();
        rows.find(|row| row.maybe_word("id").is_some_and(|id| id.text == fault.as_str()))
            .expect("it was read from there")
    };
    for fault in &appliance.faults {
        if !appliance.checks.iter().any(|check| appliance.tells_apart(check, Some(&fault.id), None)) {
            let row = row_of(&fault.id);
            let reason = format!("no check looks different under `{}`", fault.id);
            row.report(Code::SilentFault, row.place("id"), reason, "add a check that sees it");
        }
    }
    for (a, b) in appliance.twins() {
        let (row, other) = (row_of(&a), row_of(&b));
        let listed =
            |row: &Section, twin: &FaultId| row.words("twins").iter().any(|word| word.text == twin.as_str());
        let remedy = |fault: &FaultId| appliance.fault(fault).map(|fault| &fault.remedy);
        if remedy(&a) != remedy(&b) && !listed(row, &b) && !listed(other, &a) {
            let reason = format!("no check tells `{a}` from `{b}`, and they want different remedies");
            let help = format!("add a check that does, share the remedy, or list `twins = [\"{b}\"]`");
            row.report(Code::TwinFaults, row.place("id"), reason, help);
        }
    }
    for row in &rows {
        let _: Vec<FaultId> = names.list(row, "fault", "twins");
    }
    for complaint in model.rows("complaint") {
        let id = complaint.word("id");
        let explained = appliance.faults.iter().any(|f| f.weight.keys().any(|c| c.as_str() == id.text));
        if !explained {
            let reason = format!("no fault has a weight for `{}`", id.text);
            complaint.report(
                Code::IdleComplaint,
                id.at,
                reason,
                "give the faults that cause it a weight for it",
            );
        }
    }
}
