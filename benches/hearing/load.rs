//! Recognition while another program keeps a core busy.

use leadhand::shell::sound;

use crate::Extent;
use crate::figures::{Draw, quantile};
use crate::sets::{Sets, passing_file};
use crate::system::{Busy, System};
use crate::table::sound_of;

pub fn run(sets: &Sets, extent: &Extent) {
    println!("\n## With one core kept busy by another program\n");
    let clips = Draw(41).some(sets.clips().map(|(_, clip)| clip).collect(), extent.clips);
    let mut ours = match System::own("ours", false, &["ours"]) {
        Ok(ours) => ours,
        Err(why) => return println!("{why}"),
    };
    let mut measure = || -> Vec<f64> {
        let mut took = Vec::new();
        for clip in &clips {
            sound::write(&passing_file(), &sound_of(clip, &sets.noises, None))
                .expect("target/ can be written");
            took.push(ours.hear(&passing_file(), clip.opened).ms);
        }
        took
    };
    let idle = measure();
    let busy = {
        let _core = Busy::start();
        measure()
    };
    println!("{:<6} {:>6} {:>8} {:>8}", "", "n", "p50", "p95");
    for (name, took) in [("idle", &idle), ("busy", &busy)] {
        let ms = |share| quantile(took, share).unwrap_or(f64::NAN);
        println!("{name:<6} {:>6} {:>8.0} {:>8.0}", took.len(), ms(0.5), ms(0.95));
    }
    let times =
        |share| quantile(&busy, share).unwrap_or(f64::NAN) / quantile(&idle, share).unwrap_or(f64::NAN);
    println!("{:<6} {:>6} {:>8.2} {:>8.2}", "times", "", times(0.5), times(0.95));
}
