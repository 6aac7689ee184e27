//! Keys for what is said most: function keys, and the two that a foot switch sends.
//!
//! A key is as sure as typed words, and means no more than they do: no key answers a hazard.

use super::heard::Heard;
use super::intent::{Anytime, Intent};

/// Each key by its name, what it says, and what it means. F13 and F14, or the page keys, are what a foot switch is set to.
pub const KEYS: [(&str, &str, Intent); 20] = [
    ("F1", "help", Intent::Anytime(Anytime::Help)),
    ("F2", "say again", Intent::Anytime(Anytime::Repeat)),
    ("F3", "where is that", Intent::Anytime(Anytime::Where)),
    ("F4", "what setting", Intent::Anytime(Anytime::Setting)),
    ("F5", "what do we know", Intent::Anytime(Anytime::Status)),
    ("F6", "why", Intent::Anytime(Anytime::Why)),
    ("F7", "go back", Intent::Anytime(Anytime::Back)),
    ("F8", "skip this one", Intent::Anytime(Anytime::Skip)),
    ("F9", "new note", Intent::Anytime(Anytime::Note)),
    ("F10", "hold on", Intent::Anytime(Anytime::Hold)),
    ("F11", "resume", Intent::Anytime(Anytime::Resume)),
    ("F12", "mark photo", Intent::Anytime(Anytime::Photo)),
    ("F13", "next", Intent::Done),
    ("PageDown", "next", Intent::Done),
    ("F14", "stop", Intent::Anytime(Anytime::Stop)),
    ("PageUp", "stop", Intent::Anytime(Anytime::Stop)),
    ("Escape", "stop", Intent::Anytime(Anytime::Stop)),
    ("F15", "yes", Intent::Yes),
    ("F16", "no", Intent::No),
    ("F17", "power is off", Intent::Anytime(Anytime::PowerOff)),
];

/// What a key means, by its name in any case; `None` for any other key.
pub fn pressed(key: &str) -> Option<Heard> {
    let found = KEYS.iter().find(|(name, _, _)| name.eq_ignore_ascii_case(key.trim()));
    found.map(|(_, words, intent)| Heard::surely(words, intent.clone()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::understand::situation::{Kind, Situation};
    use crate::understand::{open, typed};

    #[test]
    fn a_key_means_what_its_words_mean() {
        for (key, words, intent) in &KEYS {
            let kind = match intent {
                Intent::Done => Kind::Step,
                _ => Kind::YesNo,
            };
            let automaton = open(&Situation { kind, ..Situation::default() });
            assert_eq!(typed(&automaton, words).candidates[0].intent, *intent, "{key}");
            assert_eq!(pressed(key).map(|heard| heard.candidates[0].intent.clone()), Some(intent.clone()));
        }
        assert!(pressed("escape").is_some());
        for key in ["F99", "", "seventy one"] {
            assert!(pressed(key).is_none(), "{key}");
        }
    }

    #[test]
    fn no_key_answers_a_hazard() {
        assert!(KEYS.iter().all(|(_, _, intent)| !matches!(intent, Intent::Acknowledge(_))));
    }
}
