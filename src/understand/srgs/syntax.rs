//! A grammar as written: rules and what they expand to.

use std::collections::BTreeMap;
use std::ops::Range;

/// One grammar file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Grammar {
    /// The file's name, by which others refer to it.
    pub name: String,
    /// The file's text, for messages.
    pub text: String,
    /// The language declared, as in `en-US`.
    pub language: Option<String>,
    /// The rule that is meant where none is named.
    pub root: Option<String>,
    /// The tag format declared.
    pub tag_format: Option<String>,
    /// Its rules by name.
    pub rules: BTreeMap<String, Rule>,
}

/// A rule: a name for an expansion.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    /// May other grammars refer to it?
    pub scope: Scope,
    /// What it expands to.
    pub expansion: Expansion,
    /// What must match and what must not.
    pub examples: Examples,
    /// Where its name stands in the text.
    pub span: Range<usize>,
}

/// Who may refer to a rule (section 3.2).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Scope {
    /// Its own grammar only. What a rule is unless it says otherwise.
    #[default]
    Private,
    /// Every grammar.
    Public,
}

/// What a rule's documentation comment promises.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Examples {
    /// `@example`: phrases that match (section 3.3).
    pub positive: Vec<String>,
    /// `@counter-example`, our own: phrases that do not match.
    pub negative: Vec<String>,
}

/// A legal rule expansion (section 2).
#[derive(Clone, Debug, PartialEq)]
pub enum Expansion {
    /// A token: one word.
    Word(String),
    /// A tag: does not affect what is matched.
    Tag(String),
    /// A reference to a rule.
    Rule(Reference),
    /// `$NULL`: matches without a word.
    Null,
    /// `$VOID`: can never be matched.
    Void,
    /// `$GARBAGE`: any speech up to the next word. Treated as `$NULL`, as section 2.2.3 allows.
    Garbage,
    /// One after the other.
    Sequence(Vec<Expansion>),
    /// One of several.
    Choice(Vec<Weighted>),
    /// The same again, `least` to `most` times.
    Repeat {
        /// What is repeated.
        body: Box<Expansion>,
        /// At least so often.
        least: u32,
        /// At most so often.
        most: u32,
        /// How probable each further repetition is, where it is written.
        probability: Option<f64>,
    },
}

/// An alternative and its weight, 1 where none is written.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighted {
    /// How likely it is, beside its siblings.
    pub weight: f64,
    /// The alternative.
    pub expansion: Expansion,
}

/// A reference to a rule here or in another grammar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reference {
    /// The other grammar's file name; `None` for this one.
    pub file: Option<String>,
    /// The rule's name; `None` for the other grammar's root.
    pub rule: Option<String>,
    /// Where the reference stands in the text.
    pub span: Range<usize>,
}

impl Expansion {
    /// Words one after the other, parted by white space.
    pub fn words(phrase: &str) -> Self {
        Self::sequence(phrase.split_whitespace().map(|word| Self::Word(word.to_owned())).collect())
    }

    /// One after the other; a single one stands for itself, none for `$NULL`.
    pub fn sequence(mut items: Vec<Self>) -> Self {
        match items.len() {
            0 => Self::Null,
            1 => items.remove(0),
            _ => Self::Sequence(items),
        }
    }

    /// One of several, with their weights; none at all is `$VOID`.
    pub fn choice(alternatives: impl IntoIterator<Item = (f64, Self)>) -> Self {
        let alternatives: Vec<Weighted> =
            alternatives.into_iter().map(|(weight, expansion)| Weighted { weight, expansion }).collect();
        if alternatives.is_empty() { Self::Void } else { Self::Choice(alternatives) }
    }

    /// A reference to a rule of another grammar.
    pub fn external(file: &str, rule: &str) -> Self {
        Self::Rule(Reference { file: Some(file.to_owned()), rule: Some(rule.to_owned()), span: 0..0 })
    }
}
