//! The W3C Speech Recognition Grammar Specification 1.0, ABNF form: the subset we need.
//!
//! Text to [`Grammar`], or to [`Problem`]s that name line, column and remedy. `grammars/README.md` writes the subset
//! down as a formal grammar. Knows nothing of what the words mean.

mod lexer;
mod parser;
mod problem;
mod syntax;

pub use parser::parse;
pub use problem::{Complaint, Problem};
pub use syntax::{Examples, Expansion, Grammar, Reference, Rule, Scope, Weighted};
