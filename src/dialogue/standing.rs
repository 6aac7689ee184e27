//! Where a session stands, as text: for those who compare two of them, or count them.

use std::fmt::Write;

use super::bench::Bench;
use super::phase::Phase;
use super::session::{Session, Stage};

impl Session {
    /// All that decides what the session does next, but for the time that has passed and what is said only once: two
    /// sessions that stand alike answer alike.
    pub fn standing(&self) -> String {
        let mut text = self.memory();
        if let Stage::Bench(bench, phase) = &self.stage {
            let Bench { interlock, state, prepared, findings, .. } = &**bench;
            let doubted = findings.asked_again();
            let _ = write!(text, " {phase:?} {interlock:?} {state:?} {prepared:?} {doubted:?}");
        }
        let topic = self.topic();
        let _ = write!(
            text,
            " {topic:?} {:?} {} {} {} {:?} {}",
            self.pause, self.noting, self.missed, self.silent, self.voice, self.brief
        );
        text
    }

    /// What a restart brings back.
    pub fn memory(&self) -> String {
        match &self.stage {
            Stage::Opening(opening) => opening.memory(),
            Stage::Bench(bench, phase) => {
                let finished = matches!(phase, Phase::Finished);
                let jumper = bench.interlock.jumper_in();
                format!(
                    "{} {} {jumper} {finished} {:?} {}",
                    bench.appliance.id,
                    bench.findings.memory(),
                    bench.settings(),
                    self.photos
                )
            }
        }
    }
}
