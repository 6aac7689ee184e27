//! The screen at a glance, served to browsers: one page, its events, and the answers that come back.
//!
//! Runs on a thread of its own. On this machine's own address nobody needs a token; on another, who looks needs the token of
//! the address shown at the start, and who answers must also have typed the code that is shown with it.
//!
//! Invariants: at most [`MOST_VIEWERS`] look on; a request larger than [`LONGEST_ANSWER`] is refused; nothing but the page's
//! own routes is served.

mod guard;
mod routes;

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, AtomicUsize};
use std::sync::mpsc::{self, SyncSender};
use std::thread;

use miette::miette;
use tokio::net::TcpListener;
use tokio::sync::watch;

use super::console::Typed;
use super::conversation::Turn;
use super::job::Kept;
use crate::dialogue::{Listening, Session};
use crate::record::job::Job;
use crate::say::Line;
use crate::screen::{Glance, Mood};
use guard::Guard;

/// So many pages may be open at a time.
pub const MOST_VIEWERS: usize = 64;

/// The longest answer taken, in bytes as sent.
pub const LONGEST_ANSWER: usize = 1024;

/// Where the page is, if it is wanted.
#[derive(Clone, Copy, Debug, Default, clap::Args)]
pub struct ScreenArgs {
    /// Show what is going on as a page for a browser on this machine
    #[arg(long)]
    screen: bool,
    /// Show it to other machines too, at this address of this one (192.168.1.20:8080): with a token, and only to be looked at
    /// until paired
    #[arg(long, value_name = "ADDRESS:PORT")]
    screen_address: Option<SocketAddr>,
}

/// Where the page is on this machine, unless that port is taken.
const PORT: u16 = 8737;

/// The page, as long as this lives.
pub struct Screen {
    shown: watch::Sender<Shown>,
    number: String,
    job: Job,
    lines: Vec<Line>,
    turns: u64,
    now: Shown,
}

/// What there is to be seen.
#[derive(Clone, Default)]
struct Shown {
    glance: Arc<Glance>,
    mood: Mood,
}

/// What the routes share.
struct House {
    shown: watch::Receiver<Shown>,
    answers: SyncSender<Typed>,
    guard: Guard,
    viewers: AtomicUsize,
    /// Wrong pairing codes so far.
    wrong: AtomicU32,
}

impl Screen {
    /// Opens the page if it is wanted, and says on the terminal where it is. It begins with what is on record of the job;
    /// answers go to `answers`.
    ///
    /// # Errors
    /// An address that cannot be opened.
    pub fn open(args: ScreenArgs, kept: &Kept, answers: SyncSender<Typed>) -> miette::Result<Option<Self>> {
        let Some((guard, listener)) = door(args)? else { return Ok(None) };
        println!("screen: {}", guard.address());
        if let Some(code) = guard.code() {
            println!("to answer from another machine, type there: {code}");
        }
        let (shown, seen) = watch::channel(Shown::default());
        let house =
            House { shown: seen, answers, guard, viewers: AtomicUsize::new(0), wrong: AtomicU32::new(0) };
        serve(listener, house)?;
        Ok(Some(Self {
            shown,
            number: kept.job().to_string(),
            job: Job::fold(&kept.store().entries(kept.job())?),
            lines: Vec::new(),
            turns: 0,
            now: Shown::default(),
        }))
    }

    /// Shows what a turn has made of the job. The last lines stay where nothing new is said.
    pub fn turn(&mut self, session: &Session, turn: &Turn) {
        turn.entries.iter().for_each(|entry| self.job.apply(entry));
        if !turn.lines.is_empty() {
            self.lines.clone_from(&turn.lines);
        }
        self.turns += 1;
        self.now.glance = Arc::new(Glance {
            turn: self.turns,
            job: self.number.clone(),
            left: session.checks_left(),
            ..Glance::of(
                &self.job,
                session.machine().map(AsRef::as_ref),
                &self.lines,
                turn.listening.as_ref(),
            )
        });
        self.now.mood = if turn.listening.is_none() { Mood::Finished } else { Mood::Speaking };
        self.tell();
    }

    /// The turn that is shown.
    pub fn turn_shown(&self) -> u64 {
        self.turns
    }

    /// We listen now.
    pub fn listen(&mut self, listening: &Listening) {
        self.mood(if listening.topic == "paused" { Mood::Paused } else { Mood::Listening });
    }

    /// What is going on from now on.
    pub fn mood(&mut self, mood: Mood) {
        if self.now.mood != mood {
            self.now.mood = mood;
            self.tell();
        }
    }

    fn tell(&self) {
        // Where nobody looks on, the next one who comes sees it.
        self.shown.send_replace(self.now.clone());
    }
}

/// Where the page is to be, and who may come in; `None` where it is not wanted.
fn door(args: ScreenArgs) -> miette::Result<Option<(Guard, std::net::TcpListener)>> {
    if let Some(address) = args.screen_address {
        let listener = bind(address)?;
        let mut secret = [0; 32];
        getrandom::fill(&mut secret).map_err(|error| miette!("the system gives no chance: {error}"))?;
        return Ok(Some((Guard::beyond(local(&listener)?, secret), listener)));
    }
    if !args.screen {
        return Ok(None);
    }
    let here = |port| SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), port);
    let listener = bind(here(PORT)).or_else(|_| bind(here(0)))?;
    Ok(Some((Guard::here(local(&listener)?), listener)))
}

fn bind(address: SocketAddr) -> miette::Result<std::net::TcpListener> {
    std::net::TcpListener::bind(address).map_err(|error| {
        miette!(
            help = "Choose another port, and an address that this machine has.",
            "the screen cannot be shown at {address}: {error}"
        )
    })
}

fn local(listener: &std::net::TcpListener) -> miette::Result<SocketAddr> {
    listener.local_addr().map_err(|error| miette!("the screen has no address: {error}"))
}

/// Serves on a thread of its own until the program ends.
fn serve(listener: std::net::TcpListener, house: House) -> miette::Result<()> {
    let (tell, opened) = mpsc::sync_channel(1);
    thread::spawn(move || {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
        let ready = runtime.and_then(|runtime| {
            listener.set_nonblocking(true)?;
            let listener = {
                let _inside = runtime.enter();
                TcpListener::from_std(listener)?
            };
            Ok((runtime, listener))
        });
        match ready {
            Ok((runtime, listener)) => {
                let _told = tell.send(Ok(()));
                // Serving never ends by itself.
                let _ended = runtime.block_on(async { axum::serve(listener, routes::router(house)).await });
            }
            Err(error) => {
                let _told = tell.send(Err(error));
            }
        }
    });
    let told = opened.recv().map_err(|_| miette!("the screen's thread has ended"))?;
    told.map_err(|error| miette!("the screen cannot be served: {error}"))
}
