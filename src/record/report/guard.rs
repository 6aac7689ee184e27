//! How the work was kept safe: cut off, proved dead, hazards spoken and answered, in order.

use crate::id::PointId;
use crate::model::appliance::Appliance;
use crate::quantity::Unit;
use crate::reading::Reading;
use crate::record::job::{Job, Proof};
use crate::record::report::figure;
use crate::safety::{ProofStage, Supply};
use crate::time::Timestamp;

/// One thing that was done, or came to be known, about safety.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Guarded {
    /// When.
    pub at: Timestamp,
    /// What.
    pub what: Guard,
}

/// What was done about safety.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Guard {
    /// What is known of the supply changed.
    Supply {
        /// In words.
        words: &'static str,
        /// Must it be treated as live?
        live: bool,
        /// Why.
        why: String,
    },
    /// Readings of proving dead, one after the other at one place.
    Proof {
        /// Where: "Meter on a known source (the wall outlet)", "Meter at the work".
        place: String,
        /// What the meter showed: "121 V", "L to N 0 V"; volts, where no unit was said.
        readings: Vec<String>,
    },
    /// A hazard was spoken and answered.
    Acknowledged {
        /// The hazard as spoken.
        hazard: String,
        /// The words heard.
        words: String,
    },
}

/// Everything about safety, in order; at one moment proofs come before what follows from them.
pub fn guarded(job: &Job, appliance: Option<&Appliance>) -> Vec<Guarded> {
    let proofs = job.proofs.iter().map(|proof| Guarded {
        at: proof.at,
        what: Guard::Proof { place: place(proof, appliance), readings: vec![shown(proof, appliance)] },
    });
    let supplies = job.supplies.iter().map(|change| Guarded {
        at: change.at,
        what: Guard::Supply {
            words: supply(change.supply),
            live: matches!(change.supply, Supply::Unknown | Supply::Live),
            why: change.why.clone(),
        },
    });
    let acknowledged = job.acknowledgements.iter().map(|given| Guarded {
        at: given.at,
        what: Guard::Acknowledged { hazard: given.hazard.clone(), words: given.words.clone() },
    });
    let mut all: Vec<Guarded> = proofs.chain(supplies).chain(acknowledged).collect();
    all.sort_by_key(|guarded| guarded.at);
    all.into_iter().fold(Vec::new(), together)
}

/// Adds a line; a reading at the place of the line before goes onto that line.
fn together(mut lines: Vec<Guarded>, next: Guarded) -> Vec<Guarded> {
    match (lines.last_mut().map(|line| &mut line.what), &next.what) {
        (Some(Guard::Proof { place, readings }), Guard::Proof { place: next_place, readings: more })
            if place == next_place =>
        {
            readings.extend_from_slice(more);
        }
        _ => lines.push(next),
    }
    lines
}

fn said(reading: Reading, unit: Unit) -> String {
    match reading {
        Reading::Value(quantity) => figure::as_said(quantity, unit),
        other => other.to_string(),
    }
}

const fn supply(supply: Supply) -> &'static str {
    match supply {
        Supply::Unknown => "Not known: treated as live",
        Supply::Live => "Supply on",
        Supply::Isolated => "Cut off, not yet proved",
        Supply::ProvenDead => "Proved dead",
    }
}

fn place(proof: &Proof, appliance: Option<&Appliance>) -> String {
    let source = appliance.map(|a| format!(" ({})", a.known_source)).unwrap_or_default();
    match proof.stage {
        ProofStage::KnownSource => format!("Meter on a known source{source}"),
        ProofStage::Work => "Meter at the work".to_owned(),
        ProofStage::KnownSourceAgain => format!("Meter on the known source again{source}"),
        ProofStage::Leads => "Leads touched together".to_owned(),
        ProofStage::Charge => "What keeps a charge, direct volts".to_owned(),
    }
}

fn shown(proof: &Proof, appliance: Option<&Appliance>) -> String {
    let point = |id: &PointId| appliance.map_or_else(|| id.to_string(), |appliance| appliance.point_name(id));
    let unit = if proof.stage == ProofStage::Leads { Unit::Ohms } else { Unit::Volts };
    let reading = said(proof.reading, unit);
    match &proof.points {
        Some((from, to)) => format!("{} to {} {reading}", point(from), point(to)),
        None => reading,
    }
}
