//! Keys for everything that is said without a value or a name in it: function keys, and the two that a foot switch sends.
//! Values and names are typed.
//!
//! A key is as sure as typed words, and means no more than they do: no key answers a hazard.

use super::heard::Heard;
use super::intent::{Anytime, Control, Dictated, Intent, Trouble};

/// Each key by its name, what it says, and what it means. F13 and F14, or the page keys, are what a foot switch is set to.
pub const KEYS: [(&str, &str, Intent); 41] = [
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
    ("Shift+F1", "shorter", Intent::Anytime(Anytime::Shorter)),
    ("Shift+F2", "say more", Intent::Anytime(Anytime::Fuller)),
    ("Shift+F3", "slower", Intent::Anytime(Anytime::Slower)),
    ("Shift+F4", "faster", Intent::Anytime(Anytime::Faster)),
    ("Shift+F5", "how many more", Intent::Anytime(Anytime::HowMany)),
    ("Shift+F6", "why this one", Intent::Anytime(Anytime::WhyCheck)),
    ("Shift+F7", "softer", Intent::Anytime(Anytime::Softer)),
    ("Shift+F8", "louder", Intent::Anytime(Anytime::Louder)),
    ("Shift+F9", "what do you expect", Intent::Anytime(Anytime::Expect)),
    ("Shift+F10", "floor is wet", Intent::Anytime(Anytime::Wet)),
    ("Shift+F11", "floor is dry", Intent::Anytime(Anytime::Dry)),
    ("Shift+F12", "end the job", Intent::Anytime(Anytime::EndJob)),
    ("Ctrl+F1", "serial number", Intent::Dictate(Dictated::Serial)),
    ("Ctrl+F2", "model number", Intent::Dictate(Dictated::Model)),
    ("Ctrl+F3", "phone number", Intent::Dictate(Dictated::Telephone)),
    ("Ctrl+F7", "plug is in my hand", Intent::Control(Control::Mine)),
    ("Ctrl+F8", "they hold the plug", Intent::Control(Control::Others)),
    ("Ctrl+F9", "meter fuse is open", Intent::Trouble(Trouble::Fuse)),
    ("Ctrl+F10", "leads in the wrong terminal", Intent::Trouble(Trouble::Terminal)),
    ("Ctrl+F11", "wrong setting", Intent::Trouble(Trouble::Setting)),
    ("Ctrl+F12", "it lights", Intent::Trouble(Trouble::Tester)),
];

/// What a key means, by its name in any case; `None` for any other key.
pub fn pressed(key: &str) -> Option<Heard> {
    let found = KEYS.iter().find(|(name, _, _)| name.eq_ignore_ascii_case(key.trim()));
    found.map(|(_, words, intent)| Heard::surely(words, intent.clone()))
}

/// What is pressed on a page in a browser, and the key that it stands for. F1 to F12, and Shift and Ctrl with them, are the
/// browser's own there (reload, find, the address, a menu): with Alt and Shift the first twelve are ours. What is left out
/// here, but for Escape, is typed there, by its name or its words.
pub fn on_page() -> impl Iterator<Item = (String, &'static str)> {
    KEYS.iter().filter_map(|(key, ..)| {
        let number: u8 = key.strip_prefix('F')?.parse().ok()?;
        Some((if number > 12 { (*key).to_owned() } else { format!("Alt+Shift+{key}") }, *key))
    })
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::understand::grammars::FILES;
    use crate::understand::meaning::meaning;
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

    /// Everything that the grammars can mean has a key, but for what carries a value or a name, and what is never helped with.
    #[test]
    fn whatever_can_be_said_without_a_value_has_a_key() {
        let tags = FILES
            .iter()
            .flat_map(|(_, text)| text.split('{').skip(1).filter_map(|rest| rest.split_once('}')));
        let mut kinds = BTreeSet::new();
        for (tag, _) in tags {
            let kind = tag.split_whitespace().next().expect("a tag");
            if !["anytime", "control", "trouble", "dictate", "yes", "no", "done"].contains(&kind) {
                if kind.parse::<u32>().is_err() {
                    kinds.insert(kind);
                }
                continue;
            }
            let meant = meaning(&[tag.to_owned()]).unwrap_or_else(|| panic!("`{tag}` means something"));
            assert!(KEYS.iter().any(|(_, _, intent)| *intent == meant), "no key says {meant:?}");
        }
        let parts = "beyond clear closed correct digits half hundred instead known letter live minus overload plate point \
                     rated rescale scratch thousand unit unstable at";
        let unknown: Vec<&str> =
            kinds.into_iter().filter(|kind| !parts.split(' ').any(|part| part == *kind)).collect();
        assert!(unknown.is_empty(), "a function or a part of an answer? {unknown:?}");
    }

    #[test]
    fn the_handbook_names_every_key() {
        let readme = include_str!("../../README.md");
        for (key, words, _) in &KEYS {
            assert!(readme.contains(&format!("`{key}` {words}")), "README.md: `{key}` {words}");
        }
        assert_eq!(
            readme.matches("`Shift+F").count() + readme.matches("`Ctrl+F").count(),
            21,
            "and no others"
        );
    }

    #[test]
    fn the_browser_keeps_its_keys() {
        let page: Vec<(String, &str)> = on_page().collect();
        assert_eq!(page.len(), 17, "F1 to F17");
        for (pressed_there, key) in &page {
            assert!(pressed(key).is_some(), "{key}");
            let ours = pressed_there.starts_with("Alt+Shift+F")
                || ["F13", "F14", "F15", "F16", "F17"].contains(&pressed_there.as_str());
            assert!(ours, "{pressed_there}");
        }
        assert!(
            page.contains(&("Alt+Shift+F8".to_owned(), "F8")) && page.contains(&("F13".to_owned(), "F13"))
        );
    }

    #[test]
    fn no_key_answers_a_hazard() {
        assert!(KEYS.iter().all(|(_, _, intent)| !matches!(intent, Intent::Acknowledge(_))));
    }
}
