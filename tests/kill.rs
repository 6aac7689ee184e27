//! A job killed in the middle, and gone on with: nothing that was answered is lost.

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// Starts the program on a record, with typed words.
fn start(store: &Path, args: &[&str]) -> Child {
    let mut program = Command::new(env!("CARGO_BIN_EXE_leadhand"));
    program.arg("type").args(args).arg("--store").arg(store).stdin(Stdio::piped()).stdout(Stdio::piped());
    program.spawn().expect("the program starts")
}

/// Types answers, and reads until the program has said something that contains `until`.
fn converse(child: &mut Child, answers: &[&str], until: &str) -> String {
    let mut stdin = child.stdin.take().expect("piped");
    let mut stdout = BufReader::new(child.stdout.take().expect("piped"));
    for answer in answers {
        writeln!(stdin, "{answer}").expect("typed");
    }
    stdin.flush().expect("typed");
    let mut printed = String::new();
    // Ends with the line waited for, or with the program.
    while !printed.contains(until) && stdout.read_line(&mut printed).expect("read") > 0 {}
    child.stdin = Some(stdin);
    printed
}

const DEAD: [&str; 12] = [
    "yes",
    "done",
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
    let mut answers = vec!["no heat"];
    answers.extend(DEAD);
    answers.extend(["done", "over limit"]);
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
