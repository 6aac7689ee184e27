//! A conversation printed as it goes: who said what, at what second, what was heard how surely, what is believed now.

use std::io::{self, Write};

use crate::record::entry::{Entry, What};
use crate::say::Manner;
use crate::time::Timestamp;

use super::conversation::Turn;

/// How many causes of the belief are shown.
const CAUSES: usize = 3;

/// Prints to a terminal or a file.
pub struct Narrator<W> {
    out: W,
}

impl<W: Write> Narrator<W> {
    /// Prints to `out`.
    pub const fn new(out: W) -> Self {
        Self { out }
    }

    /// One of our lines.
    pub fn said(&mut self, at: Timestamp, text: &str, manner: Manner) -> io::Result<()> {
        let who = if manner == Manner::Hazard { "HAZARD" } else { "leadhand" };
        writeln!(self.out, "{:>8}  {who:<10} {text}", at.to_string())
    }

    /// What was played or typed to us.
    pub fn technician(&mut self, at: Timestamp, text: &str) -> io::Result<()> {
        writeln!(self.out, "{:>8}  {:<10} {text}", at.to_string(), "technician")
    }

    /// Something about the devices, or whose turn it is.
    pub fn remark(&mut self, at: Timestamp, text: &str) -> io::Result<()> {
        writeln!(self.out, "{:>8}  {:<10}   · {text}", at.to_string(), "")
    }

    /// What the recogniser and the diagnosis made of a turn.
    pub fn made_of(&mut self, turn: &Turn) -> io::Result<()> {
        for entry in &turn.entries {
            self.entry(entry)?;
        }
        if let Some(why) = &turn.not_kept {
            writeln!(self.out, "{:>8}  {:<10} not kept: {why}", "", "")?;
        }
        self.out.flush()
    }

    fn entry(&mut self, entry: &Entry) -> io::Result<()> {
        let line = match &entry.what {
            What::Heard { words, permille, understood } => {
                let share = f64::from(*permille) / 1000.0;
                let mark = if *understood { "heard" } else { "not understood" };
                format!("{mark}: {words} ({share:.2})")
            }
            What::Believed { causes } => {
                let shown = causes
                    .iter()
                    .take(CAUSES)
                    .map(|(cause, p)| format!("{cause} {:.0} %", f64::from(*p) / 10.0));
                format!("believed: {}", shown.collect::<Vec<_>>().join(", "))
            }
            What::Supply { supply, why } => format!("supply: {supply:?} ({why})"),
            What::Advised { cause, remedy, .. } => {
                let remedy = remedy.as_ref().map_or("none".to_owned(), ToString::to_string);
                format!("conclusion: {cause}; remedy: {remedy}")
            }
            _ => return Ok(()),
        };
        writeln!(self.out, "{:>8}  {:<10}   · {line}", "", "")
    }
}
