//! What is to be seen now, as a value.

use maud::Markup;

use crate::dialogue::Listening;
use crate::id::{CheckId, PointId};
use crate::model::appliance::{Appliance, Check, State};
use crate::model::draw;
use crate::record::job::{Job, Utterance};
use crate::record::report::row::{self, Row};
use crate::record::report::{Conclusion, cause_name, concluded};
use crate::safety::Supply;
use crate::say::Line;

use super::answers::{Answers, answers};

/// What is to be seen now.
#[derive(Clone, Debug, Default)]
pub struct Glance {
    /// Which turn of the conversation it shows: an answer says to which it answers.
    pub turn: u64,
    /// The job's number.
    pub job: String,
    /// The machine, once it is known.
    pub machine: Option<String>,
    /// What is wrong with it, as the customer says.
    pub complaint: Option<String>,
    /// What was said last; its last line is the question.
    pub lines: Vec<Line>,
    /// Where the leads go, while they go anywhere.
    pub leads: Option<Leads>,
    /// What is known of the supply.
    pub supply: Option<Supply>,
    /// The last finding that stands.
    pub reading: Option<Row>,
    /// What is suspected, and how probable it is, in thousandths; likeliest first.
    pub suspects: Vec<(String, u16)>,
    /// How many checks could still change the advice.
    pub left: Option<usize>,
    /// What is to be done about it, once that is known: cause and remedy.
    pub advice: Option<(String, String)>,
    /// What can be answered by touch.
    pub answers: Answers,
    /// The conversation, the newest last.
    pub conversation: Vec<Utterance>,
}

/// What is going on, beside the job itself.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mood {
    /// We speak.
    #[default]
    Speaking,
    /// We listen.
    Listening,
    /// Everything rests until somebody goes on.
    Paused,
    /// The microphone is lost.
    Deaf,
    /// The loudspeaker is lost.
    Mute,
    /// The job is closed.
    Finished,
}

/// Where the leads go.
#[derive(Clone, Debug)]
pub struct Leads {
    /// They go there now; otherwise once what is asked for is done.
    pub now: bool,
    /// The two points by name, with where each is on the machine.
    pub points: [(String, String); 2],
    /// The circuit with both lit.
    pub drawing: Option<String>,
}

/// So many suspects can be read from two metres.
const SUSPECTS: usize = 4;

/// Below this, in thousandths, only the likeliest is shown.
const LEAST_SUSPECTED: u16 = 5;

/// So many utterances are shown.
const UTTERANCES: usize = 60;

impl Glance {
    /// What is to be seen of a job: its record, its machine if that is known, what was said last, what is listened for.
    pub fn of(
        job: &Job,
        appliance: Option<&Appliance>,
        lines: &[Line],
        listening: Option<&Listening>,
    ) -> Self {
        let belief = job.beliefs.last().map(|belief| belief.causes.as_slice()).unwrap_or_default();
        let suspected = |nth: usize, permille: u16| nth == 0 || permille >= LEAST_SUSPECTED;
        let suspects = belief.iter().enumerate().take(SUSPECTS).filter(|(nth, (_, p))| suspected(*nth, *p));
        let suspects = suspects.map(|(_, found)| found).map(|(cause, p)| (cause_name(cause, appliance), *p));
        let skipped = job.conversation.len().saturating_sub(UTTERANCES);
        let complaint =
            job.complaint.as_ref().and_then(|id| appliance?.complaint(id)).map(|found| found.name.clone());
        let leads = appliance.and_then(|appliance| Leads::of(appliance, listening?));
        let pair =
            leads.as_ref().map(|leads| [&leads.points[0], &leads.points[1]].map(|point| point.0.as_str()));
        let answers = listening.map(|listening| answers(listening, pair)).unwrap_or_default();
        Self {
            machine: appliance.map(|appliance| appliance.name.clone()),
            complaint,
            lines: lines.to_vec(),
            leads,
            supply: appliance.map(|_| job.supply()),
            reading: row::rows(job, appliance).pop(),
            suspects: suspects.collect(),
            advice: advice(job, appliance),
            answers,
            conversation: job.conversation[skipped..].to_vec(),
            ..Self::default()
        }
    }
}

fn advice(job: &Job, appliance: Option<&Appliance>) -> Option<(String, String)> {
    match concluded(job, appliance) {
        Conclusion::Remedy { cause, remedy, .. } => Some((cause, remedy)),
        Conclusion::NothingWrong { .. } => {
            Some(("nothing electrical is wrong".to_owned(), "Look beyond the circuit.".to_owned()))
        }
        Conclusion::None | Conclusion::NotSure { .. } => None,
    }
}

impl Leads {
    fn of(appliance: &Appliance, listening: &Listening) -> Option<Self> {
        let (kind, rest) = listening.topic.split_once(' ').unwrap_or((&listening.topic, ""));
        let check = appliance.check(&CheckId::from(rest)).filter(|_| kind != "closing");
        let across = check.and_then(Check::points).map(|(from, to)| (from.clone(), to.clone()));
        let (from, to) = across.or_else(|| listening.situation.asked.clone())?;
        let state = match check {
            Some(check) => appliance.state(&check.state),
            None => appliance.states.iter().find(|state| !state.energised),
        };
        Some(Self {
            now: matches!(kind, "check" | "confirm" | "dead" | "leads" | "source" | "source-again"),
            points: [&from, &to].map(|point| named(appliance, point)),
            drawing: state.and_then(|state| drawing(appliance, state, [&from, &to])).map(Markup::into_string),
        })
    }
}

fn named(appliance: &Appliance, point: &PointId) -> (String, String) {
    let place = appliance.points.iter().find(|known| known.id == *point);
    (appliance.point_name(point), place.map(|known| known.place.clone()).unwrap_or_default())
}

/// No drawing where the circuit cannot be solved: what to do stands beside it in words.
fn drawing(appliance: &Appliance, state: &State, points: [&PointId; 2]) -> Option<Markup> {
    draw::leads(appliance, state, points).ok()
}
