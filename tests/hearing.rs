//! Sound files, and what is heard in them.

use std::path::{Path, PathBuf};

use hound::{SampleFormat, WavSpec, WavWriter};
use leadhand::shell::sound::{self, SoundError};

fn clips() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/clips")
}

/// Half a second of 440 Hz at half scale, in all channels.
fn tone(path: &Path, spec: WavSpec) {
    let mut writer = WavWriter::create(path, spec).unwrap();
    for n in 0..spec.sample_rate / 2 {
        let value = 0.5 * (std::f64::consts::TAU * 440.0 * f64::from(n) / f64::from(spec.sample_rate)).sin();
        for _ in 0..spec.channels {
            match spec.sample_format {
                SampleFormat::Float => writer.write_sample(value as f32).unwrap(),
                SampleFormat::Int => {
                    let full = 2_f64.powi(i32::from(spec.bits_per_sample) - 1) - 1.0;
                    writer.write_sample((value * full) as i32).unwrap();
                }
            }
        }
    }
    writer.finalize().unwrap();
}

#[test]
fn wav_files_of_every_kind_give_the_same_sound() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("tone.wav");
    let formats = [
        (8, SampleFormat::Int),
        (16, SampleFormat::Int),
        (24, SampleFormat::Int),
        (32, SampleFormat::Int),
        (32, SampleFormat::Float),
    ];
    for (bits_per_sample, sample_format) in formats {
        for sample_rate in [8_000, 16_000, 22_050, 44_100, 48_000, 96_000] {
            for channels in [1, 2, 6] {
                let spec = WavSpec { channels, sample_rate, bits_per_sample, sample_format };
                tone(&path, spec);
                let samples = sound::read(&path).unwrap();
                assert!(samples.len().abs_diff(8_000) <= 1, "{spec:?}: {} samples", samples.len());
                let middle = &samples[2_000..6_000];
                let level = (middle.iter().map(|s| s * s).sum::<f32>() / middle.len() as f32).sqrt();
                assert!((level - 0.5 / 2_f32.sqrt()).abs() < 0.01, "{spec:?}: level {level}");
                let rises = middle.windows(2).filter(|w| w[0] < 0.0 && w[1] >= 0.0).count();
                assert!(rises.abs_diff(110) <= 1, "{spec:?}: {rises} rises");
            }
        }
    }
}

#[test]
fn what_is_no_sound_file_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    };
    let good = file("good.wav", b"");
    let spec =
        WavSpec { channels: 1, sample_rate: 16_000, bits_per_sample: 16, sample_format: SampleFormat::Int };
    tone(&good, spec);
    let bytes = std::fs::read(&good).unwrap();
    let mut none = bytes.clone();
    none[22..24].copy_from_slice(&0_u16.to_le_bytes()); // the channels
    for path in [
        file("empty.wav", b""),
        file("text.wav", b"seventy one ohms"),
        file("cut.wav", &bytes[..30]),
        file("short.wav", &bytes[..bytes.len() - 101]),
        file("silent.wav", &none),
        file("empty.flac", b""),
        file("text.flac", b"fLaC but not really"),
        folder.path().join("missing.wav"),
        folder.path().to_owned(),
    ] {
        let problem = sound::read(&path).expect_err("what is no sound is refused").to_string();
        assert!(problem.contains(&*path.file_name().unwrap().to_string_lossy()), "{problem}");
    }
    let slow = folder.path().join("slow.wav");
    tone(&slow, WavSpec { sample_rate: 1_000, ..spec });
    assert!(matches!(sound::read(&slow), Err(SoundError::Format { .. })));
    assert!(matches!(sound::read(&file("song.mp3", b"")), Err(SoundError::Ending { .. })));
    let cut = std::fs::read(clips().join("stop.flac")).unwrap();
    assert!(sound::read(&file("cut.flac", &cut[..cut.len() / 2])).is_err());
}

#[test]
fn what_is_written_is_read_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("again.wav");
    let samples = sound::read(&clips().join("stop.flac")).unwrap();
    sound::write(&path, &samples).unwrap();
    let again = sound::read(&path).unwrap();
    assert_eq!(samples.len(), again.len());
    assert!(samples.iter().zip(&again).all(|(a, b)| (a - b).abs() < 1e-4));
}

#[test]
fn utterances_are_found_in_a_long_sound() {
    use leadhand::hear::endpoint::Limits;
    use leadhand::hear::utterances;
    let samples = |name: &str| sound::read(&clips().join(name)).unwrap();
    let silence = |seconds: f32| vec![0.0; (seconds * 16_000.0) as usize];
    let (one, two) = (samples("l-to-h-71-ohms.flac"), samples("stop.flac"));
    let joined = [silence(2.0), one.clone(), silence(2.0), two, silence(2.0)].concat();
    let found = utterances(&joined, Limits::SHORT);
    assert_eq!(found.len(), 2, "{:?}", found.iter().map(|u| (u.begin, u.end)).collect::<Vec<_>>());
    // Pre-roll: it begins up to half a second before the clip; nothing of the clip is lost.
    let begin = found[0].begin.as_millis();
    assert!((1_400..=2_100).contains(&begin), "{begin}");
    assert!(found[0].end.as_millis() as usize >= 2_000 + one.len() / 16 - 300);
    assert!(utterances(&silence(5.0), Limits::SHORT).is_empty());
}

#[cfg(feature = "whisper")]
mod recognised {
    use std::sync::{LazyLock, Mutex};

    use leadhand::id::PointId;
    use leadhand::shell::ear::Ear;
    use leadhand::shell::sound;
    use leadhand::understand::heard::Heard;
    use leadhand::understand::situation::{Kind, Situation, SpokenPoint};
    use leadhand::understand::{open, typed};

    use super::clips;

    static EAR: LazyLock<Mutex<Ear>> = LazyLock::new(|| Mutex::new(Ear::open().unwrap()));

    fn situation(kind: Kind) -> Situation {
        let point = |letter: &str| SpokenPoint { point: PointId::from(letter), say: vec![letter.to_owned()] };
        Situation { kind, points: ["L", "N", "M", "H", "T", "V"].map(point).to_vec(), ..Situation::default() }
    }

    fn hear(samples: &[f32], kind: Kind) -> Heard {
        EAR.lock().unwrap_or_else(std::sync::PoisonError::into_inner).hear(samples, &situation(kind)).unwrap()
    }

    /// A clip means what its words mean when they are typed.
    fn check(name: &str, kind: Kind, words: &str) {
        let heard = hear(&sound::read(&clips().join(format!("{name}.flac"))).unwrap(), kind);
        let wanted = typed(&open(&situation(kind)), words).candidates.remove(0).intent;
        let best = heard.understood().unwrap_or_else(|| panic!("{name}: not understood: {heard:?}"));
        assert_eq!(best.intent, wanted, "{name}: {heard:?}");
        let sum: f32 = heard.candidates.iter().map(|c| c.probability).sum::<f32>() + heard.outside;
        assert!(sum <= 1.0 + 1e-3, "{name}: {sum}");
    }

    #[test]
    fn small_clips_mean_what_was_said() {
        check("l-to-h-71-ohms", Kind::Reading, "L to H, seventy one ohms");
        check("h-to-m-8.8-k", Kind::Reading, "H to M, eight point eight k");
        check("one-twenty-volts", Kind::Reading, "one twenty volts");
        check("no-fifteen-ohms", Kind::Confirm, "no, fifteen ohms");
        check("fifty-ohms", Kind::Reading, "fifty ohms");
        check("t-to-h-open-line", Kind::Reading, "T to H, open line");
        check("minus-eighteen", Kind::Reading, "minus eighteen degrees");
        check("what-do-you-expect", Kind::Reading, "what do you expect");
        check("stop", Kind::StopOnly, "stop stop");
        check("enter-digits", Kind::Digits, "two two nine three");
    }

    #[test]
    fn a_remark_a_reading_in_the_wrong_place_and_silence_are_nothing() {
        let clip = |name: &str| sound::read(&clips().join(name)).unwrap();
        for (name, samples, kind) in [
            ("remark", clip("remark.flac"), Kind::Reading),
            ("remark", clip("remark.flac"), Kind::YesNo),
            ("a reading where yes or no was asked", clip("fifty-ohms.flac"), Kind::YesNo),
            ("a reading while we speak", clip("l-to-h-71-ohms.flac"), Kind::StopOnly),
            ("silence", vec![0.0; 32_000], Kind::Acknowledge),
            ("one sample", vec![0.1], Kind::YesNo),
            ("no sample", Vec::new(), Kind::YesNo),
        ] {
            let heard = hear(&samples, kind);
            assert!(heard.understood().is_none(), "{name}: {heard:?}");
        }
    }

    #[test]
    fn a_name_that_the_weights_cannot_write_is_an_error() {
        let mut situation = situation(Kind::Reading);
        situation.points[0].say.push("carburettor".to_owned());
        let problem = EAR.lock().unwrap().hear(&vec![0.0; 16_000], &situation).unwrap_err().to_string();
        assert!(problem.contains("carburettor") && problem.contains('L'), "{problem}");
    }

    /// People's numbers from the CMU AN4 recordings (BSD-like licence), where the data are there.
    #[test]
    fn peoples_numbers_are_heard() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
        let places = ["../shared", "../../shared"].map(|up| root.join(up).join("data/speech"));
        let Some(folder) = places.into_iter().find(|folder| folder.is_dir()) else {
            println!("0 of 40 recordings checked: ../shared/data/speech is not there");
            return;
        };
        let manifest = std::fs::read_to_string(folder.join("manifest.tsv")).unwrap();
        let rows = manifest.lines().map(|line| line.split('\t').collect::<Vec<_>>());
        let numbers: Vec<_> = rows.filter(|row| row[0].starts_with("an4/") && row[3] == "number").collect();
        let automaton = open(&situation(Kind::Digits));
        let (mut exact, mut checked) = (0, 0);
        for row in numbers.iter().step_by(numbers.len().div_ceil(40)) {
            let heard = hear(&sound::read(&folder.join(row[0])).unwrap(), Kind::Digits);
            let wanted = typed(&automaton, row[1]).candidates.into_iter().next().map(|best| best.intent);
            checked += 1;
            exact += usize::from(heard.understood().map(|best| best.intent.clone()) == wanted);
        }
        println!("{exact} of {checked} recordings heard exactly");
        assert!(exact * 100 >= checked * 95, "{exact} of {checked}");
    }
}
