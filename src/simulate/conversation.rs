//! One job through the whole session: every question asked and answered in words, until the job is closed.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use crate::diagnose::hypothesis::Hypothesis;
use crate::dialogue::{Action, Input, Listening, ReadBack, Session, Step};
use crate::id::{CheckId, PointId};
use crate::model::appliance::{Appliance, Check, ClosingItem, Complaint};
use crate::quantity::Unit;
use crate::reading::{Finding, Reading};
use crate::record::entry::What;
use crate::say::{Line, Manner, Prompt};
use crate::time::Timestamp;
use crate::understand::automaton::Automaton;
use crate::understand::heard::{Candidate, Heard};
use crate::understand::numerals::quantity_words;
use crate::understand::situation::{Kind, Situation};
use crate::understand::{open, typed};

use super::dice::Dice;
use super::hearing::{Caught, Hearing};
use super::machine::said;
use super::technician::{Technician, words};
use super::visit::{Advice, Visit};
use super::watch::Watch;

/// More turns than any job needs.
const MOST_TURNS: usize = 400;
/// A question and its answer take this long.
const TURN: Duration = Duration::from_secs(4);
/// We say so many words a minute, and of a hazard so many: as the voice of `leadhand talk` is set.
const WORDS_A_MINUTE: (f64, f64) = (165.0, 145.0);

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

/// What was asked, said and taken until the first advice.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Exchange {
    /// Readings reported, those said again because they were not understood not counted.
    pub readings: u32,
    /// How often a yes to a reading was waited for.
    pub asked: u32,
    /// How often a reading was not understood and asked for again.
    pub again: u32,
    /// Readings that stood, when the advice was given, as another value than the technician said.
    pub wrong: u32,
    /// Seconds that we spoke.
    pub seconds: f64,
    /// Warnings of something live.
    pub warnings: u32,
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
    /// What was asked, said and taken until the first advice.
    pub exchange: Exchange,
    /// The question that was open when the conversation was given up; `None` where the session closed the job.
    pub left_at: Option<String>,
}

impl Opened {
    /// A job on this machine with this complaint, the customer knowing nothing else unless something is to be told; `None`
    /// where the session does not get that far.
    pub fn new(
        appliance: &Arc<Appliance>,
        complaint: &Complaint,
        read_back: ReadBack,
        told: bool,
    ) -> Option<Self> {
        let session = Session::new(vec![Arc::clone(appliance)].into(), Some(Arc::clone(appliance)));
        let mut session = session.reading_back(read_back);
        let listening = listening_to(&session.handle(Timestamp::ZERO, Input::Start))?;
        let heard = typed(&open(&listening.situation), complaint.say.first()?);
        let step = session.handle(Timestamp::ZERO, Input::Heard(heard));
        let mut listening = listening_to(&step)?;
        for _ in 0..MOST_TURNS {
            if told || listening.situation.kind != Kind::Interview {
                break;
            }
            let unsure = typed(&open(&listening.situation), "not sure");
            listening = listening_to(&session.handle(Timestamp::ZERO, Input::Heard(unsure)))?;
        }
        Some(Self { session, listening })
    }

    /// Works the job to its end.
    pub fn work(&self, technician: &mut Technician, hearing: Hearing, ears: &mut Ears) -> Talked {
        let mut session = self.session.clone();
        let mut listening = Some(self.listening.clone());
        let mut watch = Watch::new(technician.machine.appliance);
        let mut talk = Talk::new(technician, hearing);
        let mut now = Timestamp::ZERO;
        for _ in 0..MOST_TURNS {
            let Some(asked) = listening.take() else { break };
            let heard = talk.answer(&asked, ears);
            let understood = heard.understood().is_some();
            if understood {
                watch.answered(&asked.topic);
            }
            now = now.after(TURN);
            let step = session.handle(now, Input::Heard(heard));
            listening = listening_to(&step);
            talk.reported(&asked, understood, listening.as_ref());
            talk.keep(&step);
            if let Some(next) = &listening {
                watch.ordered(&next.topic, speaks_hazard(&step));
            }
        }
        Talked {
            visit: talk.visit,
            mended: talk.ran == Some(true),
            exchange: talk.exchange,
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
    hearing: Hearing,
    dice: Dice,
    visit: Visit,
    exchange: Exchange,
    /// What we said last.
    last_line: String,
    /// Was something measured that is not on record yet?
    measured: bool,
    /// A check whose reading was read back wrong in passing, and is put right at once.
    astray: Option<CheckId>,
    /// Is what was just said a correction, and no new measurement?
    correcting: bool,
    /// Was a yes just said to what was read back?
    nodded: bool,
    /// What stands for each check, as it was taken.
    standing: BTreeMap<CheckId, Finding>,
    /// The cause that was advised last; `None` where none was singled out.
    believed: Option<Hypothesis>,
    /// Did the machine run when it was tried?
    ran: Option<bool>,
}

impl<'t, 'm> Talk<'t, 'm> {
    fn new(technician: &'t mut Technician<'m>, hearing: Hearing) -> Self {
        Self {
            dice: technician.hearing(),
            technician,
            hearing,
            visit: Visit::default(),
            exchange: Exchange::default(),
            last_line: String::new(),
            measured: false,
            astray: None,
            correcting: false,
            nodded: false,
            standing: BTreeMap::new(),
            believed: None,
            ran: None,
        }
    }

    fn answer(&mut self, asked: &Listening, ears: &mut Ears) -> Heard {
        (self.correcting, self.nodded) = (false, false);
        if let Some(check) = self.astray.take() {
            let heard = self.report(&check, "no ", asked, ears);
            if heard.understood().is_some() {
                self.correcting = true;
                return heard;
            }
        }
        let (kind, rest) = asked.topic.split_once(' ').unwrap_or((&asked.topic, ""));
        let plain = match kind {
            "check" => {
                self.measured = true;
                return self.report(&rest.into(), "", asked, ears);
            }
            "confirm" => {
                self.count(|exchange| exchange.asked += 1);
                return self.confirm(&rest.into(), asked, ears);
            }
            "isolate" | "state" | "before" | "live" | "jumper-in" | "jumper-out" | "fixed" => "done".into(),
            "recurs" => if self.technician.recurs() { "yes" } else { "no" }.into(),
            "replaced" => "no".into(),
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

    /// Counts a reading: it is said again where it was not understood and the same is asked once more.
    fn reported(&mut self, asked: &Listening, understood: bool, next: Option<&Listening>) {
        if !asked.topic.starts_with("check ") || self.correcting {
            return;
        }
        let again = !understood && next.is_some_and(|next| next.topic == asked.topic);
        self.count(|exchange| {
            exchange.readings += u32::from(!again);
            exchange.again += u32::from(again);
        });
    }

    /// Counts towards the first advice.
    fn count(&mut self, add: impl FnOnce(&mut Exchange)) {
        if self.visit.advice.is_none() {
            add(&mut self.exchange);
        }
    }

    /// What was found, as it is heard.
    fn report(&mut self, check: &CheckId, before: &str, asked: &Listening, ears: &mut Ears) -> Heard {
        let appliance = self.technician.machine.appliance;
        let Some(found) = self.technician.find(check).cloned() else { return Heard::default() };
        let Caught { best, other } = self.hearing.catch(&found, &mut self.dice);
        let mut candidate = |(finding, probability): &(Finding, f32)| {
            let heard = ears.hear(asked, &format!("{before}{}", words(appliance, check, finding)));
            let candidate = heard.candidates.into_iter().next()?;
            Some(Candidate { probability: *probability, ..candidate })
        };
        // What no grammar takes here is not heard here.
        let Some(first) = candidate(&best) else {
            return ears.hear(asked, &format!("{before}{}", words(appliance, check, &found)));
        };
        let second = other.as_ref().and_then(candidate).filter(|second| second.intent != first.intent);
        Heard { candidates: std::iter::once(first).chain(second).collect(), ..Heard::default() }
    }

    /// Yes, or no and the value, where another one was read back and it is noticed.
    fn confirm(&mut self, check: &CheckId, asked: &Listening, ears: &mut Ears) -> Heard {
        let right = self.technician.find(check).is_some_and(|found| reads_back(&self.last_line, found));
        self.nodded = right || self.dice.falls(self.technician.slips.nodded);
        if self.nodded {
            return ears.hear(asked, "yes");
        }
        self.report(check, "no ", asked, ears)
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

    /// What the session records of it, and what it says. The visit is what led to the first advice.
    fn keep(&mut self, step: &Step) {
        for action in &step.actions {
            let entry = match action {
                Action::Record(entry) => entry,
                Action::Say(line) => {
                    self.listen(line);
                    continue;
                }
                Action::Listen(_) | Action::Finish => continue,
            };
            let searching = self.visit.advice.is_none();
            match &entry.what {
                What::Found { check, finding, .. } if searching => self.found(check, finding),
                What::Retracted { check } if searching => {
                    self.visit.evidence.retract(check);
                    self.standing.remove(check);
                }
                What::Advised { remedy, cause, permille } => {
                    if searching {
                        self.exchange.wrong = self.wrong();
                    }
                    let told = cause != "cannot-tell";
                    let claimed = if told { f64::from(*permille) / 1000.0 } else { 0.0 };
                    self.believed = told.then(|| Hypothesis::named(cause));
                    self.visit.advice.get_or_insert(Advice { remedy: remedy.clone(), told, claimed });
                }
                _ => {}
            }
        }
    }

    fn listen(&mut self, line: &Line) {
        self.last_line.clone_from(&line.text);
        let hazard = line.manner == Manner::Hazard;
        let a_minute = if hazard { WORDS_A_MINUTE.1 } else { WORDS_A_MINUTE.0 };
        let seconds = 60.0 * line.text.split_whitespace().count() as f64 / a_minute;
        self.count(|exchange| {
            exchange.seconds += seconds;
            exchange.warnings += u32::from(hazard);
        });
    }

    /// A finding was taken. Where it is not what was said, it was read back in passing, and mostly noticed.
    fn found(&mut self, check: &CheckId, finding: &Finding) {
        self.visit.evidence.accept(check.clone(), finding.clone());
        // What is put right was measured before.
        if std::mem::take(&mut self.measured) {
            self.visit.checks.push(check.clone());
        }
        self.standing.insert(check.clone(), finding.clone());
        let unheeded = self.dice.falls(self.technician.slips.unheeded);
        if self.technician.find(check) != Some(finding) && !unheeded && !self.nodded {
            self.astray = Some(check.clone());
        }
    }

    /// How many readings stand otherwise than they were said.
    fn wrong(&mut self) -> u32 {
        let standing = std::mem::take(&mut self.standing);
        let wrong = standing.iter().filter(|(check, finding)| self.technician.find(check) != Some(finding));
        wrong.count() as u32
    }
}

/// Is it this finding that a line reads back for a yes? What is seen is never misheard here.
fn reads_back(line: &str, finding: &Finding) -> bool {
    let Finding::Reading(reading) = finding else { return true };
    let reads = |beeps| Prompt::ConfirmReading { reading: *reading, beeps }.line().text == line;
    reads(false) || reads(true)
}
