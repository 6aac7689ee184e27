//! Whole jobs by typed words: every phase, the anytime words, corrections and refusals, each with its negative.

use leadhand::dialogue::{Input, Session};
use leadhand::model;
use leadhand::record::entry::What;
use leadhand::record::job::{Job, Standing};
use leadhand::safety::Supply;
use leadhand::shell::conversation::{Conversation, Keep};
use leadhand::time::Timestamp;
use leadhand::understand;
use std::sync::Arc;

use crate::world::World;

fn count(world: &World, wanted: impl Fn(&What) -> bool) -> usize {
    world.entries().iter().filter(|entry| wanted(&entry.what)).count()
}

#[test]
fn a_whole_job_on_the_dryer() {
    let world = World::new("dryer-240", "no heat", Some("element-open")).work();
    insta::assert_snapshot!(world.transcript());
    assert_eq!(world.advised(), ["replace-element"]);
}

#[test]
fn a_live_check_is_warned_of_and_acknowledged() {
    let world = World::new("dryer-240", "no heat", Some("leg-two-lost")).work();
    insta::assert_snapshot!(world.transcript());
    assert_eq!(world.advised(), ["restore-supply"]);
}

#[test]
fn a_jumper_goes_in_and_comes_out_at_dead_work() {
    let world = World::new("ice-maker-modular", "no ice", Some("module-jammed")).work();
    insta::assert_snapshot!(world.transcript());
    assert_eq!(count(&world, |what| *what == What::Jumper { fitted: true }), 1);
    assert_eq!(count(&world, |what| *what == What::Jumper { fitted: false }), 1);
}

/// The same machine, the same answers, but for one reading: the conclusion moves with it.
#[test]
fn one_reading_changes_the_conclusion() {
    let advised = |fault| World::new("dryer-240", "no heat", Some(fault)).work().advised();
    assert_eq!(advised("cutoff-open"), ["replace-thermal-pair"]);
    assert_eq!(advised("thermostat-open"), ["replace-thermostat"]);
}

#[test]
fn a_live_step_needs_its_own_words() {
    for wrong in ["yes", "done", "live and clear", "live at neutral and line one", "(silence)"] {
        let mut world =
            World::new("dryer-240", "no heat", Some("leg-two-lost")).says("ack line-to-line", &[wrong]);
        let reached = world.work_while(|listening| listening.topic != "live plugged-in").is_some();
        let text = world.transcript();
        let went_on = text.contains(&format!("> {wrong}\n< Stand clear, plug the dryer in"));
        assert!(reached && !went_on, "`{wrong}` is no acknowledgement, the right words are:\n{text}");
        let taken =
            |what: &What| matches!(what, What::Acknowledged { words, .. } if words.contains("line one"));
        assert_eq!(count(&world, taken), 1, "`{wrong}`:\n{text}");
    }
}

#[test]
fn voltage_at_the_work_is_not_dead() {
    let mut world = World::new("dryer-240", "no heat", Some("element-open"))
        .says("dead line-1 neutral", &["one twenty volts"]);
    world.work_while(|listening| listening.topic != "check heater-string");
    let text = world.transcript();
    assert!(text.contains("!! There is voltage."), "{text}");
    assert_eq!(text.matches("Unplug the dryer").count(), 2, "isolated anew:\n{text}");
    assert_eq!(text.matches("Proved dead.").count(), 1);
}

#[test]
fn a_meter_that_does_not_prove_twice_proves_nothing() {
    let mut world =
        World::new("dryer-240", "no heat", Some("element-open")).says("source-again", &["sixty volts"]);
    world.work_while(|listening| !listening.topic.starts_with("before"));
    assert_eq!(world.transcript().matches("Proved dead.").count(), 1, "{}", world.transcript());
    assert_eq!(world.transcript().matches("That does not prove the meter.").count(), 1);
}

#[test]
fn a_correction_in_one_breath_replaces_the_reading() {
    let world = World::new("dryer-240", "no heat", Some("leg-two-lost"))
        .says("check heater-string", &["over limit"])
        .says("check element", &["no, ten point seven ohms", "ten point seven ohms"])
        .work();
    assert!(world.transcript().contains("Taken back."), "{}", world.transcript());
    assert_eq!(world.advised(), ["restore-supply"]);
    let job = Job::fold(world.entries());
    let corrected = job.found.iter().filter(|found| found.standing == Standing::Corrected);
    assert_eq!(corrected.count(), 1);
}

#[test]
fn back_takes_the_last_reading_back() {
    let mut world =
        World::new("dryer-240", "no heat", Some("element-open")).says("check element", &["go back"]);
    world.work_while(|_| true);
    assert_eq!(count(&world, |what| matches!(what, What::Retracted { .. })), 1, "{}", world.transcript());
    assert_eq!(world.advised(), ["replace-element"]);
}

#[test]
fn stop_leads_to_a_safe_state_from_anywhere() {
    let topics =
        ["complaint", "meter", "isolate", "source-ack", "source", "dead line-1 line-2", "source-again"];
    let more = [
        "before heater-string",
        "check heater-string",
        "ack line-to-line",
        "live plugged-in",
        "check line-to-line",
    ];
    for topic in topics.into_iter().chain(more).chain(["fixed", "closing covers"]) {
        let mut world = World::new("dryer-240", "no heat", Some("leg-two-lost"));
        let Some(at) = world.work_while(|listening| listening.topic != topic) else {
            panic!("`{topic}` is never asked:\n{}", world.transcript())
        };
        let turn = world.say(&at, "stop stop");
        assert!(turn.lines[0].text.starts_with("Stopped."), "{topic}");
        assert!(turn.lines.len() == 1 && turn.wake_after.is_none(), "{topic}: nothing is asked after a stop");
        let listening = turn.listening.expect("still listening");
        let other = world.say(&listening, "ten ohms");
        assert!(other.lines.is_empty(), "{topic}: only resume goes on");
        let turn = world.say(&listening, "resume");
        let next = turn.listening.expect("goes on").topic;
        assert!(["complaint", "isolate"].contains(&next.as_str()), "{topic} goes on from `{next}`");
    }
}

#[test]
fn what_is_expected_is_told_only_after_the_reading() {
    let mut world = World::new("dryer-240", "no heat", Some("element-open"));
    let at = world.work_while(|listening| listening.topic != "check heater-string").expect("asked");
    let turn = world.say(&at, "what do you expect");
    assert_eq!(turn.lines[0].text, "Read it first, then I tell you.");
    let at = world.say(&at, "over limit").listening.expect("goes on");
    let turn = world.say(&at, "what do you expect");
    assert!(
        turn.lines[0].text.starts_with("Line one to element two. It should be about ten"),
        "{:?}",
        turn.lines
    );
}

#[test]
fn remarks_are_let_pass_and_mumbling_is_asked_again() {
    let mut world = World::new("dryer-240", "no heat", Some("element-open"));
    let at = world.work_while(|listening| listening.topic != "check heater-string").expect("asked");
    let remark =
        understand::heard::Heard { outside: 0.98, free: "the kids left".into(), ..Default::default() };
    assert!(world.turn(Input::Heard(remark)).lines.is_empty());
    let unclear = understand::heard::Heard { outside: 0.2, ..Default::default() };
    assert_eq!(world.turn(Input::Heard(unclear.clone())).lines[0].text, "Once more, please.");
    assert!(world.turn(Input::Heard(unclear.clone())).lines[0].text.starts_with("For example"));
    assert!(world.turn(Input::Heard(unclear.clone())).lines[0].text.starts_with("I do not hear you well"));
    assert!(world.turn(Input::Heard(unclear)).lines.is_empty(), "never a loop");
    assert_eq!(at.topic, "check heater-string");
}

#[test]
fn a_job_is_not_ended_while_the_machine_is_on() {
    let mut world = World::new("dryer-240", "no heat", Some("leg-two-lost"));
    let at = world.work_while(|listening| listening.topic != "check line-to-line").expect("asked");
    let turn = world.say(&at, "end the job");
    assert!(turn.lines[0].text.starts_with("Power off now."), "{:?}", turn.lines);
    let mut world = World::new("dryer-240", "no heat", Some("leg-two-lost"));
    let at = world.work_while(|listening| listening.topic != "check heater-string").expect("asked");
    let turn = world.say(&at, "end the job");
    assert!(turn.listening.expect("closing").topic.starts_with("closing"), "{:?}", turn.lines);
}

#[test]
fn silence_never_answers() {
    let mut world = World::new("dryer-240", "no heat", Some("leg-two-lost"));
    let at = world.work_while(|listening| listening.topic != "check line-to-line").expect("asked");
    assert_eq!(at.topic, "check line-to-line");
    world.turn(Input::Silence);
    let turn = world.turn(Input::Silence);
    assert!(turn.lines[0].text.starts_with("Stopped."), "silence at live work stops: {:?}", turn.lines);
}

/// Noise without end must not keep the wait for a word at live work from ending; nor does "hold" end the watch.
#[test]
fn noise_does_not_begin_the_wait_at_live_work_anew() {
    let mut world = World::new("dryer-240", "no heat", Some("leg-two-lost"));
    let at = world.work_while(|listening| listening.topic != "check line-to-line").expect("asked");
    let waits = |world: &mut World| world.turn(Input::TooNoisy { answered: true }).wake_after.expect("waits");
    let (first, later) = (waits(&mut world), waits(&mut world));
    assert!(later < first, "{later:?} after {first:?}");
    assert!(world.say(&at, "hold on").wake_after.is_some(), "a live machine is watched while held");
    let turn = world.turn(Input::Silence);
    assert!(turn.lines[0].text.starts_with("Stopped."), "{:?}", turn.lines);
    let mut world = World::new("dryer-240", "no heat", Some("leg-two-lost"));
    let at = world.work_while(|listening| listening.topic != "check heater-string").expect("asked");
    assert!(world.say(&at, "hold on").wake_after.is_none(), "dead work may be held for long");
}

#[test]
fn a_lost_microphone_makes_everything_live() {
    let mut world = World::new("dryer-240", "no heat", Some("element-open"));
    world.work_while(|listening| listening.topic != "check heater-string");
    let turn = world.turn(Input::MicrophoneLost);
    assert!(turn.lines[0].text.starts_with("The microphone is lost."));
    assert!(turn.entries.iter().any(|e| matches!(e.what, What::Supply { supply: Supply::Unknown, .. })));
    // That it is back goes on with nothing: only a word does.
    let turn = world.turn(Input::MicrophoneBack);
    assert_eq!(turn.lines[0].text, "I can hear you again. We go on when you say so.");
    assert_eq!(turn.listening.map(|listening| listening.topic).as_deref(), Some("paused"));
}

#[test]
fn a_reading_of_other_points_or_in_another_unit_is_not_taken() {
    let mut world = World::new("dryer-240", "no heat", Some("element-open"));
    let at = world.work_while(|listening| listening.topic != "check heater-string").expect("asked");
    let turn = world.say(&at, "line one to line two, ten ohms");
    assert!(turn.lines[0].text.starts_with("I need line one to element two."), "{:?}", turn.lines);
    let turn = world.say(&at, "ten volts");
    assert!(turn.lines[0].text.starts_with("This one is in ohms."), "{:?}", turn.lines);
    let turn = world.say(&at, "element two to line one, ten point seven ohms");
    assert!(turn.lines[0].text.starts_with("Ten point seven ohms."), "{:?}", turn.lines);
}

#[test]
fn a_job_picked_up_again_knows_its_readings_and_trusts_no_supply() {
    let mut world = World::new("dryer-240", "no heat", Some("element-open"));
    world.work_while(|listening| listening.topic != "check element");
    let job = Job::fold(world.entries());
    let shelf: Arc<[_]> = vec![Arc::new(model::by_name("dryer-240").expect("shipped"))].into();
    let mut session = Session::resume(shelf, &job).expect("the machine is on the shelf");
    let step = format!("{:?}", session.handle(Timestamp::ZERO, Input::Start));
    assert!(step.contains("Treat everything as energised"), "{step}");
    let mut job = job;
    job.appliance = Some("no-such-machine".into());
    assert!(Session::resume(Vec::new().into(), &job).is_none());
}

/// A record that fails once.
struct Failing(usize);

impl Keep for Failing {
    fn keep(&mut self, _: &leadhand::record::entry::Entry) -> miette::Result<()> {
        self.0 += 1;
        if self.0 == 4 { Err(miette::miette!("no space left")) } else { Ok(()) }
    }
}

#[test]
fn what_cannot_be_kept_did_not_happen() {
    let machine = Arc::new(model::by_name("dryer-240").expect("shipped"));
    let session = Session::new(vec![Arc::clone(&machine)].into(), Some(machine));
    let mut conversation = Conversation::new(session, Failing(0));
    let listening = conversation.turn(Timestamp::ZERO, Input::Start).listening.expect("asked");
    let heard = understand::typed(&understand::open(&listening.situation), "no heat");
    let turn = conversation.turn(Timestamp::ZERO, Input::Heard(heard.clone()));
    assert!(turn.not_kept.is_some());
    assert!(turn.lines[0].text.starts_with("That could not be kept"), "{:?}", turn.lines);
    assert_eq!(turn.listening.expect("asked again").topic, "complaint");
    let turn = conversation.turn(Timestamp::ZERO, Input::Heard(heard));
    assert_eq!(turn.listening.expect("goes on").topic, "recurs");
}

#[test]
fn a_beeper_is_asked_whether_it_beeps() {
    let world = World::new("dishwasher", "dead", Some("fuse-open")).work();
    let text = world.transcript();
    let asked = "< Continuity: line to thermal fuse two. Does it beep?";
    assert!(text.contains(&format!("{asked}\n> no beep\n< I heard no beep. Is that right?\n")), "{text}");
    assert_eq!(world.advised(), ["replace-fuse"]);
    let mut world = World::new("dishwasher", "dead", Some("fuse-open")).says("check fuse", &["beep"]);
    world.work_while(|_| true);
    assert_ne!(world.advised(), ["replace-fuse"], "{}", world.transcript());
}

#[test]
fn a_clamp_goes_on_dead_and_is_read_with_hands_away() {
    let mut world = World::new("dishwasher", "dead", Some("fuse-open"));
    let at = world.work_while(|listening| listening.topic != "ack current").expect("asked");
    let turn = world.say(&at, "live at line and neutral");
    assert!(turn.lines[0].text.starts_with("That is not the answer"), "nothing is touched: {:?}", turn.lines);
    let at = world.say(&at, "live and clear").listening.expect("goes on");
    let at = world.say(&at, "done").listening.expect("goes on");
    let text = world.transcript();
    let (on, live) = (text.find("Put the clamp around the black wire."), text.find("run the hot wash"));
    assert!(on.is_some() && on < live, "put on before it is switched on:\n{text}");
    assert!(text.ends_with("< Clamp on amps: the black wire. What do you read?"), "{text}");
    let turn = world.say(&at, "zero volts");
    assert_eq!(turn.lines[0].text, "This one is in amps.");
    let turn = world.say(&at, "zero amps");
    assert_eq!(turn.lines[0].text, "Zero amps.");
}

#[test]
fn a_rating_plate_read_out_takes_the_place_of_the_models_value() {
    let verdict = |plate: &[&str]| {
        let mut world = World::new("dryer-240", "no heat", Some("element-open"));
        let mut at = world.work_while(|listening| listening.topic != "check heater-string").expect("asked");
        for words in plate {
            at = world.say(&at, words).listening.expect("goes on");
        }
        assert_eq!(at.topic, "check heater-string", "{}", world.transcript());
        let verdict = world.say(&at, "fourteen point four ohms").lines[1].text.clone();
        (verdict, Job::fold(world.entries()).rated.len(), world)
    };
    // By hand: 240²/5400 = 10.7 and 240²/4000 = 14.4.
    assert_eq!((verdict(&[]).0.as_str(), verdict(&[]).1), ("That is out of limits.", 0));
    let (said, kept, world) = verdict(&["element is rated four thousand watts", "yes"]);
    assert_eq!((said.as_str(), kept), ("That is good.", 1), "{}", world.transcript());
    assert!(world.transcript().contains("Heating element on the plate: four thousand watts. Is that right?"));
    let (said, kept, _) = verdict(&["element is rated four thousand watts", "no"]);
    assert_eq!((said.as_str(), kept), ("That is out of limits.", 0));
    let (said, kept, world) = verdict(&["element is rated ninety thousand watts", "yes"]);
    assert_eq!((said.as_str(), kept), ("That is out of limits.", 0));
    assert!(world.transcript().contains("That does not go with this machine."), "{}", world.transcript());
}

#[test]
fn a_rating_plate_is_remembered_when_a_job_is_picked_up_again() {
    let mut world = World::new("dryer-240", "no heat", Some("element-open"));
    let at = world.work_while(|listening| listening.topic != "check heater-string").expect("asked");
    let at = world.say(&at, "element is rated four thousand watts").listening.expect("goes on");
    world.say(&at, "yes");
    let mut world = world.picked_up_again();
    let at = world.work_while(|listening| listening.topic != "check heater-string").expect("asked");
    let turn = world.say(&at, "fourteen point four ohms");
    assert_eq!(turn.lines[1].text, "That is good.", "{}", world.transcript());
}

#[test]
fn why_is_told_in_two_sentences_and_how_far_it_moved() {
    let mut world = World::new("dryer-240", "no heat", Some("element-open"));
    let at = world.work_while(|listening| listening.topic != "fixed").expect("advised");
    let turn = world.say(&at, "why");
    let text = &turn.lines[0].text;
    assert_eq!(text.matches('.').count(), 2, "{text}");
    assert!(text.contains("over limit") && text.contains(" to ") && text.contains("in ten"), "{text}");
    assert!(text.ends_with("the heating element is open."), "{text}");
    let change = &turn.lines[1].text;
    assert!(change.starts_with("This could still change it") || change.starts_with("No check"), "{change}");
    let mut early = World::new("dryer-240", "no heat", Some("element-open"));
    let at = early.work_while(|listening| listening.topic != "meter").expect("asked");
    assert_eq!(early.say(&at, "why").lines[0].text, "Nothing was found yet that points anywhere.");
}

#[test]
fn why_this_check_gives_no_value_away() {
    let mut world = World::new("dryer-240", "no heat", Some("element-open"));
    let at = world.work_while(|listening| listening.topic != "check heater-string").expect("asked");
    let turn = world.say(&at, "why this one");
    let text = &turn.lines[0].text;
    assert!(text.starts_with("It tells whether ") && text.contains("If not"), "{text}");
    assert!(!text.contains("ohms") && !text.contains("over limit"), "{text}");
    let mut early = World::new("dryer-240", "no heat", Some("element-open"));
    let at = early.work_while(|listening| listening.topic != "meter").expect("asked");
    assert_eq!(early.say(&at, "why this one").lines[0].text, "That does not fit here.");
}

#[test]
fn what_nothing_explains_is_taken_again_once() {
    let mut world = World::new("dryer-240", "no heat", Some("element-open"))
        .says("check element", &["three hundred ohms", "three hundred ohms"]);
    world.work_while(|_| true);
    let text = world.transcript();
    assert_eq!(text.matches("No fault I know explains that. We take it again.").count(), 1, "{text}");
    assert_eq!(text.matches("Still no fault I know explains that.").count(), 1, "{text}");
    let clean = World::new("dryer-240", "no heat", Some("element-open")).work();
    assert!(!clean.transcript().contains("We take it again."), "{}", clean.transcript());
}

/// Everything reads open: the leads are touched together, and with an open one nothing is proved dead any more.
#[test]
fn an_open_lead_takes_its_readings_and_the_proof_back() {
    let open = |leads: &'static str| {
        let checks = ["heater", "heater-neutral", "motor", "motor-neutral", "valve", "bimetal"];
        let world = World::new("ice-maker-modular", "no ice", None).says("leads", &[leads]);
        checks.iter().fold(world, |world, check| world.says(&format!("check {check}"), &["over limit"; 2]))
    };
    let bad = open("over limit").work();
    let text = bad.transcript();
    assert!(text.contains("touch the leads together"), "{text}");
    assert!(text.contains("A lead or its fuse is open."), "{text}");
    assert!(text.matches("Proved dead.").count() > 1, "proved anew: {text}");
    assert!(count(&bad, |what| matches!(what, What::Retracted { .. })) >= 2, "{text}");
    let good = open("zero point two ohms").work();
    assert!(good.transcript().contains("The leads are good."), "{}", good.transcript());
    assert_eq!(count(&good, |what| matches!(what, What::Retracted { .. })), 0);
}

/// What may have been meant instead is kept with the finding and weighs in the belief.
#[test]
fn what_may_have_been_meant_instead_is_kept() {
    let mut world = World::new("dryer-240", "no heat", Some("element-open"));
    let at = world.work_while(|listening| listening.topic != "check heater-string").expect("asked");
    let grammar = understand::open(&at.situation);
    let mut heard = understand::typed(&grammar, "ten point seven ohms");
    heard.candidates[0].probability = 0.9;
    let mut other = understand::typed(&grammar, "ten point eight ohms").candidates.remove(0);
    other.probability = 0.1;
    heard.candidates.push(other);
    let turn = world.turn(Input::Heard(heard));
    let kept = turn.entries.iter().find_map(|entry| match &entry.what {
        What::Found { others, .. } => Some(others.clone()),
        _ => None,
    });
    let kept = kept.unwrap_or_else(|| panic!("it is taken: {:?}", turn.lines));
    assert_eq!((kept.len(), kept[0].1), (1, 100));
}

/// What the leads have is asked for once, before the first few ohms, and taken off what is read.
#[test]
fn what_the_leads_have_is_asked_for_once_and_taken_off() {
    let verdict = |leads: &str, read: &str| {
        let mut world = World::new("dryer-240", "no heat", Some("leg-two-lost")).says("leads", &[leads]);
        let at = world.work_while(|listening| listening.topic != "check heater-string").expect("asked");
        let verdict = world.say(&at, read).lines[1].text.clone();
        world.work_while(|_| true);
        assert_eq!(
            world.transcript().matches("touch the leads together").count(),
            1,
            "{}",
            world.transcript()
        );
        verdict
    };
    // By hand: 240²/5400 = 10.7 ohms, from 10.2 to 11.8 by its rating; 12.5 less 1.5 is within, 11 less 1.5 is not surely.
    for (leads, read, wanted) in [
        ("zero ohms", "eleven ohms", "That is good."),
        ("one point five ohms", "eleven ohms", "That tells little."),
        ("zero ohms", "twelve point five ohms", "That tells little."),
        ("one point five ohms", "twelve point five ohms", "That is good."),
        ("zero ohms", "thirteen point five ohms", "That is out of limits."),
        ("skip", "ten point seven ohms", "That is good."),
    ] {
        assert_eq!(verdict(leads, read), wanted, "{leads}, {read}");
    }
}

#[test]
fn a_trial_run_that_went_well_confirms_what_was_advised() {
    let ran = |fixed: &str, said: &[&str]| {
        let world = World::new("dryer-240", "no heat", Some("element-open")).says("fixed", &[fixed]);
        Job::fold(world.says("closing test-run", said).work().entries()).runs
    };
    assert_eq!(ran("done", &["yes"]), [("Test run done, it heats and stops.".to_owned(), true)]);
    assert!(ran("done", &["skip"]).is_empty());
    assert!(ran("skip", &["no", "skip"]).is_empty(), "what was not done cannot have failed to help");
}

#[test]
fn a_remedy_that_did_not_help_is_a_finding() {
    // The element is good; it was read wrong, and confirmed.
    let misread = || {
        World::new("dryer-240", "no heat", Some("cutoff-open"))
            .says("check element", &["over limit"])
            .says("check cutoff", &["zero point two ohms"])
    };
    let world = misread().says("closing test-run", &["no"]).work();
    assert_eq!(world.advised(), ["replace-element", "replace-thermal-pair"], "{}", world.transcript());
    let job = Job::fold(world.entries());
    assert_eq!(job.runs.iter().map(|(_, well)| *well).collect::<Vec<_>>(), [false, true]);
    assert_eq!(job.setbacks.len(), 1);
    let element: Vec<Standing> = job
        .found
        .iter()
        .filter(|found| found.check.as_str() == "element")
        .map(|found| found.standing)
        .collect();
    assert_eq!(element, [Standing::Before, Standing::Stands], "what was read before stays on record");
    assert!(job.closing.iter().all(|closing| closing.at > job.setbacks[0].at), "and all is closed anew");

    // Left right after it did not help, and picked up again.
    let mut world = misread();
    let asked =
        world.work_while(|listening| listening.topic != "closing test-run").expect("it comes to that");
    world.say(&asked, "no");
    let world = world.picked_up_again().work();
    assert_eq!(world.advised(), ["replace-element", "replace-thermal-pair"], "{}", world.transcript());
}
