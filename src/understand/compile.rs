//! Grammars to one automaton over words.
//!
//! Every repeat is bounded and no rule may refer to itself, so a grammar is a finite set of phrases. It is therefore
//! built from its end backwards: "this expansion, and then that state" gives a new state, and states that lead to the
//! same future are one state from the moment they are made. Nothing is ever an empty transition.
//!
//! Knows nothing of what tags mean.

mod table;

use std::collections::BTreeMap;
use std::ops::Range;

use table::{Next, Table, Tags};

use super::automaton::Automaton;
use super::srgs::{Complaint, Expansion, Grammar, Problem, Reference, Rule, Scope};

/// A grammar needing more states is not one that can be searched while somebody waits.
pub const MOST_STATES: usize = 20_000;

/// Compiles a rule of one grammar, following references into the others. Without a rule's name, the root is meant.
///
/// # Errors
/// A reference that leads nowhere or to a private rule, a rule that refers to itself, or a grammar too big.
pub fn compile(grammars: &[&Grammar], file: &str, rule: Option<&str>) -> Result<Automaton, Problem> {
    let set = grammars.iter().map(|grammar| (grammar.name.as_str(), *grammar)).collect();
    let mut compiler = Compiler { set, table: Table::default(), path: Vec::new(), known: BTreeMap::new() };
    let reference = Reference { file: Some(file.to_owned()), rule: rule.map(str::to_owned), span: 0..0 };
    let nowhere = Grammar { name: file.to_owned(), ..Grammar::default() };
    let end = compiler.table.end();
    // What the caller asks for need not be public: only other grammars are kept out.
    let (grammar, name, rule) = compiler.resolve(&nowhere, &reference, Scope::Private)?;
    let start = compiler.rule(grammar, name, rule, end, &Tags::new())?;
    Ok(compiler.table.automaton(start))
}

struct Compiler<'g> {
    set: BTreeMap<&'g str, &'g Grammar>,
    table: Table,
    /// The rules being expanded, outermost first.
    path: Vec<(&'g str, &'g str)>,
    /// What a rule followed by a state and tags came to.
    known: BTreeMap<(&'g str, &'g str, u32, Tags), Next>,
}

impl<'g> Compiler<'g> {
    /// What may come next if `expansion` comes first, then `tags`, then the state `then`.
    fn expand(
        &mut self,
        grammar: &'g Grammar,
        expansion: &'g Expansion,
        then: u32,
        tags: &Tags,
    ) -> Result<Next, Problem> {
        match expansion {
            Expansion::Word(word) => Ok(self.table.word(word, tags, then)),
            Expansion::Void => Ok(Next::default()),
            Expansion::Null | Expansion::Garbage => Ok(self.table.tagged(tags, then)),
            Expansion::Tag(tag) => {
                let with = std::iter::once(tag.clone()).chain(tags.iter().cloned()).collect();
                Ok(self.table.tagged(&with, then))
            }
            Expansion::Rule(reference) => {
                let (grammar, name, rule) = self.resolve(grammar, reference, Scope::Public)?;
                self.rule(grammar, name, rule, then, tags)
            }
            Expansion::Sequence(items) => self.sequence(grammar, items, then, tags),
            Expansion::Choice(alternatives) => {
                let total: f64 = alternatives.iter().map(|alternative| alternative.weight).sum();
                let mut parts = Vec::new();
                for alternative in alternatives {
                    let next = self.expand(grammar, &alternative.expansion, then, tags)?;
                    parts.push((alternative.weight / total, next));
                }
                self.mix(grammar, parts)
            }
            Expansion::Repeat { body, least, most, probability } => {
                let repeat = Repeat { body, least: *least, most: *most, probability: *probability };
                self.repeat(grammar, &repeat, then, tags)
            }
        }
    }

    /// From the last item to the first. A tag joins the word before it, so that phrases which end alike share their end.
    fn sequence(
        &mut self,
        grammar: &'g Grammar,
        items: &'g [Expansion],
        then: u32,
        tags: &Tags,
    ) -> Result<Next, Problem> {
        let (mut then, mut tags) = (then, tags.clone());
        for (at, item) in items.iter().enumerate().rev() {
            if let (Expansion::Tag(tag), true) = (item, at > 0) {
                tags.insert(0, tag.clone());
                continue;
            }
            let next = self.expand(grammar, item, then, &tags)?;
            if at == 0 {
                return Ok(next);
            }
            tags.clear();
            then = self.intern(grammar, next)?;
        }
        Ok(self.table.tagged(&tags, then))
    }

    fn repeat(
        &mut self,
        grammar: &'g Grammar,
        repeat: &Repeat<'g>,
        then: u32,
        tags: &Tags,
    ) -> Result<Next, Problem> {
        let mut next = self.table.tagged(tags, then);
        for times in (1..=repeat.most).rev() {
            // The last repetition is followed by `then` alone; earlier ones by what we have so far.
            let once = if times == repeat.most {
                self.expand(grammar, repeat.body, then, tags)?
            } else {
                let after = self.intern(grammar, next)?;
                self.expand(grammar, repeat.body, after, &Tags::new())?
            };
            let again = repeat.goes_on(times - 1);
            let stop = self.table.tagged(tags, then);
            next = self.mix(grammar, vec![(again, once), (1.0 - again, stop)])?;
        }
        Ok(next)
    }

    fn rule(
        &mut self,
        grammar: &'g Grammar,
        name: &'g str,
        rule: &'g Rule,
        then: u32,
        tags: &Tags,
    ) -> Result<Next, Problem> {
        let key = (grammar.name.as_str(), name, then, tags.clone());
        if let Some(next) = self.known.get(&key) {
            return Ok(next.clone());
        }
        if self.path.contains(&(key.0, name)) {
            let path: Vec<_> = self.path.iter().map(|(_, rule)| format!("${rule}")).collect();
            let complaint = Complaint::Recursion(format!("{} → ${name}", path.join(" → ")));
            return Err(problem(grammar, complaint, rule.span.clone()));
        }
        self.path.push((key.0, name));
        let next = self.expand(grammar, &rule.expansion, then, tags)?;
        self.path.pop();
        self.known.insert(key, next.clone());
        Ok(next)
    }

    /// The rule that a reference in `from` means.
    fn resolve(
        &self,
        from: &Grammar,
        reference: &Reference,
        scope: Scope,
    ) -> Result<(&'g Grammar, &'g str, &'g Rule), Problem> {
        let complain = |complaint| Err(problem(from, complaint, reference.span.clone()));
        let file = reference.file.as_deref().unwrap_or(&from.name);
        let Some(grammar) = self.set.get(file).copied() else {
            return complain(Complaint::NoGrammar(file.to_owned()));
        };
        let Some(name) = reference.rule.as_ref().or(grammar.root.as_ref()) else {
            return complain(Complaint::NoRoot(file.to_owned()));
        };
        let (file, rule) = (file.to_owned(), name.to_owned());
        match grammar.rules.get_key_value(name) {
            None => complain(Complaint::NoRule { file, rule }),
            Some((_, found)) if found.scope != scope && scope == Scope::Public && file != from.name => {
                complain(Complaint::Private { file, rule })
            }
            Some((name, found)) => Ok((grammar, name, found)),
        }
    }

    fn intern(&mut self, grammar: &Grammar, next: Next) -> Result<u32, Problem> {
        let state = self.table.intern(next);
        self.within_bounds(grammar).map(|()| state)
    }

    fn mix(&mut self, grammar: &Grammar, parts: Vec<(f64, Next)>) -> Result<Next, Problem> {
        let next = self.table.mix(parts);
        self.within_bounds(grammar).map(|()| next)
    }

    fn within_bounds(&self, grammar: &Grammar) -> Result<(), Problem> {
        let innermost = self.path.last().and_then(|(_, rule)| grammar.rules.get(*rule));
        let span = innermost.map_or(0..0, |rule| rule.span.clone());
        if self.table.len() <= MOST_STATES {
            Ok(())
        } else {
            Err(problem(grammar, Complaint::TooBig(MOST_STATES), span))
        }
    }
}

struct Repeat<'g> {
    body: &'g Expansion,
    least: u32,
    most: u32,
    probability: Option<f64>,
}

impl Repeat<'_> {
    /// How probable another repetition is after `done`. Where nothing is written, every allowed number of
    /// repetitions is as likely as any other.
    fn goes_on(&self, done: u32) -> f64 {
        if done < self.least {
            1.0
        } else {
            let left = f64::from(self.most - done);
            self.probability.unwrap_or(left / (left + 1.0))
        }
    }
}

fn problem(grammar: &Grammar, complaint: Complaint, span: Range<usize>) -> Problem {
    Problem::new(complaint, &grammar.name, &grammar.text, span)
}
