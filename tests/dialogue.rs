//! Whole jobs by typed words: every phase, the anytime words, corrections and refusals, each with its negative.

use crate::world::World;

fn remedy(appliance: &str, complaint: &str, fault: Option<&str>) -> Vec<String> {
    World::new(appliance, complaint, fault).work().advised()
}

#[test]
fn a_whole_job_on_the_dryer() {
    let world = World::new("dryer-240", "no heat", Some("element-open")).work();
    insta::assert_snapshot!(world.transcript());
    assert_eq!(world.advised(), ["replace-element"]);
}
