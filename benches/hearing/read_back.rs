//! What becomes of readings in the dialogue: taken at once, put back and waited for a yes, or asked for again.

use std::collections::BTreeMap;

use leadhand::dialogue::ReadBack;
use leadhand::understand::heard::Heard;
use leadhand::understand::intent::Intent;

use crate::clips::Group;
use crate::mixing::{LEVELS, named};
use crate::table::interval;

/// By group, half and level.
pub type ByHalf = BTreeMap<(u8, bool, usize), Dealt>;

/// What became of readings of which everything hangs on the value: the worst case. Where other values would lead to the same
/// verdict and next check, the dialogue asks less.
#[derive(Clone, Debug, Default)]
pub struct Dealt {
    at_once: Judged,
    put_back: Judged,
    again: usize,
    /// Of what was put back wrongly: what was said comes next, once that is denied.
    next: usize,
}

#[derive(Clone, Debug, Default)]
struct Judged {
    right: usize,
    wrong: usize,
}

/// What the columns mean.
pub const MEANING: &str = "exact: taken at once, or read back rightly and a yes waited for; wrong: another value taken \
                           without a yes; denied:\nanother value read back and a yes waited for, which the technician denies; \
                           next: of those, the value said is the next\nthat would be read back; again: nothing read back.";

impl Dealt {
    pub const CELLS: &str =
        " exact            95 %  by a yes   wrong            95 %  denied    next   again";

    /// Counts what was heard of a reading.
    pub fn count(&mut self, heard: Option<&Heard>, wanted: &Intent) {
        let candidates = heard.map_or(&[][..], |heard| &heard.candidates);
        let Some((best, others)) = candidates.split_first() else { return self.again += 1 };
        let judged = match best.probability {
            surely if 1.0 - surely < ReadBack::WORTH_ASKING => &mut self.at_once,
            doubtful if doubtful >= Heard::WORTH_PUTTING_BACK => &mut self.put_back,
            _ => return self.again += 1,
        };
        let right = best.intent == *wanted;
        judged.right += usize::from(right);
        judged.wrong += usize::from(!right);
        let is_next = || others.first().is_some_and(|next| next.intent == *wanted);
        self.next += usize::from(!right && 1.0 - best.probability >= ReadBack::WORTH_ASKING && is_next());
    }

    /// How many there were.
    pub const fn of(&self) -> usize {
        self.at_once.right + self.at_once.wrong + self.put_back.right + self.put_back.wrong + self.again
    }

    /// In per cent.
    pub fn cells(&self) -> String {
        let of = self.of();
        let percent = |n: usize| format!("{:.1}", 100.0 * n as f64 / of.max(1) as f64);
        let within = |n: usize| {
            let (low, high) = interval(n, of);
            format!("{:.1} to {:.1}", 100.0 * low, 100.0 * high)
        };
        let exact = self.at_once.right + self.put_back.right;
        format!(
            "{:>6} {:>15} {:>9} {:>7} {:>15} {:>7} {:>7} {:>7}",
            percent(exact),
            within(exact),
            percent(self.put_back.right),
            percent(self.at_once.wrong),
            within(self.at_once.wrong),
            percent(self.put_back.wrong),
            percent(self.next),
            percent(self.again),
        )
    }
}

/// The table.
pub fn print(dealt: &ByHalf) {
    println!(
        "\n## Ours with the read-back of the dialogue, where everything hangs on the value, in per cent\n"
    );
    println!("{:<20} {:<12} {:<7} {:>5} {}", "", "half", "noise", "n", Dealt::CELLS);
    for ((group, held_back, at), dealt) in dealt {
        println!(
            "{:<20} {:<12} {:<7} {:>5} {}",
            if *group == Group::Readings as u8 { "synthetic readings" } else { "people's numbers" },
            if *held_back { "held back" } else { "development" },
            named(LEVELS[*at]),
            dealt.of(),
            dealt.cells()
        );
    }
    println!("\n{MEANING}");
}
