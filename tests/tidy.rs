//! The house rules that neither the compiler nor the linter checks, read off the tree itself.
#![allow(clippy::disallowed_methods, reason = "it reads the tree, which is files")]

use std::collections::BTreeSet;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Leaves, which everything may use.
const LEAVES: [&str; 6] = ["time", "id", "quantity", "reading", "money", "hazard"];

/// Which module may use which others, beside the leaves. The shell may use all and is used by none.
const ARROWS: [(&str, &[&str]); 11] = [
    ("hear", &[]),
    ("understand", &[]),
    ("circuit", &[]),
    ("safety", &[]),
    ("model", &["circuit"]),
    ("diagnose", &["circuit", "model"]),
    ("say", &["hear", "understand", "circuit", "safety", "model", "diagnose"]),
    ("record", &["hear", "understand", "circuit", "safety", "model", "diagnose"]),
    ("dialogue", &["hear", "understand", "circuit", "safety", "model", "diagnose", "say", "record"]),
    ("screen", &["understand", "circuit", "safety", "model", "diagnose", "say", "record", "dialogue"]),
    ("simulate", &["understand", "circuit", "model", "diagnose", "say", "record", "dialogue"]),
];

/// A leaf uses no other, but for a reading, which is a quantity or none.
const LEAF_ARROWS: [(&str, &str); 1] = [("reading", "quantity")];

const LONGEST_FILE: usize = 500;
const LONGEST_MEDIAN: usize = 120;
const LONGEST_FUNCTION: usize = 60;

/// Names that say nothing about what a file holds.
const EMPTY_NAMES: [&str; 8] = ["util", "utils", "helper", "helpers", "manager", "common", "misc", "mod"];

/// What must not stand in code. This file names them, so it is not read.
const FORBIDDEN: [&str; 5] = ["dbg!(", "todo!(", "unimplemented!(", "#[ignore", "thread::sleep("];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A file of the tree: its path from the root with `/`, and its text.
struct File {
    path: String,
    text: String,
}

/// Every text file of the project below a folder, in order; what is built or generated is left out.
fn files(below: &str) -> Vec<File> {
    const SKIPPED: [&str; 5] = ["target", "demo", ".git", ".venv", "node_modules"];
    // A folder that is not there holds no files.
    let mut folders: Vec<PathBuf> = Some(root().join(below)).into_iter().filter(|f| f.is_dir()).collect();
    let mut paths: Vec<PathBuf> = Vec::new();
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).expect("a folder of the project can be listed") {
            let entry = entry.expect("an entry of a folder can be read");
            let kind = entry.file_type().expect("an entry has a kind");
            let skipped = SKIPPED.iter().any(|&name| entry.file_name() == name);
            if kind.is_dir() && !skipped {
                folders.push(entry.path());
            } else if kind.is_file() && !skipped {
                paths.push(entry.path());
            }
        }
    }
    paths.sort();
    // What is not UTF-8 is no text: weights, sound.
    let read = |path: PathBuf| {
        let text = String::from_utf8(fs::read(&path).ok()?).ok()?;
        let path = path.strip_prefix(root()).ok()?.to_str()?.replace('\\', "/");
        Some(File { path, text })
    };
    paths.into_iter().filter_map(read).collect()
}

fn rust_files(below: &str) -> Vec<File> {
    files(below)
        .into_iter()
        .filter(|file| Path::new(&file.path).extension().is_some_and(|e| e == "rs"))
        .collect()
}

fn read(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// Fails with all problems at once.
fn none(problems: &[String]) {
    assert!(problems.is_empty(), "\n{}", problems.join("\n"));
}

/// The top module that a file of `src/` belongs to.
fn module(path: &str) -> &str {
    let first = path.trim_start_matches("src/").split('/').next().unwrap_or_default();
    first.trim_end_matches(".rs")
}

/// The modules that code names after `crate::`, with the lines where it does. Comments are not code.
fn uses(text: &str) -> Vec<(usize, String)> {
    let code: Vec<&str> = text.lines().map(|line| line.split("//").next().unwrap_or_default()).collect();
    let code = code.join("\n");
    let mut found = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        if code[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == '$') {
            continue;
        }
        let line = code[..at].matches('\n').count() + 1;
        let after = &code[at + "crate::".len()..];
        found.extend(first_names(after).into_iter().map(|name| (line, name)));
    }
    found
}

/// The first name of a path, or of each path in braces.
fn first_names(path: &str) -> Vec<String> {
    let name = |s: &str| -> String {
        s.trim_start().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect()
    };
    let Some(inside) = path.strip_prefix('{') else { return vec![name(path)] };
    let mut depth = 0;
    let mut parts = vec![String::new()];
    for c in inside.chars() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => break,
            '}' => depth -= 1,
            ',' if depth == 0 => parts.push(String::new()),
            _ => parts.last_mut().expect("there is one part at least").push(c),
        }
    }
    parts.iter().map(|part| name(part)).filter(|name| !name.is_empty()).collect()
}

/// Whether a module may use another.
fn may_use(from: &str, to: &str) -> bool {
    if from == to || from == "shell" {
        return true;
    }
    if LEAVES.contains(&from) {
        return LEAF_ARROWS.contains(&(from, to));
    }
    LEAVES.contains(&to) || ARROWS.iter().any(|(module, others)| *module == from && others.contains(&to))
}

#[test]
fn modules_use_only_whom_they_may() {
    let mut problems = Vec::new();
    for File { path, text } in rust_files("src") {
        let from = module(&path);
        if from == "lib" || from == "main" {
            continue;
        }
        for (line, to) in uses(&text) {
            if !may_use(from, &to) {
                problems.push(format!("{path}:{line}: `{from}` may not use `{to}`"));
            }
        }
    }
    none(&problems);
}

#[test]
fn an_arrow_is_seen_in_every_form() {
    for (text, wanted) in [
        ("use crate::id::PartId;", vec![(1, "id")]),
        (
            "\nuse crate::{id::PartId, reading::{Reading, Value}, time};",
            vec![(2, "id"), (2, "reading"), (2, "time")],
        ),
        ("let x = crate::time::Timestamp::ZERO;", vec![(1, "time")]),
        ("pub(crate) use super::x; // crate::shell", vec![]),
        ("//! See [`crate::shell`].", vec![]),
        ("use mycrate::shell;", vec![]),
    ] {
        let found = uses(text);
        let found: Vec<(usize, &str)> = found.iter().map(|(line, name)| (*line, name.as_str())).collect();
        assert_eq!(found, wanted, "{text}");
    }
    for (from, to, wanted) in [
        ("model", "circuit", true),
        ("circuit", "model", false),
        ("hear", "time", true),
        ("time", "id", false),
        ("reading", "quantity", true),
        ("quantity", "reading", false),
        ("dialogue", "shell", false),
        ("shell", "dialogue", true),
        ("say", "record", false),
        ("novel", "circuit", false),
    ] {
        assert_eq!(may_use(from, to), wanted, "{from} to {to}");
    }
}

/// Lines before the tests of a file.
fn lines_before_tests(text: &str) -> usize {
    text.lines().take_while(|line| *line != "#[cfg(test)]").count()
}

#[test]
fn files_are_short_and_say_what_they_own() {
    let mut problems = Vec::new();
    let mut sizes = Vec::new();
    for File { path, text } in rust_files("src") {
        let lines = lines_before_tests(&text);
        if lines > LONGEST_FILE {
            problems.push(format!("{path}: {lines} lines before its tests; {LONGEST_FILE} are the most"));
        }
        if !text.starts_with("//! ") {
            problems.push(format!("{path}: does not open with `//!` and what it owns"));
        }
        sizes.push((lines, path));
    }
    sizes.sort();
    let median = sizes[sizes.len() / 2].0;
    let (longest, where_) = &sizes[sizes.len() - 1];
    // Straight to the terminal: the test harness hides what passing tests print.
    writeln!(
        std::io::stderr(),
        "tidy: {} source files, median {median} lines before tests, longest {longest} ({where_})",
        sizes.len()
    )
    .expect("stderr can be written");
    if median > LONGEST_MEDIAN {
        problems.push(format!("the median file has {median} lines; {LONGEST_MEDIAN} are the most"));
    }
    none(&problems);
}

/// The functions longer than the limit: the line where each begins, and its length. Reads code as rustfmt lays it.
fn long_functions(text: &str) -> Vec<(usize, usize)> {
    let lines: Vec<&str> = text.lines().collect();
    let indent = |line: &str| line.len() - line.trim_start().len();
    let begins = |line: &str| {
        let words: Vec<&str> = line.split_whitespace().collect();
        let before = |w: &&&str| w.starts_with("pub") || ["const", "async"].contains(*w);
        words.iter().find(|w| !before(w)) == Some(&"fn") && !line.ends_with(';')
    };
    let mut found = Vec::new();
    for (at, line) in lines.iter().enumerate().filter(|(_, line)| begins(line)) {
        let closing = |l: &&str| indent(l) == indent(line) && l.trim_start().starts_with('}');
        let one_line = line.ends_with('}');
        let length = lines[at..].iter().position(|l| one_line || closing(l)).unwrap_or(0) + 1;
        if length > LONGEST_FUNCTION {
            found.push((at + 1, length));
        }
    }
    found
}

#[test]
fn functions_are_short() {
    let mut problems = Vec::new();
    for File { path, text } in rust_files("src") {
        // A table of sentences is as long as there are sentences.
        if path == "src/say/wording.rs" {
            continue;
        }
        for (line, length) in long_functions(&text) {
            problems.push(format!(
                "{path}:{line}: a function of {length} lines; {LONGEST_FUNCTION} are the most"
            ));
        }
    }
    none(&problems);
}

#[test]
fn a_long_function_is_seen() {
    let body = |lines| "        x();\n".repeat(lines);
    for (text, wanted) in [
        (format!("impl A {{\n    pub fn f() {{\n{}    }}\n}}\n", body(58)), vec![]),
        (format!("impl A {{\n    pub fn f() {{\n{}    }}\n}}\n", body(59)), vec![(2, 61)]),
        (
            format!(
                "trait A {{\n    fn f();\n    fn g() {{ x() }}\n}}\nconst A: &[u8] = {{\n{}}};\n",
                body(70)
            ),
            vec![],
        ),
    ] {
        assert_eq!(long_functions(&text), wanted, "{text}");
    }
}

#[test]
fn names_say_something_and_nothing_is_left_half_done() {
    let mut problems = Vec::new();
    for File { path, text } in
        rust_files("src").into_iter().chain(rust_files("tests")).chain(rust_files("benches"))
    {
        let stem = Path::new(&path).file_stem().and_then(|stem| stem.to_str()).unwrap_or_default();
        if EMPTY_NAMES.contains(&stem) {
            problems.push(format!("{path}: \"{stem}\" does not say what the file holds"));
        }
        if path == "tests/tidy.rs" {
            continue;
        }
        for (number, line) in text.lines().enumerate() {
            for word in FORBIDDEN.iter().filter(|word| line.contains(**word)) {
                problems.push(format!("{path}:{}: `{word}`", number + 1));
            }
        }
    }
    none(&problems);
}

/// Whether a line names a folder of somebody's machine.
fn names_a_home(line: &str) -> bool {
    // Written in two parts, so that this file does not name them.
    [concat!("/ho", "me/"), concat!("/wo", "rk/"), concat!("/ro", "ot/"), concat!("/Us", "ers/")].iter().any(
        |home| {
            line.match_indices(home).any(|(at, _)| {
                !line[..at].ends_with(|c: char| {
                    c.is_alphanumeric() || matches!(c, '.' | '_' | '-' | '~' | '}' | ')')
                })
            })
        },
    )
}

#[test]
fn no_file_names_a_folder_of_one_machine() {
    let mut problems = Vec::new();
    for File { path, text } in files("") {
        for (number, _) in text.lines().enumerate().filter(|(_, line)| names_a_home(line)) {
            problems.push(format!("{path}:{}: a path of one machine", number + 1));
        }
    }
    none(&problems);
    let named = concat!("see /ho", "me/ann/x");
    assert!(names_a_home(named));
    for free in ["https://example.org/home/x", "../work/x", "at home/work"] {
        assert!(!names_a_home(free), "{free}");
    }
}

#[test]
fn every_test_file_is_run() {
    let main = read("tests/main.rs");
    let missing = |file: &File| {
        let name = file.path.strip_prefix("tests/")?.strip_suffix(".rs")?;
        // A folder belongs to the file of its name.
        let unnamed =
            !name.contains('/') && name != "main" && !main.lines().any(|l| l == format!("mod {name};"));
        unnamed.then(|| format!("{}: is not named in tests/main.rs", file.path))
    };
    none(&rust_files("tests").iter().filter_map(missing).collect::<Vec<_>>());
}

#[test]
fn every_dependency_has_a_reason() {
    let mut problems = Vec::new();
    let mut inside = false;
    for (number, line) in read("Cargo.toml").lines().enumerate() {
        if line.starts_with('[') {
            inside = line.ends_with("dependencies]");
        } else if inside && line.contains(" = ") && !line.contains(" # ") {
            problems.push(format!("Cargo.toml:{}: no reason stands beside the dependency", number + 1));
        }
    }
    none(&problems);
}

/// The targets that a page tells the reader to make.
fn made(page: &str) -> BTreeSet<&str> {
    page.match_indices("make ")
        .filter(|(at, _)| {
            *at == 0 || page[..*at].ends_with(['`', '\n', '$', '\t']) || page[..*at].ends_with("    ")
        })
        .filter_map(|(at, _)| page[at + 5..].split(|c: char| !(c.is_ascii_alphanumeric() || c == '-')).next())
        .filter(|target| !target.is_empty())
        .collect()
}

#[test]
fn what_a_page_says_to_make_is_found() {
    let page = "Run `make demo`, then:\n\n    make test\n\nWe make coffee. $make x";
    assert_eq!(made(page), BTreeSet::from(["demo", "test", "x"]));
}

#[test]
fn the_pages_agree_with_the_tree() {
    let makefile = read("Makefile");
    let is_target = |name: &str| makefile.lines().any(|line| line.starts_with(&format!("{name}:")));
    let readme = read("README.md");
    let targets = made(&readme);
    let mut problems = Vec::new();
    for command in ["demo", "test"] {
        if !targets.contains(command) {
            problems.push(format!("README.md: does not mention `make {command}`"));
        }
    }
    for target in targets.iter().filter(|target| !is_target(target)) {
        problems.push(format!("README.md: `make {target}` is no target of the Makefile"));
    }
    let changes = read("CHANGELOG.md");
    let top = changes.lines().find(|line| line.starts_with("## ")).unwrap_or("nothing");
    if !top.contains(env!("CARGO_PKG_VERSION")) {
        problems.push(format!(
            "CHANGELOG.md: opens with \"{top}\", Cargo.toml with {}",
            env!("CARGO_PKG_VERSION")
        ));
    }
    none(&problems);
}
