//! Two technicians and a shared PostgreSQL: cut, repeated and reordered, nothing is lost and nothing is there twice.
//!
//! The server is started by the test, on a folder and a port of its own; where there is none the checks are skipped.
#![cfg(unix)]

use std::io::{Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use leadhand::record::entry::{CustomerField, Entry, What};
use leadhand::shell::store::Store;
use leadhand::shell::sync::{Shared, SyncError, Synced, sync};
use leadhand::time::Timestamp;
use tempfile::TempDir;

use crate::store::{OPENED, job, leadhand, note};

/// "nobody": the server does not run as root.
const NOBODY: u32 = 65_534;

/// A server of our own; stopped when dropped.
struct Server {
    folder: TempDir,
    port: u16,
    pg_ctl: PathBuf,
}

/// A program of the server, on the path or where Debian keeps it.
fn program(name: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    let on_path = std::env::split_paths(&path).map(|folder| folder.join(name));
    let versions = std::fs::read_dir("/usr/lib/postgresql").ok().into_iter().flatten().flatten();
    on_path.chain(versions.map(|version| version.path().join("bin").join(name))).find(|path| path.is_file())
}

fn as_nobody(program: &Path) -> Command {
    let mut command = Command::new(program);
    if is_root() {
        command.uid(NOBODY).gid(NOBODY);
    }
    command
}

fn is_root() -> bool {
    use std::os::unix::fs::MetadataExt;
    std::fs::metadata("/proc/self").is_ok_and(|own| own.uid() == 0)
}

impl Server {
    /// The server, or `None` with a printed count where there is none.
    fn start(checks: u32) -> Option<Self> {
        let (Some(initdb), Some(pg_ctl)) = (program("initdb"), program("pg_ctl")) else {
            println!("skipped: {checks} checks of the shared record, PostgreSQL is not installed");
            return None;
        };
        let folder = tempfile::tempdir().unwrap();
        if is_root() {
            std::os::unix::fs::chown(folder.path(), Some(NOBODY), Some(NOBODY)).unwrap();
        }
        let data = folder.path().join("data");
        let made = as_nobody(&initdb)
            .args(["-A", "trust", "-U", "leadhand", "--no-sync", "-E", "UTF8", "--locale=C", "-D"])
            .arg(&data)
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let server = Self { folder, port, pg_ctl };
        let options = format!("-h 127.0.0.1 -p {port} -k {} -c fsync=off", server.folder.path().display());
        server.control(&["-w", "-o", &options, "start"]);
        Some(server)
    }

    fn control(&self, args: &[&str]) {
        let done = as_nobody(&self.pg_ctl)
            .arg("-D")
            .arg(self.folder.path().join("data"))
            .arg("-l")
            .arg(self.folder.path().join("log"))
            .args(args)
            .current_dir(self.folder.path())
            .stdout(std::process::Stdio::null())
            .status()
            .unwrap();
        assert!(done.success() || args.contains(&"stop"), "pg_ctl {args:?}");
    }

    fn address(port: u16) -> String {
        format!("postgres://leadhand@127.0.0.1:{port}/postgres")
    }

    fn count(&self, table: &str) -> i64 {
        let mut client = postgres::Client::connect(&Self::address(self.port), postgres::NoTls).unwrap();
        client.query_one(&format!("SELECT count(*) FROM {table}"), &[]).unwrap().get(0)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.control(&["-m", "immediate", "stop"]);
    }
}

/// A way to the server that is cut after so many bytes, fewer and more by turns.
fn cut_way(to: u16, seed: u64) -> (u16, Arc<AtomicU64>) {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    let cuts = Arc::new(AtomicU64::new(0));
    let counted = Arc::clone(&cuts);
    std::thread::spawn(move || {
        let mut seed = seed;
        for client in listener.incoming().map_while(Result::ok) {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            // Every fifth connection holds, so that it comes to an end.
            let whole = (seed >> 33).is_multiple_of(5);
            let budget = if whole { u64::MAX } else { 2_000 + (seed >> 40 & 0xFFFF) };
            let server = TcpStream::connect(("127.0.0.1", to)).unwrap();
            let left = Arc::new(AtomicU64::new(budget));
            for (from, to) in [
                (client.try_clone().unwrap(), server.try_clone().unwrap()),
                (server.try_clone().unwrap(), client.try_clone().unwrap()),
            ] {
                let (left, cuts) = (Arc::clone(&left), Arc::clone(&counted));
                std::thread::spawn(move || pass(from, to, &left, &cuts));
            }
        }
    });
    (port, cuts)
}

fn pass(mut from: TcpStream, mut to: TcpStream, left: &AtomicU64, cuts: &AtomicU64) {
    let mut buffer = [0; 4096];
    while let Ok(read @ 1..) = from.read(&mut buffer) {
        let before =
            left.fetch_update(Ordering::SeqCst, Ordering::SeqCst, |n| Some(n.saturating_sub(read as u64)));
        if before.unwrap() < read as u64 {
            cuts.fetch_add(1, Ordering::SeqCst);
            break;
        }
        if to.write_all(&buffer[..read]).is_err() {
            break;
        }
    }
    let (_, _) = (from.shutdown(Shutdown::Both), to.shutdown(Shutdown::Both));
}

/// Two records of two technicians.
fn two(folder: &Path) -> [Store; 2] {
    ["anna", "birch"].map(|name| {
        let mut store = Store::open(&folder.join(format!("{name}.sqlite"))).unwrap();
        store.name_site(name).unwrap();
        store
    })
}

fn work(store: &mut Store, jobs: u32, entries: u32, who: &str) {
    for n in 0..jobs {
        let lease = store.create_job(OPENED).unwrap();
        let name = What::Customer { field: CustomerField::Name, value: format!("{who}'s customer {n}") };
        store.append(&lease, &Entry { at: Timestamp::ZERO, what: name }).unwrap();
        for n in 1..entries {
            store.append(&lease, &note(n)).unwrap();
        }
    }
}

/// Syncs until it has gone through, however often the way is cut.
fn until_through(store: &mut Store, port: u16) -> (u32, Synced) {
    let mut moved = Synced::default();
    for tries in 1..2_000 {
        let once =
            Shared::open(&Server::address(port)).and_then(|mut shared| sync(store, &mut shared, &mut moved));
        match once {
            Ok(()) => return (tries, moved),
            Err(why) => assert!(why.passes(), "{why}"),
        }
    }
    panic!("it never went through");
}

/// `LEADHAND_SYNC_JOBS` asks for more jobs of each technician.
#[test]
fn two_technicians_share_what_they_wrote_over_a_way_that_is_cut() {
    let Some(server) = Server::start(1) else { return };
    let jobs: u32 = std::env::var("LEADHAND_SYNC_JOBS").map_or(60, |text| text.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let [mut anna, mut birch] = two(folder.path());
    let (port, cuts) = cut_way(server.port, 0x5EED);
    let mut tries = 0;
    for round in 0..3 {
        work(&mut anna, jobs / 3, 8, "anna");
        work(&mut birch, jobs / 3, 8, "birch");
        for store in [&mut anna, &mut birch] {
            tries += until_through(store, port).0;
        }
        // A job is gone on with after others have it.
        let lease = anna.lease(job(1)).unwrap();
        anna.append(&lease, &note(100 + round)).unwrap();
    }
    for _ in 0..2 {
        for store in [&mut anna, &mut birch] {
            tries += until_through(store, port).0;
        }
    }
    let heads = anna.heads().unwrap();
    assert_eq!(heads, birch.heads().unwrap(), "both ends are equal by hash");
    assert_eq!(heads.len(), 2 * (jobs as usize / 3 * 3));
    let entries: u64 = heads.iter().map(|head| u64::from(head.entries)).sum();
    assert_eq!(server.count("leadhand_entry") as u64, entries, "nothing is lost and nothing is there twice");
    assert_eq!(server.count("leadhand_personal") as u64, u64::from(jobs / 3 * 3 * 2));
    for store in [&anna, &birch] {
        let verified = store.verify().unwrap();
        assert_eq!((verified.entries, verified.breaks), (entries, vec![]));
    }
    let (_, again) = until_through(&mut anna, server.port);
    assert_eq!(again, Synced::default(), "once more does nothing");
    println!(
        "two technicians, {jobs} jobs each, entries {entries}: equal by hash after {tries} tries and {} cuts",
        cuts.load(Ordering::SeqCst)
    );
}

#[test]
fn the_shared_record_forgets_too_and_tells_forks() {
    let Some(server) = Server::start(1) else { return };
    let folder = tempfile::tempdir().unwrap();
    let [mut anna, mut birch] = two(folder.path());
    work(&mut anna, 2, 3, "anna");
    let copy = folder.path().join("copy.sqlite");
    for store in [&mut anna, &mut birch] {
        until_through(store, server.port);
    }
    let words = |store: &Store| format!("{:?}", store.entries(job(1)).unwrap()).contains("anna's customer");
    assert!(words(&birch), "personal words travel with their entries");
    let refused = birch.lease(job(1)).unwrap_err().to_string();
    assert_eq!(refused, "job 1 was written on another technician's machine");

    anna.backup(&copy).unwrap();
    let lease = anna.lease(job(1)).unwrap();
    anna.forget(&lease, Timestamp::from_millis(9)).unwrap();
    drop(lease);
    for store in [&mut anna, &mut birch] {
        until_through(store, server.port);
        assert!(!words(store), "and go with them");
        assert_eq!(store.verify().unwrap().breaks, []);
    }
    assert_eq!(server.count("leadhand_personal"), 1, "those of the other job");

    let mut fork = Store::open(&copy).unwrap();
    let lease = fork.lease(job(1)).unwrap();
    fork.append(&lease, &note(1)).unwrap();
    let mut shared = Shared::open(&Server::address(server.port)).unwrap();
    let error = sync(&mut fork, &mut shared, &mut Synced::default()).unwrap_err();
    assert!(matches!(error, SyncError::Fork { .. }), "{error}");
    let mut client = postgres::Client::connect(&Server::address(server.port), postgres::NoTls).unwrap();
    for sql in [
        "DELETE FROM leadhand_entry",
        "UPDATE leadhand_job SET opened_ms = 0",
        "TRUNCATE leadhand_entry CASCADE",
    ] {
        let error = client.batch_execute(sql).unwrap_err();
        assert!(error.as_db_error().unwrap().message().contains("only ever added to"), "{sql}: {error}");
    }
    client.batch_execute("UPDATE leadhand_layout SET version = 9").unwrap();
    let newer = Shared::open(&Server::address(server.port)).err().unwrap().to_string();
    assert_eq!(newer, "the shared record has layout 9; this program knows layout 1");
}

#[test]
fn a_shared_record_that_is_not_there_gets_a_clear_message() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("jobs.sqlite");
    drop(Store::open(&path).unwrap());
    let closed = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    let error = Shared::open(&Server::address(closed)).err().unwrap();
    assert!(
        error.passes() && error.to_string().starts_with("the shared record cannot be reached"),
        "{error}"
    );
    let (well, said) = leadhand(&path, &["sync", "nonsense"]);
    assert!(!well && said.contains("cannot be reached"), "{said}");
}
