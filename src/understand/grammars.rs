//! The grammars that we ship, opened for a situation.
//!
//! Each [`Kind`] has its file in `grammars/`. What a machine and a moment add (points, choices, the units that make sense)
//! is a grammar too: `situation.abnf`, made here, to which the files refer.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use super::automaton::{Automaton, PRIOR_SCALE};
use super::compile::compile;
use super::situation::{Kind, Situation, SpokenPoint};
use super::srgs::{Examples, Expansion, Grammar, Problem, Rule, Scope, parse};
use crate::id::PointId;
use crate::quantity::Unit;

/// The name of the grammar that a situation adds.
pub const SITUATION: &str = "situation.abnf";

/// Every file of `grammars/`: its name and text.
pub const FILES: [(&str, &str); 16] = [
    ("acknowledge.abnf", include_str!("../../grammars/acknowledge.abnf")),
    ("answers.abnf", include_str!("../../grammars/answers.abnf")),
    ("anything.abnf", include_str!("../../grammars/anything.abnf")),
    ("anytime.abnf", include_str!("../../grammars/anytime.abnf")),
    ("confirm.abnf", include_str!("../../grammars/confirm.abnf")),
    ("digits.abnf", include_str!("../../grammars/digits.abnf")),
    ("interview.abnf", include_str!("../../grammars/interview.abnf")),
    ("number.abnf", include_str!("../../grammars/number.abnf")),
    ("observe.abnf", include_str!("../../grammars/observe.abnf")),
    ("opening.abnf", include_str!("../../grammars/opening.abnf")),
    ("plate.abnf", include_str!("../../grammars/plate.abnf")),
    ("reading.abnf", include_str!("../../grammars/reading.abnf")),
    ("step.abnf", include_str!("../../grammars/step.abnf")),
    ("stop-only.abnf", include_str!("../../grammars/stop-only.abnf")),
    ("units.abnf", include_str!("../../grammars/units.abnf")),
    ("yes-no.abnf", include_str!("../../grammars/yes-no.abnf")),
];

static SHIPPED: LazyLock<Vec<Grammar>> = LazyLock::new(|| {
    let parsed =
        FILES.iter().map(|(name, text)| parse(name, text).expect("a test parses every shipped grammar"));
    parsed.collect()
});

/// A situation that cannot be opened.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum CannotOpen {
    /// A way of saying a point or a choice holds no word.
    #[error("one of the ways to say `{name}` has no words")]
    #[diagnostic(code("empty-phrase"), help("remove it from the appliance model, or write how it is said"))]
    EmptyPhrase {
        /// The point or choice.
        name: String,
    },
    /// A word that the recogniser does not know.
    #[error("the recogniser does not know the word `{word}` of `{phrase}`, a way to say `{name}`")]
    #[diagnostic(
        code("unknown-word"),
        help("say it with words that models/speech lists; figures are written as words")
    )]
    UnknownWord {
        /// The word.
        word: String,
        /// The phrase it stands in.
        phrase: String,
        /// The point or choice.
        name: String,
    },
    /// The grammar itself.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Grammar(#[from] Problem),
}

/// The automaton of a situation. Names are taken as they are; [`try_open`] checks them first.
///
/// # Panics
/// If the shipped grammars do not compile: a test compiles them all.
pub fn open(situation: &Situation) -> Automaton {
    automaton(situation).expect("a test compiles every shipped grammar")
}

/// The automaton of a situation, if the recogniser knows every word of its names.
///
/// # Errors
/// The first name that cannot be heard.
pub fn try_open(situation: &Situation, knows: impl Fn(&str) -> bool) -> Result<Automaton, CannotOpen> {
    for (name, phrase) in phrases(situation) {
        if phrase.split_whitespace().next().is_none() {
            return Err(CannotOpen::EmptyPhrase { name });
        }
        if let Some(word) = phrase.split_whitespace().find(|word| !knows(word)) {
            return Err(CannotOpen::UnknownWord { word: word.to_owned(), phrase, name });
        }
    }
    Ok(automaton(situation)?)
}

fn phrases(situation: &Situation) -> Vec<(String, String)> {
    let points =
        situation.points.iter().flat_map(|p| p.say.iter().map(|say| (p.point.to_string(), say.clone())));
    let choices = situation
        .choices
        .iter()
        .chain(&situation.with)
        .chain(&situation.rated)
        .chain(&situation.named)
        .flat_map(|c| c.say.iter().map(|say| (c.name.clone(), say.clone())));
    points.chain(choices).collect()
}

/// A rule of any of our grammars, compiled for a situation.
///
/// # Errors
/// If there is no such file or rule.
pub fn compile_rule(situation: &Situation, file: &str, rule: Option<&str>) -> Result<Automaton, Problem> {
    let own = situation_grammar(situation);
    let grammars: Vec<&Grammar> = SHIPPED.iter().chain([&own]).collect();
    compile(&grammars, file, rule)
}

fn automaton(situation: &Situation) -> Result<Automaton, Problem> {
    compile_rule(situation, file_of(situation.kind), None)
}

const fn file_of(kind: Kind) -> &'static str {
    match kind {
        Kind::Opening => "opening.abnf",
        Kind::Interview => "interview.abnf",
        Kind::Reading => "reading.abnf",
        Kind::Confirm => "confirm.abnf",
        Kind::Acknowledge => "acknowledge.abnf",
        Kind::Observe => "observe.abnf",
        Kind::Step => "step.abnf",
        Kind::YesNo => "yes-no.abnf",
        Kind::Digits => "digits.abnf",
        Kind::Plate => "plate.abnf",
        Kind::StopOnly => "stop-only.abnf",
        Kind::Anything => "anything.abnf",
    }
}

/// The rules that a situation adds.
fn situation_grammar(situation: &Situation) -> Grammar {
    let mut grammar = Grammar { name: SITUATION.to_owned(), ..Grammar::default() };
    let mut define = |name: &str, expansion| {
        let rule = Rule { scope: Scope::Public, expansion, examples: Examples::default(), span: 0..0 };
        grammar.rules.insert(name.to_owned(), rule);
    };
    define("point", Expansion::choice(situation.points.iter().map(|point| (1.0, spoken(point)))));
    define("pair", pair(situation));
    define("unit", unit(&situation.units));
    define("continuity", continuity(&situation.units));
    let choices = situation.choices.iter().map(|c| (1.0, said(&c.say, &format!("chose {}", c.name))));
    define("choice", Expansion::choice(choices));
    let with = situation.with.iter().map(|c| (1.0, said(&c.say, &format!("chose {}", c.name))));
    define("with", Expansion::choice(with));
    let rated = situation.rated.iter().map(|c| (1.0, said(&c.say, &format!("chose {}", c.name))));
    define("rated", Expansion::choice(rated));
    let named = situation.named.iter().map(|c| (1.0, said(&c.say, &format!("chose {}", c.name))));
    define("named", Expansion::choice(named));
    define("trouble", trouble(&situation.units));
    grammar
}

fn spoken(point: &SpokenPoint) -> Expansion {
    said(&point.say, &format!("at {}", point.point))
}

/// Any of several phrases, each ending in the same tag.
fn said(phrases: &[String], tag: &str) -> Expansion {
    let words = phrases.iter().filter(|phrase| !phrase.trim().is_empty()).map(|p| (1.0, Expansion::words(p)));
    Expansion::Sequence(vec![Expansion::choice(words), Expansion::Tag(tag.to_owned())])
}

/// "L to H": the pair asked for most likely, the same the other way round next, then any other.
fn pair(situation: &Situation) -> Expansion {
    let named = |point: &PointId| situation.points.iter().find(|spoken| spoken.point == *point).map(spoken);
    let any = || Expansion::choice(situation.points.iter().map(|point| (1.0, spoken(point))));
    let between = |a, b| {
        let to = Expansion::choice([(0.95, Expansion::words("to")), (0.05, Expansion::words("and"))]);
        Expansion::Sequence(vec![a, to, b])
    };
    let asked = situation.asked.as_ref().and_then(|(a, b)| Some((named(a)?, named(b)?)));
    let any_pair = between(any(), any());
    let Some((a, b)) = asked else { return any_pair };
    // What was asked a moment ago no weights can have learned, so it counts in full.
    let in_full = |share: f64| share.powf(1.0 / f64::from(PRIOR_SCALE));
    Expansion::choice([
        (in_full(0.75), between(a.clone(), b.clone())),
        (in_full(0.1), between(b, a)),
        (in_full(0.15), any_pair),
    ])
}

/// The units that make sense now, and the others far behind: a meter on the wrong range must be heard as what it shows.
fn unit(units: &[Unit]) -> Expansion {
    let any = Expansion::external("units.abnf", "unit");
    if units.is_empty() {
        return any;
    }
    let rules: BTreeSet<&str> = units.iter().map(|unit| rule_of(*unit)).collect();
    let likely =
        Expansion::choice(rules.into_iter().map(|rule| (1.0, Expansion::external("units.abnf", rule))));
    Expansion::choice([(0.95, likely), (0.05, any)])
}

const fn rule_of(unit: Unit) -> &'static str {
    match unit {
        Unit::Volts => "volts",
        Unit::Ohms => "ohms",
        Unit::Amps => "amps",
        Unit::Watts => "watts",
        Unit::Farads => "farads",
        Unit::Hertz => "hertz",
        Unit::Seconds => "seconds",
        Unit::Degrees | Unit::Celsius | Unit::Fahrenheit => "degrees",
        Unit::Psi => "psi",
        Unit::Percent => "percent",
    }
}

fn continuity(units: &[Unit]) -> Expansion {
    let sensible = units.is_empty() || units.contains(&Unit::Ohms);
    if sensible { Expansion::external("reading.abnf", "continuity") } else { Expansion::Void }
}

/// What is wrong with the meter: said where volts are asked for. On continuity "no buzz" would be a reading.
fn trouble(units: &[Unit]) -> Expansion {
    let sensible = units.is_empty() || units.contains(&Unit::Volts);
    if sensible { Expansion::external("answers.abnf", "trouble") } else { Expansion::Void }
}
