//! Is what was said complete, or are more words to come? Asked at a pause, so that complete words need not wait and
//! incomplete ones are not cut off.

use super::automaton::Automaton;
use super::heard::Heard;
use super::intent::{Anytime, Intent};
use super::matching::{begins, ends_with, words};

/// How far an utterance has come at a pause.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Progress {
    /// Nothing likely can follow: "seventy one ohms".
    Complete,
    /// It may end here or go on: "seventy one", "no", a remark.
    Open,
    /// More must follow: "ten point".
    Incomplete,
}

/// What is heard must be this probable to be taken before the silence is long.
const SURE: f32 = 0.93;
/// The grammar must end here with this probability.
const ENDS: f64 = 0.8;

/// How far what was heard under a grammar has come.
pub fn progress(automaton: &Automaton, heard: &Heard) -> Progress {
    if let Some(best) = heard.understood() {
        let stop = best.intent == Intent::Anytime(Anytime::Stop);
        let ends = || ends_with(automaton, &words(&best.words)) >= ENDS;
        return if best.probability >= SURE && (stop || ends()) {
            Progress::Complete
        } else {
            Progress::Open
        };
    }
    let free = words(&heard.free);
    let begins = !free.is_empty() && ends_with(automaton, &free) == 0.0 && begins(automaton, &free);
    if begins { Progress::Incomplete } else { Progress::Open }
}

#[cfg(test)]
mod tests {
    use super::Progress::{Complete, Incomplete, Open};
    use super::*;
    use crate::understand::situation::{Kind, Situation, SpokenPoint};
    use crate::understand::{open, typed};

    #[test]
    fn complete_words_need_not_wait_and_incomplete_ones_do() {
        let points = ["L", "H"].map(|name| SpokenPoint { point: name.into(), say: vec![name.to_owned()] });
        let check = |kind, words: &str, expected| {
            let automaton = open(&Situation { kind, points: points.to_vec(), ..Situation::default() });
            assert_eq!(progress(&automaton, &typed(&automaton, words)), expected, "{words}");
        };
        for (words, expected) in [
            ("L to H, seventy one ohms", Complete),
            ("eight point eight kilohms", Complete),
            ("unstable", Complete),
            ("stop", Complete),
            ("seventy one", Open),
            ("eight point eight", Open),
            ("ten point", Incomplete),
            ("L to", Incomplete),
            ("L to H", Incomplete),
            ("minus", Incomplete),
            ("correction", Incomplete),
            ("seventy one kids", Open),
            ("", Open),
        ] {
            check(Kind::Reading, words, expected);
        }
        for (words, expected) in
            [("yes", Complete), ("no", Open), ("no fifteen ohms", Complete), ("make that", Incomplete)]
        {
            check(Kind::Confirm, words, expected);
        }
        check(Kind::Acknowledge, "live at L and H", Complete);
        check(Kind::Acknowledge, "live at L", Incomplete);
        check(Kind::Acknowledge, "L and H", Open);
        // A serial number may always go on.
        check(Kind::Digits, "two two nine three", Open);
    }

    #[test]
    fn what_is_doubtful_waits() {
        let automaton = open(&Situation { kind: Kind::YesNo, ..Situation::default() });
        let mut heard = typed(&automaton, "yes");
        heard.candidates[0].probability = 0.8;
        assert_eq!(progress(&automaton, &heard), Progress::Open);
    }
}
