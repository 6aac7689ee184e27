//! The closed list of words that the recogniser's weights can write.

use std::collections::BTreeSet;
use std::sync::LazyLock;

static WORDS: LazyLock<BTreeSet<&str>> =
    LazyLock::new(|| include_str!("../../models/speech/words.txt").lines().collect());

/// Can every word of this phrase be heard?
pub fn knows(phrase: &str) -> bool {
    let mut words = phrase.split_whitespace().peekable();
    words.peek().is_some() && words.all(|word| WORDS.contains(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_phrase_is_known_if_all_its_words_are() {
        assert!(knows("thermal fuse") && knows("L"));
        for phrase in ["heater string", "", "kilovolts"] {
            assert!(!knows(phrase), "{phrase}");
        }
    }
}
