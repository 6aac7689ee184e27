//! An entry as text to be kept: personal words taken out, a commitment in the place of each.
//!
//! The commitment is SHA-256 of a random salt and the words. While salt and words are there, anybody can see that they
//! are the ones that were written; once they are removed, nobody can find them by trying, and the chain stays whole.

use serde_json::Value;
use sha2::{Digest, Sha256};

use crate::record::entry::{Entry, What};
use crate::record::personal::{self, REMOVED};
use crate::shell::hexadecimal::hex;

/// An entry as it is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sealed {
    /// The text that is hashed.
    pub body: String,
    /// The words that stand apart from it.
    pub personal: Vec<Personal>,
}

/// Words that stand apart from their entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Personal {
    /// The how-manieth of its entry, from 1.
    pub slot: u8,
    /// Their key in the entry.
    pub field: String,
    /// What makes the commitment unguessable.
    pub salt: [u8; 16],
    /// The words.
    pub words: String,
}

/// How a commitment begins in a body; inside a text its quotes would be escaped.
const MARK: &str = r#"{"sealed":""#;

impl Sealed {
    /// Takes the personal words out of an entry; `salt` gives a fresh one each time.
    pub fn new<E>(entry: &Entry, mut salt: impl FnMut() -> Result<[u8; 16], E>) -> Result<Self, E> {
        let fields = personal::fields(&entry.what);
        if fields.is_empty() {
            return Ok(Self { body: text(entry), personal: Vec::new() });
        }
        let mut value = serde_json::to_value(entry).expect("an entry is plain data with names for keys");
        let mut personal = Vec::new();
        for (slot, field) in (1..).zip(fields) {
            let Some(Value::String(words)) = value.get(*field).cloned() else { continue };
            let one = Personal { slot, field: (*field).to_owned(), salt: salt()?, words };
            value[*field] = serde_json::json!({ "sealed": one.commitment() });
            personal.push(one);
        }
        Ok(Self { body: value.to_string(), personal })
    }

    /// The entry with its personal words put back; what was removed says so.
    pub fn open(&self) -> serde_json::Result<Entry> {
        if !self.is_sealed() {
            return serde_json::from_str(&self.body);
        }
        let mut value: Value = serde_json::from_str(&self.body)?;
        for (key, held) in value.as_object_mut().into_iter().flatten() {
            if held.get("sealed").is_some() {
                let words = self.personal.iter().find(|one| one.field == *key).map(|one| one.words.as_str());
                *held = Value::String(words.unwrap_or(REMOVED).to_owned());
            }
        }
        serde_json::from_value(value)
    }

    /// What is wrong with the personal words that are there, if anything is.
    pub fn broken(&self) -> Option<String> {
        let value: Value =
            if self.personal.is_empty() { return None } else { serde_json::from_str(&self.body).ok()? };
        let wrong = self.personal.iter().find(|one| value[&one.field]["sealed"] != one.commitment());
        wrong
            .map(|one| format!("the personal words kept for `{}` are not those that were written", one.field))
    }

    /// Does any of its words stand apart, or did before they were removed?
    pub fn is_sealed(&self) -> bool {
        self.body.contains(MARK)
    }

    /// How many of its words are missing.
    pub fn missing(&self) -> usize {
        self.body.matches(MARK).count().saturating_sub(self.personal.len())
    }
}

impl Personal {
    fn commitment(&self) -> String {
        let mut hash = Sha256::new();
        hash.update(self.salt);
        hash.update(self.words.as_bytes());
        hex(&hash.finalize())
    }
}

fn text(entry: &Entry) -> String {
    serde_json::to_string(entry).expect("an entry is plain data with names for keys")
}

/// Does an entry say that personal data was removed?
pub fn forgets(entry: &Entry) -> bool {
    matches!(entry.what, What::Forgotten)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::entry::CustomerField;
    use crate::time::Timestamp;

    fn sealed(what: What) -> (Entry, Sealed) {
        let entry = Entry { at: Timestamp::from_millis(7), what };
        let sealed = Sealed::new(&entry, || Ok::<_, ()>([3; 16])).unwrap();
        (entry, sealed)
    }

    #[test]
    fn personal_words_stand_apart_and_come_back() {
        let name = || What::Customer { field: CustomerField::Name, value: "Ada Alder".into() };
        let (entry, kept) = sealed(name());
        assert!(!kept.body.contains("Alder") && kept.is_sealed());
        assert_eq!((kept.open().unwrap(), kept.broken(), kept.missing()), (entry, None, 0));
        let gone = Sealed { personal: vec![], ..kept.clone() };
        assert!(serde_json::to_string(&gone.open().unwrap()).unwrap().contains(REMOVED));
        assert_eq!(gone.missing(), 1);
        let mut other = kept;
        other.personal[0].words = "Eve Elm".into();
        assert!(other.broken().unwrap().contains("not those that were written"));
    }

    #[test]
    fn what_is_not_personal_is_kept_as_it_is() {
        for what in [What::Resumed, What::Refused { why: r#"{"sealed":"ab"}"#.into() }] {
            let (entry, kept) = sealed(what);
            assert!(!kept.is_sealed() && kept.personal.is_empty());
            assert_eq!(kept.open().unwrap(), entry);
        }
    }
}
