//! What is said out of turn: transcripts with their negatives.

use std::time::Duration;

use leadhand::dialogue::{Desk, Input, Listening};
use leadhand::quantity::{Decimal, Quantity, Unit};
use leadhand::reading::Reading;
use leadhand::record::consent::Means;
use leadhand::record::entry::{CustomerField, Entry, PlateField, What};
use leadhand::record::estimate::Estimate;
use leadhand::record::header::Moment;
use leadhand::record::job::{Job, Standing};
use leadhand::safety::Supply;
use leadhand::say::Voice;
use leadhand::shell::conversation::Turn;
use leadhand::understand::heard::Heard;
use leadhand::understand::intent::{Dictated, Intent, Named};

use crate::world::World;

/// A job up to this topic.
fn at(machine: &str, complaint: &str, topic: &str) -> (World, Listening) {
    let mut world = World::new(machine, complaint, None);
    let at = world.work_while(|listening| listening.topic != topic);
    let at = at.unwrap_or_else(|| panic!("`{topic}` is never asked:\n{}", world.transcript()));
    world.cut();
    (world, at)
}

/// Says this and that, one after the other; the topic that is open then.
fn say(world: &mut World, at: Listening, words: &[&str]) -> Listening {
    words.iter().fold(at, |at, words| world.say(&at, words).listening.expect("goes on"))
}

fn standing(world: &World, check: &str) -> Option<Standing> {
    let job = Job::fold(world.entries());
    job.found.iter().rev().find(|found| found.check.as_str() == check).map(|found| found.standing)
}

#[test]
fn a_reading_known_already_is_taken_at_any_safe_point() {
    let ice = |topic: &str| at("ice-maker-modular", "no ice", topic);
    for topic in ["meter", "isolate", "source", "dead L N", "state unplugged"] {
        let (mut world, open) = ice(topic);
        let next = say(&mut world, open, &["i know the heater is seventy one ohms", "yes"]);
        assert_eq!(next.topic.split(' ').next(), topic.split(' ').next(), "{}", world.transcript());
        assert_eq!(standing(&world, "heater"), Some(Standing::Stands), "{topic}");
    }
    let (mut world, open) = ice("isolate");
    say(&mut world, open, &["L to H, seventy one ohms", "no", "done"]);
    assert_eq!(standing(&world, "heater"), None);
    insta::assert_snapshot!(world.transcript());
}

#[test]
fn a_reading_known_already_waits_where_something_is_live() {
    let (mut world, open) = at("ice-maker-modular", "no ice", "live filling");
    let next = say(&mut world, open, &["i know the heater is seventy one ohms"]);
    assert_eq!(next.topic, "live filling");
    assert!(world.transcript().contains("Not now."), "{}", world.transcript());
    let (mut world, open) = at("ice-maker-modular", "no ice", "meter");
    say(&mut world, open, &["i know L to N is one twenty volts"]);
    assert!(world.transcript().contains("no dead check"), "{}", world.transcript());
}

#[test]
fn a_reading_is_scratched_by_name_or_by_points() {
    for words in ["scratch the heater reading", "scratch L to H"] {
        let (mut world, open) = at("ice-maker-modular", "no ice", "before bimetal");
        assert_eq!(standing(&world, "heater"), Some(Standing::Stands));
        let next = say(&mut world, open, &[words]);
        assert_eq!(next.topic, "check heater", "read anew:\n{}", world.transcript());
        assert_eq!(standing(&world, "heater"), Some(Standing::Retracted));
    }
    let (mut world, open) = at("ice-maker-modular", "no ice", "check heater");
    let next = say(&mut world, open, &["scratch the heater reading"]);
    assert_eq!(next.topic, "check heater");
    assert!(world.transcript().contains("There is nothing to take back."), "{}", world.transcript());
}

#[test]
fn points_misheard_are_put_right_in_one_breath() {
    let (mut world, open) = at("ice-maker-modular", "no ice", "check heater");
    let open = say(&mut world, open, &["L to V, seventy one ohms"]);
    assert!(world.transcript().contains("I need L to H."), "{}", world.transcript());
    say(&mut world, open, &["not V, H"]);
    assert_eq!(standing(&world, "heater"), Some(Standing::Stands), "{}", world.transcript());
    insta::assert_snapshot!(world.transcript());
    let (mut world, open) = at("ice-maker-modular", "no ice", "check heater");
    say(&mut world, open, &["L to V, seventy one ohms", "not T, H"]);
    assert_eq!(standing(&world, "heater"), None, "{}", world.transcript());
}

#[test]
fn a_reading_of_another_pair_is_read_back_with_its_points() {
    let (mut world, open) = at("ice-maker-modular", "no ice", "check heater");
    let open = say(&mut world, open, &["L to M, eight point eight kilohms"]);
    assert_eq!(open.topic, "known motor", "{}", world.transcript());
    let open = say(&mut world, open, &["yes"]);
    assert_eq!((standing(&world, "motor"), open.topic.as_str()), (Some(Standing::Stands), "check heater"));
    let (mut world, open) = at("ice-maker-modular", "no ice", "check heater");
    let open = say(&mut world, open, &["L to M, seventy one ohms", "no, L to H", "yes"]);
    assert_eq!(standing(&world, "motor"), None, "{}", world.transcript());
    assert_eq!(standing(&world, "heater"), Some(Standing::Stands), "{}", open.topic);
}

#[test]
fn the_last_reading_moves_to_other_points() {
    let (mut world, open) = at("ice-maker-modular", "no ice", "before bimetal");
    say(&mut world, open, &["not H, M", "yes"]);
    assert_eq!(standing(&world, "heater"), Some(Standing::Retracted), "{}", world.transcript());
    assert_eq!(standing(&world, "motor"), Some(Standing::Stands));
    let (mut world, open) = at("ice-maker-modular", "no ice", "before bimetal");
    say(&mut world, open, &["not V, M"]);
    assert_eq!(standing(&world, "heater"), Some(Standing::Stands), "V was never named");
}

#[test]
fn a_correction_is_heard_where_something_is_to_be_done() {
    let (mut world, open) = at("ice-maker-modular", "no ice", "before bimetal");
    let before = world.entries().len();
    say(&mut world, open, &["no, over limit"]);
    let taken = |what: &What| matches!(what, What::Found { .. });
    assert_eq!(
        world.entries()[before..].iter().filter(|e| taken(&e.what)).count(),
        1,
        "{}",
        world.transcript()
    );
    let (mut world, open) = at("dryer-240", "no heat", "meter");
    say(&mut world, open, &["no"]);
    assert!(!world.transcript().contains("Taken back."), "a plain no corrects nothing");
}

#[test]
fn what_is_out_of_scope_is_refused_logged_and_the_rest_goes_on() {
    for (words, why) in [
        ("open the microwave", "Not behind a microwave's cover"),
        ("open the burner valve", "No gas work here"),
        ("open the cooling line", "The sealed system stays shut"),
        ("jumper the door switch", "I bridge no protection"),
    ] {
        let (mut world, open) = at("dryer-240", "no heat", "isolate");
        let next = say(&mut world, open, &[words]);
        assert_eq!(next.topic, "isolate", "the rest goes on");
        assert!(world.transcript().contains(why), "{}", world.transcript());
        assert_eq!(Job::fold(world.entries()).refusals.len(), 1, "{words}");
        let next = say(&mut world, next, &["done"]);
        assert_ne!(next.topic, "isolate");
    }
    let (mut world, open) = at("dryer-240", "no heat", "isolate");
    say(&mut world, open, &["done"]);
    assert!(Job::fold(world.entries()).refusals.is_empty());
}

#[test]
fn a_tester_or_a_bad_meter_proves_nothing_and_is_told_why() {
    for (topic, words, why) in [
        ("source", "it lights", "proves nothing dead"),
        ("dead line-1 line-2", "no light", "proves nothing dead"),
        ("dead line-1 line-2", "meter fuse is open", "reads zero on everything"),
        ("source-again", "wrong terminal", "In the wrong terminal"),
        ("meter", "meter fuse is open", "reads zero on everything"),
    ] {
        let (mut world, open) = at("dryer-240", "no heat", topic);
        let next = say(&mut world, open, &[words]);
        assert!(world.transcript().contains(why), "{}", world.transcript());
        assert!(next.topic != "before heater-string" && !world.transcript().contains("Proved dead"));
    }
}

#[test]
fn somebody_else_at_the_plug_isolates_nothing() {
    let (mut world, open) = at("dryer-240", "no heat", "isolate");
    let open = say(&mut world, open, &["they hold the plug"]);
    assert_eq!(open.topic, "isolate");
    assert!(world.transcript().contains("Only you may hold the plug."), "{}", world.transcript());
    assert_ne!(say(&mut world, open, &["plug is in my hand"]).topic, "isolate");
}

#[test]
fn water_makes_everything_live() {
    let (mut world, open) = at("dryer-240", "no heat", "check heater-string");
    let open = say(&mut world, open, &["floor is wet"]);
    assert_eq!(open.topic, "dry", "{}", world.transcript());
    let open = say(&mut world, open, &["done", "plug is in my hand"]);
    assert_eq!(open.topic, "dry", "only dry is dry:\n{}", world.transcript());
    assert_eq!(say(&mut world, open, &["all is dry"]).topic, "isolate");
    assert!(world.transcript().contains("!! Wet hands and floors carry current."), "{}", world.transcript());
    let (mut world, open) = at("dryer-240", "no heat", "check heater-string");
    assert_eq!(say(&mut world, open, &["floor is dry"]).topic, "check heater-string");
}

#[test]
fn we_speak_as_we_are_told() {
    let (mut world, open) = at("dryer-240", "no heat", "isolate");
    let turn = world.say(&open, "slower");
    assert_eq!(turn.voice, Voice { pace: -1, volume: 0 });
    assert!(turn.lines[0].text.ends_with("Tell me done."), "{:?}", turn.lines);
    let turn = world.say(&open, "louder");
    assert_eq!(turn.voice, Voice { pace: -1, volume: 1 });
    let turn = world.say(&open, "shorter");
    assert!(!turn.lines[0].text.contains("Tell me done."), "{:?}", turn.lines);
    let warned = world.say(&open, "plug is in my hand");
    assert!(
        warned.lines[0].text.contains("Answer with the word"),
        "a hazard is never cut: {:?}",
        warned.lines
    );
    let turn = world.say(&open, "say more");
    assert_eq!(turn.voice, Voice { pace: -1, volume: 1 });
}

#[test]
fn a_photo_is_marked_with_its_number_and_place() {
    let (mut world, open) = at("dryer-240", "no heat", "isolate");
    let open = say(&mut world, open, &["mark photo", "photo"]);
    let notes: Vec<String> = Job::fold(world.entries()).notes.iter().map(|note| note.text.clone()).collect();
    assert_eq!(notes, ["Photo 1, at isolate", "Photo 2, at isolate"]);
    let mut world = world.picked_up_again();
    world.work_while(|listening| listening.topic != "isolate");
    say(&mut world, open, &["photo"]);
    assert_eq!(Job::fold(world.entries()).notes[2].text, "Photo 3, at isolate");
}

#[test]
fn how_many_checks_are_left_is_told() {
    let (mut world, open) = at("dryer-240", "no heat", "check heater-string");
    let first = world.say(&open, "how many more").lines[0].text.clone();
    assert!(first.starts_with("At most this many checks more: "), "{first}");
    let (mut world, open) = at("dryer-240", "no heat", "closing covers");
    let last = world.say(&open, "how many more").lines[0].text.clone();
    assert_ne!(last, first);
}

#[test]
fn a_stop_is_no_note() {
    let noting = || {
        let (mut world, open) = at("ice-maker-modular", "no ice", "before bimetal");
        let next = say(&mut world, open, &["new note"]);
        assert_eq!(next.topic, "note");
        (world, next)
    };
    let notes = |world: &World| Job::fold(world.entries()).notes.len();
    let (mut world, open) = noting();
    let next = say(&mut world, open, &["stop"]);
    assert_eq!((next.topic.as_str(), notes(&world)), ("paused", 0), "{}", world.transcript());
    assert_eq!(Job::fold(world.entries()).supply(), Supply::Unknown);
    assert_eq!(say(&mut world, next, &["resume"]).topic, "isolate");
    // Stopped by a lost microphone, nothing that follows is taken for the note.
    let (mut world, _) = noting();
    let paused = world.turn(Input::MicrophoneLost).listening.expect("it waits");
    assert_eq!((say(&mut world, paused, &["resume"]).topic.as_str(), notes(&world)), ("isolate", 0));
    // What is no stop is the note.
    let (mut world, open) = noting();
    assert_eq!(say(&mut world, open, &["seventy one ohms"]).topic, "before bimetal");
    assert_eq!(notes(&world), 1);
}

#[test]
fn a_number_is_read_out_sign_by_sign_and_kept_once_it_is_confirmed() {
    let read_out = |words: &[&str]| {
        let (mut world, open) = at("ice-maker-modular", "no ice", "isolate");
        let next = say(&mut world, open, words);
        (next.topic, Job::fold(world.entries()), world.transcript())
    };
    let (topic, job, transcript) =
        read_out(&["serial number", "W one three alpha", "no", "W one three A", "yes"]);
    assert_eq!(
        (topic.as_str(), job.plate.get(&PlateField::Serial)),
        ("isolate", Some(&"W13A".to_owned())),
        "{transcript}"
    );
    assert!(transcript.contains("I heard W one three A. Is that right?"), "{transcript}");
    let (_, job, _) = read_out(&["model number", "E D two four zero", "yes"]);
    assert_eq!(job.plate.get(&PlateField::Model).map(String::as_str), Some("ED240"));
    let (_, job, _) = read_out(&["phone number", "zero four seven nine", "yes"]);
    assert_eq!(job.customer.get(&CustomerField::Telephone).map(String::as_str), Some("0479"));
    // What is not confirmed is not kept, and beside a hazard nothing is read out.
    let (topic, job, _) = read_out(&["serial number", "W one three A", "skip"]);
    assert!(topic == "isolate" && job.plate.is_empty(), "{topic}");
    let (mut world, open) = at("ice-maker-modular", "no ice", "live filling");
    assert_eq!(say(&mut world, open, &["serial number"]).topic, "live filling");
}

#[test]
fn consent_to_an_estimate_is_asked_read_back_and_kept_with_all_that_makes_it_count() {
    let (world, _) = at("ice-maker-modular", "no ice", "isolate");
    let estimate: Estimate = serde_json::from_value(serde_json::json!({
        "currency": "USD",
        "lines": [{ "kind": "part", "what": "Ice maker head", "count": "1", "each": "150.50" }],
        "taxes": [],
    }))
    .expect("an estimate");
    let total = estimate.total();
    let opened = Moment { unix_ms: 1_764_000_000_000, offset_minutes: 0 };
    let desk = |at| Desk { technician: "Ines Maro".to_owned(), moment: opened, at };
    let asked = |said: &[&str], estimate: Option<&Estimate>| {
        let mut entries = world.entries().to_vec();
        let at = entries.last().expect("an entry").at;
        entries.extend(estimate.map(|estimate| Entry { at, what: What::Estimated(estimate.clone()) }));
        let job = Job::fold(&entries);
        let session = world.session_of(&job).asking_consent(&job, desk(at));
        let mut world = World::going_on("ice-maker-modular", session, entries);
        let first = world.begin();
        let next = say(&mut world, first.clone(), said);
        (first.topic, next.topic, Job::fold(world.entries()), world.transcript())
    };
    let (first, next, job, transcript) = asked(&["yes", "yes"], Some(&estimate));
    assert_eq!((first.as_str(), next.as_str()), ("consent", "meter"), "{transcript}");
    let consent = job.agreed().expect("it is kept");
    assert_eq!(
        (consent.total, consent.taken_by.as_str(), consent.means),
        (total, "Ines Maro", Means::Spoken)
    );
    assert!(consent.when.unix_ms >= opened.unix_ms && consent.words.as_deref() == Some("yes"));
    assert!(
        job.excess().is_none() && transcript.contains("dollars fifty cents. Does the customer agree?"),
        "{transcript}"
    );
    // Refused; put right when it is read back; left; and nothing to ask.
    let (_, next, job, _) = asked(&["no", "yes"], Some(&estimate));
    assert!(next == "meter" && job.agreed().is_none() && job.consents.len() == 1);
    let (_, _, job, _) = asked(&["no", "no", "yes", "yes"], Some(&estimate));
    assert!(job.agreed().is_some() && job.consents.len() == 1);
    let (_, next, job, _) = asked(&["skip"], Some(&estimate));
    assert!(next == "meter" && job.consents.is_empty());
    assert_eq!(asked(&[], None).0, "meter");
}

/// Half a turn of the fill screw is 20 cc, a full turn 40 cc, and one full turn is the most (common practice).
#[test]
fn a_screw_is_turned_within_its_limit() {
    let overflowing = || {
        let mut world = World::new("ice-maker-modular", "overflows", Some("fill-high"));
        let open = world.work_while(|listening| listening.topic != "fixed").expect("a remedy is advised");
        (world, open)
    };
    let adjusted = |world: &World| -> Vec<(String, String)> {
        let job = Job::fold(world.entries());
        job.adjustments.into_iter().map(|(_, before, after)| (before, after)).collect()
    };
    let pair = |before: &str, after: &str| (before.to_owned(), after.to_owned());
    // Nobody says how far: it was turned as advised.
    let (mut world, open) = overflowing();
    say(&mut world, open, &["done"]);
    assert_eq!(adjusted(&world), [pair("as found", "half a turn less than found")]);

    let (mut world, open) = overflowing();
    world.cut();
    let next = say(
        &mut world,
        open,
        &["quarter turn less", "one turn less", "half a turn less", "half a turn less"],
    );
    assert_eq!(next.topic, "fixed");
    let quarter = "a quarter turn less than found";
    let three = "three quarters of a turn less than found";
    assert_eq!(adjusted(&world), [pair("as found", quarter), pair(quarter, three)], "{}", world.transcript());
    let next = say(&mut world, next, &["fill screw half a turn more", "done"]);
    assert!(next.topic.starts_with("closing"), "{}", next.topic);
    assert_eq!(adjusted(&world)[2], pair(three, quarter));
    assert_eq!(adjusted(&world).len(), 3, "what was said is not turned again");
    insta::assert_snapshot!(world.transcript());

    // Picked up again, what was turned counts.
    let (mut world, open) = overflowing();
    say(&mut world, open, &["one turn less"]);
    let mut world = world.picked_up_again();
    let open = world.work_while(|listening| listening.topic != "fixed").expect("the remedy is still advised");
    say(&mut world, open, &["quarter turn less"]);
    assert!(world.transcript().contains("You have nothing left that way."), "{}", world.transcript());
    assert_eq!(adjusted(&world).len(), 1);

    // A machine without a screw takes no turn.
    let mut world = World::new("dryer-240", "no heat", None);
    let open = world.work_while(|listening| listening.topic != "fixed").expect("a remedy is advised");
    let next = say(&mut world, open, &["half a turn less"]);
    assert_eq!((next.topic.as_str(), adjusted(&world).len()), ("fixed", 0));
}

/// What may go no further was not turned, whatever is said.
#[test]
fn a_screw_at_its_limit_is_not_done() {
    let again = |words: &[&str], then: &[&str]| {
        let mut world = World::new("ice-maker-modular", "overflows", Some("fill-high"));
        let open = world.work_while(|listening| listening.topic != "fixed").expect("a remedy is advised");
        say(&mut world, open, words);
        let mut world = world.picked_up_again();
        let open =
            world.work_while(|listening| listening.topic != "fixed").expect("the remedy is still advised");
        world.cut();
        let next = say(&mut world, open, then).topic;
        let job = Job::fold(world.entries());
        (next, job.fixed, job.adjustments.len(), world.transcript())
    };
    let (next, fixed, turns, said) = again(&["one turn less"], &["done"]);
    assert_eq!((next.as_str(), fixed, turns), ("fixed", None, 1), "{said}");
    let limit = "< Never more than one full turn either way.\n< You have nothing left that way.\n< Turn it back, or say skip.";
    assert!(said.contains(limit), "{said}");
    let (next, fixed, turns, said) = again(&["one turn less"], &["done", "skip"]);
    assert!(next.starts_with("closing") && fixed == Some(false) && turns == 1, "{said}");
    let (next, fixed, turns, said) = again(&["one turn less"], &["quarter turn more", "done"]);
    assert!(next.starts_with("closing") && fixed == Some(true) && turns == 2, "{said}");
    // Less is left than is usual: how far it went has to be said.
    let three = &["quarter turn less", "half a turn less"];
    let (next, fixed, turns, said) = again(three, &["done"]);
    assert_eq!((next.as_str(), fixed, turns), ("fixed", None, 2), "{said}");
    assert!(
        said.contains("Left that way: a quarter turn.\n< Say how far you turned it, or say skip."),
        "{said}"
    );
    let (next, fixed, turns, said) = again(three, &["done", "quarter turn less", "done"]);
    assert!(next.starts_with("closing") && fixed == Some(true) && turns == 3, "{said}");
    // Half is left, and that is what was turned.
    let (next, fixed, turns, said) = again(&["half a turn less"], &["done"]);
    assert!(next.starts_with("closing") && fixed == Some(true) && turns == 2, "{said}");
}

/// What was set by hand, and typed in other words, is not as found: nobody knows how far it may go.
#[test]
fn a_screw_that_was_set_by_hand_is_not_as_found() {
    let after = |after: &str| {
        let mut world = World::new("ice-maker-modular", "overflows", Some("fill-high"));
        world.work_while(|listening| listening.topic != "fixed").expect("a remedy is advised");
        let mut entries = world.entries().to_vec();
        let (setting, before) = ("The Fill screw".to_owned(), "as found".to_owned());
        let what = What::Adjusted { setting, before, after: after.to_owned() };
        entries.push(Entry { at: entries.last().expect("some").at, what });
        let session = world.session_of(&Job::fold(&entries));
        let mut world = World::going_on("ice-maker-modular", session, entries);
        let open =
            world.work_while(|listening| listening.topic != "fixed").expect("the remedy is still advised");
        let next = say(&mut world, open, &["one turn less", "done"]).topic;
        assert!(next.starts_with("closing"), "{next}: {}", world.transcript());
        (Job::fold(world.entries()).adjustments.len(), world.transcript())
    };
    let (turns, said) = after("two notches down");
    assert_eq!(
        (turns, said.matches("It was set by hand. I cannot tell how far it may go.").count()),
        (1, 3),
        "{said}"
    );
    let (turns, said) = after("half a turn more than found");
    assert!(turns == 2 && !said.contains("set by hand"), "{said}");
}

/// Whatever comes after a long pause, what was proved before it counts no more when the question is asked again.
#[test]
fn a_long_pause_spoils_whatever_comes_next() {
    let long = Duration::from_secs(20 * 60);
    let noise = Input::TooNoisy { answered: false };
    let mumble = Input::Heard(Heard { outside: 0.2, ..Heard::default() });
    for (pause, input, topic) in [
        (long, noise.clone(), "isolate"),
        (long, mumble.clone(), "isolate"),
        (long / 2, noise, "check heater-string"),
        (long / 2, mumble, "check heater-string"),
    ] {
        let (mut world, _) = at("dryer-240", "no heat", "check heater-string");
        world.wait(pause);
        let next = world.turn(input).listening.expect("goes on").topic;
        assert_eq!(next, topic, "{}", world.transcript());
    }
    let (mut world, open) = at("dryer-240", "no heat", "check heater-string");
    let open = say(&mut world, open, &["new note"]);
    world.wait(long);
    assert_eq!(say(&mut world, open, &["it leaked in spring"]).topic, "isolate");
}

#[test]
fn water_is_heard_before_the_bench_in_a_note_after_a_pause_and_over_a_restart() {
    let wet = |world: &mut World, open: Listening| {
        let open = say(world, open, &["plug is in my hand"]);
        assert_eq!(open.topic, "dry", "{}", world.transcript());
        assert_eq!(say(world, open, &["all is dry"]).topic, "isolate");
    };
    let mut world = World::new("dryer-240", "no heat", None);
    let open = world.begin();
    let open = say(&mut world, open, &["floor is wet", "no heat", "not sure", "not sure", "yes"]);
    wet(&mut world, open);

    let mut world = World::new("dryer-240", "no heat", None);
    let open = world.begin();
    let open = say(&mut world, open, &["floor is wet", "floor is dry", "no heat", "skip", "skip", "yes"]);
    assert_eq!(open.topic, "isolate", "dry again");

    let (mut world, open) = at("dryer-240", "no heat", "check heater-string");
    let open = say(&mut world, open, &["new note", "floor is wet"]);
    wet(&mut world, open);

    let (mut world, open) = at("dryer-240", "no heat", "check heater-string");
    let open = say(&mut world, open, &["hold on"]);
    world.wait(Duration::from_secs(20 * 60));
    let open = say(&mut world, open, &["floor is wet", "resume"]);
    wet(&mut world, open);

    let (mut world, open) = at("dryer-240", "no heat", "check heater-string");
    say(&mut world, open, &["floor is wet"]);
    let open = world.restart();
    let open = say(&mut world, open, &["yes"]);
    wet(&mut world, open);
}

#[test]
fn what_is_never_helped_with_is_refused_before_the_bench_too() {
    let mut world = World::new("dryer-240", "no heat", None);
    let open = world.begin();
    let open = say(&mut world, open, &["open the burner valve"]);
    assert_eq!((open.topic.as_str(), Job::fold(world.entries()).refusals.len()), ("complaint", 1));
    say(&mut world, open, &["no heat"]);
    assert_eq!(Job::fold(world.entries()).refusals.len(), 1);
}

/// What is corrected in the middle of making safe does not lead past the rest of it.
#[test]
fn a_correction_while_making_safe_leads_past_nothing() {
    let corrected = |words: &str, then: &str| {
        let (mut world, _) = at("ice-maker-modular", "no ice", "before bimetal");
        let open = world.restart();
        let open = say(&mut world, open, &["yes", words]);
        assert_eq!(open.topic, then, "{}", world.transcript());
        let job = Job::fold(world.entries());
        job.found.iter().filter(|found| found.standing == Standing::Corrected).count()
    };
    for (words, then, count) in
        [("no, over limit", "isolate", 1), ("make that kilohms", "isolate", 1), ("done", "control", 0)]
    {
        assert_eq!(corrected(words, then), count, "{words}");
    }
}

#[test]
fn the_last_reading_is_put_in_another_scale() {
    let (mut world, open) = at("ice-maker-modular", "no ice", "check heater");
    let open = say(&mut world, open, &["seventy one ohms", "make that kilohms"]);
    assert!(world.transcript().contains("< Seventy one kilohms."), "{}: {}", open.topic, world.transcript());
    let (mut world, open) = at("ice-maker-modular", "no ice", "meter");
    say(&mut world, open, &["done", "make that kilohms"]);
    assert!(!world.transcript().contains("kilohms."), "{}", world.transcript());
}

/// One thing at a time waits for a yes: nothing is taken up inside it.
#[test]
fn nothing_is_volunteered_while_something_is_read_back() {
    let (mut world, open) = at("ice-maker-modular", "no ice", "isolate");
    let open = say(&mut world, open, &["i know the heater is seventy one ohms"]);
    for intent in [
        Intent::Dictate(Dictated::Serial),
        Intent::Known(Named::Check("heater".into()), Reading::Overload),
        Intent::Rated("heater".into(), Quantity::new(Decimal::whole(165), Unit::Watts)),
    ] {
        let turn = world.turn(Input::Heard(Heard::surely("said", intent)));
        assert_eq!(turn.lines[0].text, "Not now. First what I asked.");
        assert_eq!(turn.listening.map(|next| next.topic), Some(open.topic.clone()));
    }
    assert_eq!(say(&mut world, open, &["yes"]).topic, "isolate");
}

/// "What do you expect" names what it is of: the open question is another one.
#[test]
fn what_was_expected_is_told_with_its_points() {
    let (mut world, open) = at("dryer-240", "no heat", "check heater-string");
    let open = say(&mut world, open, &["over limit"]);
    let told = world.say(&open, "what do you expect").lines[0].text.clone();
    assert!(told.starts_with("Line one to element two. It should be about"), "{told}");
}

/// What is chosen is an outcome of the check that is asked, or nothing.
#[test]
fn only_what_can_be_seen_is_seen() {
    let chose = |name: &str| Input::Heard(Heard::surely("said", Intent::Chose(name.to_owned())));
    let (mut world, open) = at("ice-maker-modular", "no ice", "isolate");
    let open = say(&mut world, open, &["i know the heater is seventy one ohms"]);
    let turn = world.turn(chose("dark"));
    assert_eq!(turn.lines[0].text, "That does not fit here.");
    assert_eq!(turn.listening.map(|next| next.topic), Some(open.topic));
    let mut world = World::new("dryer-240", "no heat", Some("leg-two-lost"));
    world.work_while(|listening| listening.topic != "check terminal-block").expect("asked");
    let found = |turn: &Turn| turn.entries.iter().any(|entry| matches!(entry.what, What::Found { .. }));
    assert!(!found(&world.turn(chose("nothing-of-the-kind"))), "{}", world.transcript());
    assert!(found(&world.turn(chose("fine"))), "{}", world.transcript());
}
