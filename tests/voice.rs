//! The spoken side, with the real synthesiser. Skipped, with a count, where `espeak-ng` is not installed.

use std::io::Write;
use std::sync::Arc;

use leadhand::hear::level::Decibels;
use leadhand::say::Manner;
use leadhand::shell::voice::{Sound, Voice, VoiceError};

/// A voice, or a line on the terminal that says how many checks were skipped.
fn voice(checks: usize) -> Option<Voice> {
    match Voice::new() {
        Ok(voice) => Some(voice),
        Err(VoiceError::Missing(_)) => {
            // Straight to the terminal: the test harness hides what passing tests print.
            writeln!(std::io::stderr(), "skipped: {checks} voice checks, espeak-ng is not installed")
                .expect("stderr can be written");
            None
        }
        Err(other) => panic!("{other}"),
    }
}

/// Root mean square of the second half, which is words in both manners.
fn level(sound: &Sound) -> f64 {
    let half = &sound.samples[sound.samples.len() / 2..];
    (half.iter().map(|&s| f64::from(s).powi(2)).sum::<f64>() / half.len() as f64).sqrt()
}

#[test]
fn a_line_becomes_sound_in_two_manners() {
    let Some(mut voice) = voice(3) else { return };
    let line = "Stop. The element terminals are live.";
    let routine = voice.render(line, Manner::Routine).expect("a line of words");
    let hazard = voice.render(line, Manner::Hazard).expect("a line of words");
    for sound in [&routine, &hazard] {
        let seconds = sound.duration().as_secs_f64();
        assert!((1.0..6.0).contains(&seconds), "{seconds} s");
        assert!(sound.samples.iter().any(|s| s.unsigned_abs() > 10_000), "silent");
    }
    assert_ne!(routine, hazard);
    let louder = 20.0 * (level(&hazard) / level(&routine)).log10();
    assert!(louder > 3.0, "the hazard is only {louder:.1} dB louder");
}

#[test]
fn over_noise_a_hazard_is_lifted_and_a_routine_line_is_not() {
    let Some(mut voice) = voice(1) else { return };
    let line = "Stop. The element terminals are live.";
    let sounds = |voice: &mut Voice| {
        [Manner::Hazard, Manner::Routine].map(|manner| voice.render(line, manner).expect("a line of words"))
    };
    let [hazard, routine] = sounds(&mut voice);
    voice.lift(Decibels::MOST_LIFT);
    let [lifted, same] = sounds(&mut voice);
    assert!(Arc::ptr_eq(&routine, &same));
    let louder = 20.0 * (level(&lifted) / level(&hazard)).log10();
    assert!((5.0..10.0).contains(&louder), "lifted by {louder:.1} dB");
    let peak = |sound: &Sound| sound.samples.iter().map(|s| s.unsigned_abs()).max();
    assert_eq!(peak(&lifted), peak(&hazard));
}

#[test]
fn a_line_said_before_comes_from_memory() {
    let Some(mut voice) = voice(2) else { return };
    let first = voice.render("Seventy two ohms.", Manner::Routine).expect("a line of words");
    let again = voice.render("Seventy two ohms.", Manner::Routine).expect("a line of words");
    assert!(Arc::ptr_eq(&first, &again));
    let other = voice.render("Seventy one ohms.", Manner::Routine).expect("a line of words");
    assert!(!Arc::ptr_eq(&first, &other));
}

#[test]
fn no_glyph_reaches_the_synthesiser() {
    let Some(mut voice) = voice(4) else { return };
    for (line, named) in
        [("72 ohms", "\"7\""), ("eight kΩ", "\"Ω\""), ("", "no word"), ("--version", "no word")]
    {
        let error = voice.render(line, Manner::Hazard).expect_err(line);
        assert!(matches!(error, VoiceError::NotWords(_)), "{line}: {error}");
        assert!(error.to_string().contains(named), "{line}: {error}");
    }
}

#[test]
fn a_missing_synthesiser_says_what_mends_it() {
    let error = VoiceError::Missing(std::io::Error::from(std::io::ErrorKind::NotFound));
    let help = miette::Diagnostic::help(&error).expect("a help").to_string();
    assert!(error.to_string().contains("espeak-ng") && help.contains("apt-get install espeak-ng"));
}
