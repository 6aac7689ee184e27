//! A screw that is turned while the machine is mended: how far, what that brings, and how far it may still go.

use std::ops::RangeInclusive;

use crate::id::RemedyId;
use crate::model::appliance::{Adjustment, Appliance};
use crate::quantity::Decimal;
use crate::record::entry::What;
use crate::record::job::Job;
use crate::say::Prompt;
use crate::understand::numerals::number_words;
use crate::understand::situation::Choice;

use super::super::bench::Bench;
use super::super::outbox::Outbox;

/// How far a setting is from where it was found, in quarter turns; more is positive.
pub(in super::super) type Quarters = i16;

/// Where a setting is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in super::super) enum Turned {
    /// So far from where it was found.
    By(Quarters),
    /// Somewhere, in words of somebody's own: nobody knows how far.
    Somewhere,
}

/// The turns that can be said, in quarters.
const SAID: [Quarters; 6] = [1, 2, 4, 6, 8, 12];
/// What a remedy that names no amount turns.
const HALF: Quarters = 2;

/// What can be said of the machine's settings: an amount and a way.
pub(super) fn choices(appliance: &Appliance) -> Vec<Choice> {
    let alone = appliance.adjustments.len() == 1;
    let choice = |adjustment: &Adjustment, amount: Quarters, way: &str| {
        let amounts = [vec![amount_words(amount)], also(amount)].concat();
        let words = amounts.into_iter().map(|amount| format!("{amount} {way}"));
        let named = |words: String| {
            let named = format!("{} {words}", adjustment.name);
            if alone { vec![words, named] } else { vec![named] }
        };
        let say = words.flat_map(named).collect();
        Choice { name: format!("{} {way} {amount}", adjustment.id), say }
    };
    let ways = |adjustment| {
        SAID.into_iter().flat_map(move |amount| ["more", "less"].map(|way| choice(adjustment, amount, way)))
    };
    appliance.adjustments.iter().flat_map(ways).collect()
}

/// Says how far the setting of an advised remedy may still go that way.
pub(super) fn announce(bench: &Bench, out: &mut Outbox, remedies: &[RemedyId]) {
    for (adjustment, way) in advised(&bench.appliance, remedies) {
        say_left(bench, out, adjustment, way);
    }
}

/// Keeps what was turned, by the choice's name, if it may be turned so far; true where it was.
pub(super) fn turned(bench: &mut Bench, out: &mut Outbox, name: &str) -> bool {
    let mut parts = name.rsplitn(3, ' ');
    let (Some(Ok(amount)), Some(way), Some(id)) =
        (parts.next().map(str::parse::<Quarters>), parts.next(), parts.next())
    else {
        return false;
    };
    let way = if way == "more" { 1 } else { -1 };
    let appliance = std::sync::Arc::clone(&bench.appliance);
    let adjustment = appliance.adjustments.iter().find(|adjustment| adjustment.id == id);
    adjustment.is_some_and(|adjustment| turn(bench, out, adjustment, way, amount))
}

/// Keeps what an advised remedy turns where nobody said how far; false, and nothing is kept, where it may not go so far: then
/// it was not turned, or somebody has to say how far. What was set by hand is left as it is.
pub(super) fn as_advised(bench: &mut Bench, out: &mut Outbox, remedies: &[RemedyId]) -> bool {
    let appliance = std::sync::Arc::clone(&bench.appliance);
    let mut known = advised(&appliance, remedies);
    known.retain(|(adjustment, _)| bench.turned(&adjustment.id) != Turned::Somewhere);
    known.into_iter().all(|(adjustment, way)| {
        let turned = turn(bench, out, adjustment, way, HALF);
        if !turned && left(bench, adjustment, way).is_some() {
            out.say(&Prompt::SayHowFar);
        }
        turned
    })
}

/// The settings of a job, from what is on record of them.
pub(in super::super) fn of(job: &Job, appliance: &Appliance) -> Vec<(String, Turned)> {
    let stands = |adjustment: &Adjustment| {
        let mut all = job.adjustments.iter().rev();
        let (_, _, after) = all.find(|(setting, ..)| is_named(adjustment, setting))?;
        let quarters = reach(adjustment).find(|quarters| from_found(*quarters) == *after);
        Some((adjustment.id.clone(), quarters.map_or(Turned::Somewhere, Turned::By)))
    };
    appliance.adjustments.iter().filter_map(stands).collect()
}

/// Where a setting of this name may be, in words, with its name as it is kept; `None` where the machine has none of that name.
pub fn positions<'a>(appliance: &'a Appliance, setting: &str) -> Option<(&'a str, Vec<String>)> {
    let adjustment = appliance.adjustments.iter().find(|adjustment| is_named(adjustment, setting))?;
    Some((&adjustment.name, reach(adjustment).map(from_found).collect()))
}

fn is_named(adjustment: &Adjustment, setting: &str) -> bool {
    let setting = setting.trim().to_lowercase().replace('-', " ");
    let setting = setting.strip_prefix("the ").unwrap_or(&setting);
    [&adjustment.name, &adjustment.id].iter().any(|name| name.to_lowercase().replace('-', " ") == setting)
}

/// Everywhere that a setting may be.
fn reach(adjustment: &Adjustment) -> RangeInclusive<Quarters> {
    -most(adjustment)..=most(adjustment)
}

fn turn(bench: &mut Bench, out: &mut Outbox, adjustment: &Adjustment, way: i16, amount: Quarters) -> bool {
    let Turned::By(before) = bench.turned(&adjustment.id) else {
        out.say(&Prompt::SetByHand);
        return false;
    };
    let after = before + way * amount;
    if after.abs() > most(adjustment) {
        out.say(&Prompt::Plain(adjustment.limit.clone()));
        say_left(bench, out, adjustment, way);
        if left(bench, adjustment, way).is_none() {
            out.say(&Prompt::AtLimit);
        }
        return false;
    }
    bench.turn(&adjustment.id, after);
    out.record(What::Adjusted {
        setting: adjustment.name.clone(),
        before: from_found(before),
        after: from_found(after),
    });
    let amount_said = format!("{} {}", amount_words(amount), if way > 0 { "more" } else { "less" });
    out.say(&Prompt::Turned { amount: amount_said, brings: brings(adjustment, amount) });
    say_left(bench, out, adjustment, way);
    true
}

fn advised<'a>(appliance: &'a Appliance, remedies: &[RemedyId]) -> Vec<(&'a Adjustment, i16)> {
    let way = |adjustment: &'a Adjustment| {
        let more = remedies.contains(&adjustment.more).then_some((adjustment, 1));
        more.or_else(|| remedies.contains(&adjustment.less).then_some((adjustment, -1)))
    };
    appliance.adjustments.iter().filter_map(way).collect()
}

fn most(adjustment: &Adjustment) -> Quarters {
    (adjustment.most_turns * 4.0).floor() as Quarters
}

/// Says how far a setting may still go one way, if anybody knows.
fn say_left(bench: &Bench, out: &mut Outbox, adjustment: &Adjustment, way: i16) {
    out.say(&match bench.turned(&adjustment.id) {
        Turned::By(_) => Prompt::TurnsLeft(left(bench, adjustment, way)),
        Turned::Somewhere => Prompt::SetByHand,
    });
}

/// How far a setting may still go one way, as said; `None` where it may not, or nobody knows.
fn left(bench: &Bench, adjustment: &Adjustment, way: i16) -> Option<String> {
    let Turned::By(quarters) = bench.turned(&adjustment.id) else { return None };
    let left = most(adjustment) - way * quarters;
    (left > 0).then(|| amount_words(left))
}

/// About how much water an amount is, in whole cubic centimetres, as said: as the file has it, or in proportion to its smallest
/// step.
fn brings(adjustment: &Adjustment, amount: Quarters) -> String {
    let turns = f64::from(amount) / 4.0;
    let known = adjustment.steps.iter().find(|step| (step.turns - turns).abs() < 1e-9);
    let step = known.or_else(|| adjustment.steps.first());
    let millilitres = step.map_or(0.0, |step| step.millilitres * turns / step.turns.max(1e-9));
    number_words(Decimal::whole(millilitres.round() as u32))
}

/// A number of quarter turns, as said.
fn amount_words(quarters: Quarters) -> String {
    let rest = ["", "a quarter", "a half", "three quarters"][usize::from((quarters % 4).unsigned_abs())];
    let whole = number_words(Decimal::whole((quarters / 4).unsigned_abs().into()));
    match (quarters / 4, quarters % 4) {
        (0, 1) => "a quarter turn".to_owned(),
        (0, 2) => "half a turn".to_owned(),
        (0, _) => format!("{rest} of a turn"),
        (1, 0) => "one turn".to_owned(),
        (_, 0) => format!("{whole} turns"),
        _ => format!("{whole} and {rest} turns"),
    }
}

/// Other ways to say an amount.
fn also(quarters: Quarters) -> Vec<String> {
    let ways: &[&str] = match quarters {
        1 => &["quarter turn"],
        2 => &["half turn"],
        4 => &["one full turn", "a full turn"],
        _ => &[],
    };
    ways.iter().map(|way| (*way).to_owned()).collect()
}

/// Where a setting is, by where it was found.
fn from_found(quarters: Quarters) -> String {
    match quarters {
        0 => "as found".to_owned(),
        more @ 1.. => format!("{} more than found", amount_words(more)),
        less => format!("{} less than found", amount_words(-less)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::understand::vocabulary;

    #[test]
    fn every_way_to_say_a_turn_can_be_heard() {
        let ice = crate::model::by_name("ice-maker-modular").unwrap();
        let choices = choices(&ice);
        assert_eq!(choices.len(), 2 * SAID.len());
        for say in choices.iter().flat_map(|choice| &choice.say) {
            assert!(vocabulary::knows(say), "{say}");
        }
        assert_eq!(super::choices(&crate::model::by_name("dryer-240").unwrap()), []);
    }

    #[test]
    fn amounts_as_they_are_said() {
        let said = [1, 2, 3, 4, 5, 6, 8, 11].map(amount_words);
        let wanted = [
            "a quarter turn",
            "half a turn",
            "three quarters of a turn",
            "one turn",
            "one and a quarter turns",
            "one and a half turns",
            "two turns",
            "two and three quarters turns",
        ];
        assert_eq!(said, wanted);
        assert_eq!(
            [-2, 0, 4].map(from_found),
            ["half a turn less than found", "as found", "one turn more than found"]
        );
    }
}
