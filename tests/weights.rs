//! The weights file: what is wrong with it is said before anything reads it.

use std::path::Path;

use leadhand::shell::weights::{Manifest, Weights, WeightsError};
use sha2::{Digest, Sha256};

/// A copy of the weights' folder, the two files changed.
fn changed(
    manifest: impl Fn(String) -> String,
    weights: impl Fn(Vec<u8>) -> Vec<u8>,
) -> (tempfile::TempDir, Result<Weights, WeightsError>) {
    let folder = tempfile::tempdir().unwrap();
    let from = Weights::folder();
    let text = std::fs::read_to_string(from.join("manifest.toml")).unwrap();
    let name = Manifest::read(&from).unwrap().file;
    let bytes = std::fs::read(from.join(&name)).unwrap();
    std::fs::write(folder.path().join("manifest.toml"), manifest(text)).unwrap();
    std::fs::write(folder.path().join(&name), weights(bytes)).unwrap();
    let loaded = Weights::load(folder.path());
    (folder, loaded)
}

/// The manifest with the fingerprint of these bytes.
fn fingerprinted(manifest: &str, bytes: &[u8]) -> String {
    let before = Manifest::read(&Weights::folder()).unwrap().sha256;
    let now: String = Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    manifest.replace(&before, &now)
}

fn check(result: (tempfile::TempDir, Result<Weights, WeightsError>), code: &str, says: &str) {
    use miette::Diagnostic;
    let problem = result.1.err().expect("a bad file is refused");
    assert_eq!(problem.code().unwrap().to_string(), code);
    let text = problem.to_string();
    assert!(text.contains(says), "{text:?} does not say {says:?}");
    assert!(!text.contains('\n') || code == "weights::manifest", "one sentence: {text}");
    assert!(problem.help().is_some_and(|help| !help.to_string().is_empty()), "what mends it");
}

#[test]
fn a_bad_weights_file_is_named_with_what_mends_it() {
    let same = |text: String| text;
    let keep = |bytes: Vec<u8>| bytes;
    assert!(changed(same, keep).1.is_ok());
    check(
        changed(same, |bytes| bytes[..1_000_000].to_vec()),
        "weights::cut",
        "has 1000000 of 20120928 bytes",
    );
    check(changed(same, |_| Vec::new()), "weights::cut", "has 0 of");
    let flip = |mut bytes: Vec<u8>| {
        bytes[12_345_678] ^= 1;
        bytes
    };
    check(changed(same, flip), "weights::wrong", "not the ones the manifest describes");
    let longer = |mut bytes: Vec<u8>| {
        bytes.push(0);
        bytes
    };
    check(changed(same, longer), "weights::wrong", "SHA-256");
    check(changed(|_| "file = 3".to_owned(), keep), "weights::manifest", "line 1");
    check(changed(|text| text.replace("size = ", "sise = "), keep), "weights::manifest", "sise");
}

#[test]
fn a_header_that_disagrees_with_the_manifest_is_refused() {
    // The fingerprint is right in each, so only the header can be wrong.
    let with = |place: usize, value: u32| {
        let change = move |mut bytes: Vec<u8>| {
            bytes[place..place + 4].copy_from_slice(&value.to_le_bytes());
            bytes
        };
        let from = Weights::folder();
        let name = Manifest::read(&from).unwrap().file;
        let bytes = change(std::fs::read(from.join(name)).unwrap());
        changed(move |text| fingerprinted(&text, &bytes), change)
    };
    check(with(0, 7), "weights::not_weights", "not a ggml weights file");
    check(with(4, 905), "weights::header", "has 905 tokens, its manifest says 906");
    // A window that does not fit the table of positions; a vocabulary that runs past the end.
    check(with(8, 499), "weights::not_weights", "not a ggml weights file");
    check(with(4 + 44 + 8 + 80 * 201 * 4 + 4, u32::MAX), "weights::not_weights", "not a ggml weights file");
}

#[test]
fn a_missing_file_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let none = Weights::load(folder.path());
    check((tempfile::tempdir().unwrap(), none), "weights::missing", "manifest.toml");
    std::fs::copy(Weights::folder().join("manifest.toml"), folder.path().join("manifest.toml")).unwrap();
    let none = Weights::load(folder.path());
    check((folder, none), "weights::missing", ".bin");
    assert!(matches!(Weights::load(Path::new("nowhere")), Err(WeightsError::Missing { .. })));
}

#[test]
fn a_shorter_window_changes_the_header_and_the_table_of_positions_alone() {
    let weights = Weights::load(&Weights::folder()).unwrap();
    let whole = weights.cut_to(500);
    for frames in [128_u32, 176, 224, 320] {
        let cut = weights.cut_to(frames);
        // A row of the table is 384 numbers of four bytes.
        assert_eq!(whole.len() - cut.len(), (500 - frames as usize) * 384 * 4);
        assert_eq!(cut[8..12], frames.to_le_bytes());
        assert_eq!(cut[..8], whole[..8]);
        assert_eq!(cut[cut.len() - 1_000_000..], whole[whole.len() - 1_000_000..]);
    }
    assert_eq!(weights.cut_to(9_999), whole, "no window is longer than the weights'");
}

#[test]
fn the_window_leaves_silence_after_the_utterance() {
    let manifest = Manifest::read(&Weights::folder()).unwrap();
    // 20 ms are 320 samples; 15 frames of silence follow.
    for (frames, window) in
        [(1, 128), (113, 128), (114, 176), (161, 176), (162, 224), (210, 320), (306, 500), (900, 500)]
    {
        assert_eq!(manifest.window_for(frames * 320), window, "{frames} frames");
    }
}

#[test]
fn every_word_is_spelled_by_its_tokens() {
    let manifest = Manifest::read(&Weights::folder()).unwrap();
    assert!(manifest.words().count() > 800);
    for word in manifest.words() {
        assert_eq!(manifest.text(manifest.spelling(word).unwrap()), word);
    }
    assert_eq!(manifest.text(manifest.spelling(",").unwrap()), ",");
    for unknown in ["", "carburettor", "71", "l", "Seventy"] {
        assert_eq!(manifest.spelling(unknown), None, "{unknown}");
    }
}
