//! Lexemes to a grammar: one function a form of the Recommendation.

use std::ops::Range;

use super::lexer::{Lexeme, Placed, lex};
use super::problem::{Complaint, Problem};
use super::syntax::{Examples, Expansion, Grammar, Reference, Rule, Scope, Weighted};

/// Deeper nesting is a mistake, not a grammar.
const DEEPEST: usize = 64;
/// More repetitions are not one utterance.
const MOST_REPEATS: u32 = 64;

type Parsed<T> = Result<T, (Complaint, Range<usize>)>;

/// Parses one grammar file.
///
/// # Errors
/// The first thing that is wrong, with its place and what mends it.
pub fn parse(name: &str, text: &str) -> Result<Grammar, Problem> {
    let header = header(text).ok_or((Complaint::NoHeader, 0..text.lines().next().map_or(0, str::len)));
    header
        .and_then(|end| lex(text, end))
        .and_then(|lexemes| Parser { lexemes: documented(&lexemes), at: 0, depth: 0 }.grammar(name, text))
        .map_err(|(complaint, span)| Problem::new(complaint, name, text, span))
}

/// The self-identifying header (section 4.1): where it ends. The encoding, if declared, must be ours.
fn header(text: &str) -> Option<usize> {
    let (line, _) = text.split_once(';')?;
    matches!(line, "#ABNF 1.0" | "#ABNF 1.0 UTF-8").then_some(line.len() + 1)
}

/// Without the documentation comments that stand before no rule: those are comments like others.
fn documented(lexemes: &[Placed]) -> Vec<Placed> {
    let defines = |next: Option<&Placed>| match next {
        Some((Lexeme::Word(word), _)) => matches!(word.as_str(), "public" | "private"),
        Some((lexeme, _)) => matches!(lexeme, Lexeme::Rule(_)),
        None => false,
    };
    let keep = |at: &usize| !matches!(lexemes[*at].0, Lexeme::Doc(_)) || defines(lexemes.get(at + 1));
    (0..lexemes.len()).filter(keep).map(|at| lexemes[at].clone()).collect()
}

struct Parser {
    lexemes: Vec<Placed>,
    at: usize,
    depth: usize,
}

impl Parser {
    fn grammar(mut self, name: &str, text: &str) -> Parsed<Grammar> {
        let mut grammar = Grammar { name: name.to_owned(), text: text.to_owned(), ..Grammar::default() };
        let mut root_span = 0..0;
        while let Lexeme::Word(word) = self.peek().clone() {
            if matches!(word.as_str(), "public" | "private") {
                break;
            }
            let start = self.span().start;
            self.declaration(&word, &mut grammar)?;
            if word == "root" {
                root_span = start..self.lexemes[self.at - 1].1.end;
            }
        }
        while *self.peek() != Lexeme::End {
            let (name, rule) = self.rule()?;
            let span = rule.span.clone();
            if grammar.rules.insert(name.clone(), rule).is_some() {
                return Err((Complaint::Twice(name), span));
            }
        }
        if let Some(root) = grammar.root.clone().filter(|root| !grammar.rules.contains_key(root)) {
            return Err((Complaint::NoRule { file: grammar.name, rule: root }, root_span));
        }
        Ok(grammar)
    }

    /// `language en-US;`, `mode voice;`, `root $rule;`, `tag-format <…>;` (sections 4.5 to 4.8).
    fn declaration(&mut self, keyword: &str, grammar: &mut Grammar) -> Parsed<()> {
        let keyword_span = self.span();
        self.at += 1;
        match (keyword, self.peek().clone()) {
            ("language", Lexeme::Word(tag)) => grammar.language = Some(tag),
            ("mode", Lexeme::Word(mode)) if mode == "voice" => {}
            ("mode", Lexeme::Word(_)) => {
                return Err((Complaint::Unsupported("a mode other than voice"), self.span()));
            }
            ("root", Lexeme::Rule(name)) => grammar.root = Some(name),
            ("tag-format", Lexeme::Angle(uri)) => grammar.tag_format = Some(uri),
            ("language", _) => return self.unexpected("a language, as in `en-US`"),
            ("mode", _) => return self.unexpected("`voice`"),
            ("root", _) => return self.unexpected("a rule, as in `$answer`"),
            ("tag-format", _) => return self.unexpected("a format, as in `<leadhand/1.0>`"),
            ("base" | "lexicon" | "meta" | "http-equiv", _) => {
                return Err((Complaint::Unsupported("this declaration"), keyword_span));
            }
            _ => return Err((Complaint::UnknownDeclaration(keyword.to_owned()), keyword_span)),
        }
        self.at += 1;
        self.sign(';', "`;`")
    }

    /// `public $name = expansion;` (section 3.1), with its documentation comment (section 3.3).
    fn rule(&mut self) -> Parsed<(String, Rule)> {
        let mut examples = Examples::default();
        if let Lexeme::Doc(text) = self.peek() {
            examples = examples_of(text);
            self.at += 1;
        }
        let scope = match self.peek() {
            Lexeme::Word(word) if word == "public" => Some(Scope::Public),
            Lexeme::Word(word) if word == "private" => Some(Scope::Private),
            _ => None,
        };
        self.at += usize::from(scope.is_some());
        let span = self.span();
        let Lexeme::Rule(name) = self.peek().clone() else {
            return self.unexpected("a rule, as in `$answer = yes | no;`");
        };
        if !is_rule_name(&name) {
            return Err((Complaint::BadRuleName(name), span));
        }
        self.at += 1;
        self.sign('=', "`=`")?;
        let expansion = self.alternatives()?;
        self.sign(';', "`;`")?;
        Ok((name, Rule { scope: scope.unwrap_or_default(), expansion, examples, span }))
    }

    /// `/10/ small | /2/ medium | large` (section 2.4). A lone alternative with a weight is legal.
    fn alternatives(&mut self) -> Parsed<Expansion> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err((Complaint::TooDeep(DEEPEST), self.span()));
        }
        let mut alternatives = Vec::new();
        loop {
            let weight = self.weight()?;
            alternatives.push(Weighted { weight, expansion: self.sequence()? });
            if *self.peek() != Lexeme::Sign('|') {
                break;
            }
            self.at += 1;
        }
        self.depth -= 1;
        let single = alternatives.len() == 1;
        Ok(if single { alternatives.remove(0).expansion } else { Expansion::Choice(alternatives) })
    }

    fn weight(&mut self) -> Parsed<f64> {
        let Lexeme::Weight(text) = self.peek() else { return Ok(1.0) };
        let weight = text.parse().ok().filter(|w: &f64| w.is_finite() && *w > 0.0);
        let weight = weight.ok_or_else(|| (Complaint::BadWeight(text.clone()), self.span()))?;
        self.at += 1;
        Ok(weight)
    }

    /// One or more items in order (section 2.3).
    fn sequence(&mut self) -> Parsed<Expansion> {
        let mut items = Vec::new();
        while let Some(item) = self.item()? {
            items.push(self.repeats(item)?);
        }
        if items.is_empty() {
            return self.unexpected("a word, a rule, a group or a tag");
        }
        Ok(Expansion::sequence(items))
    }

    fn item(&mut self) -> Parsed<Option<Expansion>> {
        let span = self.span();
        let item = match self.peek().clone() {
            Lexeme::Word(word) => Expansion::Word(word),
            Lexeme::Quoted(words) => Expansion::words(&words),
            Lexeme::Tag(tag) => Expansion::Tag(tag),
            Lexeme::Rule(name) => local(name, span)?,
            Lexeme::External(uri) => external(&uri, span)?,
            Lexeme::Sign('(') => return self.group().map(Some),
            Lexeme::Sign('[') => return self.optional().map(Some),
            Lexeme::Language => return Err((Complaint::Unsupported("a language attachment"), span)),
            _ => return Ok(None),
        };
        self.at += 1;
        Ok(Some(item))
    }

    /// `( … )`; `()` is `$NULL` (section 2.3).
    fn group(&mut self) -> Parsed<Expansion> {
        let open = self.span();
        self.at += 1;
        if *self.peek() == Lexeme::Sign(')') {
            self.at += 1;
            return Ok(Expansion::Null);
        }
        let inner = self.alternatives()?;
        self.close(')', "group", open)?;
        Ok(inner)
    }

    /// `[ … ]`: the same as `<0-1>` (section 2.5).
    fn optional(&mut self) -> Parsed<Expansion> {
        let open = self.span();
        self.at += 1;
        let body = Box::new(self.alternatives()?);
        self.close(']', "bracket", open)?;
        Ok(Expansion::Repeat { body, least: 0, most: 1, probability: None })
    }

    /// `<n>`, `<m-n>`, `<0-1 /0.6/>` after an item (sections 2.5 and 2.5.1).
    fn repeats(&mut self, mut item: Expansion) -> Parsed<Expansion> {
        while let Lexeme::Angle(text) = self.peek() {
            let (least, most, probability) = repeat(text).map_err(|complaint| (complaint, self.span()))?;
            item = Expansion::Repeat { body: Box::new(item), least, most, probability };
            self.at += 1;
        }
        Ok(item)
    }

    fn peek(&self) -> &Lexeme {
        &self.lexemes[self.at.min(self.lexemes.len() - 1)].0
    }

    fn span(&self) -> Range<usize> {
        self.lexemes[self.at.min(self.lexemes.len() - 1)].1.clone()
    }

    fn sign(&mut self, sign: char, expected: &'static str) -> Parsed<()> {
        if *self.peek() != Lexeme::Sign(sign) {
            return self.unexpected(expected);
        }
        self.at += 1;
        Ok(())
    }

    fn close(&mut self, sign: char, what: &'static str, open: Range<usize>) -> Parsed<()> {
        if matches!(self.peek(), Lexeme::End | Lexeme::Sign(';')) {
            return Err((Complaint::NotClosed(what), open));
        }
        self.sign(sign, if sign == ')' { "`)`" } else { "`]`" })
    }

    /// At the end of the file, what is missing is missing after the last lexeme.
    fn unexpected<T>(&self, expected: &'static str) -> Parsed<T> {
        let (found, span) = (self.peek(), self.span());
        let last = self.at.checked_sub(1).map(|before| self.lexemes[before].1.end);
        let span = last.filter(|_| *found == Lexeme::End).map_or(span, |end| end..end);
        Err((Complaint::Expected { expected, found: found.to_string() }, span))
    }
}

/// `$name`, or one of the special rules (section 2.2.3).
fn local(name: String, span: Range<usize>) -> Parsed<Expansion> {
    match name.as_str() {
        "NULL" => Ok(Expansion::Null),
        "VOID" => Ok(Expansion::Void),
        "GARBAGE" => Ok(Expansion::Garbage),
        _ if is_rule_name(&name) => Ok(Expansion::Rule(Reference { file: None, rule: Some(name), span })),
        _ => Err((Complaint::BadRuleName(name), span)),
    }
}

/// `$<file.abnf#rule>` or `$<file.abnf>` (section 2.2.2).
fn external(uri: &str, span: Range<usize>) -> Parsed<Expansion> {
    let (file, rule) = uri.split_once('#').map_or((uri, None), |(file, rule)| (file, Some(rule)));
    if let Some(bad) = rule.filter(|rule| !is_rule_name(rule)) {
        return Err((Complaint::BadRuleName(bad.to_owned()), span));
    }
    let reference = Reference { file: Some(file.to_owned()), rule: rule.map(str::to_owned), span };
    Ok(Expansion::Rule(reference))
}

fn is_rule_name(name: &str) -> bool {
    name.starts_with(|c: char| c.is_alphabetic() || c == '_')
        && name.chars().all(|c| c.is_alphanumeric() || "_-".contains(c))
        && !matches!(name, "NULL" | "VOID" | "GARBAGE")
}

fn repeat(text: &str) -> Result<(u32, u32, Option<f64>), Complaint> {
    let bad = || Complaint::BadRepeat(format!("<{text}>"));
    let (range, probability) = match text.split_once('/') {
        None => (text, None),
        Some((range, rest)) => {
            let inner = rest.strip_suffix('/').and_then(|p| p.trim().parse::<f64>().ok());
            (range.trim(), Some(inner.filter(|p| (0.0..=1.0).contains(p)).ok_or_else(bad)?))
        }
    };
    let times = |text: &str| text.trim().parse::<u32>().ok().filter(|n| *n <= MOST_REPEATS).ok_or_else(bad);
    let (least, most) = match range.split_once('-') {
        None => (times(range)?, times(range)?),
        Some((least, "")) => {
            times(least)?;
            return Err(Complaint::Unbounded(text.to_owned()));
        }
        Some((least, most)) => (times(least)?, times(most)?),
    };
    if least <= most { Ok((least, most, probability)) } else { Err(bad()) }
}

/// The `@example` and `@counter-example` lines of a documentation comment.
fn examples_of(comment: &str) -> Examples {
    let mut examples = Examples::default();
    for line in comment.lines().map(|line| line.trim().trim_start_matches('*').trim_start()) {
        if let Some(phrase) = line.strip_prefix("@example ") {
            examples.positive.push(phrase.trim().to_owned());
        } else if let Some(phrase) = line.strip_prefix("@counter-example ") {
            examples.negative.push(phrase.trim().to_owned());
        }
    }
    examples
}
