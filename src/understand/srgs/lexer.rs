//! Text to lexemes, each with its place (appendix D of the Recommendation).

use std::fmt;
use std::ops::Range;

use super::problem::Complaint;

/// A piece of grammar text.
#[derive(Clone, Debug, PartialEq)]
pub enum Lexeme {
    /// A bare word, also a declaration's keyword.
    Word(String),
    /// A `"quoted"` word or words.
    Quoted(String),
    /// `$name`.
    Rule(String),
    /// `$<file#rule>`, without its brackets.
    External(String),
    /// `<…>`: a repeat, or a tag format.
    Angle(String),
    /// `/…/`: a weight.
    Weight(String),
    /// `{…}` or `{!{…}!}`, without its brackets.
    Tag(String),
    /// `/** … */`, without its stars.
    Doc(String),
    /// One of `;=|()[]`.
    Sign(char),
    /// `!`: a language attachment.
    Language,
    /// The end of the text.
    End,
}

/// For "found …" in messages.
impl fmt::Display for Lexeme {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Word(text) => write!(f, "the word `{text}`"),
            Self::Quoted(text) => write!(f, "the quoted word `{text}`"),
            Self::Rule(name) => write!(f, "`${name}`"),
            Self::External(uri) => write!(f, "`$<{uri}>`"),
            Self::Angle(text) => write!(f, "`<{text}>`"),
            Self::Weight(text) => write!(f, "the weight `/{text}/`"),
            Self::Tag(text) => write!(f, "the tag `{{{text}}}`"),
            Self::Doc(_) => f.write_str("a documentation comment"),
            Self::Sign(sign) => write!(f, "`{sign}`"),
            Self::Language => f.write_str("`!`"),
            Self::End => f.write_str("the end of the file"),
        }
    }
}

/// A lexeme and where it stands.
pub type Placed = (Lexeme, Range<usize>);

/// The whole text as lexemes, the last being [`Lexeme::End`]; or the first complaint, with its place.
pub fn lex(text: &str, from: usize) -> Result<Vec<Placed>, (Complaint, Range<usize>)> {
    let mut lexer = Lexer { text, at: from };
    let mut lexemes = Vec::new();
    loop {
        lexer.skip(char::is_whitespace);
        let start = lexer.at;
        if let Some(lexeme) = lexer.next().map_err(|complaint| (complaint, start..start + 1))? {
            let end = lexeme == Lexeme::End;
            lexemes.push((lexeme, start..lexer.at));
            if end {
                return Ok(lexemes);
            }
        }
    }
}

struct Lexer<'t> {
    text: &'t str,
    at: usize,
}

impl<'t> Lexer<'t> {
    /// The next lexeme; `None` for a comment.
    fn next(&mut self) -> Result<Option<Lexeme>, Complaint> {
        let rest = &self.text[self.at..];
        let Some(first) = rest.chars().next() else { return Ok(Some(Lexeme::End)) };
        let lexeme = match first {
            '/' if rest.starts_with("//") => {
                self.skip(|c| c != '\n');
                return Ok(None);
            }
            '/' if rest.starts_with("/**/") => return self.between("/*", "*/", "comment").map(|_| None),
            '/' if rest.starts_with("/**") => Lexeme::Doc(self.between("/**", "*/", "comment")?.to_owned()),
            '/' if rest.starts_with("/*") => return self.between("/*", "*/", "comment").map(|_| None),
            '/' => Lexeme::Weight(self.between("/", "/", "weight")?.trim().to_owned()),
            '$' if rest.starts_with("$<") => {
                Lexeme::External(self.between("$<", ">", "rule reference")?.to_owned())
            }
            '$' => {
                self.at += 1;
                Lexeme::Rule(self.skip(is_word).to_owned())
            }
            '<' => Lexeme::Angle(self.between("<", ">", "repeat")?.trim().to_owned()),
            '{' if rest.starts_with("{!{") => {
                Lexeme::Tag(self.between("{!{", "}!}", "tag")?.trim().to_owned())
            }
            '{' => Lexeme::Tag(self.between("{", "}", "tag")?.trim().to_owned()),
            '"' => Lexeme::Quoted(self.between("\"", "\"", "quoted word")?.to_owned()),
            '!' => {
                self.at += 1;
                Lexeme::Language
            }
            _ if is_word(first) => Lexeme::Word(self.skip(is_word).to_owned()),
            sign => {
                self.at += sign.len_utf8();
                Lexeme::Sign(sign)
            }
        };
        Ok(Some(lexeme))
    }

    fn skip(&mut self, takes: impl Fn(char) -> bool) -> &'t str {
        let rest = &self.text[self.at..];
        let length = rest.find(|c| !takes(c)).unwrap_or(rest.len());
        self.at += length;
        &rest[..length]
    }

    fn between(&mut self, open: &str, close: &str, what: &'static str) -> Result<&'t str, Complaint> {
        let inner = &self.text[self.at + open.len()..];
        let length = inner.find(close).ok_or(Complaint::NotClosed(what))?;
        self.at += open.len() + length + close.len();
        Ok(&inner[..length])
    }
}

/// May the character stand in a bare word? (Section 2.1: all but white space and the signs of the form.)
fn is_word(c: char) -> bool {
    !c.is_whitespace() && !";=|*+<>()[]{}/$!\"".contains(c)
}
