//! Typed text to what was meant, under the same grammars as speech.
//!
//! Figures, symbols, abbreviations, hyphens and case are worded as they would be said; the grammar decides which wording
//! was meant.

use super::automaton::Automaton;
use super::heard::Heard;
use super::matching::{Wordings, candidates, paths};
use super::numerals::{digit_by_digit, number_words};

/// What a typed line means under an automaton: best first, sure if it has one meaning, empty and wholly outside if it
/// has none.
pub fn typed(automaton: &Automaton, text: &str) -> Heard {
    let mut candidates = candidates(paths(automaton, &pieces(text)));
    let total: f32 = candidates.iter().map(|candidate| candidate.probability).sum();
    for candidate in &mut candidates {
        candidate.probability /= total;
    }
    // No noise makes a typed line doubtful: a meaning more probable than all others together is taken.
    if let Some((best, others)) = candidates.split_first_mut()
        && (0.5..Heard::WORKING_THRESHOLD).contains(&best.probability)
    {
        let left = (1.0 - Heard::WORKING_THRESHOLD) / (1.0 - best.probability);
        best.probability = Heard::WORKING_THRESHOLD;
        for other in others {
            other.probability *= left;
        }
    }
    let outside = if candidates.is_empty() { 1.0 } else { 0.0 };
    Heard { candidates, outside, free: text.trim().to_owned() }
}

/// A text as pieces, each with the ways it may be worded.
pub fn pieces(text: &str) -> Vec<Wordings> {
    let mut pieces = Vec::new();
    for chunk in text.split_whitespace() {
        let chunk = chunk.trim_end_matches(['.', '?', '!', ';', ':']);
        let mut rest = chunk;
        while let Some(first) = rest.chars().next() {
            let length = length_of_piece(rest, first);
            let (piece, after) = rest.split_at(length);
            let starts_chunk = rest.len() == chunk.len();
            pieces.extend(wordings(
                piece,
                starts_chunk && after.starts_with(|c: char| c.is_ascii_digit() || c == '.'),
            ));
            rest = after;
        }
    }
    pieces
}

/// A number, a run of letters and unit signs, or a single other character.
fn length_of_piece(rest: &str, first: char) -> usize {
    let number = length_of_number(rest);
    if number > 0 {
        return number;
    }
    // A hyphen or apostrophe belongs to the word if a letter follows: "seventy-one", "x-ray", "can't".
    let joins = |at: usize, c: char| "-'".contains(c) && rest[at + 1..].starts_with(char::is_alphabetic);
    let letters = rest.char_indices().find(|&(at, c)| !(is_letter(c) || at > 0 && joins(at, c)));
    match letters.map_or(rest.len(), |(at, _)| at) {
        0 => first.len_utf8(),
        length => length,
    }
}

fn is_letter(c: char) -> bool {
    c.is_alphabetic() || "°Ωµμ%".contains(c)
}

/// Digits, with commas only before three digits each, and a point only before a digit.
fn length_of_number(rest: &str) -> usize {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let mut length = digits(rest);
    if (1..=3).contains(&length) {
        while rest[length..].starts_with(',') && digits(&rest[length + 1..]) == 3 {
            length += 4;
        }
    }
    let after_point = rest[length..].strip_prefix('.').map_or(0, digits);
    if after_point > 0 { length + 1 + after_point } else { length }
}

/// How a piece may be worded; `None` if it is only punctuation.
fn wordings(piece: &str, before_number: bool) -> Option<Wordings> {
    let said = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    if piece.contains(|c: char| c.is_ascii_digit()) {
        return Some(figures(piece).iter().map(|words| said(words)).collect());
    }
    match piece {
        "-" | "−" if before_number => return Some(vec![said("minus")]),
        "," | "-" | "–" | "—" | "\"" | "(" | ")" => return None,
        _ => {}
    }
    let mut wordings = vec![said(piece)];
    if piece.contains('-') {
        wordings.push(said(&piece.replace('-', " ")));
    }
    wordings.extend(abbreviated(piece).iter().map(|words| said(words)));
    Some(wordings)
}

/// Figures in words: naturally, and digit by digit.
fn figures(piece: &str) -> Vec<String> {
    let plain = piece.replace(',', "");
    let plain = if plain.starts_with('.') { format!("0{plain}") } else { plain };
    let Ok(number) = plain.parse() else { return vec![piece.to_owned()] };
    let leads_with_zero = plain.len() > 1 && plain.starts_with('0') && !plain.starts_with("0.");
    if leads_with_zero {
        let zeros = plain.len() - plain.trim_start_matches('0').len();
        let zeros = zeros.min(plain.len() - 1);
        return vec![format!("{}{}", "zero ".repeat(zeros), digit_by_digit(number))];
    }
    let mut all = vec![number_words(number), digit_by_digit(number)];
    all.dedup();
    all
}

/// What is written shorter, or otherwise, than it is said. Case matters only between milli and mega.
fn abbreviated(piece: &str) -> &'static [&'static str] {
    match piece {
        "MΩ" | "Mohm" => return &["megohms"],
        "mV" => return &["millivolts"],
        _ => {}
    }
    match piece.to_lowercase().as_str() {
        // Case folding turns the ohm sign and capital omega into the small letter.
        "ω" | "ohm" | "r" => &["ohms"],
        "kω" | "kohm" | "kohms" | "kilohm" | "kiloohm" | "kiloohms" | "kilo-ohm" | "kilo-ohms" => {
            &["kilohms"]
        }
        "mω" | "megohm" | "megaohm" | "megaohms" | "mega-ohms" => &["megohms"],
        "v" | "volt" => &["volts"],
        "vac" => &["volts a c"],
        "ac" => &["a c"],
        "mv" | "millivolt" => &["millivolts"],
        "a" | "amp" => &["amps"],
        "ma" | "milliamp" => &["milliamps"],
        "w" | "watt" => &["watts"],
        "°" | "deg" | "degree" => &["degrees"],
        "°f" | "f" => &["degrees fahrenheit", "fahrenheit"],
        "°c" | "c" => &["degrees celsius", "celsius"],
        "s" | "sec" | "secs" | "second" => &["seconds"],
        "%" => &["percent"],
        "hz" => &["hertz"],
        "µf" | "μf" | "uf" | "microfarad" => &["microfarads"],
        "psi" => &["p s i"],
        "ol" => &["O L"],
        "o" => &["oh"],
        "nought" | "nil" => &["zero"],
        "dot" => &["point"],
        "fower" => &["four"],
        "alfa" => &["alpha"],
        "juliett" => &["juliet"],
        "x" | "xray" => &["x-ray"],
        "whisky" => &["whiskey"],
        "ok" => &["okay"],
        "yep" | "yeah" | "yup" => &["yes"],
        "cant" => &["can't"],
        _ => &[],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn typed_text_is_worded_as_it_would_be_said() {
        for (text, first) in [
            ("L to H, 71 ohms", "L to H seventy one ohms"),
            ("8,800", "eight thousand eight hundred"),
            ("1,200.5V", "one thousand two hundred point five V"),
            ("-18 degrees.", "minus eighteen degrees"),
            (".5", "zero point five"),
            ("L1", "L one"),
            ("007", "zero zero seven"),
            ("8,8", "eight eight"),
            ("x-ray", "x-ray"),
            ("can't reach it!", "can't reach it"),
        ] {
            let worded: Vec<String> =
                pieces(text).into_iter().flat_map(|mut wordings| wordings.remove(0)).collect();
            assert_eq!(worded.join(" "), first, "{text}");
        }
    }
}
