//! The names that a file gives, and whether a name that it uses is one of them.

use std::collections::{BTreeMap, BTreeSet};

use crate::model::near::near;
use crate::model::problem::Code;
use crate::model::raw::{Section, Word};

/// The tables whose rows have names that other rows use.
const NAMED: &[&str] =
    &["point", "part", "element", "state", "complaint", "fault", "remedy", "check", "candidate"];

/// Every name that the file gives, by the table that gives it.
pub(super) struct Names(BTreeMap<&'static str, BTreeSet<String>>);

impl Names {
    /// Gathers the names and reports those that are given twice or are not kebab-case.
    pub(super) fn gather(model: &Section) -> Self {
        let mut names: BTreeMap<&'static str, BTreeSet<String>> = BTreeMap::new();
        for kind in NAMED.iter().copied() {
            let given = names.entry(kind).or_default();
            // The rows' own fields are checked where they are read; here only the name matters.
            for row in model.rows(kind) {
                let Some(id) = row.maybe_word("id") else { continue };
                let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
                if id.text.is_empty() || !id.text.chars().all(plain) {
                    let help = "use letters, figures and hyphens";
                    row.report(Code::UnknownWord, id.at, format!("`{}` is not a name", id.text), help);
                } else if !given.insert(id.text.clone()) {
                    let reason = format!("two of this file's {kind} tables are called `{}`", id.text);
                    row.report(Code::DuplicateName, id.at, reason, "give one of them another name");
                }
            }
        }
        Self(names)
    }

    /// The name, after reporting it if no row of that table has it.
    pub(super) fn check<Id: for<'a> From<&'a str>>(
        &self,
        section: &Section,
        kind: &'static str,
        word: &Word,
    ) -> Id {
        let given = self.0.get(kind).expect("only tables with names are asked for");
        if !word.text.is_empty() && !given.contains(&word.text) {
            let help = near(&word.text, given.iter().map(String::as_str)).map_or_else(
                || format!("add a [[{kind}]] with this id, or use one of those there are"),
                |name| format!("did you mean `{name}`?"),
            );
            section.report(
                Code::UnknownName,
                word.at.clone(),
                format!("there is no {kind} `{}`", word.text),
                help,
            );
        }
        Id::from(&word.text)
    }

    /// The name in a field that must be there.
    pub(super) fn field<Id: for<'a> From<&'a str>>(
        &self,
        section: &Section,
        kind: &'static str,
        field: &str,
    ) -> Id {
        self.check(section, kind, &section.word(field))
    }

    /// The names in a field that may be there.
    pub(super) fn list<Id: for<'a> From<&'a str>>(
        &self,
        section: &Section,
        kind: &'static str,
        field: &str,
    ) -> Vec<Id> {
        section.words(field).iter().map(|word| self.check(section, kind, word)).collect()
    }
}
