//! What it helps to know what was asked for, and what that costs where the leads are somewhere else: readings heard as in the
//! middle of a job, when the pair and the unit are those of the check, beside readings of which nothing is known.

use std::collections::BTreeMap;

use leadhand::id::PointId;
use leadhand::quantity::Unit;
use leadhand::reading::Reading;
use leadhand::shell::ear::Ear;
use leadhand::shell::weights::Weights;
use leadhand::understand::heard::Heard;
use leadhand::understand::intent::{Intent, Report};
use leadhand::understand::situation::Situation;

use crate::Extent;
use crate::clips::{Clip, Group};
use crate::figures::Draw;
use crate::mixing::named;
use crate::read_back::{self, Dealt, LEVELS};
use crate::sets::Sets;
use crate::table::{Tally, sound_of};

/// What is known when a reading is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Known {
    Nothing,
    /// What was said is what was asked for.
    Asked,
    /// Another pair was asked for than was said.
    Misplaced,
}

const ALL: [(Known, &str); 3] = [
    (Known::Nothing, "nothing is known"),
    (Known::Asked, "pair and unit asked for"),
    (Known::Misplaced, "another pair asked for *"),
];

impl Known {
    /// What is open then; `None` where the clip says nothing of it.
    fn situation(self, clip: &Clip, report: &Report) -> Option<Situation> {
        let plain = clip.opened.situation();
        let mut points: Vec<PointId> = plain.points.iter().map(|spoken| spoken.point.clone()).collect();
        let asked = match (self, &report.points) {
            (Self::Nothing, _) => return Some(plain),
            (Self::Asked, Some(said)) => said.clone(),
            (Self::Misplaced, None) => return None,
            (Self::Asked, None) | (Self::Misplaced, Some(_)) => {
                let said = report.points.as_ref();
                points.retain(|point| said.is_none_or(|(a, b)| point != a && point != b));
                let mut drawn = Draw(clip.seed()).some(points, 2).into_iter();
                drawn.next().zip(drawn.next()).expect("the bench has six points")
            }
        };
        let unit = match report.reading {
            Reading::Value(quantity) => quantity.unit.unwrap_or(Unit::Ohms),
            Reading::Overload | Reading::Closed | Reading::Unstable => Unit::Ohms,
        };
        Some(Situation { asked: Some(asked), units: vec![unit], ..plain })
    }
}

/// What came of it.
#[derive(Default)]
struct Counted {
    tally: Tally,
    dealt: Dealt,
    /// Of what was said of another pair: taken for the pair asked for.
    for_asked: usize,
}

pub fn run(sets: &Sets, _: &Extent) {
    println!("\n## Knowing what was asked for: synthetic readings, in per cent\n");
    let mut ear = match Ear::load(&Weights::folder()) {
        Ok(ear) => ear,
        Err(why) => return println!("skipped: {why}"),
    };
    let mut counted: BTreeMap<(Known, usize), Counted> = BTreeMap::new();
    for (_, clip) in sets.clips().filter(|(set, _)| set.group == Group::Readings) {
        let Some(wanted @ Intent::Report(report)) = &clip.wanted else { continue };
        if report.correction {
            continue;
        }
        for (at, level) in LEVELS.into_iter().enumerate() {
            let samples = sound_of(clip, &sets.noises, level);
            for (known, _) in ALL {
                let Some(situation) = known.situation(clip, report) else { continue };
                let heard = ear.hear(&samples, &situation).expect("a clip is recognised");
                let count = counted.entry((known, at)).or_default();
                count.tally.count(heard.understood().map(|best| &best.intent), Some(wanted), 0.0);
                count.dealt.count(Some(&heard), wanted);
                count.for_asked += usize::from(known == Known::Misplaced && names(&heard, &situation));
            }
        }
    }
    println!(
        "{:<26} {:<7} {:>5} {:>6} {:>6} {:>6}   {}",
        "",
        "noise",
        "n",
        "exact",
        "wrong",
        "again",
        Dealt::CELLS
    );
    for (known, name) in ALL {
        for (at, level) in LEVELS.into_iter().enumerate() {
            let Some(Counted { tally, dealt, for_asked }) = counted.get(&(known, at)) else { continue };
            let percent = |n: usize| format!("{:.1}", 100.0 * n as f64 / tally.said().max(1) as f64);
            let dealt = match known {
                Known::Misplaced => format!("  {for_asked} taken for the pair asked for"),
                _ => dealt.cells(),
            };
            println!(
                "{name:<26} {:<7} {:>5} {:>6} {:>6} {:>6}   {dealt}",
                named(level),
                tally.said(),
                percent(tally.exact),
                percent(tally.wrong),
                percent(tally.asked_again),
            );
        }
    }
    println!(
        "\nThe first three as taken at the working threshold, the rest with the read-back of the dialogue:"
    );
    println!("{}\n* the clips that name a pair: what the leads are put to elsewhere.", read_back::MEANING);
}

/// Was it taken for a reading of the pair that was asked for? Without a pair it would be.
fn names(heard: &Heard, situation: &Situation) -> bool {
    let Some(Intent::Report(report)) = heard.understood().map(|best| &best.intent) else { return false };
    let asked = |(a, b): &(PointId, PointId)| {
        situation
            .asked
            .as_ref()
            .is_some_and(|asked| asked == &(a.clone(), b.clone()) || asked == &(b.clone(), a.clone()))
    };
    report.points.as_ref().is_none_or(asked)
}
