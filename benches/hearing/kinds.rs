//! The weights in other number formats: what each costs in time and memory, and what it gains in exact values.
//!
//! `scripts/weights_kinds.py` writes f16 and q5_1 from the shipped q8_0, so f16 can be faster or slower here but no
//! better; q5_1 is rounded twice.

use leadhand::shell::sound;
use leadhand::shell::weights::Weights;

use crate::Extent;
use crate::clips::Group;
use crate::figures::Draw;
use crate::mixing::Level;
use crate::sets::{Sets, passing_file};
use crate::system::System;
use crate::table::{Tally, sound_of, understood};
use crate::workshop;

const LEVELS: [Level; 2] = [None, Some(10)];

pub fn run(sets: &Sets, extent: &Extent) {
    println!("\n## The weights' number format, quiet and at 10 dB\n");
    let spoken = sets.clips().filter(|(set, _)| matches!(set.group, Group::Readings | Group::Numbers));
    let clips = Draw(31).some(spoken.map(|(_, clip)| clip).collect(), 2 * extent.clips);
    println!("{:<8} {} {:>8} {:>10}", "format", Tally::CELLS, "MiB", "file, MB");
    for kind in ["q8_0", "f16", "q5_1"] {
        let folder =
            if kind == "q8_0" { Weights::folder() } else { workshop().join(format!("weights-{kind}")) };
        if !folder.exists() {
            println!("skipped: {kind}; not written (scripts/weights_kinds.py)");
            continue;
        }
        let mut ours = match System::own(kind, false, &["ours", &folder.to_string_lossy()]) {
            Ok(ours) => ours,
            Err(why) => {
                println!("{why}");
                continue;
            }
        };
        let mut tally = Tally::default();
        for level in LEVELS {
            for clip in &clips {
                sound::write(&passing_file(), &sound_of(clip, &sets.noises, level))
                    .expect("target/ can be written");
                let answer = ours.hear(&passing_file(), clip.opened);
                tally.count(understood(&answer, clip, None).as_ref(), clip.wanted.as_ref(), answer.ms);
            }
        }
        let size = Weights::load(&folder).map_or(f64::NAN, |weights| weights.manifest.size as f64 / 1e6);
        println!("{kind:<8} {} {:>8.0} {size:>10.1}", tally.cells(), ours.resident().unwrap_or(f64::NAN));
    }
}
