//! A pretend technician, machine and meter that drive a session by typed words.
//!
//! The machine has one fault, or none; the meter shows what the circuit predicts for it. A test may put other words
//! into the technician's mouth for a topic, in order.

use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;
use std::time::Duration;

use leadhand::circuit::Meter;
use leadhand::dialogue::{Input, Listening, Session};
use leadhand::id::{FaultId, PointId};
use leadhand::model;
use leadhand::model::appliance::{Appliance, CheckKind, Function, Prediction};
use leadhand::quantity::{Decimal, Prefix, Quantity, Unit};
use leadhand::record::entry::{Entry, What};
use leadhand::record::job::Job;
use leadhand::say::Manner;
use leadhand::shell::conversation::{Conversation, Turn};
use leadhand::time::Timestamp;
use leadhand::understand;
use leadhand::understand::numerals::quantity_words;

/// More turns than any job needs.
const MOST_TURNS: usize = 200;

/// A job in a world of its own.
#[derive(Clone)]
pub struct World {
    appliance: Arc<Appliance>,
    fault: Option<FaultId>,
    says: BTreeMap<String, VecDeque<String>>,
    conversation: Conversation<Vec<Entry>>,
    now: Timestamp,
    transcript: Vec<Said>,
}

/// Something said: when, by whom (as a mark), what.
#[derive(Clone)]
struct Said {
    at: Timestamp,
    mark: &'static str,
    words: String,
}

impl World {
    /// A machine with this fault, and a customer with this complaint (as said).
    pub fn new(appliance: &str, complaint: &str, fault: Option<&str>) -> Self {
        let appliance = Arc::new(model::by_name(appliance).expect("a shipped model"));
        let session = Session::new(vec![Arc::clone(&appliance)].into(), Some(Arc::clone(&appliance)));
        let mut world = Self {
            appliance,
            fault: fault.map(FaultId::from),
            says: BTreeMap::new(),
            conversation: Conversation::new(session, Vec::new()),
            now: Timestamp::ZERO,
            transcript: Vec::new(),
        };
        world = world.says("complaint", &[complaint]);
        world
    }

    /// The session that goes on with a job on this machine.
    pub fn session_of(&self, job: &Job) -> Session {
        let shelf = vec![Arc::clone(&self.appliance)].into();
        Session::resume(shelf, job).expect("the machine is on the shelf")
    }

    /// A job that a session goes on with.
    pub fn going_on(appliance: &str, session: Session, entries: Vec<Entry>) -> Self {
        Self { conversation: Conversation::new(session, entries), ..Self::new(appliance, "", None) }
    }

    /// The first question.
    pub fn begin(&mut self) -> Listening {
        self.turn(Input::Start).listening.expect("something is asked")
    }

    /// The same job, picked up from its record.
    pub fn picked_up_again(self) -> Self {
        let session = self.session_of(&Job::fold(self.entries()));
        let entries = self.entries().to_vec();
        Self { conversation: Conversation::new(session, entries), ..self }
    }

    /// What the technician says on a topic, in order, before the usual answer.
    pub fn says(mut self, topic: &str, words: &[&str]) -> Self {
        self.says.entry(topic.to_owned()).or_default().extend(words.iter().map(ToString::to_string));
        self
    }

    /// Works the job to its end, or for as long as `go_on` says.
    pub fn work_while(&mut self, go_on: impl Fn(&Listening) -> bool) -> Option<Listening> {
        let mut input = Input::Start;
        for _ in 0..MOST_TURNS {
            let turn = self.turn(input);
            let listening = turn.listening?;
            if !go_on(&listening) {
                return Some(listening);
            }
            input = self.answer(&listening);
        }
        panic!("the job does not end:\n{}", self.transcript());
    }

    /// Works the job to its end.
    pub fn work(mut self) -> Self {
        self.work_while(|_| true);
        self
    }

    /// One input, and what came of it.
    pub fn turn(&mut self, input: Input) -> Turn {
        let turn = self.conversation.turn(self.now, input);
        for line in &turn.lines {
            let mark = if line.manner == Manner::Hazard { "!!" } else { "<" };
            self.transcript.push(Said { at: self.now, mark, words: line.text.clone() });
        }
        self.now = self.now.after(Duration::from_secs(4));
        turn
    }

    /// Says something now, whatever was asked.
    pub fn say(&mut self, listening: &Listening, words: &str) -> Turn {
        self.hears(words);
        let heard = understand::typed(&understand::open(&listening.situation), words);
        self.turn(Input::Heard(heard))
    }

    /// Notes that something is said.
    pub fn hears(&mut self, words: &str) {
        self.transcript.push(Said { at: self.now, mark: ">", words: words.to_owned() });
    }

    /// Something that happens, or that is worth knowing, for the transcript.
    pub fn happens(&mut self, what: &str) {
        self.happened(self.now, what);
    }

    /// The same, some time ago.
    pub fn happened(&mut self, at: Timestamp, what: &str) {
        self.transcript.push(Said { at, mark: "*", words: what.to_owned() });
    }

    /// Lets time pass.
    pub fn wait(&mut self, how_long: Duration) {
        self.now = self.now.after(how_long);
    }

    /// Goes on with what the usual technician says.
    pub fn usually(&mut self, listening: &Listening) -> Option<Listening> {
        self.usual_turn(listening).listening
    }

    /// The same, with all that came of it.
    pub fn usual_turn(&mut self, listening: &Listening) -> Turn {
        let input = self.answer(listening);
        self.turn(input)
    }

    fn answer(&mut self, listening: &Listening) -> Input {
        let scripted = self.says.get_mut(&listening.topic).and_then(VecDeque::pop_front);
        let words = scripted.unwrap_or_else(|| self.usual(&listening.topic));
        self.hears(&words);
        if words == "(silence)" {
            return Input::Silence;
        }
        let heard = understand::typed(&understand::open(&listening.situation), &words);
        Input::Heard(heard)
    }

    /// What an able technician says with a good meter on this machine.
    fn usual(&self, topic: &str) -> String {
        let (kind, rest) = topic.split_once(' ').unwrap_or((topic, ""));
        match kind {
            "meter" | "control" | "closing" | "confirm" | "known" => "yes".into(),
            "isolate" | "state" | "before" | "live" | "jumper-in" | "jumper-out" | "fixed" => "done".into(),
            "recurs" | "replaced" => "not sure".into(),
            "source-ack" => "live and clear".into(),
            "source" | "source-again" => self.known_source(),
            "dead" | "charge" => "zero volts".into(),
            "leads" => "zero ohms".into(),
            "paused" => "resume".into(),
            "ack" => self.acknowledgement(rest),
            "check" => self.finding(rest),
            other => panic!("nobody told the technician what to say on `{other}`:\n{}", self.transcript()),
        }
    }

    fn known_source(&self) -> String {
        let (least, most) = self.appliance.known_source_volts;
        words_for(f64::midpoint(least, most).round(), Unit::Volts)
    }

    fn acknowledgement(&self, check: &str) -> String {
        match self.appliance.check(&check.into()).expect("a check").points() {
            Some((from, to)) => format!("live at {} and {}", self.point(from), self.point(to)),
            None => "live and clear".into(),
        }
    }

    fn point(&self, id: &PointId) -> String {
        self.appliance.point(id).expect("a point").say[0].clone()
    }

    fn finding(&self, check: &str) -> String {
        let check = self.appliance.check(&check.into()).expect("a check");
        let unit = match &check.kind {
            CheckKind::Measure(m) => m.function.unit(),
            CheckKind::Gauge(gauge) => gauge.unit,
            CheckKind::Observe(_) => Unit::Percent,
        };
        let beeps = matches!(&check.kind, CheckKind::Measure(m) if m.function == Function::Continuity);
        match (self.appliance.predict(check, self.fault.as_ref()), &check.kind) {
            (Prediction::Overload, _) if beeps => "no beep".into(),
            (Prediction::Value { nominal, .. }, _) if beeps => {
                if nominal < Meter::SERVICE.beep_ohms { "beep" } else { "no beep" }.into()
            }
            (Prediction::Value { nominal, .. }, _) => words_for(nominal, unit),
            (Prediction::Overload, _) => "over limit".into(),
            (Prediction::Outcomes(shares), CheckKind::Observe(observation)) => {
                let best =
                    (0..shares.len()).max_by(|a, b| shares[*a].total_cmp(&shares[*b])).expect("an outcome");
                observation.outcomes[best].say[0].clone()
            }
            (Prediction::Outcomes(_), _) => unreachable!("only observations have outcomes"),
        }
    }

    /// The program dies and is started again on its record; what is asked then.
    pub fn restart(&mut self) -> Listening {
        let session = self.session_of(&Job::fold(self.entries()));
        self.conversation = Conversation::new(session, self.entries().to_vec());
        self.begin()
    }

    /// Forgets what was said so far: a transcript from here on.
    pub fn cut(&mut self) {
        self.transcript.clear();
    }

    /// What was said on both sides.
    pub fn transcript(&self) -> String {
        let lines = self.transcript.iter().map(|said| format!("{} {}", said.mark, said.words));
        lines.collect::<Vec<_>>().join("\n")
    }

    /// The same with the time of the job.
    pub fn timed_transcript(&self) -> String {
        let lines =
            self.transcript.iter().map(|said| format!("{:>7} {:2} {}", said.at, said.mark, said.words));
        lines.map(|line| line.trim_end().to_owned()).collect::<Vec<_>>().join("\n")
    }

    /// What was kept.
    pub fn entries(&self) -> &[Entry] {
        self.conversation.kept()
    }

    /// Every remedy advised, in order.
    pub fn advised(&self) -> Vec<String> {
        let remedies = self.entries().iter().filter_map(|entry| match &entry.what {
            What::Advised { remedy, cause, .. } => {
                Some(remedy.as_ref().map_or(cause.clone(), ToString::to_string))
            }
            _ => None,
        });
        remedies.collect()
    }
}

/// A value as a three-and-a-half-digit meter shows it, as said.
pub fn words_for(value: f64, unit: Unit) -> String {
    let (shown, prefix) = match value.abs() {
        v if v >= 1e6 => (value / 1e6, Prefix::Mega),
        v if v >= 2e3 => (value / 1e3, Prefix::Kilo),
        _ => (value, Prefix::One),
    };
    let places = match shown.abs() {
        v if v >= 200.0 => 0,
        v if v >= 20.0 => 1,
        _ => 2,
    };
    let places = if unit == Unit::Fahrenheit || unit == Unit::Celsius { 0 } else { places };
    let number: Decimal = format!("{shown:.places$}").parse().expect("a formatted number");
    let number = if number.digits() == 0 { Decimal::whole(0) } else { number };
    quantity_words(Quantity { number, prefix, unit: Some(unit) })
}
