//! What things cost, in minutes or what is worth as much.
//!
//! Working values in one place: a diagnosis needs their order, not their digits. All are common practice, no source.

use crate::hazard::Hazard;
use crate::model::appliance::{Check, Remedy, State};

/// A wrong remedy or a fault left behind brings the technician back: travel, an appointment, the job that is not done
/// meanwhile, a cross customer. Half a working day.
pub const SECOND_VISIT: f64 = 240.0;

/// Proving dead: known source, every pair of the work, known source again.
const PROVE_DEAD: f64 = 5.0;
/// A reading where everything is open already.
const READING: f64 = 1.0;
/// Leads near live parts.
const LIVE_LEADS: f64 = 20.0;
/// A running machine, hands away.
const LIVE_LOOK: f64 = 6.0;
/// Every further thing that can hurt.
const HAZARD: f64 = 1.0;

/// What a price class is worth.
const fn price(class: u8) -> f64 {
    match class {
        0 => 0.0,
        1 => 20.0,
        2 => 60.0,
        _ => 240.0,
    }
}

/// Trying a remedy and finding out whether it was the right one; `None` is "nothing to mend".
pub fn attempt(remedy: Option<&Remedy>) -> f64 {
    SECOND_VISIT + remedy.map_or(0.0, |r| r.minutes + price(r.price))
}

/// Doing a check, the machine being in its state: with what must be opened or lifted first, and without.
pub fn check(check: &Check, state: &State) -> (f64, f64) {
    let danger = match (check.points(), state.energised) {
        (Some(_), true) => LIVE_LEADS,
        (None, true) => LIVE_LOOK,
        (_, false) => 0.0,
    };
    let others = check.hazards.iter().filter(|h| **h != Hazard::Mains).count();
    let danger = danger + HAZARD * others as f64;
    (minutes(check, false) + danger, minutes(check, true) + danger)
}

/// Minutes of a check alone, with what must be opened or lifted first, or with that done.
pub fn minutes(check: &Check, open: bool) -> f64 {
    if open && check.before.is_some() { check.minutes.min(READING) } else { check.minutes }
}

/// Going from one state to another; `None` is a machine as it was found, so treated as live.
pub fn change(from: Option<&State>, to: &State) -> f64 {
    match from {
        Some(from) if from.id == to.id => 0.0,
        // A machine that is switched on is proved dead again before hands go in.
        Some(from) if !from.energised => to.minutes + if to.energised { PROVE_DEAD } else { 0.0 },
        Some(_) | None => to.minutes + if to.energised { 0.0 } else { PROVE_DEAD },
    }
}
