//! All integration tests, in one binary.

// The wall stands around `src`; tests look at it from outside, with files, programs and printed counts.
#![allow(clippy::disallowed_methods, clippy::disallowed_types, clippy::print_stdout, clippy::print_stderr)]
#![allow(clippy::unwrap_used, clippy::struct_excessive_bools, clippy::type_complexity)]
#![allow(clippy::format_push_string, clippy::format_collect, clippy::semicolon_if_nothing_returned)]

mod asides;
mod bench_figures;
mod circuits;
mod diagnosis;
mod dialogue;
mod faults;
mod fuzz;
mod grammars;
mod hearing;
mod interlock;
mod interview;
mod kill;
mod ladder;
mod learning;
mod listening;
mod models;
mod numbers;
mod papers;
mod prompts;
#[cfg(all(feature = "whisper", feature = "audio"))]
mod ready;
mod records;
mod region;
#[cfg(feature = "whisper")]
mod replay;
mod screen;
mod shop;
mod simulation;
mod store;
mod sync;
mod tidy;
mod transcripts;
mod voice;
mod weights;
mod whole_job;
mod world;
