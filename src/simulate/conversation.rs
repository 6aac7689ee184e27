//! One job through the whole session: every question asked and answered in words, until the job is closed.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use crate::diagnose::hypothesis::Hypothesis;
use crate::dialogue::{Action, Input, Listening, Session, Step};
use crate::id::{CheckId, PointId};
use crate::model::appliance::{Appliance, Check, ClosingItem, Complaint};
use crate::quantity::Unit;
use crate::reading::{Finding, Reading};
use crate::record::entry::What;
use crate::say::Manner;
use crate::time::Timestamp;
use crate::understand::automaton::Automaton;
use crate::understand::heard::{Candidate, Heard};
use crate::understand::numerals::quantity_words;
use crate::understand::situation::Situation;
use crate::understand::{open, typed};

use super::machine::said;
use super::technician::{Technician, words};
use super::visit::{Advice, Visit};
use super::watch::Watch;

/// More turns than any job needs.
const MOST_TURNS: usize = 400;
/// A question and its answer take this long.
const TURN: Duration = Duration::from_secs(4);
/// How probable the recogniser finds what was misheard, and what was said.
const MISHEARD: (f32, f32) = (0.62, 0.34);

/// The grammars opened so far for one machine: opening one takes longer than to hear.
#[derive(Debug, Default)]
pub struct Ears {
    open: BTreeMap<String, (Situation, Automaton)>,
}

impl Ears {
    fn hear(&mut self, listening: &Listening, words: &str) -> Heard {
        let known = self.open.get(&listening.topic).is_some_and(|(s, _)| *s == listening.situation);
        if !known {
            let opened = (listening.situation.clone(), open(&listening.situation));
            self.open.insert(listening.topic.clone(), opened);
        }
        let (_, automaton) = self.open.get(&listening.topic).expect("it was put there above");
        typed(automaton, words)
    }
}

/// A session that knows machine and complaint. Jobs go on from copies of it.
#[derive(Clone, Debug)]
pub struct Opened {
    session: Session,
    listening: Listening,
}

/// A job worked through the session.
#[derive(Clone, Debug)]
pub struct Talked {
    /// What was done and found, and the advice.
    pub visit: Visit,
    /// Orders that were not safe.
    pub unsafe_orders: Vec<String>,
    /// Was the machine mended before the job was closed?
    pub mended: bool,
    /// The question that was open when the conversation was given up; `None` where the session closed the job.
    pub left_at: Option<String>,
}

impl Opened {
    /// A job on this machine with this complaint; `None` where the session does not get that far.
    pub fn new(appliance: &Arc<Appliance>, complaint: &Complaint) -> Option<Self> {
        let mut session = Session::new(vec![Arc::clone(appliance)].into(), Some(Arc::clone(appliance)));
        let listening = listening_to(&session.handle(Timestamp::ZERO, Input::Start))?;
        let heard = typed(&open(&listening.situation), complaint.say.first()?);
        let step = session.handle(Timestamp::ZERO, Input::Heard(heard));
        Some(Self { listening: listening_to(&step)?, session })
    }

    /// Works the job to its end.
    pub fn work(&self, technician: &mut Technician, ears: &mut Ears) -> Talked {
        let mut session = self.session.clone();
        let mut listening = Some(self.listening.clone());
        let mut talk =
            Talk { technician, visit: Visit::default(), corrected: None, believed: None, ran: None };
        let mut watch = Watch::new(talk.technician.machine.appliance);
        let mut now = Timestamp::ZERO;
        for _ in 0..MOST_TURNS {
            let Some(asked) = listening.take() else { break };
            let heard = talk.answer(&asked, ears);
            if heard.understood().is_some() {
                watch.answered(&asked.topic);
            }
            now = now.after(TURN);
            let step = session.handle(now, Input::Heard(heard));
            talk.keep(&step);
            listening = listening_to(&step);
            if let Some(next) = &listening {
                watch.ordered(&next.topic, speaks_hazard(&step));
            }
        }
        Talked {
            visit: talk.visit,
            mended: talk.ran == Some(true),
            unsafe_orders: watch.unsafe_orders().to_vec(),
            left_at: listening.map(|asked| asked.topic),
        }
    }
}

fn listening_to(step: &Step) -> Option<Listening> {
    step.actions.iter().find_map(|action| match action {
        Action::Listen(listening) => Some(listening.clone()),
        Action::Record(_) | Action::Say(_) | Action::Finish => None,
    })
}

fn speaks_hazard(step: &Step) -> bool {
    step.actions.iter().any(|action| matches!(action, Action::Say(line) if line.manner == Manner::Hazard))
}

/// The technician's side of the talk, and what came of it so far.
struct Talk<'t, 'm> {
    technician: &'t mut Technician<'m>,
    visit: Visit,
    /// The check whose read-back was just corrected.
    corrected: Option<CheckId>,
    /// The cause that was advised last; `None` where none was singled out.
    believed: Option<Hypothesis>,
    /// Did the machine run when it was tried?
    ran: Option<bool>,
}

impl Talk<'_, '_> {
    fn answer(&mut self, asked: &Listening, ears: &mut Ears) -> Heard {
        let (kind, rest) = asked.topic.split_once(' ').unwrap_or((&asked.topic, ""));
        let plain = match kind {
            "check" => return self.report(&rest.into(), asked, ears),
            "confirm" => self.confirm(&rest.into()),
            "isolate" | "state" | "before" | "live" | "jumper-in" | "jumper-out" | "fixed" => "done".into(),
            "source-ack" => "live and clear".into(),
            "source" | "source-again" => self.known_source(),
            "dead" | "charge" => "zero volts".into(),
            "leads" => self.leads(),
            "ack" => self.acknowledge(&rest.into()),
            "closing" if rest == ClosingItem::TRIAL_RUN => if self.runs() { "yes" } else { "no" }.into(),
            _ => "yes".into(),
        };
        ears.hear(asked, &plain)
    }

    /// What was found, as it is heard: where it is misheard, what was said is only the second candidate.
    fn report(&mut self, check: &CheckId, asked: &Listening, ears: &mut Ears) -> Heard {
        self.corrected = None;
        let appliance = self.technician.machine.appliance;
        let Some(found) = self.technician.find(check) else { return Heard::default() };
        let right = ears.hear(asked, &words(appliance, check, &found.finding));
        let Some(misheard) = &found.misheard else { return right };
        let wrong = ears.hear(asked, &words(appliance, check, misheard));
        match (wrong.candidates.into_iter().next(), right.candidates.first()) {
            (Some(wrong), Some(meant)) if wrong.intent != meant.intent => {
                let with = |candidate: Candidate, probability| Candidate { probability, ..candidate };
                let candidates = vec![with(wrong, MISHEARD.0), with(meant.clone(), MISHEARD.1)];
                Heard { candidates, ..right }
            }
            _ => right,
        }
    }

    /// Yes, or no and the value, where another one was read back.
    fn confirm(&mut self, check: &CheckId) -> String {
        let appliance = self.technician.machine.appliance;
        let again = self.corrected.as_ref() == Some(check);
        match self.technician.find(check) {
            Some(found) if found.misheard.is_some() && !again => {
                let said = words(appliance, check, &found.finding);
                self.corrected = Some(check.clone());
                format!("no {said}")
            }
            _ => "yes".into(),
        }
    }

    /// Tries the machine with what was advised done. Where nothing was, there is nothing to try, and no use in going on.
    fn runs(&mut self) -> bool {
        let ran = self.believed.take().map(|cause| self.technician.mend(&cause));
        self.ran = ran.or(self.ran);
        ran.unwrap_or(true)
    }

    /// What the meter shows with its leads together; it belongs to what is found.
    fn leads(&mut self) -> String {
        let shown = self.technician.machine.leads_together();
        if self.visit.advice.is_none() {
            self.visit.evidence.touch(Some(Finding::Reading(Reading::Value(shown))));
        }
        quantity_words(shown)
    }

    fn known_source(&self) -> String {
        let (least, most) = self.technician.machine.appliance.known_source_volts;
        quantity_words(said(f64::midpoint(least, most).round(), Unit::Volts))
    }

    fn acknowledge(&self, check: &CheckId) -> String {
        let appliance = self.technician.machine.appliance;
        let name =
            |id: &PointId| appliance.point(id).and_then(|p| p.say.first()).cloned().unwrap_or_default();
        match appliance.check(check).and_then(Check::points) {
            Some((from, to)) => format!("live at {} and {}", name(from), name(to)),
            None => "live and clear".into(),
        }
    }

    /// What the session records of it. The visit is what led to the first advice.
    fn keep(&mut self, step: &Step) {
        for action in &step.actions {
            let Action::Record(entry) = action else { continue };
            let searching = self.visit.advice.is_none();
            match &entry.what {
                What::Found { check, finding, .. } if searching => self.found(check, finding),
                What::Retracted { check } if searching => drop(self.visit.evidence.retract(check)),
                What::Advised { remedy, cause, permille } => {
                    let told = cause != "cannot-tell";
                    let claimed = if told { f64::from(*permille) / 1000.0 } else { 0.0 };
                    self.believed = told.then(|| Hypothesis::named(cause));
                    self.visit.advice.get_or_insert(Advice { remedy: remedy.clone(), told, claimed });
                }
                _ => {}
            }
        }
    }

    fn found(&mut self, check: &CheckId, finding: &Finding) {
        self.visit.evidence.accept(check.clone(), finding.clone());
        self.visit.checks.push(check.clone());
    }
}
