//! The screen at a glance, over real HTTP: what it shows, who may answer, and what is refused.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

/// Nothing here takes longer; a test that waits so long fails.
const LONGEST_WAIT: Duration = Duration::from_secs(60);

/// `leadhand type` with its screen.
struct Program {
    child: Child,
    address: SocketAddr,
    key: String,
    code: String,
    _folder: TempDir,
}

impl Program {
    fn start(args: &[&str]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut child = Command::new(env!("CARGO_BIN_EXE_leadhand"))
            .args(["type", "dryer-240"])
            .args(args)
            .arg("--store")
            .arg(folder.path().join("jobs.sqlite"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
        let mut after = |text: &str| {
            let line =
                lines.by_ref().take(5).find_map(|line| line.split_once(text).map(|found| found.1.to_owned()));
            line.unwrap_or_else(|| panic!("no {text}"))
        };
        let shown = after("screen: http://");
        let (host, key) = shown.split_once("/?key=").unwrap_or((shown.trim_end_matches('/'), ""));
        let code = if key.is_empty() { String::new() } else { after("type there: ") };
        std::thread::spawn(move || lines.for_each(drop));
        Self { child, address: host.parse().unwrap(), key: key.to_owned(), code, _folder: folder }
    }

    fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(self.address).unwrap();
        stream.set_read_timeout(Some(LONGEST_WAIT)).unwrap();
        stream
    }

    /// Sends a request as it stands; status and all that comes back.
    fn raw(&self, request: &[u8]) -> (u16, String) {
        let mut stream = self.connect();
        // A request that is refused early may not be read to its end.
        let _sent = stream.write_all(request);
        let mut bytes = Vec::new();
        let _read = stream.read_to_end(&mut bytes);
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let status = text.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or(0);
        (status, text)
    }

    fn ask(&self, line: &str, headers: &[&str], body: &str) -> (u16, String) {
        let host = format!("Host: {}", self.address);
        let named = headers.iter().any(|header| header.starts_with("Host:"));
        let mut request =
            format!("{line} HTTP/1.1\r\nConnection: close\r\nContent-Length: {}\r\n", body.len());
        for header in headers.iter().copied().chain((!named).then_some(host.as_str())) {
            request += &format!("{header}\r\n");
        }
        self.raw(format!("{request}\r\n{body}").as_bytes())
    }

    fn get(&self, path: &str) -> (u16, String) {
        self.ask(&format!("GET {path}"), &[], "")
    }

    /// Answers the question of a turn.
    fn answer(&self, turn: u64, words: &str) -> u16 {
        self.ask("POST /answer", &[], &format!("turn={turn}&words={}", words.replace(' ', "+"))).0
    }

    /// Looks on; gives the events as they come.
    fn look_on(&self) -> Events {
        let mut stream = self.connect();
        let request = format!("GET /events HTTP/1.1\r\nHost: {}\r\n\r\n", self.address);
        stream.write_all(request.as_bytes()).unwrap();
        Events(BufReader::new(stream))
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _gone = self.child.kill();
        let _gone = self.child.wait();
    }
}

struct Events(BufReader<TcpStream>);

/// What an event of a turn holds.
fn turn(number: u64) -> String {
    format!("name=\"turn\" value=\"{number}\"")
}

impl Events {
    /// Reads until an event holds the text.
    fn until(&mut self, text: &str) -> String {
        // Ends with the event, or after the longest wait: the server says now and then that it is still there.
        let deadline = Instant::now() + LONGEST_WAIT;
        loop {
            assert!(Instant::now() < deadline, "no event held {text:?}");
            let mut line = String::new();
            let read = self.0.read_line(&mut line).unwrap_or_else(|error| panic!("{error} before {text:?}"));
            assert!(read > 0, "the events ended before {text:?}");
            if line.contains(text) {
                return line;
            }
        }
    }
}

#[test]
fn a_job_is_seen_and_answered_from_the_page() {
    let program = Program::start(&["--screen"]);
    let mut events = program.look_on();
    events.until("What is wrong with it?");
    let (status, page) = program.get("/");
    assert_eq!(status, 200);
    for part in [
        "<h1>Which machine?</h1>",
        "id=\"now\" aria-live=\"polite\"",
        "What is wrong with it?",
        "value=\"runs but no heat\"",
        "value=\"stop\"",
        "<label for=\"words\">",
        "lang=\"en\"",
        "Alt+Shift+F8=F8",
        " F13=F13",
        "default-src 'none'",
        "nosniff",
    ] {
        assert!(page.contains(part), "{part}\n{page}");
    }
    // The browser's own keys are not taken from it.
    for key in ["F5", "F11", "Ctrl+F5", "Shift+F10"] {
        assert!(!page.contains(&format!(" {key}=")) && !page.contains(&format!("\"{key}=")), "{key}\n{page}");
    }
    let started = Instant::now();
    assert_eq!(program.answer(1, "no heat"), 303);
    let event = events.until("Treat as live");
    println!("an event {:.1} ms after the answer was sent", started.elapsed().as_secs_f64() * 1e3);
    assert!(event.contains("electric dryer") || event.contains("Electric dryer"), "{event}");
    // A second viewer, and one who loads the page again, see the same.
    assert!(program.get("/").1.contains("Treat as live"));
    program.look_on().until("Treat as live");
    // A touch too many answers nothing: the question that it was meant for is gone.
    assert_eq!(program.answer(1, "yes"), 303);
    // By touch alone until the work is proved dead.
    let dead = ["not sure", "F16", "yes", "done", "yes", "live and clear", "120 volts"]
        .into_iter()
        .chain(["0 volts"; 6]);
    let mut event = String::new();
    for (number, words) in (2..).zip(dead.chain(["120 volts"])) {
        assert_eq!(program.answer(number, words), 303);
        if words == "0 volts" {
            for part in ["Leads on", "class=\"lit\"", "Switched off", "with the leads on"] {
                assert!(event.contains(part), "{part}\n{event}");
            }
        }
        event = events.until(&turn(number + 1));
    }
    for part in ["Proved dead", "more checks.", "value=\"done\""] {
        assert!(event.contains(part), "{part}\n{event}");
    }
    // "Stop" is taken, whichever question is shown.
    assert_eq!(program.answer(3, "stop"), 303);
    assert!(events.until("Resting: say resume").contains("Treat as live"));
}

#[test]
fn what_is_hostile_is_refused() {
    let program = Program::start(&["--screen"]);
    program.look_on().until("What is wrong with it?");
    let own = format!("Origin: http://{}", program.address);
    let long = format!("words={}", "a".repeat(4_000));
    let rows: &[(&str, &[&str], &str, u16)] = &[
        ("GET /", &[], "", 200),
        ("GET /", &["Host: kitchen.example"], "", 421),
        ("GET /", &["Host: 127.0.0.1"], "", 421),
        ("GET /events", &["Host: kitchen.example:8737"], "", 421),
        ("GET /../Cargo.toml", &[], "", 404),
        ("GET /..%2f..%2fetc/passwd", &[], "", 404),
        ("GET /%2e%2e/%2e%2e/etc/passwd", &[], "", 404),
        ("GET //etc/passwd", &[], "", 404),
        ("GET /style.css/../../x", &[], "", 404),
        ("POST /answer", &["Origin: http://kitchen.example"], "words=done", 403),
        ("POST /answer", &["Origin: null"], "words=done", 403),
        ("POST /answer", &["Sec-Fetch-Site: cross-site"], "words=done", 403),
        ("POST /answer", &[&own, "Sec-Fetch-Site: cross-site"], "words=done", 403),
        ("POST /answer", &[&own], &long, 413),
        ("POST /answer", &[&own], "", 400),
        ("POST /answer", &[&own], "words=%ff", 400),
        ("POST /answer", &[&own], "words=done", 400),
        ("POST /answer", &[&own], "turn=x&words=done", 400),
        ("GET /answer", &[], "", 405),
        ("DELETE /", &[], "", 405),
        ("POST /pair", &[&own], "code=000000", 403),
        ("GET /?key=1", &[], "", 403),
    ];
    for (line, headers, body, wanted) in rows {
        let (status, text) = program.ask(line, headers, body);
        assert_eq!(status, *wanted, "{line} {headers:?}\n{text}");
        assert!(!text.contains("root:"), "{text}");
    }
    let garbage: [&[u8]; 4] =
        [b"\x16\x03\x01\x02\x00\x01", b"GET\r\n\r\n", b"GET / HTTP/9.9\r\n\r\n", b"\xff\xfe\xfd\r\n\r\n"];
    for bytes in garbage {
        let (status, text) = program.raw(bytes);
        assert!(status == 0 || status >= 400, "{bytes:?}: {text}");
    }
    // Nothing of that was an answer, and the program still takes one.
    assert!(program.get("/").1.contains("What is wrong with it?"));
    assert_eq!(
        program.ask("POST /answer", &[&own, "Sec-Fetch-Site: same-origin"], "turn=1&words=no+heat").0,
        303
    );
}

#[test]
fn many_look_on_and_no_more_than_there_are_seats() {
    let program = Program::start(&["--screen"]);
    let mut all: Vec<Events> = (0..64).map(|_| program.look_on()).collect();
    for events in &mut all {
        events.until("What is wrong with it?");
    }
    let (status, _) = program.get("/events");
    assert_eq!(status, 503);
    let started = Instant::now();
    assert_eq!(program.answer(1, "no heat"), 303);
    for events in &mut all {
        events.until("Treat as live");
    }
    println!(
        "64 viewers have seen it {:.1} ms after the answer was sent",
        started.elapsed().as_secs_f64() * 1e3
    );
    // Who leaves makes room; the server notices at the next event.
    drop(all);
    assert_eq!(program.answer(2, "stop"), 303);
    let deadline = Instant::now() + LONGEST_WAIT;
    while Instant::now() < deadline {
        let mut stream = program.connect();
        write!(stream, "GET /events HTTP/1.1\r\nHost: {}\r\n\r\n", program.address).unwrap();
        let mut line = String::new();
        BufReader::new(stream).read_line(&mut line).unwrap();
        if line.contains("200") {
            return;
        }
    }
    panic!("no seat was given back");
}

#[test]
fn another_machine_needs_the_key_to_look_and_the_code_to_answer() {
    let program = Program::start(&["--screen-address", "127.0.0.1:0"]);
    let cookie = |text: &str| {
        let set = text
            .lines()
            .find_map(|line| line.strip_prefix("set-cookie: "))
            .unwrap_or_else(|| panic!("{text}"));
        assert!(set.contains("HttpOnly") && set.contains("SameSite=Strict"), "{set}");
        format!("Cookie: {}", set.split(';').next().unwrap())
    };
    assert_eq!(program.get("/").0, 403);
    assert_eq!(program.get("/events").0, 403);
    assert_eq!(program.get("/style.css").0, 403);
    assert_eq!(program.get("/?key=").0, 403);
    assert_eq!(program.get(&format!("/?key={}0", program.key)).0, 403);
    let (status, text) = program.get(&format!("/?key={}", program.key));
    assert_eq!(status, 303);
    let eye = cookie(&text);
    let (status, page) = program.ask("GET /", &[&eye], "");
    assert!(status == 200 && page.contains("only shows") && !page.contains("action=\"/answer\""), "{page}");
    assert_eq!(program.ask("POST /answer", &[&eye], "words=no+heat").0, 403);
    assert_eq!(program.ask("POST /pair", &[&eye], "code=12345").0, 403);
    let (status, text) = program.ask("POST /pair", &[&eye], &format!("code={}", program.code));
    assert_eq!(status, 303);
    let hand = cookie(&text);
    assert_ne!(hand, eye);
    assert!(program.ask("GET /", &[&hand], "").1.contains("action=\"/answer\""));
    assert_eq!(program.ask("POST /answer", &[&hand], "turn=1&words=no+heat").0, 303);
    // Guessing ends after a few.
    for _ in 0..4 {
        assert_eq!(program.ask("POST /pair", &[&eye], "code=1").0, 403);
    }
    let (status, text) = program.ask("POST /pair", &[&eye], &format!("code={}", program.code));
    assert!(status == 403 && text.contains("Too many"), "{text}");
}
