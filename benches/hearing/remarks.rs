//! Remarks and words that only sound like ours: how many are taken for something where a reading is awaited.

use leadhand::shell::sound;
use leadhand::understand::heard::Heard;
use leadhand::understand::intent::Intent;

use crate::Extent;
use crate::clips::Clip;
use crate::mixing::{self, Level};
use crate::sets::{self, Sets, passing_file};
use crate::system::System;
use crate::table::{interval, sound_of};

/// By turns.
const LEVELS: [Level; 2] = [None, Some(10)];

pub fn run(sets: &Sets, extent: &Extent) {
    println!("\n## What nobody means for us (REMARKS=2000 for the whole)\n");
    let [remarks, near] = sets::not_for_us(extent.remarks);
    let mut ours = match System::own("ours", false, &["ours"]) {
        Ok(ours) => ours,
        Err(why) => return println!("{why}"),
    };
    let lines = [("remarks", remarks), ("words that sound like ours", near)]
        .map(|(name, clips)| (name, LEVELS.map(|level| taken(&clips, level, sets, &mut ours))));
    println!(
        "\n{:<28} {:<8} {:>6} {:>6} {:>9} {:>12}",
        "", "noise", "n", "taken", "readings", "at most, 95 %"
    );
    for (name, counts) in lines {
        for (level, [all, taken, readings]) in LEVELS.into_iter().zip(counts) {
            let (_, most) = interval(taken, all);
            let level = mixing::named(level);
            println!("{name:<28} {level:<8} {all:>6} {taken:>6} {readings:>9} {:>10.1} %", 100.0 * most);
        }
    }
}

/// Of every second clip at a level: how many there are, how many are taken for something, and for a reading.
fn taken(clips: &[Clip], level: Level, sets: &Sets, ours: &mut System) -> [usize; 3] {
    let mut counts = [0; 3];
    let first = LEVELS.iter().position(|other| *other == level).expect("one of the levels");
    for clip in clips.iter().skip(first).step_by(LEVELS.len()) {
        sound::write(&passing_file(), &sound_of(clip, &sets.noises, level)).expect("target/ can be written");
        let answer = ours.hear(&passing_file(), clip.opened);
        counts[0] += 1;
        let Some(best) = answer.heard.as_ref().and_then(Heard::understood) else { continue };
        counts[1] += 1;
        counts[2] += usize::from(matches!(best.intent, Intent::Report(_)));
        let (level, said) = (mixing::named(level), &clip.words);
        println!(
            "  {level}, {}: \"{said}\" was taken for {} ({:.2})",
            clip.voice, best.words, best.probability
        );
    }
    counts
}
