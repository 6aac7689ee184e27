//! What is wrong with a grammar: where it stands and what mends it.

use std::fmt;
use std::ops::Range;

use miette::{Diagnostic, LabeledSpan, NamedSource, SourceCode};

/// One thing that is wrong with a grammar file.
#[derive(Debug, Clone)]
pub struct Problem {
    /// What is wrong.
    pub complaint: Complaint,
    /// Line of the file, from 1.
    pub line: usize,
    /// Column of the line in characters, from 1.
    pub column: usize,
    span: Range<usize>,
    source: Box<NamedSource<String>>,
}

/// What can be wrong with a grammar.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[allow(missing_docs)] // The message of each says what it is.
pub enum Complaint {
    #[error("the file does not begin with an ABNF header")]
    NoHeader,
    #[error("a {0} is opened and never closed")]
    NotClosed(&'static str),
    #[error("expected {expected}, found {found}")]
    Expected { expected: &'static str, found: String },
    #[error("`{0}` is no declaration that we know")]
    UnknownDeclaration(String),
    #[error("{0} is not supported")]
    Unsupported(&'static str),
    #[error("`{0}` is not a weight: a number above zero")]
    BadWeight(String),
    #[error("`{0}` is not a repeat: <n>, <m-n> or <0-1>, perhaps with a /probability/ from 0 to 1")]
    BadRepeat(String),
    #[error("the repeat `<{0}>` has no upper bound")]
    Unbounded(String),
    #[error("`{0}` cannot be a rule's name")]
    BadRuleName(String),
    #[error("rule ${0} is defined twice")]
    Twice(String),
    #[error("expansions are nested more than {0} deep")]
    TooDeep(usize),
    #[error("there is no grammar `{0}`")]
    NoGrammar(String),
    #[error("there is no rule ${rule} in {file}")]
    NoRule { file: String, rule: String },
    #[error("rule ${rule} of {file} is private")]
    Private { file: String, rule: String },
    #[error("grammar {0} declares no root")]
    NoRoot(String),
    #[error("a rule refers to itself: {0}")]
    Recursion(String),
    #[error("the grammar needs more than {0} states")]
    TooBig(usize),
}

impl Complaint {
    /// A short name in kebab-case, by which the complaint can be looked up.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::NoHeader => "no-header",
            Self::NotClosed(_) => "not-closed",
            Self::Expected { .. } => "unexpected",
            Self::UnknownDeclaration(_) => "unknown-declaration",
            Self::Unsupported(_) => "unsupported",
            Self::BadWeight(_) => "bad-weight",
            Self::BadRepeat(_) => "bad-repeat",
            Self::Unbounded(_) => "unbounded-repeat",
            Self::BadRuleName(_) => "bad-rule-name",
            Self::Twice(_) => "rule-defined-twice",
            Self::TooDeep(_) => "nested-too-deep",
            Self::NoGrammar(_) => "no-such-grammar",
            Self::NoRule { .. } => "no-such-rule",
            Self::Private { .. } => "private-rule",
            Self::NoRoot(_) => "no-root",
            Self::Recursion(_) => "recursive-rule",
            Self::TooBig(_) => "grammar-too-big",
        }
    }

    /// What mends it.
    pub const fn remedy(&self) -> &'static str {
        match self {
            Self::NoHeader => "make `#ABNF 1.0 UTF-8;` the very first line",
            Self::NotClosed(_) => "close it, or remove what opens it",
            Self::Expected { .. } => {
                "a rule is `[public] $name = expansion;`; alternatives are parted by `|`"
            }
            Self::UnknownDeclaration(_) => {
                "write `language`, `mode`, `root` or `tag-format`, or begin a rule with `$`"
            }
            Self::Unsupported(_) => "leave it out; grammars/README.md lists what is supported",
            Self::BadWeight(_) => "write a weight before the alternative, as in `/0.7/ yes | /0.3/ no`",
            Self::BadRepeat(_) => "write as in `$digit <1-4>` or `$digit <0-3 /0.6/>`",
            Self::Unbounded(_) => {
                "write the greatest number of times, as in `<1-8>`: everything we hear is bounded"
            }
            Self::BadRuleName(_) => {
                "begin with a letter, go on with letters, digits, `_` or `-`; NULL, VOID, GARBAGE are taken"
            }
            Self::Twice(_) => "rename or remove one of them",
            Self::TooDeep(_) => "give the inner part a rule of its own",
            Self::NoGrammar(_) => "check the file's name in `$<file.abnf#rule>`",
            Self::NoRule { .. } => "check the spelling, or define the rule",
            Self::Private { .. } => "write `public` before its definition",
            Self::NoRoot(_) => "declare `root $rule;` below the header",
            Self::Recursion(_) => "write a bounded repeat instead: what is heard must end",
            Self::TooBig(_) => "shorten the repeats, or part the alternatives later in the sentence",
        }
    }
}

impl Problem {
    /// A complaint about a piece of a file's text.
    pub fn new(complaint: Complaint, file: &str, text: &str, span: Range<usize>) -> Self {
        let start = span.start.min(text.len());
        let before = text.get(..start).unwrap_or(text);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        Self {
            complaint,
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            span: start..span.end.min(text.len()),
            source: Box::new(NamedSource::new(file, text.to_owned())),
        }
    }
}

/// One line: `number.abnf:3:7: expected `;`, found `|`; close it …`.
impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { complaint, line, column, source, .. } = self;
        write!(f, "{}:{line}:{column}: {complaint}; {}", source.name(), complaint.remedy())
    }
}

impl std::error::Error for Problem {}

impl Diagnostic for Problem {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(self.complaint.code()))
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(self.complaint.remedy()))
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(self.source.as_ref())
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let label = LabeledSpan::new_with_span(Some("here".to_owned()), self.span.clone());
        Some(Box::new(std::iter::once(label)))
    }
}
