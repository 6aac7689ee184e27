//! The tags along a path through a grammar to what was meant.
//!
//! Tags are a small language, one term a tag, written down in `grammars/README.md`. Knows nothing of words.

use crate::id::PointId;
use crate::quantity::{Prefix, Quantity, Unit};
use crate::reading::Reading;

use super::intent::{
    Acknowledgement, Anytime, Beyond, Control, Dictated, Elsewhere, Intent, Named, Report, Trouble,
};
use super::number::{Accumulator, NumberWord, read_digits};

/// One tag.
#[derive(Clone, Debug, PartialEq)]
enum Term {
    /// `7`, `13`, `70`, `hundred`, `thousand`, `point`, `half`, `minus`: an instruction on the accumulator.
    Number(NumberWord),
    /// `at POINT`: a point named.
    At(PointId),
    /// `unit PREFIX UNIT`: scale and unit of the number before; a later one overrides.
    Scale(Prefix, Unit),
    /// `overload`, `closed`, `unstable`: what the meter shows instead of a number.
    Shows(Reading),
    /// `letter A`: a letter of a plate.
    Letter(String),
    /// `chose NAME`: one of the situation's choices.
    Chose(String),
    /// `anytime NAME`: an anytime word.
    Anytime(Anytime),
    /// `trouble NAME`: what is wrong with the meter.
    Trouble(Trouble),
    /// `control NAME`: who holds the plug.
    Control(Control),
    /// `beyond NAME`: what is never helped with.
    Beyond(Beyond),
    Dictate(Dictated),
    /// `yes`, `no`, `done`, and words about the terms that follow.
    Word(Word),
}

/// The terms without an argument.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Word {
    Yes,
    No,
    Done,
    /// What follows corrects what was said before.
    Correct,
    /// What was just said is taken back for what follows.
    Instead,
    /// The unit that follows replaces the one before.
    Rescale,
    /// The number that follows is what the plate says of what was chosen before.
    Rated,
    /// The reading that follows, or what was chosen before it, was not asked for.
    Known,
    /// What follows is taken back.
    Scratch,
    Digits,
    Plate,
    Live,
    Clear,
}

/// What the tags along a path mean together; `None` if they mean nothing, such as a point measured against itself.
pub fn meaning(tags: &[String]) -> Option<Intent> {
    use Word::{Clear, Correct, Digits, Done, Instead, Known, Live, No, Plate, Rated, Rescale, Scratch, Yes};
    let terms: Vec<Term> = tags.iter().map(|tag| term(tag)).collect::<Option<_>>()?;
    match terms.as_slice() {
        [Term::Anytime(word)] => Some(Intent::Anytime(*word)),
        [Term::Word(Yes)] => Some(Intent::Yes),
        [Term::Word(No)] => Some(Intent::No),
        [Term::Word(Done)] => Some(Intent::Done),
        [Term::Chose(name)] => Some(Intent::Chose(name.clone())),
        [Term::Chose(first), Term::Chose(second)] => Some(Intent::ChoseBoth(first.clone(), second.clone())),
        [Term::Trouble(trouble)] => Some(Intent::Trouble(*trouble)),
        [Term::Control(control)] => Some(Intent::Control(*control)),
        [Term::Beyond(beyond)] => Some(Intent::Beyond(*beyond)),
        [Term::Dictate(what)] => Some(Intent::Dictate(*what)),
        [Term::Word(Scratch), Term::Chose(check)] => {
            Some(Intent::Scratch(Named::Check(check.as_str().into())))
        }
        [Term::Word(Scratch), Term::At(a), Term::At(b)] if a != b => {
            Some(Intent::Scratch(Named::Across(a.clone(), b.clone())))
        }
        [Term::Chose(check), Term::Word(Known), said @ ..] => {
            Some(Intent::Known(Named::Check(check.as_str().into()), shown(said)?))
        }
        [Term::Word(Known), Term::At(a), Term::At(b), said @ ..] if a != b => {
            Some(Intent::Known(Named::Across(a.clone(), b.clone()), shown(said)?))
        }
        [Term::Word(No | Correct), Term::At(a), Term::At(b)] if a != b => {
            Some(Intent::Elsewhere(Elsewhere::Across(a.clone(), b.clone())))
        }
        [Term::Word(Correct), Term::At(not), Term::Word(Instead), Term::At(but)] if not != but => {
            Some(Intent::Elsewhere(Elsewhere::Instead { not: not.clone(), but: but.clone() }))
        }
        [Term::Chose(name), Term::Word(Rated), said @ ..] => {
            Some(Intent::Rated(name.clone(), quantity(said)?))
        }
        [Term::Word(Rescale), Term::Scale(prefix, unit)]
        | [Term::Word(No), Term::Word(Rescale), Term::Scale(prefix, unit)] => {
            Some(Intent::Rescale(*prefix, *unit))
        }
        [Term::Word(Live), Term::Word(Clear)] => Some(Intent::Acknowledge(Acknowledgement::LiveAndClear)),
        [Term::Word(Live), Term::At(a), Term::At(b)] if a != b => {
            Some(Intent::Acknowledge(Acknowledgement::LiveAt(a.clone(), b.clone())))
        }
        [Term::Word(Digits), rest @ ..] => read_digits(&numbers(rest)?).map(Intent::Digits),
        [Term::Word(Plate), rest @ ..] => plate(rest).map(Intent::Plate),
        terms => report(terms).map(Intent::Report),
    }
}

/// `[no|correct] [at A, at B] [number instead] (number [scale]… | shows)`.
fn report(terms: &[Term]) -> Option<Report> {
    let (correction, terms) = match terms {
        [Term::Word(Word::No | Word::Correct), rest @ ..] => (true, rest),
        all => (false, all),
    };
    let (points, terms) = match terms {
        [Term::At(a), Term::At(b), rest @ ..] if a != b => (Some((a.clone(), b.clone())), rest),
        all => (None, all),
    };
    let taken_back = terms.iter().rposition(|term| *term == Term::Word(Word::Instead));
    let said = taken_back.map_or(terms, |at| &terms[at + 1..]);
    Some(Report { points, reading: shown(said)?, correction: correction || taken_back.is_some() })
}

/// What the meter shows.
fn shown(terms: &[Term]) -> Option<Reading> {
    match terms {
        [Term::Shows(reading)] => Some(*reading),
        said => quantity(said).map(Reading::Value),
    }
}

fn quantity(terms: &[Term]) -> Option<Quantity> {
    let number_ends = terms.iter().position(|t| !matches!(t, Term::Number(_))).unwrap_or(terms.len());
    let (number, scales) = terms.split_at(number_ends);
    let number = numbers(number)?.into_iter().try_fold(Accumulator::default(), Accumulator::then);
    let number = number.and_then(Accumulator::finish).ok()?;
    let scales: Vec<(Prefix, Unit)> = scales
        .iter()
        .map(|t| if let Term::Scale(p, u) = t { Some((*p, *u)) } else { None })
        .collect::<Option<_>>()?;
    let (prefix, unit) = scales.last().map_or((Prefix::One, None), |(prefix, unit)| (*prefix, Some(*unit)));
    Some(Quantity { number, prefix, unit })
}

fn numbers(terms: &[Term]) -> Option<Vec<NumberWord>> {
    terms.iter().map(|t| if let Term::Number(word) = t { Some(*word) } else { None }).collect()
}

/// Letters as they are, number words between them as digits.
fn plate(terms: &[Term]) -> Option<String> {
    let mut text = String::new();
    for run in terms.chunk_by(|a, b| matches!((a, b), (Term::Number(_), Term::Number(_)))) {
        match run {
            [Term::Letter(letter)] => text.push_str(letter),
            run => text.push_str(&read_digits(&numbers(run)?)?),
        }
    }
    (!text.is_empty()).then_some(text)
}

fn term(tag: &str) -> Option<Term> {
    if let Some(word) = NumberWord::from_tag(tag) {
        return Some(Term::Number(word));
    }
    if let Some((verb, argument)) = tag.split_once(' ') {
        return match verb {
            "at" => Some(Term::At(PointId::from(argument))),
            "unit" => scale(argument),
            "letter" => Some(Term::Letter(argument.to_owned())),
            "chose" => Some(Term::Chose(argument.to_owned())),
            "anytime" => anytime(argument).map(Term::Anytime),
            "trouble" => trouble(argument).map(Term::Trouble),
            "control" => control(argument).map(Term::Control),
            "beyond" => beyond(argument).map(Term::Beyond),
            "dictate" => dictated(argument).map(Term::Dictate),
            _ => None,
        };
    }
    Some(match tag {
        "overload" => Term::Shows(Reading::Overload),
        "closed" => Term::Shows(Reading::Closed),
        "unstable" => Term::Shows(Reading::Unstable),
        "yes" => Term::Word(Word::Yes),
        "no" => Term::Word(Word::No),
        "done" => Term::Word(Word::Done),
        "correct" => Term::Word(Word::Correct),
        "instead" => Term::Word(Word::Instead),
        "rescale" => Term::Word(Word::Rescale),
        "rated" => Term::Word(Word::Rated),
        "known" => Term::Word(Word::Known),
        "scratch" => Term::Word(Word::Scratch),
        "digits" => Term::Word(Word::Digits),
        "plate" => Term::Word(Word::Plate),
        "live" => Term::Word(Word::Live),
        "clear" => Term::Word(Word::Clear),
        _ => return None,
    })
}

fn scale(argument: &str) -> Option<Term> {
    let (prefix, unit) = argument.split_once(' ')?;
    let prefix = match prefix {
        "micro" => Prefix::Micro,
        "milli" => Prefix::Milli,
        "one" => Prefix::One,
        "kilo" => Prefix::Kilo,
        "mega" => Prefix::Mega,
        _ => return None,
    };
    let unit = match unit {
        "volts" => Unit::Volts,
        "ohms" => Unit::Ohms,
        "amps" => Unit::Amps,
        "watts" => Unit::Watts,
        "farads" => Unit::Farads,
        "hertz" => Unit::Hertz,
        "seconds" => Unit::Seconds,
        "degrees" => Unit::Degrees,
        "celsius" => Unit::Celsius,
        "fahrenheit" => Unit::Fahrenheit,
        "psi" => Unit::Psi,
        "percent" => Unit::Percent,
        _ => return None,
    };
    Some(Term::Scale(prefix, unit))
}

fn anytime(name: &str) -> Option<Anytime> {
    Some(match name {
        "stop" => Anytime::Stop,
        "hold" => Anytime::Hold,
        "resume" => Anytime::Resume,
        "repeat" => Anytime::Repeat,
        "back" => Anytime::Back,
        "skip" => Anytime::Skip,
        "status" => Anytime::Status,
        "how-many" => Anytime::HowMany,
        "slower" => Anytime::Slower,
        "faster" => Anytime::Faster,
        "louder" => Anytime::Louder,
        "softer" => Anytime::Softer,
        "shorter" => Anytime::Shorter,
        "fuller" => Anytime::Fuller,
        "photo" => Anytime::Photo,
        "wet" => Anytime::Wet,
        "dry" => Anytime::Dry,
        "expect" => Anytime::Expect,
        "why" => Anytime::Why,
        "why-check" => Anytime::WhyCheck,
        "help" => Anytime::Help,
        "setting" => Anytime::Setting,
        "where" => Anytime::Where,
        "note" => Anytime::Note,
        "power-off" => Anytime::PowerOff,
        "end-job" => Anytime::EndJob,
        _ => return None,
    })
}

fn trouble(name: &str) -> Option<Trouble> {
    Some(match name {
        "fuse" => Trouble::Fuse,
        "terminal" => Trouble::Terminal,
        "setting" => Trouble::Setting,
        "tester" => Trouble::Tester,
        _ => return None,
    })
}

fn control(name: &str) -> Option<Control> {
    Some(match name {
        "mine" => Control::Mine,
        "others" => Control::Others,
        _ => return None,
    })
}

fn dictated(name: &str) -> Option<Dictated> {
    Some(match name {
        "serial" => Dictated::Serial,
        "model" => Dictated::Model,
        "telephone" => Dictated::Telephone,
        _ => return None,
    })
}

fn beyond(name: &str) -> Option<Beyond> {
    Some(match name {
        "microwave" => Beyond::Microwave,
        "gas" => Beyond::Gas,
        "smell" => Beyond::Smell,
        "refrigerant" => Beyond::Refrigerant,
        "protection" => Beyond::Protection,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn meant(tags: &str) -> Option<Intent> {
        meaning(&tags.split(',').map(|tag| tag.trim().to_owned()).collect::<Vec<_>>())
    }

    fn value(number: &str, prefix: Prefix, unit: Option<Unit>) -> Reading {
        Reading::Value(Quantity { number: number.parse().unwrap(), prefix, unit })
    }

    #[test]
    fn tags_add_up_to_a_report() {
        let points = Some((PointId::from("l"), PointId::from("h")));
        let volts = value("1", Prefix::One, Some(Unit::Volts));
        for (tags, points, reading, correction) in [
            ("70, 1", None, value("71", Prefix::One, None), false),
            ("at l, at h, 1, unit one volts", points.clone(), volts, false),
            ("no, at l, at h, overload", points, Reading::Overload, true),
            ("correct, 15, instead, 50", None, value("50", Prefix::One, None), true),
            (
                "20, unit one degrees, unit one celsius",
                None,
                value("20", Prefix::One, Some(Unit::Celsius)),
                false,
            ),
        ] {
            assert_eq!(meant(tags), Some(Intent::Report(Report { points, reading, correction })), "{tags}");
        }
    }

    #[test]
    fn tags_that_mean_nothing_are_refused() {
        for tags in [
            "",
            "at l",
            "at l, at l, 1",
            "live",
            "live, at l",
            "live, at l, at l",
            "60, 15",
            "unit one ohms",
            "unit one stones",
            "yes, no",
            "anytime dance",
            "1, overload",
            "chose heater, rated",
            "rated, 4, hundred, unit one watts",
            "digits",
            "digits, yes",
            "plate",
            "correct, 15, instead",
            "scratch",
            "scratch, at l",
            "scratch, at l, at l",
            "known, 70, 1",
            "chose heater, known",
            "known, at l, at l, 70",
            "at l, at m",
            "correct, at l, instead, at l",
            "no, at l",
            "control customer",
            "beyond",
        ] {
            assert_eq!(meant(tags), None, "{tags}");
        }
    }

    #[test]
    fn readings_are_known_moved_and_scratched() {
        let (l, m) = (PointId::from("l"), PointId::from("m"));
        let across = Named::Across(l.clone(), m.clone());
        let heater = Named::Check("heater".into());
        let ohms = value("71", Prefix::One, Some(Unit::Ohms));
        for (tags, intent) in [
            ("scratch, chose heater", Intent::Scratch(heater.clone())),
            ("scratch, at l, at m", Intent::Scratch(across.clone())),
            ("chose heater, known, 70, 1, unit one ohms", Intent::Known(heater, ohms)),
            ("known, at l, at m, overload", Intent::Known(across, Reading::Overload)),
            ("no, at l, at m", Intent::Elsewhere(Elsewhere::Across(l.clone(), m.clone()))),
            ("correct, at l, instead, at m", Intent::Elsewhere(Elsewhere::Instead { not: l, but: m })),
            ("trouble fuse", Intent::Trouble(Trouble::Fuse)),
            ("control others", Intent::Control(Control::Others)),
            ("beyond gas", Intent::Beyond(Beyond::Gas)),
            ("dictate serial", Intent::Dictate(Dictated::Serial)),
        ] {
            assert_eq!(meant(tags), Some(intent), "{tags}");
        }
    }

    #[test]
    fn digits_and_plates_keep_what_was_said() {
        assert_eq!(meant("digits, 0, 4, 7"), Some(Intent::Digits("047".to_owned())));
        assert_eq!(meant("plate, letter W, 10, 3, letter A"), Some(Intent::Plate("W103A".to_owned())));
        assert_eq!(meant("plate, letter W, 1, 3, letter A"), Some(Intent::Plate("W13A".to_owned())));
    }
}
