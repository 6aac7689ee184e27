//! What is open while a clip is heard: the situations of the bench, by name, what a system is told of them, and the same
//! automaton as a finite-state grammar for PocketSphinx.

use std::fmt::Write as _;

use leadhand::id::PointId;
use leadhand::understand::automaton::{Automaton, StateIndex};
use leadhand::understand::open;
use leadhand::understand::situation::{Kind, Situation, SpokenPoint};

/// The situations that clips are heard in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Opened {
    Reading,
    Confirm,
    Acknowledge,
    Digits,
    Plate,
}

impl Opened {
    pub const ALL: [Self; 5] = [Self::Reading, Self::Confirm, Self::Acknowledge, Self::Digits, Self::Plate];

    pub const fn name(self) -> &'static str {
        match self {
            Self::Reading => "reading",
            Self::Confirm => "confirm",
            Self::Acknowledge => "acknowledge",
            Self::Digits => "digits",
            Self::Plate => "plate",
        }
    }

    pub fn of_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|opened| opened.name() == name)
    }

    /// Six points, by letter and by spelling word. No pair was asked for: that would help.
    pub fn situation(self) -> Situation {
        let kind = match self {
            Self::Reading => Kind::Reading,
            Self::Confirm => Kind::Confirm,
            Self::Acknowledge => Kind::Acknowledge,
            Self::Digits => Kind::Digits,
            Self::Plate => Kind::Plate,
        };
        let words = [
            ("L", "lima"),
            ("N", "november"),
            ("M", "mike"),
            ("H", "hotel"),
            ("T", "tango"),
            ("V", "victor"),
        ];
        let point = |(letter, word): (&str, &str)| SpokenPoint {
            point: PointId::from(letter),
            say: vec![letter.to_owned(), word.to_owned()],
        };
        let situation =
            Situation { kind, points: words.into_iter().map(point).collect(), ..Situation::default() };
        if self == Self::Acknowledge { situation.carefully() } else { situation }
    }

    pub fn automaton(self) -> Automaton {
        open(&self.situation())
    }

    /// What a system without grammars is shown beforehand, in the style in which the answer is wanted.
    pub const fn prompt(self) -> &'static str {
        match self {
            Self::Reading => {
                "L to H, 71 ohms. M to N, 8.8 kilohms. 120 volts. Lima to Tango, open line. Say again. Stop."
            }
            Self::Confirm => "Yes. No. No, 15 ohms. Make that kilohms. I said 8.8 kilohms. Correct.",
            Self::Acknowledge => "Live at L and N. Live and clear. Live at Hotel and Tango. Stop.",
            Self::Digits => "Enter 71. One fifty. 2 2 9 3. 8 8 0 0. Three twenty eight sixty one.",
            Self::Plate => "A B 1 3. H T M L. Enter W 13. Alpha, Tango, 7.",
        }
    }
}

/// The automaton as PocketSphinx reads grammars: the form to which it brings a JSGF file too. Weights become
/// probabilities; the words small letters, as in its dictionary.
pub fn finite_state(automaton: &Automaton, name: &str) -> String {
    let last = automaton.len();
    let mut text = format!(
        "FSG_BEGIN {name}\nNUM_STATES {}\nSTART_STATE {}\nFINAL_STATE {last}\n",
        last + 1,
        automaton.start().0
    );
    let mut arc = |from: usize, to: usize, weight: f32, word: &str| {
        let probability = weight.exp().clamp(1e-6, 1.0);
        writeln!(text, "TRANSITION {from} {to} {probability:.7} {}", word.to_lowercase())
            .expect("a string takes text");
    };
    for from in 0..last {
        let state = automaton.state(StateIndex(from as u32));
        for next in &state.arcs {
            arc(from, next.to.0 as usize, next.weight, &next.word);
        }
        for end in &state.ends {
            arc(from, last, end.weight, "");
        }
    }
    text + "FSG_END\n"
}
