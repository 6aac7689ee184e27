//! A minute of trying out: is it the right microphone, is the room quiet enough, are readings understood, is the hazard voice
//! heard? What is found out is remembered.

use std::time::Duration;

use crate::dialogue::{Input, Listening};
use crate::quantity::Unit;
use crate::say::{Line, Manner};
use crate::shell::console;
use crate::shell::devices::{self, Side};
use crate::shell::mic::NARROW;
use crate::shell::room::Room;
use crate::shell::settings::Settings;
use crate::understand;
use crate::understand::heard::Heard;
use crate::understand::intent::Intent;
use crate::understand::situation::{Kind, Situation};

/// What is to be said, and taken for the same.
const READINGS: [(&str, Unit); 5] = [
    ("seventy one ohms", Unit::Ohms),
    ("ten point seven ohms", Unit::Ohms),
    ("one twenty volts", Unit::Volts),
    ("eight point eight kilohms", Unit::Ohms),
    ("over limit", Unit::Ohms),
];

/// An answer is waited for so long.
const LONGEST_WAIT: Duration = Duration::from_secs(12);

/// So many microphones are offered.
const MOST_OFFERED: usize = 8;

/// The fitting.
///
/// # Errors
/// What the room cannot do.
pub fn fit(room: &mut Room, settings: &mut Settings) -> miette::Result<()> {
    choose_microphone(room, settings)?;
    say(room, "I listen to the room. Say nothing, please.", Manner::Routine)?;
    let noise = room.hush(Duration::from_secs(3))?;
    let mut understood = 0;
    for (words, unit) in READINGS {
        say(room, &format!("Please say: {words}."), Manner::Routine)?;
        let situation = Situation { kind: Kind::Reading, units: vec![unit], ..Situation::default() };
        let wanted = console::typed(&understand::open(&situation), words);
        match answer(room, situation, "a reading")? {
            Input::Heard(heard) if meaning(&heard) == meaning(&wanted) => {
                understood += 1;
                say(room, "Understood.", Manner::Routine)?;
            }
            Input::TooNoisy { .. } => say(room, "The noise is too loud.", Manner::Routine)?,
            Input::Silence => say(room, "I heard nothing.", Manner::Routine)?,
            _ => say(room, "I heard something else.", Manner::Routine)?,
        }
    }
    say(room, "This is how danger sounds.", Manner::Hazard)?;
    say(room, "Did you hear every word of that? Yes or no.", Manner::Routine)?;
    let heard = says_yes(room)?;
    if heard {
        settings.noise = noise.map(|noise| noise.0.round());
    }
    println!("understood: {understood} of {} readings", READINGS.len());
    println!(
        "hazard voice: {}",
        if heard { "heard" } else { "not heard: turn the loudspeaker up, or --level 1.5" }
    );
    if understood + 1 < READINGS.len() {
        println!(
            "too few: come closer to the microphone, make it quieter, or choose another with --mic NAME"
        );
    }
    Ok(())
}

/// Asks whether this is the microphone to listen with, and if not, tries the others. Where none is chosen the first stays.
fn choose_microphone(room: &mut Room, settings: &mut Settings) -> miette::Result<()> {
    let first = room.microphone().unwrap_or_default().to_owned();
    let others = devices::names(Side::Microphone).into_iter().filter(|name| *name != first);
    let mut chosen = None;
    for name in std::iter::once(first.clone()).chain(others).take(MOST_OFFERED) {
        // One that does not open cannot be chosen.
        if name != first && room.listen_with(Some(&name), settings.gated).is_err() {
            continue;
        }
        println!("microphone: {name}");
        say(room, &format!("I listen with {}.", spoken(&name)), Manner::Routine)?;
        say(room, "Is that the microphone you want? Yes or no.", Manner::Routine)?;
        if says_yes(room)? {
            chosen = Some(name);
            break;
        }
    }
    match chosen {
        Some(name) if name != first => settings.microphone = Some(name),
        Some(_) => {}
        None => {
            say(room, "Then I go on with the first one.", Manner::Routine)?;
            room.listen_with(settings.microphone.as_deref(), settings.gated)?;
        }
    }
    if room.rate() <= NARROW {
        let warning =
            "This microphone is that of a telephone headset. Answers to hazards may not be understood.";
        say(room, warning, Manner::Routine)?;
        say(room, "A wired headset, or one with a boom, is better.", Manner::Routine)?;
    }
    Ok(())
}

/// A device's name as words: what is no letter is left out.
fn spoken(name: &str) -> String {
    let letters: String = name.chars().map(|c| if c.is_ascii_alphabetic() { c } else { ' ' }).collect();
    let words: Vec<&str> = letters.split_whitespace().take(8).collect();
    if words.is_empty() { "one without a name".to_owned() } else { words.join(" ") }
}

fn says_yes(room: &mut Room) -> miette::Result<bool> {
    let situation = Situation { kind: Kind::YesNo, ..Situation::default() };
    let answer = answer(room, situation, "yes or no")?;
    Ok(matches!(answer, Input::Heard(heard) if meaning(&heard) == Some(&Intent::Yes)))
}

fn say(room: &mut Room, text: &str, manner: Manner) -> miette::Result<()> {
    // A stop during the fitting stops the line.
    room.speak(&[Line { text: text.to_owned(), manner }]).map(|_| ())
}

fn answer(room: &mut Room, situation: Situation, topic: &str) -> miette::Result<Input> {
    let listening = Listening { situation, topic: topic.to_owned() };
    room.listen(&listening, Some(LONGEST_WAIT), &mut Vec::new())
}

fn meaning(heard: &Heard) -> Option<&Intent> {
    heard.understood().map(|best| &best.intent)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shell::voice::check_words;

    #[test]
    fn every_name_of_a_device_can_be_spoken() {
        for (name, wanted) in [
            ("Monitor of Null Output", "Monitor of Null Output"),
            ("HD-Audio (hw:0,3) 5.1", "HD Audio hw"),
            ("Ω 7", "one without a name"),
            ("", "one without a name"),
            ("a b c d e f g h i j", "a b c d e f g h"),
        ] {
            assert_eq!(spoken(name), wanted);
            check_words(&spoken(name)).unwrap();
        }
    }
}
