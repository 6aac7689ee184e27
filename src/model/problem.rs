//! What is wrong with a model file: a code, a place, a reason and what to do.
//!
//! Knows how to say it; does not look for it.

use std::fmt;
use std::ops::Range;
use std::sync::Arc;

use miette::{Diagnostic, LabeledSpan, NamedSource, SourceCode};

macro_rules! codes {
    ($($(#[doc = $doc:literal])* $variant:ident = $name:literal),* $(,)?) => {
        /// The kinds of problems a model file can have.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Code { $($(#[doc = $doc])* $variant),* }

        impl Code {
            /// Every code.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];

            /// The code as it is printed.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name),* }
            }
        }
    };
}

codes! {
    /// Not TOML.
    Syntax = "syntax",
    /// A field that must be there is not.
    MissingField = "missing-field",
    /// A field that nothing reads.
    UnknownField = "unknown-field",
    /// A text where a number should be, or the like.
    WrongType = "wrong-type",
    /// A word that is none of those allowed here.
    UnknownWord = "unknown-word",
    /// A name that nothing in the file has.
    UnknownName = "unknown-name",
    /// Two things of one kind with one name.
    DuplicateName = "duplicate-name",
    /// A number beyond what can be.
    OutOfRange = "out-of-range",
    /// A sentence that cannot be spoken as it stands: figures, symbols, too long.
    Unspeakable = "unspeakable",
    /// Probabilities that are not a distribution over the outcomes.
    NotProbabilities = "not-probabilities",
    /// Watts, volts and ohms of a heater contradict each other.
    PowerMismatch = "power-mismatch",
    /// The circuit cannot be solved.
    BadCircuit = "bad-circuit",
    /// Resistance is to be measured where the supply is on.
    LiveOhms = "live-ohms",
    /// A live measurement without its reason, or a reason without a live measurement.
    LiveReason = "live-reason",
    /// A fault that no check can see.
    SilentFault = "silent-fault",
    /// Two faults with different remedies that no check can tell apart.
    TwinFaults = "twin-faults",
    /// A complaint that no fault explains.
    IdleComplaint = "idle-complaint",
    /// A part that no fault is of, so that no check can see it.
    UnseenPart = "unseen-part",
    /// A contact that no state closes.
    IdleContact = "idle-contact",
    /// Two test points that an ear could take for each other.
    AlikePoints = "alike-points",
    /// A resistance that cannot be measured without lifting a wire.
    ParallelPath = "parallel-path",
}

/// One thing that is wrong with a model file.
#[derive(Clone, Debug)]
pub struct Problem {
    /// Which kind.
    pub code: Code,
    /// The line it begins on, from one.
    pub line: usize,
    /// What is wrong.
    pub reason: String,
    /// What to do.
    pub help: String,
    span: Range<usize>,
    source: Arc<NamedSource<String>>,
}

impl Problem {
    pub(super) fn new(
        source: &Arc<NamedSource<String>>,
        code: Code,
        span: Range<usize>,
        reason: String,
        help: String,
    ) -> Self {
        let before = source.inner().bytes().take(span.start);
        let line = 1 + before.filter(|byte| *byte == b'\n').count();
        Self { code, line, reason, help, span, source: Arc::clone(source) }
    }

    /// The file's name.
    pub fn file(&self) -> &str {
        self.source.name()
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {}", self.file(), self.line, self.reason)
    }
}

impl std::error::Error for Problem {}

impl Diagnostic for Problem {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(self.code.name()))
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(&self.help))
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&*self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let label = LabeledSpan::new_with_span(None, self.span.clone());
        Some(Box::new(std::iter::once(label)))
    }
}

/// Everything that is wrong with a model file, in the order of the file.
#[derive(Clone, Debug)]
pub struct Problems(Vec<Problem>);

impl Problems {
    pub(super) fn new(mut problems: Vec<Problem>) -> Self {
        problems.sort_by_key(|p| (p.span.start, p.code));
        Self(problems)
    }

    /// The problems, in the order of the file; at least one.
    pub fn iter(&self) -> std::slice::Iter<'_, Problem> {
        self.0.iter()
    }
}

impl<'a> IntoIterator for &'a Problems {
    type Item = &'a Problem;
    type IntoIter = std::slice::Iter<'a, Problem>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let file = self.0.first().map_or("", Problem::file);
        match self.0.len() {
            1 => write!(f, "{file} has a problem"),
            n => write!(f, "{file} has {n} problems"),
        }
    }
}

impl std::error::Error for Problems {}

impl Diagnostic for Problems {
    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        Some(Box::new(self.0.iter().map(|p| p as &dyn Diagnostic)))
    }
}
