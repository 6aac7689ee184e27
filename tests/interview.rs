//! What the customer tells: asked only where it tells something and is not known, kept, and weighed in the belief.

use std::collections::BTreeSet;
use std::sync::Arc;

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::history::Told;
use leadhand::diagnose::hypothesis::Hypothesis;
use leadhand::dialogue::{Input, Session};
use leadhand::model;
use leadhand::model::appliance::Appliance;
use leadhand::record::entry::{Entry, What};
use leadhand::record::job::Job;
use leadhand::shell::conversation::Conversation;
use leadhand::time::Timestamp;
use leadhand::understand::{open, typed, vocabulary};

use crate::world::World;

fn dryer() -> Appliance {
    model::by_name("dryer-240").expect("shipped")
}

fn before(told: &[Told]) -> Diagnosis {
    let dryer = dryer();
    let fresh = Diagnosis::new(&dryer, &"no-heat".into());
    told.iter().fold(fresh, |diagnosis, told| diagnosis.told(&dryer, told))
}

fn probability(diagnosis: &Diagnosis, cause: &str) -> f64 {
    let trouble = diagnosis.trouble();
    let causes = trouble.hypotheses.iter().zip(&trouble.prior);
    causes.filter(|(known, _)| **known == Hypothesis::named(cause)).map(|(_, p)| p).sum()
}

#[test]
fn what_comes_and_goes_points_to_contacts_that_waver() {
    let of = |told: &[Told], cause| probability(&before(told), cause);
    let [yes, no, unsure] = [Some(true), Some(false), None].map(|recurs| [Told::Recurs(recurs)]);
    assert!(of(&yes, "block-burnt") > 3.0 * of(&[], "block-burnt"));
    assert!(of(&no, "block-burnt") < 0.6 * of(&[], "block-burnt"));
    assert!(of(&yes, "element-open") < of(&[], "element-open"));
    assert!(of(&no, "element-open") > of(&[], "element-open"));
    assert_eq!(of(&unsure, "block-burnt"), of(&[], "block-burnt"));
    for told in [&yes, &no, &unsure] {
        let total: f64 = before(told).trouble().prior.iter().sum();
        assert!((total - 1.0).abs() < 1e-9);
    }
}

#[test]
fn a_part_that_was_replaced_is_hardly_the_cause_but_what_broke_it_still_may_be() {
    let replaced = |part: &str| [Told::Replaced(Some(part.into()))];
    let element = before(&replaced("element"));
    assert!(probability(&element, "element-open") < 0.2 * probability(&before(&[]), "element-open"));
    assert!(probability(&element, "thermostat-open") > probability(&before(&[]), "thermostat-open"));
    // A cutoff that a blocked vent blew is blown again by it.
    let dryer = dryer();
    let cutoff = dryer.faults.iter().find(|fault| !fault.brought_by.is_empty()).expect("one has a cause");
    let behind = cutoff.brought_by.keys().next().expect("a cause");
    let both = format!("{}+{behind}", cutoff.id);
    let (fresh, told) = (before(&[]), before(&replaced(cutoff.part.as_str())));
    assert!(probability(&told, cutoff.id.as_str()) < 0.2 * probability(&fresh, cutoff.id.as_str()));
    assert!(probability(&told, &both) > probability(&fresh, &both));
    // Nothing that this machine has, and nothing at all, changes nothing.
    for told in [Told::Replaced(Some("sprocket".into())), Told::Replaced(None)] {
        assert_eq!(before(&[told]).trouble().prior, before(&[]).trouble().prior);
    }
}

#[test]
fn the_order_of_what_is_told_does_not_matter_and_a_plate_does_not_lose_it() {
    let (recurs, replaced) = (Told::Recurs(Some(true)), Told::Replaced(Some("element".into())));
    let (one, other) = (before(&[recurs.clone(), replaced.clone()]), before(&[replaced, recurs]));
    for (a, b) in one.trouble().prior.iter().zip(&other.trouble().prior) {
        assert!((a - b).abs() < 1e-12);
    }
    let rated = one.on(&dryer(), &"no-heat".into());
    assert_eq!(rated.trouble().prior, one.trouble().prior);
}

#[test]
fn what_is_told_is_kept_and_comes_back() {
    let mut world = World::new("dryer-240", "no heat", Some("element-open"))
        .says("recurs", &["yes"])
        .says("replaced", &["timer"])
        .says("that-part", &["yes"]);
    world.work_while(|listening| listening.topic != "meter").expect("asked");
    let told = Job::fold(world.entries()).told;
    assert_eq!(told, [Told::Recurs(Some(true)), Told::Replaced(Some("timer".into()))]);
    let memory = world.session_of(&Job::fold(world.entries())).memory();
    assert!(memory.contains("Recurs(Some(true))") && memory.contains("timer"), "{memory}");
    world.restart();
    assert!(!world.transcript().contains("picked up again. Treat everything as energised.\n< Does it come"));
}

/// What was typed beside the job is not asked.
#[test]
fn what_is_known_is_not_asked() {
    let at = Timestamp::ZERO;
    let known = |told: &[Told]| {
        let told = told.iter().map(|told| What::Told { told: told.clone() });
        let job = [
            What::Machine { appliance: "dryer-240".into() },
            What::Complained { complaint: "no-heat".into() },
        ];
        let entries: Vec<Entry> = job.into_iter().chain(told).map(|what| Entry { at, what }).collect();
        let shelf = vec![Arc::new(dryer())].into();
        let session = Session::resume(shelf, &Job::fold(&entries)).expect("on the shelf");
        World::going_on("dryer-240", session, entries).begin().topic
    };
    assert_eq!(known(&[]), "recurs");
    assert_eq!(known(&[Told::Recurs(Some(false))]), "replaced");
    assert_eq!(known(&[Told::Replaced(None)]), "recurs");
    assert_eq!(known(&[Told::Recurs(None), Told::Replaced(Some("timer".into()))]), "meter");
}

/// Machine, complaint and how it goes, in as many breaths as one likes.
#[test]
fn an_opening_sentence_may_say_more_than_was_asked() {
    let shelf: Arc<[Arc<Appliance>]> =
        ["dryer-240", "washer"].map(|name| Arc::new(model::by_name(name).expect("shipped"))).into();
    let asked = |words: &[&str]| {
        let mut conversation = Conversation::new(Session::new(Arc::clone(&shelf), None), Vec::new());
        let mut at = conversation.turn(Timestamp::ZERO, Input::Start).listening.expect("asked");
        for words in words {
            let heard = typed(&open(&at.situation), words);
            at = conversation.turn(Timestamp::ZERO, Input::Heard(heard)).listening.expect("asked");
        }
        at.topic
    };
    assert_eq!(asked(&["washer"]), "complaint");
    assert_eq!(asked(&["washer, standing water"]), "replaced");
    assert_eq!(asked(&["washer", "standing water"]), "replaced");
    assert_eq!(asked(&["electric dryer, no heat"]), "recurs");
    assert_eq!(asked(&["electric dryer", "sometimes no heat"]), "replaced");
    assert_eq!(asked(&["electric dryer", "no heat, always"]), "replaced");
    // What this machine does not do is asked for.
    assert_eq!(asked(&["electric dryer, standing water"]), "complaint");
    assert_eq!(asked(&["standing water"]), "machine");
    assert_eq!(asked(&["electric dryer", "sometimes"]), "complaint");
}

/// Every part that is offered can be said, and nothing is asked that tells nothing.
#[test]
fn every_complaint_of_every_machine_has_a_short_interview() {
    let (mut questions, mut complaints) = (BTreeSet::new(), 0);
    for (machine, _) in model::shipped() {
        let appliance = model::by_name(machine).expect("shipped");
        for complaint in &appliance.complaints {
            complaints += 1;
            let mut world = World::new(machine, &complaint.say[0], None);
            let mut topics = Vec::new();
            let at = world.work_while(|listening| {
                let all = listening.situation.choices.iter().chain(&listening.situation.with);
                for say in all.flat_map(|choice| &choice.say) {
                    assert!(vocabulary::knows(say), "{machine}: {say}");
                }
                listening.topic != "meter"
            });
            assert_eq!(at.expect("goes on").topic, "meter");
            for line in world.transcript().lines().filter(|line| line.ends_with('?')) {
                topics.push(line.to_owned());
            }
            let wavers = |f: &leadhand::model::appliance::Fault| {
                f.weight.contains_key(&complaint.id) && f.wavers > 0.0
            };
            let recurs = topics.iter().any(|line| line.ends_with(" Does it come and go?"));
            assert_eq!(recurs, appliance.faults.iter().any(wavers), "{machine}: {}", complaint.id);
            assert!(topics.len() <= 3, "{machine}: {topics:?}");
            questions.extend(topics);
        }
    }
    println!("interviews: {complaints} complaints");
    assert!(questions.iter().any(|asked| asked.ends_with(" Was a part replaced for this already?")));
}
