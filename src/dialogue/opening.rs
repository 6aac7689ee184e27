//! The opening: which machine, and what is wrong with it.

use std::sync::Arc;

use crate::model::appliance::Appliance;
use crate::record::entry::What;
use crate::say::Prompt;
use crate::understand::intent::Intent;
use crate::understand::situation::{Choice, Kind, Situation};

use super::bench::Bench;
use super::outbox::Outbox;
use super::phase::{Answer, Question, aside};

/// How far it has come.
#[derive(Clone, Debug)]
pub(super) enum Opening {
    /// Which machine?
    AskingMachine,
    /// What is wrong with it?
    AskingComplaint(Arc<Appliance>),
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
        }
    }

    pub(super) fn ask(&self, shelf: &[Arc<Appliance>], out: &mut Outbox) -> Question {
        let (topic, choices) = match self {
            Self::AskingMachine => {
                out.say(&Prompt::AskMachine);
                let choice = |a: &Arc<Appliance>| Choice { name: a.id.to_string(), say: a.say.clone() };
                ("machine", shelf.iter().map(choice).collect())
            }
            Self::AskingComplaint(appliance) => {
                out.say(&Prompt::AskComplaint { machine: appliance.name.clone() });
                let complaints = appliance.complaints.iter();
                let choices = complaints.map(|c| Choice { name: c.id.to_string(), say: c.say.clone() });
                ("complaint", choices.collect())
            }
        };
        let situation = Situation { kind: Kind::Opening, choices, ..Situation::default() };
        let example = situation.choices.first().and_then(|choice| choice.say.first()).cloned();
        Question::new(situation, topic, example.unwrap_or_default())
    }

    pub(super) fn answer(self, shelf: &[Arc<Appliance>], out: &mut Outbox, answer: &Answer<'_>) -> Opened {
        let name = match &answer.best.intent {
            Intent::Chose(name) => name,
            Intent::Beyond(what) => {
                aside::refuse(out, *what);
                return Opened::Still(self);
            }
            _ => {
                out.say(&Prompt::NotHere);
                return Opened::Still(self);
            }
        };
        match &self {
            Self::AskingMachine => match shelf.iter().find(|a| a.id.as_str() == name) {
                Some(appliance) => {
                    out.record(What::Machine { appliance: appliance.id.clone() });
                    Opened::Still(Self::AskingComplaint(Arc::clone(appliance)))
                }
                None => Opened::Still(self),
            },
            Self::AskingComplaint(appliance) => {
                match appliance.complaints.iter().find(|c| c.id.as_str() == name) {
                    Some(complaint) => {
                        out.record(What::Complained { complaint: complaint.id.clone() });
                        out.say(&Prompt::Scope);
                        for refusal in &appliance.refuses {
                            out.say(&Prompt::Refuses(refusal.clone()));
                        }
                        Opened::Bench(Box::new(Bench::new(Arc::clone(appliance), &complaint.id)))
                    }
                    None => Opened::Still(self),
                }
            }
        }
    }
}
