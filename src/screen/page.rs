//! The glance as a page: one document, and the part of it that changes.
//!
//! It loads nothing but its own style and script. Every part that changes has an `id`: the script puts the new one in its
//! place, so that what has the focus keeps it. Colour never stands alone: each state has a word and a shape.

use maud::{DOCTYPE, Markup, html};

use crate::diagnose::verdict::Verdict;
use crate::record::job::Voice;
use crate::record::page::{clock, percent, plot};
use crate::record::report::row::Row;
use crate::safety::Supply;
use crate::say::{Line, Manner};
use crate::understand::keys;

use super::{Glance, Mood};

/// The style of the page.
pub const STYLE: &str = include_str!("page.css");
/// The script of the page.
pub const SCRIPT: &str = include_str!("page.js");

/// Its sign in the browser's tab: two leads on a circuit.
pub const ICON: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32"><rect width="32" height="32" rx="7" fill="#14573f"/><path d="M5 20h22" stroke="#fff" stroke-width="2.5"/><circle cx="10" cy="20" r="4" fill="#ffab73"/><circle cx="22" cy="20" r="4" fill="#ffab73"/><path d="M10 14V5M22 14V5" stroke="#ffab73" stroke-width="2.5"/></svg>"##;

/// Who looks at the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Viewer {
    /// May answer.
    Hand,
    /// May only look, until paired by the code that the program shows.
    Eye,
}

/// The whole document.
pub fn document(glance: &Glance, mood: Mood, viewer: Viewer) -> String {
    let title = glance.machine.as_deref().unwrap_or("Leadhand");
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { "Job " (glance.job) ": " (title) }
                link rel="icon" href="/icon.svg";
                link rel="stylesheet" href="/style.css";
                script src="/script.js" defer {}
                noscript { meta http-equiv="refresh" content="5"; }
            }
            body {
                a.jump href="#answer" { "Go to the answer" }
                p #link role="status" {}
                (upper(glance, mood, viewer))
                @match viewer {
                    Viewer::Hand => (answer_form()),
                    Viewer::Eye => (pairing_form()),
                }
                (lower(glance))
            }
        }
    }
    .into_string()
}

/// What changes, as the events carry it.
pub fn parts(glance: &Glance, mood: Mood, viewer: Viewer) -> String {
    html! { (upper(glance, mood, viewer)) (lower(glance)) }.into_string()
}

fn upper(glance: &Glance, mood: Mood, viewer: Viewer) -> Markup {
    let hazard = glance.lines.iter().any(|line| line.manner == Manner::Hazard);
    html! {
        header #head { (head(glance, mood)) }
        main #glance {
            section #now aria-live="polite" aria-atomic="true" aria-label="What to do now" data-hazard=(hazard) {
                (now(glance))
            }
            section #where aria-label="Where the leads go" { (leads(glance)) }
            section #reading aria-label="Last reading" { (reading(glance)) }
            section #suspects aria-label="What is suspected" { (suspects(glance)) }
        }
        @if viewer == Viewer::Hand { section #choices aria-label="Answers" { (choices(glance)) } }
    }
}

fn lower(glance: &Glance) -> Markup {
    html! { section #said aria-label="What was said" tabindex="0" { (conversation(glance)) } }
}

fn head(glance: &Glance, mood: Mood) -> Markup {
    html! {
        @if let Some(supply) = glance.supply {
            @let (class, word, means) = supply_words(supply);
            p.supply data-supply=(class) {
                (supply_shape(supply))
                span { strong { (word) } " " span.means { (means) } }
            }
        }
        div.job {
            h1 { (glance.machine.as_deref().unwrap_or("Which machine?")) }
            p {
                "Job " (glance.job)
                @if let Some(complaint) = &glance.complaint { ", " (complaint) }
            }
        }
        p.mood data-mood=(mood_words(mood).0) { (mood_shape(mood)) (mood_words(mood).1) }
    }
}

const fn supply_words(supply: Supply) -> (&'static str, &'static str, &'static str) {
    match supply {
        Supply::Unknown => ("unknown", "Treat as live", "nothing is proved"),
        Supply::Live => ("live", "Live", "the supply is on"),
        Supply::Isolated => ("isolated", "Switched off", "not yet proved dead"),
        Supply::ProvenDead => ("dead", "Proved dead", "known source, work, known source"),
    }
}

/// A triangle, a bolt, a ring, a square with a tick: told apart without their colours.
fn supply_shape(supply: Supply) -> Markup {
    html! {
        svg viewBox="0 0 48 48" aria-hidden="true" {
            @match supply {
                Supply::Unknown => { path d="M24 5 45 43H3Z" {} path.cut d="M24 18v12M24 35v3" {} }
                Supply::Live => { path d="M24 2 46 24 24 46 2 24Z" {} path.cut d="M27 10 18 26h7l-4 12 10-17h-7z" {} }
                Supply::Isolated => { circle cx="24" cy="24" r="19" {} path.cut d="M24 12v11" {} }
                Supply::ProvenDead => { rect x="4" y="4" width="40" height="40" rx="6" {} path.cut d="M13 25l8 8 15-17" {} }
            }
        }
    }
}

const fn mood_words(mood: Mood) -> (&'static str, &'static str) {
    match mood {
        Mood::Speaking => ("speaking", "Speaking"),
        Mood::Listening => ("listening", "Listening"),
        Mood::Paused => ("paused", "Resting: say resume"),
        Mood::Deaf => ("deaf", "No microphone"),
        Mood::Mute => ("mute", "No loudspeaker"),
        Mood::Finished => ("finished", "Job closed"),
    }
}

fn mood_shape(mood: Mood) -> Markup {
    html! {
        svg viewBox="0 0 24 24" aria-hidden="true" {
            @match mood {
                Mood::Speaking => path d="M3 9v6h4l6 5V4L7 9zM16 8q3 4 0 8M19 5q5 7 0 14" {},
                Mood::Listening => path d="M12 3a3 3 0 0 1 3 3v6a3 3 0 0 1-6 0V6a3 3 0 0 1 3-3zM5 11a7 7 0 0 0 14 0M12 18v3" {},
                Mood::Paused => path d="M8 5v14M16 5v14" {},
                Mood::Deaf | Mood::Mute => path d="M4 4 20 20M20 4 4 20" {},
                Mood::Finished => path d="M4 13l5 5L20 6" {},
            }
        }
    }
}

/// The question large; what was said before it above.
fn now(glance: &Glance) -> Markup {
    let (last, before) = match glance.lines.split_last() {
        Some((last, before)) => (Some(last), before),
        None => (None, &[][..]),
    };
    html! {
        @if let Some((cause, remedy)) = &glance.advice {
            p.advice { strong { (sentence(cause)) } " " (remedy) }
        }
        @for line in before { (spoken(line, "before")) }
        @if let Some(line) = last { (spoken(line, "last")) }
    }
}

fn spoken(line: &Line, class: &str) -> Markup {
    let hazard = line.manner == Manner::Hazard;
    html! {
        p.(class).hazard[hazard] {
            @if hazard { span.sign { svg viewBox="0 0 48 48" aria-hidden="true" { path d="M24 5 45 43H3Z" {} path.cut d="M24 18v12M24 35v3" {} } "Danger" } " " }
            (line.text)
        }
    }
}

fn sentence(clause: &str) -> String {
    let mut letters = clause.chars();
    let first = letters.next().map(char::to_uppercase).into_iter().flatten();
    first.chain(letters).chain(['.']).collect()
}

fn leads(glance: &Glance) -> Markup {
    let Some(leads) = &glance.leads else { return html! {} };
    html! {
        h2 { @if leads.now { "Leads on" } @else { "Then the leads go on" } }
        ol.points {
            @for (name, place) in &leads.points {
                li { strong { (name) } span { (place) } }
            }
        }
        @if let Some(drawing) = &leads.drawing { (maud::PreEscaped(drawing)) }
    }
}

fn reading(glance: &Glance) -> Markup {
    let Some(row) = &glance.reading else { return html! {} };
    let (class, sign, word) = verdict(row);
    html! {
        h2 { "Last: " (row.title) }
        p.found { (row.found) " " span.verdict data-verdict=(class) { span aria-hidden="true" { (sign) " " } (word) } }
        @if let Some(expected) = &row.expected { p.expected { "Good is " (expected) } }
        @if let Some(plot) = &row.plot { (plot::svg(plot, row)) }
    }
}

const fn verdict(row: &Row) -> (&'static str, &'static str, &'static str) {
    match row.verdict {
        Verdict::InLimits => ("good", "✓", "in limits"),
        Verdict::OutOfLimits => ("bad", "✗", "out of limits"),
        Verdict::Open => ("bad", "✗", "open"),
        Verdict::Shorted => ("bad", "✗", "shorted"),
        Verdict::Odd => ("odd", "?", "odd"),
        Verdict::CannotTell => ("odd", "?", "cannot tell"),
    }
}

fn suspects(glance: &Glance) -> Markup {
    html! {
        @if !glance.suspects.is_empty() {
            h2 { "Suspected" }
            ol.bars {
                @for (name, permille) in &glance.suspects {
                    li {
                        span { (name) } b { (percent(*permille)) }
                        svg viewBox="0 0 1000 10" preserveAspectRatio="none" aria-hidden="true" {
                            rect.all width="1000" height="10" {} rect width=(permille.max(&4)) height="10" {}
                        }
                    }
                }
            }
        }
        @if let Some(left) = glance.left {
            p.left {
                @match left {
                    0 => "No further check would change that.",
                    1 => "One more check could change that.",
                    _ => { "At most " (left) " more checks." }
                }
            }
        }
    }
}

fn conversation(glance: &Glance) -> Markup {
    html! {
        h2 { "What was said" }
        ol {
            @for utterance in glance.conversation.iter().rev() {
                li {
                    time { (clock(utterance.at)) }
                    @match utterance.voice {
                        Voice::Program => { b { "Leadhand" } span { (utterance.words) } }
                        Voice::Hazard => { b.hazard { "Danger" } span { (utterance.words) } }
                        Voice::Technician { understood: true, .. } => { b.you { "You" } span.you { (utterance.words) } }
                        Voice::Technician { .. } => { b.you { "Heard" } span.you { "not understood" } }
                    }
                }
            }
        }
    }
}

fn choices(glance: &Glance) -> Markup {
    let answers = &glance.answers;
    html! {
        input type="hidden" form="answer" name="turn" value=(glance.turn);
        // What the enter key presses: it sends the line, and none of the answers below.
        button.enter type="submit" form="answer" tabindex="-1" aria-hidden="true" {}
        @for words in &answers.whole { button type="submit" form="answer" name="words" value=(words) { (words) } }
        @for words in &answers.pieces { button.piece type="button" data-piece=(words) { (words) } }
        button.stop type="submit" form="answer" name="words" value="stop" { "Stop" }
    }
}

/// What is open at any time.
fn answer_form() -> Markup {
    let keys: Vec<String> = keys::on_page().map(|(pressed, key)| format!("{pressed}={key}")).collect();
    html! {
        form #answer method="post" action="/answer" autocomplete="off" aria-label="Any answer" data-keys=(keys.join(" ")) {
            label for="words" { "Type what you would say" }
            div.line {
                input #words name="words" type="text" maxlength="200" enterkeyhint="send" spellcheck="false";
                button type="submit" { "Send" }
            }
            div.always {
                @for words in ["say again", "go back", "skip", "hold on", "why", "where is that"] {
                    button type="submit" name="words" value=(words) { (words) }
                }
            }
        }
    }
}

fn pairing_form() -> Markup {
    html! {
        form #answer method="post" action="/pair" autocomplete="off" aria-label="Pairing" {
            label for="code" { "This page only shows. To answer from here, type the code that the program shows." }
            div.line {
                input #code name="code" type="text" inputmode="numeric" maxlength="6";
                button type="submit" { "Pair" }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn glance(text: &str, manner: Manner, supply: Option<Supply>) -> Glance {
        Glance { lines: vec![Line { text: text.to_owned(), manner }], supply, ..Glance::default() }
    }

    #[test]
    fn every_state_of_the_supply_has_a_word_and_a_shape_of_its_own() {
        let all = [Supply::Unknown, Supply::Live, Supply::Isolated, Supply::ProvenDead];
        let words: std::collections::BTreeSet<&str> =
            all.iter().map(|supply| supply_words(*supply).1).collect();
        let shapes: std::collections::BTreeSet<String> =
            all.iter().map(|supply| supply_shape(*supply).into_string()).collect();
        assert_eq!((words.len(), shapes.len()), (4, 4));
        let page = parts(&glance("Done?", Manner::Routine, None), Mood::Listening, Viewer::Hand);
        assert!(!page.contains("data-supply"), "before the machine is known nothing is said of it");
    }

    #[test]
    fn text_stays_text_and_a_hazard_says_that_it_is_one() {
        let page =
            document(&glance("<b>&", Manner::Hazard, Some(Supply::Live)), Mood::Speaking, Viewer::Hand);
        assert!(page.contains("&lt;b&gt;&amp;") && !page.contains("<b>&"), "{page}");
        assert!(page.contains("data-hazard=\"true\"") && page.contains("Danger"), "{page}");
        let page = document(&glance("Done?", Manner::Routine, None), Mood::Speaking, Viewer::Hand);
        assert!(page.contains("data-hazard=\"false\"") && !page.contains("Danger"), "{page}");
    }

    #[test]
    fn who_only_looks_on_has_nothing_to_answer_with() {
        let glance = glance("Done?", Manner::Routine, None);
        let (hand, eye) = (
            document(&glance, Mood::Listening, Viewer::Hand),
            document(&glance, Mood::Listening, Viewer::Eye),
        );
        assert!(hand.contains("action=\"/answer\"") && hand.contains("value=\"stop\""));
        assert!(
            !eye.contains("action=\"/answer\"") && !eye.contains("value=\"stop\"") && eye.contains("/pair")
        );
        assert!(!parts(&glance, Mood::Listening, Viewer::Eye).contains("value=\"stop\""));
    }
}
