//! The opening: which machine, what is wrong with it, and what the customer knows of that.

use std::sync::Arc;

use crate::diagnose::history::{self, Told};
use crate::model::appliance::{Appliance, Complaint};
use crate::record::entry::What;
use crate::say::Prompt;
use crate::understand::intent::Intent;
use crate::understand::situation::{Choice, Kind, Situation};

use super::bench::Bench;
use super::interview::{self, Interview};
use super::outbox::Outbox;
use super::phase::{Answer, Question, aside};

/// How far it has come.
#[derive(Clone, Debug)]
pub(super) enum Opening {
    /// Which machine?
    AskingMachine,
    /// What is wrong with it?
    AskingComplaint(Arc<Appliance>),
    /// What does the customer know of it?
    Interviewing(Interview),
}

/// Where the opening goes.
pub(super) enum Opened {
    /// Not there yet.
    Still(Opening),
    /// To the bench.
    Bench(Box<Bench>),
}

impl Opening {
    /// How far it has come, as text.
    pub(super) fn memory(&self) -> String {
        match self {
            Self::AskingMachine => "machine".to_owned(),
            Self::AskingComplaint(appliance) => format!("complaint of {}", appliance.id),
            Self::Interviewing(interview) => {
                interview.memory().unwrap_or_else(|| format!("complaint of {}", interview.appliance.id))
            }
        }
    }

    /// The machine, once its complaint is known.
    pub(super) const fn machine(&self) -> Option<&Arc<Appliance>> {
        match self {
            Self::Interviewing(interview) => Some(&interview.appliance),
            Self::AskingMachine | Self::AskingComplaint(_) => None,
        }
    }

    pub(super) fn ask(&self, shelf: &[Arc<Appliance>], out: &mut Outbox) -> Question {
        let (topic, choices, with) = match self {
            Self::AskingMachine => {
                out.say(&Prompt::AskMachine);
                let choice = |a: &Arc<Appliance>| Choice { name: a.id.to_string(), say: a.say.clone() };
                ("machine", shelf.iter().map(choice).collect(), complaints(shelf))
            }
            Self::AskingComplaint(appliance) => {
                out.say(&Prompt::AskComplaint { machine: appliance.name.clone() });
                ("complaint", complaints(std::slice::from_ref(appliance)), interview::courses())
            }
            Self::Interviewing(interview) => return interview.ask(out),
        };
        let situation = Situation { kind: Kind::Opening, choices, with, ..Situation::default() };
        let example = situation.choices.first().and_then(|choice| choice.say.first()).cloned();
        Question::new(situation, topic, example.unwrap_or_default())
    }

    /// Goes back to the question before; false where there is none that can still be answered otherwise.
    pub(super) fn back(&mut self) -> bool {
        let Self::Interviewing(interview) = self else { return false };
        if interview.unname() {
            return true;
        }
        let can = interview.is_pending();
        if can {
            *self = Self::AskingComplaint(Arc::clone(&interview.appliance));
        }
        can
    }

    pub(super) fn answer(self, shelf: &[Arc<Appliance>], out: &mut Outbox, answer: &Answer<'_>) -> Opened {
        if let Intent::Beyond(what) = &answer.best.intent {
            aside::refuse(out, *what);
            return Opened::Still(self);
        }
        if let Self::Interviewing(mut interview) = self {
            interview.answer(out, answer);
            return go_on(interview, out);
        }
        let named: &[&String] = match &answer.best.intent {
            Intent::Chose(name) => &[name],
            Intent::ChoseBoth(first, second) => &[first, second],
            _ => &[],
        };
        let opened = match &self {
            Self::AskingMachine => machine(shelf, out, named),
            Self::AskingComplaint(appliance) => complaint(appliance, out, named),
            Self::Interviewing(_) => None,
        };
        opened.unwrap_or_else(|| {
            out.say(&Prompt::NotHere);
            Opened::Still(self)
        })
    }
}

/// The machine that is named, and what is wrong with it if that was said too.
fn machine(shelf: &[Arc<Appliance>], out: &mut Outbox, named: &[&String]) -> Option<Opened> {
    let appliance = shelf.iter().find(|a| named.iter().any(|name| a.id.as_str() == *name))?;
    out.record(What::Machine { appliance: appliance.id.clone() });
    let still = || Opened::Still(Opening::AskingComplaint(Arc::clone(appliance)));
    Some(complaint(appliance, out, named).unwrap_or_else(still))
}

/// The complaint that is named, and whether it comes and goes if that was said too.
fn complaint(appliance: &Arc<Appliance>, out: &mut Outbox, named: &[&String]) -> Option<Opened> {
    let is_named = |c: &&Complaint| named.iter().any(|name| c.id.as_str() == *name);
    let complaint = appliance.complaints.iter().find(is_named)?.id.clone();
    let tells = history::recurring_tells(appliance, &complaint);
    let recurs = named.iter().find_map(|name| interview::course(name)).filter(|_| tells);
    let told = recurs.map(|recurs| Told::Recurs(Some(recurs))).into_iter().collect();
    Some(go_on(Interview::new(Arc::clone(appliance), complaint, told), out))
}

/// The next question, or the bench, where all is told.
fn go_on(mut interview: Interview, out: &mut Outbox) -> Opened {
    if !interview.is_over() {
        return Opened::Still(Opening::Interviewing(interview));
    }
    interview.keep(out);
    let Interview { appliance, complaint, told, .. } = interview;
    out.say(&Prompt::Scope);
    for refusal in &appliance.refuses {
        out.say(&Prompt::Refuses(refusal.clone()));
    }
    let mut bench = Bench::new(Arc::clone(&appliance), &complaint);
    for told in &told {
        bench.findings.tell(&appliance, told);
    }
    Opened::Bench(Box::new(bench))
}

/// What may be wrong with any of these machines, each complaint once.
fn complaints(shelf: &[Arc<Appliance>]) -> Vec<Choice> {
    let mut all: Vec<Choice> = Vec::new();
    for Complaint { id, say, .. } in shelf.iter().flat_map(|appliance| &appliance.complaints) {
        match all.iter_mut().find(|known| known.name == id.as_str()) {
            Some(known) => {
                let new: Vec<String> =
                    say.iter().filter(|words| !known.say.contains(words)).cloned().collect();
                known.say.extend(new);
            }
            None => all.push(Choice { name: id.to_string(), say: say.clone() }),
        }
    }
    all
}
