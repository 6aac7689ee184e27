//! How the job record bears growth: lists, searches, appends and size at a thousand, ten thousand and a hundred
//! thousand jobs of sixty entries.
//!
//! `LEADHAND_BENCH_JOBS=1000,10000` asks for other sizes.
#![allow(clippy::disallowed_methods, clippy::print_stdout, clippy::unwrap_used, missing_docs)]

use std::path::Path;
use std::time::{Duration, Instant};

use leadhand::id::CheckId;
use leadhand::quantity::{Decimal, Prefix, Quantity};
use leadhand::reading::{Finding, Reading};
use leadhand::record::entry::{CustomerField, Entry, PlateField, What};
use leadhand::record::header::Moment;
use leadhand::shell::store::exchange::{Parcel, Site};
use leadhand::shell::store::sealed::Sealed;
use leadhand::shell::store::{Link, Store, Wanted};
use leadhand::time::Timestamp;

/// Entries a job.
const ENTRIES: u32 = 60;
/// So often each thing is timed.
const TIMES: usize = 21;

fn main() {
    let sizes = std::env::var("LEADHAND_BENCH_JOBS").unwrap_or_else(|_| "1000,10000,100000".into());
    println!(
        "{:>8} {:>9} {:>8} {:>8} | {:>9} {:>9} {:>9} {:>9} {:>9} | {:>9} {:>9}",
        "jobs",
        "entries",
        "MB",
        "made s",
        "open ms",
        "common ms",
        "two ms",
        "rare ms",
        "serial ms",
        "append ms",
        "worst ms"
    );
    for size in sizes.split(',').map(|size| size.trim().parse::<u32>().expect("a number of jobs")) {
        let folder = tempfile::tempdir().unwrap();
        measure(&folder.path().join("jobs.sqlite"), size);
    }
}

fn measure(path: &Path, jobs: u32) {
    let mut store = Store::open(path).unwrap();
    let started = Instant::now();
    let (mut batch, mut previous) = (Vec::new(), Link::START);
    for number in 1..=jobs {
        let parcel = parcel(number, previous);
        previous = parcel.hash;
        batch.push(parcel);
        if batch.len() == 200 || number == jobs {
            store.take_in(&batch).unwrap();
            batch.clear();
        }
    }
    let made = started.elapsed();
    let list =
        |wanted: Wanted| median((0..TIMES).map(|_| timed(|| store.jobs(&wanted).unwrap().len())).collect());
    let most = Some(200);
    let words = |text: &str| Wanted {
        words: text.split(' ').map(str::to_owned).collect(),
        most,
        ..Wanted::default()
    };
    let open = list(Wanted { open: Some(true), most, ..Wanted::default() });
    let common = list(words("dryer"));
    let two = list(words("dryer alder"));
    let rare = list(words("birch77"));
    let serial = list(Wanted { serial: Some("SN000500".into()), most, ..Wanted::default() });
    let lease = store.create_job(OPENED).unwrap();
    let mut appends: Vec<Duration> = entries(1)
        .iter()
        .cycle()
        .take(300)
        .map(|entry| timed(|| store.append(&lease, entry).unwrap()))
        .collect();
    appends.sort_unstable();
    let megabytes = std::fs::metadata(path).unwrap().len() as f64 / 1e6;
    println!(
        "{jobs:>8} {:>9} {megabytes:>8.1} {:>8.1} | {:>9.2} {:>9.2} {:>9.2} {:>9.2} {:>9.2} | {:>9.2} {:>9.2}",
        u64::from(jobs) * u64::from(ENTRIES),
        made.as_secs_f64(),
        ms(open),
        ms(common),
        ms(two),
        ms(rare),
        ms(serial),
        ms(appends[appends.len() / 2]),
        ms(*appends.last().unwrap()),
    );
}

const OPENED: Moment = Moment { unix_ms: 1_795_615_500_000, offset_minutes: 60 };

fn parcel(number: u32, previous: Link) -> Parcel {
    let opened = Moment { unix_ms: OPENED.unix_ms + i64::from(number) * 3_600_000, ..OPENED };
    let hash = Link::of_job(previous, number, opened);
    let (mut last, mut sealed) = (hash, Vec::new());
    for (n, entry) in (1..).zip(entries(number)) {
        let one = Sealed::new(&entry, || Ok::<_, ()>([number as u8; 16])).unwrap();
        last = Link::of_entry(last, number, n, &one.body);
        sealed.push((one, last));
    }
    Parcel {
        site: Site([7; 16]),
        name: "birch".into(),
        number,
        opened,
        previous,
        hash,
        first: 1,
        entries: sealed,
    }
}

/// A job as the dialogue writes it: most entries are what was said and heard.
fn entries(number: u32) -> Vec<Entry> {
    const NAMES: [&str; 7] = ["Alder", "Birch", "Cedar", "Elm", "Fir", "Hazel", "Oak"];
    let name = format!("{} {}{}", NAMES[number as usize % 7], NAMES[number as usize / 7 % 7], number % 1000);
    let mut whats = vec![
        What::Opened { version: "0.1.0".into() },
        What::Machine {
            appliance: if number.is_multiple_of(3) { "ice-maker-modular" } else { "dryer-240" }.into(),
        },
        What::Complained { complaint: "no-heat".into() },
        What::Customer { field: CustomerField::Name, value: name },
        What::Customer { field: CustomerField::Place, value: format!("{} Hill Lane", number % 200) },
        What::Plate { field: PlateField::Serial, value: format!("SN{:06}", number / 2) },
        What::Noted { text: format!("the hose behind the dryer was crushed, bend {}", number % 50) },
    ];
    while whats.len() < ENTRIES as usize - 2 {
        let n = whats.len() as u32;
        whats.push(What::Said {
            text: "Ohms. Cutoff two to element two. What do you read?".into(),
            hazard: false,
        });
        whats.push(What::Heard { words: "ten point nine ohms".into(), permille: 958, understood: true });
        let reading = Reading::Value(Quantity { number: Decimal::whole(n), prefix: Prefix::One, unit: None });
        let check = CheckId::from(format!("check-{n}").as_str());
        let words = "ten point nine ohms".to_owned();
        whats.push(What::Found {
            check,
            finding: Finding::Reading(reading),
            words,
            permille: 958,
            others: Vec::new(),
        });
    }
    whats.truncate(ENTRIES as usize - 2);
    whats.push(What::Advised {
        remedy: Some("replace-element".into()),
        cause: "element-open".into(),
        permille: 970,
    });
    whats.push(if number.is_multiple_of(40) { What::Resumed } else { What::Finished });
    (0..).zip(whats).map(|(s, what)| Entry { at: Timestamp::from_millis(s * 20_000), what }).collect()
}

fn timed<T>(work: impl FnOnce() -> T) -> Duration {
    let started = Instant::now();
    std::hint::black_box(work());
    started.elapsed()
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}
