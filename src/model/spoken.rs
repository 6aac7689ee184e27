//! What a text must be so that it can be spoken.
//!
//! Knows letters and lengths; does not know what is said.

/// The most words of a sentence that asks for something of every day.
const ROUTINE: usize = 12;
/// The most where it tells of a hazard, a reason or a caution.
const TELLING: usize = 14;

/// Why a text of this field cannot be spoken as it stands, if it cannot.
pub(super) fn unspeakable(field: &str, text: &str) -> Option<String> {
    let most = match field {
        "danger" | "why-live" | "cause" | "caution" => TELLING,
        "refuses" | "supply" | "earthing" | "licensed" | "cautions" => TELLING,
        _ => ROUTINE,
    };
    if text.trim().is_empty() {
        return Some("there is nothing to say".into());
    }
    let plain = |c: char| c.is_ascii_alphabetic() || " ,.;:?!'-".contains(c);
    if let Some(odd) = text.chars().find(|c| !plain(*c)) {
        return Some(format!("`{odd}` cannot be spoken"));
    }
    let sentences = text.split_inclusive(['.', '?', '!', ';', ':']);
    let long = sentences.map(|s| s.split_whitespace().count()).find(|words| *words > most);
    long.map(|words| format!("a sentence of {words} words is too long for an ear, {most} are the most"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_symbols_and_long_sentences_are_refused() {
        for text in ["Unplug the dryer.", "line one", "L", "half a turn is twenty c c, one point two seconds"]
        {
            assert_eq!(unspeakable("say", text), None, "{text}");
        }
        for text in ["", "  ", "240 volts", "L to H is 72 ohms", "±", "a/b"] {
            assert!(unspeakable("say", text).is_some(), "{text}");
        }
        for (field, most) in [("make", ROUTINE), ("caution", TELLING)] {
            assert_eq!(unspeakable(field, &"word ".repeat(most)), None, "{field}");
            assert!(unspeakable(field, &"word ".repeat(most + 1)).is_some(), "{field}");
        }
    }
}
