//! What becomes of readings in the dialogue: taken at once, put back and waited for a yes, or asked for again.

use std::collections::BTreeMap;

use leadhand::dialogue::ReadBack;
use leadhand::understand::heard::Heard;
use leadhand::understand::intent::Intent;

use crate::clips::Clip;
use crate::mixing::{self, Level, named};
use crate::table::interval;

/// What is read back: by its name, half and level.
pub type ByHalf = BTreeMap<(&'static str, bool, usize), Dealt>;

/// Where there is more noise, what is not understood is told to be too noisy and never put back.
pub const LEVELS: [Level; 3] = [None, Some(20), Some(10)];

/// What a clip is for the dialogue, if it is something that is read back.
pub fn kind(clip: &Clip, synthetic: bool) -> Option<&'static str> {
    match &clip.wanted {
        Some(Intent::Report(report)) if report.correction => None,
        Some(Intent::Report(_)) if synthetic => Some("synthetic readings"),
        Some(Intent::Report(_)) => Some("people's readings"),
        Some(Intent::Digits(_)) => Some("people's numbers, read out"),
        Some(Intent::Plate(_)) if synthetic => Some("plates, read out"),
        Some(Intent::Plate(_)) => Some("people's letters, read out"),
        _ => None,
    }
}

/// What became of them where everything hangs on the value: the worst case. Where other readings would lead to the same verdict
/// and next check, the dialogue asks less. What is read out sign by sign always waits for a yes.
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
                           next: of all, denied, and the value said\nis the next in line; again: nothing read back.";

impl Dealt {
    pub const CELLS: &str =
        " exact            95 %  by a yes   wrong            95 %  denied    next   again";

    /// Counts what was heard of a reading.
    pub fn count(&mut self, heard: Option<&Heard>, wanted: &Intent) {
        let candidates = heard.map_or(&[][..], |heard| &heard.candidates);
        let understood = |heard: &Heard| heard.understood().or_else(|| heard.doubtful()).is_some();
        let Some((best, others)) = candidates.split_first().filter(|_| heard.is_some_and(understood)) else {
            return self.again += 1;
        };
        let read_out = matches!(wanted, Intent::Digits(_) | Intent::Plate(_));
        let at_once = !read_out && 1.0 - best.probability < ReadBack::WORTH_ASKING;
        let judged = if at_once { &mut self.at_once } else { &mut self.put_back };
        let right = best.intent == *wanted;
        judged.right += usize::from(right);
        judged.wrong += usize::from(!right);
        let is_next = || others.first().is_some_and(|next| next.intent == *wanted);
        self.next += usize::from(!right && !at_once && is_next());
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
    println!("{:<28} {:<12} {:<7} {:>5} {}", "", "half", "noise", "n", Dealt::CELLS);
    for ((kind, held_back, at), dealt) in dealt {
        println!(
            "{kind:<28} {:<12} {:<7} {:>5} {}",
            if *held_back { "held back" } else { "development" },
            named(mixing::LEVELS[*at]),
            dealt.of(),
            dealt.cells()
        );
    }
    println!("\n{MEANING}");
}
