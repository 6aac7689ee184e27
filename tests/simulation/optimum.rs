//! Our planner against the exact optimum, on every complaint cut down to the checks that tell most.

use std::sync::Arc;

use leadhand::diagnose::plan;
use leadhand::model;
use leadhand::simulate::optimum::{self, Bound};
use leadhand::simulate::policy::{OTHERS, Ours};
use leadhand::simulate::round::{Conditions, Round};

#[test]
fn within_five_per_cent_of_the_optimum() {
    let (mut ours, mut least, mut count) = (0.0, 0.0, 0);
    for (machine, _) in model::shipped() {
        let round = Round::new(&Arc::new(model::by_name(machine).unwrap()), Conditions::clean(1));
        for case in round.cases() {
            let bound = Bound::of(case);
            assert!(bound.checks.0 >= 4, "{machine}: {bound:?}");
            assert!(
                bound.least <= bound.ours + 1e-6,
                "nothing is better than the best: {machine}: {bound:?}"
            );
            (ours, least, count) = (ours + bound.ours, least + bound.least, count + 1);
        }
    }
    println!(
        "{count} complaints: ours {:.1}, optimum {:.1}",
        ours / f64::from(count),
        least / f64::from(count)
    );
    assert!(ours <= 1.05 * least, "{ours} against {least}");
}

/// The optimum is below every other policy too, and below mending by trying alone.
#[test]
fn nothing_is_better_than_the_best() {
    let round = Round::new(&Arc::new(model::by_name("microwave").unwrap()), Conditions::clean(1));
    for case in round.cases() {
        let small = optimum::small(case.diagnosis.trouble());
        let least = optimum::least(&small);
        for policy in OTHERS {
            let cost = optimum::of(policy, &small);
            assert!(least <= cost + 1e-6, "{}: {least} against {cost}", policy.name());
            assert!(optimum::of(&Ours, &small) < cost + 1e-6, "{}", policy.name());
        }
        let nothing = leadhand::diagnose::trouble::Trouble { questions: vec![], ..small.clone() };
        let trying = plan::cost_to_repair(&nothing, &nothing.prior);
        assert!((optimum::of(&Ours, &nothing) - optimum::least(&nothing)).abs() < 1e-9);
        assert!(least < trying);
    }
}
