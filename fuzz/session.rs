//! A session under whatever bytes mean: no panic, nothing unbounded, and a record from which the same session comes back.
//!
//! The first byte says on which machine; every six after it are one input, as `tests/fuzz/conversation.rs` reads them.

#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;

#[path = "../tests/fuzz/conversation.rs"]
mod conversation;

use conversation::{Machine, conversation, drawn};

/// Small ones most of the time: a large one takes a thousand times as long.
static MACHINES: LazyLock<[Machine; 3]> =
    LazyLock::new(|| [Machine::lamp(), Machine::chime(), Machine::shipped("ice-maker-modular")]);

fuzz_target!(|bytes: &[u8]| {
    let Some((which, rest)) = bytes.split_first() else { return };
    let machine = match which {
        255 => 2,
        which => usize::from(which % 2),
    };
    conversation(&MACHINES[machine], &drawn(rest));
});
