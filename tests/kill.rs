//! A job killed in the middle, and gone on with: nothing that was answered is lost.

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use leadhand::record::header::JobId;
use leadhand::shell::store::Store;

/// Starts the program on a record, with typed words.
fn start(store: &Path, args: &[&str]) -> Child {
    let mut program = Command::new(env!("CARGO_BIN_EXE_leadhand"));
    program.arg("type").args(args).arg("--store").arg(store).stdin(Stdio::piped()).stdout(Stdio::piped());
    program.spawn().expect("the program starts")
}

/// A program that waits for an answer that nobody types says nothing more.
const LONGEST_SILENCE: Duration = Duration::from_secs(60);

/// Types answers, and reads until the program has said something that contains `until`.
fn converse(child: &mut Child, answers: &[&str], until: &str) -> String {
    let mut stdin = child.stdin.take().expect("piped");
    let stdout = BufReader::new(child.stdout.take().expect("piped"));
    for answer in answers {
        writeln!(stdin, "{answer}").expect("typed");
    }
    stdin.flush().expect("typed");
    let (tell, lines) = mpsc::channel();
    thread::spawn(move || {
        for line in stdout.lines().map_while(Result::ok) {
            if tell.send(line).is_err() {
                break;
            }
        }
    });
    let mut printed = String::new();
    // Ends with the line waited for, with the program, or when it has said nothing for long.
    while !printed.contains(until)
        && let Ok(line) = lines.recv_timeout(LONGEST_SILENCE)
    {
        printed += &line;
        printed.push('\n');
    }
    child.stdin = Some(stdin);
    printed
}

const DEAD: [&str; 13] = [
    "yes",
    "done",
    "yes",
    "live and clear",
    "one twenty volts",
    "zero volts",
    "zero volts",
    "zero volts",
    "zero volts",
    "zero volts",
    "zero volts",
    "one twenty volts",
    "done",
];

#[test]
fn a_job_killed_in_the_middle_goes_on_with_nothing_lost() {
    let folder = tempfile::tempdir().expect("a folder");
    let store = folder.path().join("jobs.sqlite");
    let mut first = start(&store, &["dryer-240"]);
    let mut answers = vec!["no heat", "not sure", "not sure"];
    answers.extend(DEAD);
    answers.extend(["done", "zero ohms", "over limit"]);
    let printed = converse(&mut first, &answers, "That is open.");
    assert!(printed.contains("That is open."), "{printed}");
    first.kill().expect("killed");
    first.wait().expect("gone");

    let mut second = start(&store, &["--job", "1"]);
    let mut answers = DEAD.to_vec();
    answers.extend(["done", "over limit", "skip", "yes"]);
    let printed = converse(&mut second, &answers, "heating element is open");
    assert!(printed.contains("picked up again"), "{printed}");
    assert!(!printed.contains("What is wrong with it?"), "the complaint is known:\n{printed}");
    assert!(!printed.contains("Ohms: line one to element two"), "the reading is known:\n{printed}");
    assert!(printed.contains("Next is the wall outlet"), "the supply is not:\n{printed}");
    assert!(printed.contains("heating element is open"), "{printed}");
    second.kill().expect("killed");
    second.wait().expect("gone");
}

/// Kills a job that is being worked, at seeded random moments, and goes on with it: everything that was said is on
/// record, since it is kept before it is said. `LEADHAND_CRASH_ROUNDS` asks for more rounds.
#[test]
fn a_job_killed_again_and_again_has_kept_all_that_was_said() {
    let rounds: u64 = std::env::var("LEADHAND_CRASH_ROUNDS").map_or(10, |text| text.parse().unwrap());
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("jobs.sqlite");
    let (mut seed, mut said, mut resumed) = (0x5EED_u64, 0, 0);
    for round in 0..rounds {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let opened = path.exists() && Store::open(&path).unwrap().count().unwrap() > 0;
        let mut child = if opened { start(&path, &["--job", "1"]) } else { start(&path, &["dryer-240"]) };
        let mut stdin = child.stdin.take().expect("piped");
        for answer in [
            &["no heat", "not sure", "not sure"][..],
            &DEAD,
            &["done", "zero ohms", "over limit", "back", "skip", "status"],
        ]
        .concat()
        {
            // A program that is killed reads no more.
            let _ = writeln!(stdin, "{answer}");
        }
        let mut lines = BufReader::new(child.stdout.take().expect("piped")).lines().map_while(Result::ok);
        let mut printed: Vec<String> = lines.by_ref().take((seed >> 33 & 63) as usize).collect();
        for _ in 0..(seed >> 40 & 0xF_FFFF) {
            std::hint::spin_loop();
        }
        child.kill().expect("killed");
        child.wait().expect("gone");
        printed.extend(lines);
        resumed += u32::from(printed.iter().any(|line| line.contains("picked up again")));

        let store = Store::open(&path).unwrap();
        assert_eq!(store.verify().unwrap().breaks, [], "round {round}");
        let kept: BTreeSet<String> = match store.count().unwrap() {
            0 => BTreeSet::new(),
            _ => store.entries(JobId::new(1).unwrap()).unwrap().into_iter().filter_map(spoken).collect(),
        };
        for text in printed.iter().filter_map(|line| words(line)) {
            // The last line may have been cut at the end of a sentence.
            assert!(
                kept.iter().any(|whole| whole.starts_with(text)),
                "round {round}: said and not kept: {text}"
            );
            said += 1;
        }
    }
    println!(
        "{rounds} kills of a job at work: all {said} lines said are on record; picked up again {resumed} times"
    );
    assert!(said > 0 && resumed > 0);
}

fn spoken(entry: leadhand::record::entry::Entry) -> Option<String> {
    match entry.what {
        leadhand::record::entry::What::Said { text, .. } => Some(text),
        _ => None,
    }
}

/// What the program said in a printed line; a line that was cut within a sentence says nothing.
fn words(line: &str) -> Option<&str> {
    let (_, text) = line.split_once("leadhand   ").or_else(|| line.split_once("HAZARD     "))?;
    text.ends_with(['.', '?', '!']).then_some(text)
}
