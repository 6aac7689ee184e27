//! Where a session stands, as text: for those who compare two of them, or count them.

use std::fmt::Write;

use super::bench::Bench;
use super::phase::Phase;
use super::session::{Session, Stage};

impl Session {
    /// All that decides what the session does next, but for the time that has passed, what is said only once, how fast and
    /// loud we speak and the number of the next photo: two sessions that stand alike answer alike.
    pub fn standing(&self) -> String {
        let mut text = self.kept();
        if let Stage::Bench(bench, phase) = &self.stage {
            let Bench { interlock, state, prepared, findings, .. } = &**bench;
            let doubted = findings.asked_again();
            let _ = write!(text, " {phase:?} {interlock:?} {state:?} {prepared:?} {doubted:?}");
        }
        let topic = self.topic();
        let _ = write!(
            text,
            " {topic:?} {:?} {} {} {} {}",
            self.pause, self.noting, self.missed, self.silent, self.brief
        );
        text
    }

    /// What a restart brings back.
    pub fn memory(&self) -> String {
        format!("{} {}", self.kept(), self.photos)
    }

    fn kept(&self) -> String {
        match &self.stage {
            Stage::Opening(opening) => format!("{} {}", opening.memory(), self.wet),
            Stage::Bench(bench, phase) => {
                let finished = matches!(phase, Phase::Finished);
                let jumper = bench.interlock.jumper_in();
                format!(
                    "{} {:?} {} {jumper} {} {finished} {:?}",
                    bench.appliance.id,
                    bench.rated,
                    bench.findings.memory(),
                    bench.interlock.is_wet(),
                    bench.settings(),
                )
            }
        }
    }
}
