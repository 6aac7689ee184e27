//! The rule that only words reach the synthesiser.
//!
//! A synthesiser reads "8.8 kΩ" in a way of its own, or leaves it out. So a line is words and plain punctuation;
//! numbers and units are written out before they come here.

/// Longest line, in characters. A prompt has a dozen words.
pub const LONGEST_LINE: usize = 600;

/// What is wrong with a line that is to be spoken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotWords {
    /// There is no word in it.
    #[error("there is no word to speak in \"{0}\"")]
    Empty(String),
    /// It holds a figure, or a sign that is neither a letter nor plain punctuation.
    #[error("\"{glyph}\" (character {position}) in \"{line}\" is not a word")]
    Glyph {
        /// The character.
        glyph: char,
        /// Where it stands, counted from one.
        position: usize,
        /// The line.
        line: String,
    },
    /// It is longer than [`LONGEST_LINE`].
    #[error("a line of {0} characters is too long to speak; {LONGEST_LINE} is the most")]
    TooLong(usize),
}

/// Checks that a line is words, separated by spaces and plain punctuation.
///
/// # Errors
/// [`NotWords`], which names the first character that is no word.
pub fn check_words(line: &str) -> Result<(), NotWords> {
    let length = line.chars().count();
    if length > LONGEST_LINE {
        return Err(NotWords::TooLong(length));
    }
    let odd = line.chars().enumerate().find(|&(_, c)| !is_letter(c) && !is_punctuation(c));
    if let Some((index, glyph)) = odd {
        return Err(NotWords::Glyph { glyph, position: index + 1, line: line.to_owned() });
    }
    // A first character that is a letter also keeps the line from looking like an option.
    if line.starts_with(is_letter) { Ok(()) } else { Err(NotWords::Empty(line.to_owned())) }
}

/// Latin letters, with accents for names. Ω and µ are letters to Unicode, but units to us, and lie outside.
fn is_letter(c: char) -> bool {
    c.is_ascii_alphabetic() || (('\u{C0}'..='\u{17F}').contains(&c) && c.is_alphabetic())
}

fn is_punctuation(c: char) -> bool {
    matches!(c, ' ' | ',' | '.' | '?' | '!' | ';' | ':' | '\'' | '-')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(line: &str, glyph: Option<(char, usize)>) {
        let found = match check_words(line) {
            Ok(()) => None,
            Err(NotWords::Glyph { glyph, position, .. }) => Some((glyph, position)),
            Err(other) => panic!("{line:?}: {other}"),
        };
        assert_eq!(found, glyph, "{line:?}");
    }

    #[test]
    fn only_words_are_spoken() {
        for line in [
            "Put the leads on L and H.",
            "Seventy-two ohms, is that right?",
            "Don't touch the terminals: they are live!",
            "Ask Zoë Müller",
        ] {
            check(line, None);
        }
        for (line, glyph) in [
            ("72 ohms", ('7', 1)),
            ("eight point eight kΩ", ('Ω', 20)),
            ("ten µ", ('µ', 5)),
            ("zero °F", ('°', 6)),
            ("a 50% chance", ('5', 3)),
            ("either/or", ('/', 7)),
            ("L–H", ('–', 2)),
            ("two × two", ('×', 5)),
            ("it’s", ('’', 3)),
            ("<emphasis>", ('<', 1)),
            ("line\nbreak", ('\n', 5)),
            ("arm\u{200B}", ('\u{200B}', 4)),
        ] {
            check(line, Some(glyph));
        }
    }

    #[test]
    fn a_line_has_a_word_first_and_an_end() {
        for line in ["", "   ", "...", "-v en", ", yes"] {
            assert_eq!(check_words(line), Err(NotWords::Empty(line.to_owned())));
        }
        assert_eq!(check_words(&"a".repeat(LONGEST_LINE)), Ok(()));
        assert_eq!(check_words(&"a".repeat(LONGEST_LINE + 1)), Err(NotWords::TooLong(LONGEST_LINE + 1)));
    }
}
