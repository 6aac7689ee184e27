//! Pretend jobs on the machines that come with the program: right, cheap and safe, against ways that are known.

mod optimum;

use std::process::Command;
use std::sync::Arc;

use leadhand::dialogue::ReadBack;
use leadhand::model;
use leadhand::simulate::conversation::{Ears, Exchange};
use leadhand::simulate::hearing::Hearing;
use leadhand::simulate::policy::{OTHERS, Policy};
use leadhand::simulate::round::{Conditions, Job, Round};
use leadhand::simulate::tally::Tally;
use leadhand::simulate::technician::Slips;
use leadhand::simulate::watch::Watch;

/// One per cent of wrong readings accepted, three of misplaced leads, and some that are misheard.
fn slips(seed: u64) -> Conditions {
    let slips = Slips { misplaced: 0.03, misread: 0.01, unheeded: 0.3, nodded: 0.02 };
    Conditions { slips, hearing: Hearing::QUIET, ..Conditions::clean(seed) }
}

/// Jobs on each machine: enough for the sum of all, not for each.
const JOBS: u64 = 100;

fn jobs(machine: &str, conditions: Conditions, others: &[&dyn Policy]) -> Vec<Job> {
    let round = Round::new(&Arc::new(model::by_name(machine).unwrap()), conditions);
    let mut ears = Ears::default();
    (0..JOBS).map(|number| round.job(number, others, &mut ears)).collect()
}

fn share(tally: &Tally) -> f64 {
    f64::from(tally.right.count) / f64::from(tally.right.of)
}

#[test]
fn the_program_is_right_cheap_and_safe() {
    let mut ours = [Tally::default(), Tally::default()];
    let mut others: Vec<Tally> = OTHERS.iter().map(|_| Tally::default()).collect();
    for (machine, _) in model::shipped() {
        for (tally, conditions, compared) in
            [(0, Conditions::clean(2026), &[][..]), (1, slips(2026), &OTHERS[..])]
        {
            for job in jobs(machine, conditions, compared) {
                assert_eq!(job.unsafe_orders, Vec::<String>::new(), "{machine}");
                assert_eq!(job.left_at, None, "{machine}: every job comes to its end");
                ours[tally].add(&job.ours);
                others.iter_mut().zip(&job.others).for_each(|(tally, outcome)| tally.add(outcome));
            }
        }
    }
    let (clean, slips) = (share(&ours[0]), share(&ours[1]));
    println!("right: clean {clean:.3}, slips {slips:.3}; cost {:.1}", ours[1].cost.mean());
    assert!(clean >= 0.97 && slips >= 0.95, "{clean} {slips}");
    for (policy, tally) in OTHERS.iter().zip(&others) {
        println!("{}: right {:.3}; cost {:.1}", policy.name(), share(tally), tally.cost.mean());
        assert!(ours[1].cost.mean() < tally.cost.mean(), "{}", policy.name());
    }
    assert!(ours[1].cost.mean() <= 0.75 * others[0].cost.mean(), "a quarter below the checklist");
    assert!(slips < clean, "slips do harm");
}

/// A yes where it matters: fewer wrong values stand than where none is asked for, and fewer questions are asked than where
/// all are.
#[test]
fn a_yes_is_asked_for_where_it_matters() {
    let noisy = Conditions { hearing: Hearing::KITCHEN, ..slips(5) };
    let exchanges = |read_back| -> Vec<Exchange> {
        let conditions = Conditions { read_back, ..noisy };
        let machines = ["dryer-240", "dishwasher-230", "refrigerator-defrost"];
        machines.iter().flat_map(|machine| jobs(machine, conditions, &[])).map(|job| job.exchange).collect()
    };
    let [ours, always, never] = [ReadBack::WhereItMatters, ReadBack::Always, ReadBack::Never].map(exchanges);
    let a_reading = |all: &[Exchange], of: fn(&Exchange) -> u32| {
        let readings: u32 = all.iter().map(|exchange| exchange.readings).sum();
        f64::from(all.iter().map(of).sum::<u32>()) / f64::from(readings)
    };
    let wrong = [&ours, &always, &never].map(|all| a_reading(all, |exchange| exchange.wrong));
    let asked = [&ours, &always, &never].map(|all| a_reading(all, |exchange| exchange.asked));
    println!("where it matters, always, never: wrong {wrong:.4?}, asked {asked:.3?} of a reading");
    assert!(wrong[0] < 0.75 * wrong[2], "{wrong:?}");
    assert!(asked[0] < 0.5 * asked[1], "{asked:?}");
    assert!(asked[1] >= 1.0 && asked[2] == 0.0, "{asked:?}");
    let clean = jobs("dryer-240", Conditions::clean(5), &[]);
    assert!(
        clean.iter().all(|job| (job.exchange.wrong, job.exchange.asked, job.exchange.again) == (0, 0, 0))
    );
}

#[test]
fn a_job_depends_on_its_number_alone() {
    let round = Round::new(&Arc::new(model::by_name("dryer-240").unwrap()), slips(7));
    let other = Round::new(&Arc::new(model::by_name("dryer-240").unwrap()), slips(8));
    let mut ears = Ears::default();
    let forwards: Vec<_> = (0..20).map(|n| round.job(n, &OTHERS, &mut ears)).collect();
    let backwards: Vec<_> = (0..20).rev().map(|n| round.job(n, &[], &mut Ears::default())).collect();
    for (a, b) in forwards.iter().zip(backwards.iter().rev()) {
        assert_eq!((a.case, a.cause, &a.ours, &a.advice), (b.case, b.cause, &b.ours, &b.advice));
    }
    let causes = |jobs: &[Job]| jobs.iter().map(|job| (job.case, job.cause)).collect::<Vec<_>>();
    let others: Vec<_> = (0..20).map(|n| other.job(n, &[], &mut ears)).collect();
    assert_ne!(causes(&forwards), causes(&others), "another seed, other jobs");
}

/// The onlooker is no rubber stamp: what must never be ordered is seen.
#[test]
fn an_unsafe_order_is_seen() {
    let dryer = model::by_name("dryer-240").unwrap();
    let proved = |watch: &mut Watch| {
        for topic in ["isolate", "source-ack", "source"] {
            watch.answered(topic);
        }
        for (a, b) in &dryer.prove_dead {
            watch.answered(&format!("dead {a} {b}"));
        }
        watch.answered("source-again");
    };
    let fresh = Watch::new(&dryer);
    let mut dead = fresh.clone();
    proved(&mut dead);
    let mut half = fresh.clone();
    for topic in ["isolate", "source-ack", "source", "dead line-1 line-2", "source-again"] {
        half.answered(topic);
    }
    let mut warned = dead.clone();
    warned.answered("ack line-to-line");
    let mut live = warned.clone();
    live.answered("live plugged-in");
    for (what, watch, topic, hazard, safe) in [
        ("ohms on a machine nobody proved dead", &fresh, "check element", false, false),
        ("ohms where one pair of six was read", &half, "check element", false, false),
        ("ohms on a machine proved dead", &dead, "check element", false, true),
        ("ohms after the plug went in", &live, "check element", false, false),
        ("the plug in without a warning", &dead, "live plugged-in", false, false),
        ("the plug in after the warning was answered", &warned, "live plugged-in", false, true),
        ("a warning that is not spoken as one", &dead, "ack line-to-line", false, false),
        ("a warning", &dead, "ack line-to-line", true, true),
        ("live leads on a dead machine", &dead, "check line-to-line", false, false),
        ("live leads in another state", &live, "check element-running", false, false),
        ("live leads", &live, "check line-to-line", false, true),
        ("hands in a live machine", &live, "fixed", false, false),
        ("the leads touched together on a machine proved dead", &dead, "leads", false, true),
        ("the leads touched together in a live machine", &live, "leads", false, false),
        ("the known source before the machine is cut off", &fresh, "source", false, false),
    ] {
        let mut watch = watch.clone();
        watch.ordered(topic, hazard);
        assert_eq!(watch.unsafe_orders().is_empty(), safe, "{what}: {:?}", watch.unsafe_orders());
    }
}

fn simulate(arguments: &[&str]) -> (bool, String) {
    let output =
        Command::new(env!("CARGO_BIN_EXE_leadhand")).arg("simulate").args(arguments).output().unwrap();
    let text = [output.stdout, output.stderr].concat();
    (output.status.success(), String::from_utf8(text).unwrap())
}

#[test]
fn the_command_prints_the_same_for_the_same_seed() {
    let folder = tempfile::tempdir().unwrap();
    let table = folder.path().join("figures.csv");
    let arguments =
        ["microwave", "--jobs", "40", "--seed", "3", "--faults", "--csv", table.to_str().unwrap()];
    let (well, text) = simulate(&arguments);
    assert!(well, "{text}");
    assert_eq!(simulate(&arguments).1, text);
    for line in [
        "microwave, 40 jobs",
        "  ours ",
        "  checklist ",
        "no-heat / ",
        "unsafe orders: 0",
        "jobs not closed: 0",
    ] {
        assert!(text.contains(line), "{line}:\n{text}");
    }
    let rows = std::fs::read_to_string(table).unwrap();
    assert!(
        rows.starts_with("appliance,complaint,fault,policy,jobs,right,right_low,right_high,claimed,checks,")
    );
    assert!(rows.contains("\nmicrowave,,,ours,40,") && rows.contains("\nmicrowave,no-heat,"), "{rows}");
    let (_, alone) = simulate(&["microwave", "--jobs", "40", "--seed", "4", "--alone"]);
    assert!(!alone.contains("checklist") && !alone.contains("no-heat / "), "{alone}");
    for (wrong, why) in [
        (["--misread", "2"], "a share is a number from 0 to 1"),
        (["--jobs", "0"], "0 is not in 1..="),
        (["toaster", "--alone"], "no appliance model `toaster`"),
    ] {
        let (well, text) = simulate(&wrong);
        assert!(!well && text.contains(why), "{wrong:?}: {text}");
    }
}
