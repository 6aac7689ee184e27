//! What a text must be so that it can be spoken.
//!
//! Knows letters and lengths; does not know what is said.

/// The most words of one sentence.
const MOST_WORDS: usize = 14;

/// Why a text cannot be spoken as it stands, if it cannot.
pub(super) fn unspeakable(text: &str) -> Option<String> {
    if text.trim().is_empty() {
        return Some("there is nothing to say".into());
    }
    let plain = |c: char| c.is_ascii_alphabetic() || " ,.;:?!'-".contains(c);
    if let Some(odd) = text.chars().find(|c| !plain(*c)) {
        return Some(format!("`{odd}` cannot be spoken"));
    }
    let sentences = text.split_inclusive(['.', '?', '!', ';', ':']);
    let long = sentences.map(|s| s.split_whitespace().count()).find(|words| *words > MOST_WORDS);
    long.map(|words| format!("a sentence of {words} words is too long for an ear, {MOST_WORDS} are the most"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_symbols_and_long_sentences_are_refused() {
        for text in ["Unplug the dryer.", "line one", "L", "half a turn is twenty c c, one point two seconds"]
        {
            assert_eq!(unspeakable(text), None, "{text}");
        }
        for text in ["", "  ", "240 volts", "L to H is 72 ohms", "±", "a/b", &"word ".repeat(MOST_WORDS + 1)]
        {
            assert!(unspeakable(text).is_some(), "{text}");
        }
    }
}
