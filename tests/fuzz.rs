//! Whatever comes, in whatever order, with whatever probability: no panic, nothing unbounded, and a record from which the
//! same session comes back. `make fuzz` does the same with ten million inputs, and then as the
//! coverage leads (`fuzz/`).

mod conversation;

use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

use conversation::{Drawn, LONGEST, Machine, conversation};

/// Inputs in all where nothing else is asked for.
const USUAL: usize = 20_000;

#[test]
fn whatever_comes_is_borne_and_the_record_brings_it_back() {
    let wanted = std::env::var("LEADHAND_FUZZ_INPUTS").ok();
    let wanted: usize = wanted.map_or(USUAL, |text| text.parse().expect("a number of inputs"));
    // Most inputs go to machines that are worked out quickly.
    let machines = [
        (Machine::lamp(), 48),
        (Machine::chime(), 48),
        (Machine::shipped("ice-maker-modular"), 3),
        (Machine::shipped("washer"), 1),
    ];
    let drawn = prop::collection::vec(any::<Drawn>(), 1..LONGEST);
    for (machine, share) in &machines {
        let cases = (wanted * share / 100 / (LONGEST / 2)).max(1);
        let mut runner =
            TestRunner::new(Config { cases: cases as u32, failure_persistence: None, ..Config::default() });
        runner
            .run(&drawn, |drawn| {
                conversation(machine, &drawn);
                Ok(())
            })
            .unwrap_or_else(|why| panic!("{}: {why}", machine.appliance.id));
        println!("fuzz, {}: {cases} conversations of up to {LONGEST} inputs", machine.appliance.id);
    }
}
