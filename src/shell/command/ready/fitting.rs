//! A minute of trying out: is the room quiet enough, are readings understood, is the hazard voice heard?

use std::time::Duration;

use crate::dialogue::{Input, Listening};
use crate::quantity::Unit;
use crate::say::{Line, Manner};
use crate::shell::console;
use crate::shell::room::Room;
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

/// The fitting.
///
/// # Errors
/// What the room cannot do.
pub fn fit(room: &mut Room) -> miette::Result<()> {
    say(room, "I listen to the room. Say nothing, please.", Manner::Routine)?;
    room.hush(Duration::from_secs(3))?;
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
    let situation = Situation { kind: Kind::YesNo, ..Situation::default() };
    let heard = matches!(answer(room, situation, "yes or no")?, Input::Heard(heard) if meaning(&heard) == Some(&Intent::Yes));
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
