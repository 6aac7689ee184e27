//! Typed words instead of spoken ones.

use crate::understand;
use crate::understand::automaton::Automaton;
use crate::understand::heard::Heard;

/// What a typed line means. A line that means nothing was still meant for us, so it is no remark to be let pass.
pub fn typed(automaton: &Automaton, line: &str) -> Heard {
    let heard = understand::typed(automaton, line);
    let outside = if heard.candidates.is_empty() { 0.0 } else { heard.outside };
    Heard { outside, ..heard }
}
