//! The words for each prompt: the only English prose of the program.
//!
//! One instruction a line, short, the number last. No figure and no symbol: everything is written out. None of the
//! words that stop or acknowledge stands alone in a line.

use crate::diagnose::verdict::Verdict;
use crate::model::appliance::Function;
use crate::quantity::{Decimal, Prefix};
use crate::reading::{Finding, Reading};
use crate::understand::intent::{Beyond, Dictated, Trouble};
use crate::understand::numerals::{number_words, quantity_digits, quantity_words, sign_by_sign, unit_words};

use super::prompt::{Amount, Expected, Place, Prompt};
use super::{Line, Manner, money};

pub(super) fn line(prompt: &Prompt) -> Line {
    let manner = match prompt {
        Prompt::SourceHazard { .. }
        | Prompt::LiveHazard(_)
        | Prompt::NotDead
        | Prompt::Wet
        | Prompt::StillCharged
        | Prompt::Beyond(Beyond::Smell)
        | Prompt::Stopped
        | Prompt::MicrophoneLost => Manner::Hazard,
        _ => Manner::Routine,
    };
    Line { text: words(prompt), manner }
}

pub(super) fn brief(prompt: &Prompt) -> Line {
    let mut line = line(prompt);
    match prompt {
        Prompt::Verdict(_) => line.text.clear(),
        _ if line.manner == Manner::Hazard => {}
        _ => {
            for ending in [" Tell me done.", " What do you read?", " Does it beep?"] {
                if let Some(short) = line.text.strip_suffix(ending) {
                    line.text.truncate(short.len());
                }
            }
        }
    }
    line
}

fn words(prompt: &Prompt) -> String {
    match prompt {
        Prompt::AskMachine => "Which machine is it?".into(),
        Prompt::AskComplaint { machine } => format!("{}. What is wrong with it?", capital(machine)),
        Prompt::AskRecurs(heard) => after(heard.as_deref(), "Does it come and go?"),
        Prompt::AskReplaced(heard) => after(heard.as_deref(), "Was a part replaced for this already?"),
        Prompt::AskWhichPart => "Which part was it?".into(),
        Prompt::Scope => "Local rules and licensed trades come first. Do only what you may do here.".into(),
        Prompt::OtherSupply => {
            "This machine is made for another supply than the one here. Make sure it is the right one.".into()
        }
        Prompt::Region(what)
        | Prompt::Refuses(what)
        | Prompt::WhyLive(what)
        | Prompt::Plain(what)
        | Prompt::Where(what) => what.clone(),
        Prompt::AskMeter => {
            "Is your meter rated for this outlet, its leads fused and whole? Yes or no.".into()
        }
        Prompt::MeterNotFit => "Then we do not measure. Fetch a fit meter, and tell me yes.".into(),
        Prompt::Isolate(how) => format!("{how} Tell me done."),
        Prompt::AskControl => "Can nobody but you plug it in or switch it on? Yes or no.".into(),
        Prompt::DryFirst => "Dry it first. Then tell me: all is dry.".into(),
        Prompt::ReadCharge { .. } => {
            "It keeps a charge. Wait five minutes. D C volts across its capacitor. What do you read?".into()
        }
        Prompt::StillCharged => {
            "That can hurt. Wait, or discharge it through a resistor, never a screwdriver. Then read again."
                .into()
        }
        Prompt::Protection => {
            "Plug it in through a residual current device. It does not protect from line to neutral.".into()
        }
        Prompt::CoversOff => "Covers are off: keep clear of what they hide.".into(),
        Prompt::SourceHazard { source } => format!(
            "Next is {source}, and that is mains. Fingers behind the guards. \
             Answer with the word live, then that you are clear."
        ),
        Prompt::ReadSource { source, again, .. } => {
            let meter = if *again { "Prove the meter again" } else { "Meter on A C volts" };
            format!("{meter}: {source}. What do you read?")
        }
        Prompt::SourceBad => {
            "That does not prove the meter. Check its lead fuse, jack and setting, then read it again.".into()
        }
        Prompt::ReadAbsence { from, to, .. } => format!("Still on volts: {from} to {to}?"),
        Prompt::NotDead => "There is voltage. Take your hands away. Treat it as energised.".into(),
        Prompt::ProvenDead => "Proved dead.".into(),
        Prompt::LiveHazard(danger) => danger.clone(),
        Prompt::AskLiveAt { from, to } => {
            format!("If you are ready, answer with the word live, then at {from} and {to}.")
        }
        Prompt::AskLiveClear => {
            "If hands are away, answer with the word live, then that you are clear.".into()
        }
        Prompt::NotAcknowledged => "That is not the answer I need. Nothing is switched on.".into(),
        Prompt::GoLive { make, .. } => format!("{make} Tell me done."),
        Prompt::JumperIn { how, .. } => format!("{how} Tell me done."),
        Prompt::JumperOut { .. } => "Take the jumper out now and put it away. Tell me done.".into(),
        Prompt::MakeDead { make, .. } => format!("{make} Tell me done."),
        Prompt::Before { what, .. } => format!("{what} Tell me done."),
        Prompt::Measure { at, function, range, .. } => {
            let range = range.as_ref().map_or_else(String::new, |range| format!(", range {range}"));
            let at = match at {
                Place::Across(from, to) => format!("{from} to {to}"),
                Place::Around(wire) => wire.clone(),
            };
            let ask = if *function == Function::Continuity { "Does it beep?" } else { "What do you read?" };
            format!("{}{range}: {at}. {ask}", capital(function_words(*function)))
        }
        Prompt::Observe { question, .. } => question.clone(),
        Prompt::PowerOff(how) => format!("Power off now. {how} Tell me done."),
        Prompt::ReadBack { reading, beeps } => {
            format!("{}.", capital(&beep_words(*reading, *beeps).unwrap_or_else(|| reading_words(*reading))))
        }
        Prompt::ConfirmReading { reading, beeps } => {
            let heard = beep_words(*reading, *beeps).unwrap_or_else(|| slow_words(*reading));
            format!("I heard {heard}. Is that right?")
        }
        Prompt::ConfirmKnown { place, reading, beeps } => {
            let heard = beep_words(*reading, *beeps).unwrap_or_else(|| slow_words(*reading));
            format!("{}: I heard {heard}. Is that right?", capital(place))
        }
        Prompt::NotKnown => "I have no dead check for that one.".into(),
        Prompt::NotNow => "Not now. First what I asked.".into(),
        Prompt::Beyond(what) => beyond_words(*what).into(),
        Prompt::Dictate(what) => format!("Read me the {}, sign by sign.", dictated_words(*what)),
        Prompt::ConfirmDictated(signs) => format!("I heard {}. Is that right?", sign_by_sign(signs)),
        Prompt::AskConsent { total, more } => {
            let more = more.map(|more| format!(" More than agreed: {}.", amount(more))).unwrap_or_default();
            format!("The estimate is {}.{more} Does the customer agree?", amount(*total))
        }
        Prompt::ConfirmConsent { given: true, total } => {
            format!("I note that the customer agrees to {}. Is that right?", amount(*total))
        }
        Prompt::ConfirmConsent { given: false, .. } => {
            "I note that the customer does not agree. Is that right?".into()
        }
        Prompt::Trouble(trouble) => trouble_words(*trouble).into(),
        Prompt::PlugNotHeld => {
            "Only you may hold the plug. Take it in hand, or lock the breaker. Then tell me.".into()
        }
        Prompt::Wet => "Wet hands and floors carry current. Hands away, power off.".into(),
        Prompt::Dry => "Good, that is dry.".into(),
        Prompt::ConfirmOutcome(outcome) => format!("I heard: {outcome}. Is that right?"),
        Prompt::ConfirmRated { part, value } => {
            format!("{} on the plate: {}. Is that right?", capital(part), quantity_words(*value))
        }
        Prompt::Rated => "Then I reckon with that.".into(),
        Prompt::NotRated => "That does not go with this machine. Read the plate once more.".into(),
        Prompt::TakenBack => "Taken back.".into(),
        Prompt::Verdict(verdict) => verdict_words(*verdict).into(),
        Prompt::Expected { place, expected } => match expected {
            Expected::About(quantity) => {
                format!("{}. It should be about {}.", capital(place), quantity_words(*quantity))
            }
            Expected::Overload => format!("{}. It should be over limit.", capital(place)),
            Expected::Unknown => "I have no value for that one.".into(),
        },
        Prompt::ExpectLater => "Read it first, then I tell you.".into(),
        Prompt::OtherPoints { from, to } => format!("I need {from} to {to}. Please read that pair."),
        Prompt::OtherUnit(unit) => {
            format!("This one is in {}.", unit_words(Prefix::One, Some(*unit)))
        }
        Prompt::Advice { cause, confidence } => format!("I am {confidence} sure: {cause}."),
        Prompt::NothingElectrical { confidence } => {
            format!("I am {confidence} sure that nothing electrical has failed.")
        }
        Prompt::CannotTell => "The checks we can do here do not tell what it is.".into(),
        Prompt::Turned { amount, brings } => format!("{}, about {brings} c c.", capital(amount)),
        Prompt::TurnsLeft(Some(left)) => format!("Left that way: {left}."),
        Prompt::TurnsLeft(None) => "You have nothing left that way.".into(),
        Prompt::AtLimit => "Turn it back, or say skip.".into(),
        Prompt::SayHowFar => "Say how far you turned it, or say skip.".into(),
        Prompt::SetByHand => "It was set by hand. I cannot tell how far it may go.".into(),
        Prompt::AskLooked => "Look at what is not electrical, then tell me done. Or say skip.".into(),
        Prompt::AskFixed => "Do the work, then tell me done. Say skip to leave it undone.".into(),
        Prompt::Closing(item) => format!("{item} Yes, no, or skip?"),
        Prompt::CannotClose => "The jumper is still in. The job cannot be closed.".into(),
        Prompt::NotTested => {
            "Earth continuity and insulation were not tested by me. Do it as your rules ask.".into()
        }
        Prompt::Finished => "The job is closed. The report is ready.".into(),
        Prompt::Stopped => "Stopped. Hands away, power off. Treat everything as energised.".into(),
        Prompt::Holding => "Holding. Say resume when you are back.".into(),
        Prompt::GoingOn => "Going on.".into(),
        Prompt::PickedUp => "This job is picked up again. Treat everything as energised.".into(),
        Prompt::LongPause => "That was a long pause. Treat everything as energised.".into(),
        Prompt::LastTime { advised, fixed } => {
            let fixed = match fixed {
                Some(true) => " That was done.",
                Some(false) => " That was left undone.",
                None => "",
            };
            format!("Last time here: {advised}{fixed}")
        }
        Prompt::SayAgain => "Once more, please.".into(),
        Prompt::Example(example) => format!("For example: {example}."),
        Prompt::InWords(words) => format!("A plain yes does not count here. Say {words}."),
        Prompt::UseKeys => "I do not hear you well. Use a key, the pedal, or come closer.".into(),
        Prompt::Help(help) => help.clone(),
        Prompt::NothingBack => "There is nothing to take back.".into(),
        Prompt::NotHere => "That does not fit here.".into(),
        Prompt::NoteGoOn => "Speak the note.".into(),
        Prompt::NoteKept => "Kept.".into(),
        Prompt::NoNote => "No note, then.".into(),
        Prompt::PhotoMarked(number) => format!("Take it now: photo {}.", count_words(*number)),
        Prompt::Left(0) => "No more checks, I think it is clear.".into(),
        Prompt::Left(n) => format!("At most this many checks more: {}.", count_words(*n)),
        Prompt::Status { taken, cause, confidence } => {
            let count = match taken {
                0 => "Nothing is taken yet".to_owned(),
                n => format!("Findings taken: {}", count_words(*n)),
            };
            match cause {
                Some(cause) => format!("{count}. Likeliest, {confidence}: {cause}."),
                None => format!("{count}."),
            }
        }
        Prompt::Why { found, before, now, cause } => {
            let found: Vec<String> =
                found.iter().map(|(check, finding)| format!("{check}: {}", finding_words(finding))).collect();
            let found = capital(&found.join(", and "));
            let from =
                if before < now { format!("From {before} to {now}") } else { capital(&now.to_string()) };
            format!("{found}. {from}: {cause}.")
        }
        Prompt::WhyCheck { cause, other } => {
            format!("It tells whether {cause}. If not, likeliest is this: {other}.")
        }
        Prompt::CouldChange { check, cause } => {
            format!("This could still change it: {}. It could show that {cause}.", lower(check))
        }
        Prompt::NothingChanges => "No check that is left would change that.".into(),
        Prompt::TakeAgain => "No fault I know explains that. We take it again.".into(),
        Prompt::LookAtDial => "Look at the dial, it must be on ohms. We take it again.".into(),
        Prompt::StaysUnexplained => "Still no fault I know explains that. I keep it and go on.".into(),
        Prompt::TouchLeads { doubted, .. } => {
            let why = if *doubted { "Too much reads open. " } else { "" };
            format!("{why}On ohms, touch the leads together. What do you read?")
        }
        Prompt::LeadOpen => "A lead or its fuse is open. Replace it. What it showed is taken back.".into(),
        Prompt::DidNotHelp => "That did not help, or not enough. We go on looking.".into(),
        Prompt::LeadsGood => "The leads are good. I take that off.".into(),
        Prompt::WhyNothing => "Nothing was found yet that points anywhere.".into(),
        Prompt::Setting(function) => format!("Set the meter to {}.", function_words(*function)),
        Prompt::Skipped => "Left out.".into(),
        Prompt::NotSkipped => "This one cannot be left out.".into(),
        Prompt::NotKept => "That could not be kept on disk. Free some space, then say it again.".into(),
        Prompt::TooNoisy => "Too noisy. Make it quieter, or come closer to the microphone.".into(),
        Prompt::MicrophoneLost => "The microphone is lost. Hands away. Treat everything as energised.".into(),
        Prompt::MicrophoneBack => "I can hear you again. We go on when you say so.".into(),
    }
}

fn finding_words(finding: &Finding) -> String {
    match finding {
        Finding::Reading(reading) => reading_words(*reading),
        Finding::Outcome(name) => name.replace('-', " "),
    }
}

/// A reading as said.
fn reading_words(reading: Reading) -> String {
    match reading {
        Reading::Value(quantity) => quantity_words(quantity),
        Reading::Overload => "over limit".into(),
        Reading::Closed => "closed".into(),
        Reading::Unstable => "unstable".into(),
    }
}

/// What a beeper does, where that is what was heard.
fn beep_words(reading: Reading, beeps: bool) -> Option<String> {
    match reading {
        Reading::Overload if beeps => Some("no beep".into()),
        Reading::Closed if beeps => Some("a beep".into()),
        _ => None,
    }
}

fn amount(amount: Amount) -> String {
    money::words(amount.sum, amount.currency)
}

const fn dictated_words(what: Dictated) -> &'static str {
    match what {
        Dictated::Serial => "serial number",
        Dictated::Model => "model number",
        Dictated::Telephone => "telephone number",
    }
}

const fn beyond_words(what: Beyond) -> &'static str {
    match what {
        Beyond::Microwave => {
            "Not behind a microwave's cover: its charge can kill after unplugging. The rest we can do."
        }
        Beyond::Gas => "No gas work here, that is for a licensed fitter. If you smell it, tell me.",
        Beyond::Smell => {
            "Switch nothing, unplug nothing. Open a window, leave, and call the gas emergency line from outside."
        }
        Beyond::Refrigerant => "The sealed system stays shut, that takes a certificate. The rest we can do.",
        Beyond::Protection => {
            "I bridge no protection: it is what keeps the machine from burning. We measure it instead."
        }
    }
}

const fn trouble_words(trouble: Trouble) -> &'static str {
    match trouble {
        Trouble::Fuse => "An open lead fuse reads zero on everything. Replace it, then read again.",
        Trouble::Terminal => "In the wrong terminal it reads zero, or worse. Put it right, then read again.",
        Trouble::Setting => "Set it to A C volts, then read again.",
        Trouble::Tester => "What only lights or buzzes proves nothing dead. Take a meter, tell me the volts.",
    }
}

/// A reading digit by digit, so that fifteen and fifty cannot be taken for each other.
fn slow_words(reading: Reading) -> String {
    reading.quantity().map_or_else(|| reading_words(reading), quantity_digits)
}

/// What a meter is set to.
const fn function_words(function: Function) -> &'static str {
    match function {
        Function::AcVolts => "A C volts",
        Function::LowImpedanceVolts => "A C volts, low impedance",
        Function::DcVolts => "D C volts",
        Function::Ohms => "ohms",
        Function::Continuity => "continuity",
        Function::Farads => "capacitance",
        Function::Amps => "clamp on amps",
    }
}

const fn verdict_words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::InLimits => "That is good.",
        Verdict::OutOfLimits => "That is out of limits.",
        Verdict::Open => "That is open.",
        Verdict::Shorted => "That is shorted.",
        Verdict::Odd => "That is odd.",
        Verdict::CannotTell => "That tells little.",
    }
}

fn count_words(n: usize) -> String {
    number_words(Decimal::whole(u32::try_from(n).unwrap_or(u32::MAX)))
}

/// Within a sentence; what begins with a letter that stands alone, as a point's name, stays.
fn lower(text: &str) -> String {
    let mut letters = text.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if second.is_lowercase() => first.to_lowercase().chain(letters).collect(),
        _ => text.to_owned(),
    }
}

/// A question, after what was heard before it.
fn after(heard: Option<&str>, question: &str) -> String {
    heard.map_or_else(|| question.to_owned(), |heard| format!("{}. {question}", capital(heard)))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
