//! What the customer is asked beside the complaint: only what would move the belief, and nothing that is known already.

use std::sync::Arc;

use crate::diagnose::history::{self, Told};
use crate::id::{ComplaintId, PartId};
use crate::model::appliance::{Appliance, Part};
use crate::record::entry::What;
use crate::say::Prompt;
use crate::understand::intent::{Anytime, Intent};
use crate::understand::situation::{Choice, Kind, Situation};
use crate::understand::vocabulary;

use super::outbox::Outbox;
use super::phase::{Answer, Question};

/// An interview, as far as it has come.
#[derive(Clone, Debug)]
pub(super) struct Interview {
    pub(super) appliance: Arc<Appliance>,
    pub(super) complaint: ComplaintId,
    pub(super) told: Vec<Told>,
    /// The part that was replaced, on the way to being told.
    part: Named,
    /// Is the complaint on record, and what was told? Until the first answer it can be taken back.
    kept: bool,
}

/// How far the name of a replaced part has come.
#[derive(Clone, Debug, PartialEq)]
enum Named {
    /// Was any?
    Not,
    /// One was. Which?
    Asked,
    /// This one, if that was heard right.
    Heard(PartId),
}

/// What is still to be told.
enum About {
    /// Does it come and go?
    Recurs,
    /// What was replaced for it?
    Replaced,
}

impl Interview {
    /// The interview on a complaint, with what was told along with it.
    pub(super) const fn new(appliance: Arc<Appliance>, complaint: ComplaintId, told: Vec<Told>) -> Self {
        Self { appliance, complaint, told, part: Named::Not, kept: false }
    }

    /// One of which everything so far is on record.
    pub(super) fn on_record(self) -> Self {
        Self { kept: true, ..self }
    }

    /// How far it has come, as text: what is not on record yet is not to be remembered.
    pub(super) fn memory(&self) -> Option<String> {
        let Self { appliance, complaint, told, .. } = self;
        self.kept.then(|| format!("{complaint} of {}: {told:?}", appliance.id))
    }

    /// Puts on record what is not there yet.
    pub(super) fn keep(&mut self, out: &mut Outbox) {
        if !std::mem::replace(&mut self.kept, true) {
            out.record(What::Complained { complaint: self.complaint.clone() });
            self.told.iter().for_each(|told| out.record(What::Told { told: told.clone() }));
        }
    }

    /// Lets go of a part that was on the way to being told; false where there was none.
    pub(super) fn unname(&mut self) -> bool {
        std::mem::replace(&mut self.part, Named::Not) != Named::Not
    }

    /// Can the complaint still be taken back?
    pub(super) const fn is_pending(&self) -> bool {
        !self.kept
    }

    /// Is everything told that would tell anything?
    pub(super) fn is_over(&self) -> bool {
        self.open().is_none()
    }

    fn open(&self) -> Option<About> {
        let told = |is: fn(&Told) -> bool| self.told.iter().any(is);
        if history::recurring_tells(&self.appliance, &self.complaint)
            && !told(|t| matches!(t, Told::Recurs(_)))
        {
            return Some(About::Recurs);
        }
        let open = !told(|t| matches!(t, Told::Replaced(_))) && !self.parts().is_empty();
        open.then_some(About::Replaced)
    }

    /// Keeps an answer.
    fn tell(&mut self, out: &mut Outbox, told: Told) {
        self.keep(out);
        out.record(What::Told { told: told.clone() });
        self.told.push(told);
        self.part = Named::Not;
    }

    pub(super) fn ask(&self, out: &mut Outbox) -> Question {
        let asked = |topic, choices: Vec<Choice>, example: &str| {
            Question::new(
                Situation { kind: Kind::Interview, choices, ..Situation::default() },
                topic,
                example,
            )
        };
        match (self.open(), &self.part) {
            (Some(About::Recurs) | None, _) => {
                out.say(&Prompt::AskRecurs(self.heard()));
                asked("recurs", courses(), "yes, no, or not sure")
            }
            (Some(About::Replaced), Named::Not) => {
                out.say(&Prompt::AskReplaced(self.heard()));
                asked("replaced", self.parts(), "yes, no, or not sure")
            }
            (Some(About::Replaced), Named::Asked) => {
                out.say(&Prompt::AskWhichPart);
                let parts = self.parts();
                let example = parts.first().and_then(|part| part.say.first()).cloned();
                asked("which-part", parts, &example.unwrap_or_default())
            }
            (Some(About::Replaced), Named::Heard(part)) => {
                out.say(&Prompt::ConfirmOutcome(self.appliance.part_name(part)));
                asked("that-part", self.parts(), "yes, or no")
            }
        }
    }

    /// The complaint as it is said back, while it can be taken back.
    fn heard(&self) -> Option<String> {
        let complaint = self.appliance.complaint(&self.complaint)?;
        (!self.kept).then(|| complaint.name.clone())
    }

    /// Takes an answer.
    pub(super) fn answer(&mut self, out: &mut Outbox, answer: &Answer<'_>) {
        let skipped = Intent::Anytime(Anytime::Skip);
        match (self.open(), &self.part, &answer.best.intent) {
            (Some(About::Recurs), _, Intent::Yes) => self.tell(out, Told::Recurs(Some(true))),
            (Some(About::Recurs), _, Intent::No) => self.tell(out, Told::Recurs(Some(false))),
            (Some(About::Recurs), _, said) if *said == skipped => self.tell(out, Told::Recurs(None)),
            (Some(About::Recurs), _, Intent::Chose(name)) if course(name).is_some() => {
                self.tell(out, Told::Recurs(course(name)));
            }
            (Some(About::Replaced), Named::Not, Intent::No) => self.tell(out, Told::Replaced(None)),
            (Some(About::Replaced), _, said) if *said == skipped => self.tell(out, Told::Replaced(None)),
            (Some(About::Replaced), Named::Not, Intent::Yes) => self.part = Named::Asked,
            (Some(About::Replaced), _, Intent::Chose(name)) if name == ELSE => {
                self.tell(out, Told::Replaced(None));
            }
            (Some(About::Replaced), _, Intent::Chose(name))
                if self.parts().iter().any(|part| part.name == *name) =>
            {
                self.part = Named::Heard(name.as_str().into());
            }
            (Some(About::Replaced), Named::Heard(part), Intent::Yes) => {
                let part = part.clone();
                self.tell(out, Told::Replaced(Some(part)));
            }
            (Some(About::Replaced), Named::Heard(_), Intent::No) => self.part = Named::Asked,
            _ => out.say(&Prompt::NotHere),
        }
    }

    /// The parts that can be named.
    fn parts(&self) -> Vec<Choice> {
        let mut parts: Vec<Choice> =
            history::suspects(&self.appliance, &self.complaint).filter_map(spoken).collect();
        if !parts.is_empty() {
            let say = ["something else", "another part", "other part"].map(str::to_owned).to_vec();
            parts.push(Choice { name: ELSE.to_owned(), say });
        }
        parts
    }
}

/// A part that has no name here.
const ELSE: &str = "something else";

/// The ways to name a part that can be heard; `None` if there are none.
fn spoken(part: &Part) -> Option<Choice> {
    let mut say = part.say.clone();
    for name in [part.name.to_lowercase(), part.id.as_str().replace('-', " ")] {
        if vocabulary::knows(&name) && !say.contains(&name) {
            say.push(name);
        }
    }
    let named = say.iter().flat_map(|name| [name.clone(), format!("the {name}")]).collect();
    (!say.is_empty()).then(|| Choice { name: part.id.to_string(), say: named })
}

/// How it is said that something comes and goes, or does not.
pub(super) fn courses() -> Vec<Choice> {
    let choice = |name: &str, say: &[&str]| Choice {
        name: name.to_owned(),
        say: say.iter().map(|words| (*words).to_owned()).collect(),
    };
    vec![
        choice("sometimes", &["sometimes", "now and then", "off and on", "not always"]),
        choice("always", &["always", "every time", "all the time"]),
    ]
}

/// Does it come and go, by the name of one of [`courses`]?
pub(super) fn course(name: &str) -> Option<bool> {
    match name {
        "sometimes" => Some(true),
        "always" => Some(false),
        _ => None,
    }
}
