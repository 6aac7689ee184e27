//! Leadhand: a local, voice-driven, hands-busy assistant for the household-appliance repair technician.
//!
//! The modules stand in the order a spoken sentence travels. Everything is pure (no clock, thread, file,
//! device, environment or terminal) except [`shell`].

// Leaves: they use nothing of ours.
pub mod hazard;
pub mod id;
pub mod money;
pub mod quantity;
pub mod reading;
pub mod time;

// Samples to utterances: frames, voice activity, where an utterance begins and ends.
pub mod hear;

// Speech grammars to automata; words and tags to what was meant.
pub mod understand;

// What proves a circuit dead, what spoils the proof, and the permits without which no risky prompt can be built.
pub mod safety;

// What a meter would show between two points of a circuit, in a state, under a fault.
pub mod circuit;

// Appliance models: from a file to facts that cannot be wrong.
pub mod model;

// From readings to belief over faults, to the next check, to the remedy.
pub mod diagnose;

// Every sentence as a value, and the words for it.
pub mod say;

// The job as an append-only list of entries, and the report folded from it.
pub mod record;

// The conversation: one input in, one step out.
pub mod dialogue;

// What a technician sees from two metres: a value, and its page.
pub mod screen;

// Pretend jobs on machines whose fault is known: how good the diagnosis is.
pub mod simulate;

// The door: clocks, threads, files, devices.
#[allow(clippy::disallowed_methods, clippy::disallowed_types, clippy::print_stdout, clippy::print_stderr)]
pub mod shell;
