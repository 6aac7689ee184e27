//! A paper as plain text, eighty columns wide.

use super::{Block, Paper, Table};

/// So wide is a line.
const WIDTH: usize = 80;

/// The paper as plain text.
pub fn text(paper: &Paper) -> String {
    let mut out = format!("{}\n{}\n{}\n", paper.kind, paper.title, "=".repeat(paper.title.chars().count()));
    for block in &paper.blocks {
        let piece = match block {
            Block::Heading(text) => format!("\n{text}\n{}", "-".repeat(text.chars().count())),
            Block::Text(text) | Block::Strong(text) => wrapped(text, "", ""),
            Block::Facts(facts) => {
                let widest = facts.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0) + 2;
                let line = |(name, value): &(String, String)| {
                    let name = format!("{name}:");
                    wrapped(value, &format!("{name:widest$}"), &" ".repeat(widest))
                };
                facts.iter().map(line).collect::<Vec<_>>().join("\n")
            }
            Block::List(points) => {
                points.iter().map(|point| wrapped(point, "- ", "  ")).collect::<Vec<_>>().join("\n")
            }
            Block::Table(table) => rows(table),
            Block::Plot(_) | Block::Belief(_) => continue,
        };
        out.push_str(&piece);
        out.push('\n');
    }
    let foot = wrapped(&paper.foot, "", "");
    printable(&format!("{out}\n{foot}\n"))
}

/// Words on lines of the width, the first line begun and the others indented.
fn wrapped(text: &str, first: &str, others: &str) -> String {
    let mut lines = Vec::new();
    let (mut line, mut empty) = (first.to_owned(), true);
    for word in text.split(|c: char| c.is_whitespace() && c != '\u{a0}').filter(|word| !word.is_empty()) {
        if !empty && line.chars().count() + 1 + word.chars().count() > WIDTH {
            lines.push(std::mem::replace(&mut line, others.to_owned()));
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    lines.push(line);
    lines.iter().map(|line| line.trim_end()).collect::<Vec<_>>().join("\n")
}

fn rows(table: &Table) -> String {
    let cell = |text: &str, width: usize, number: bool| {
        if number { format!("{text:>width$}") } else { format!("{text:<width$}") }
    };
    let widths: Vec<usize> = (0..table.columns.len())
        .map(|index| {
            let cells = table.rows.iter().filter_map(|row| row.get(index));
            cells.chain([&table.columns[index].0]).map(|text| text.chars().count()).max().unwrap_or(0)
        })
        .collect();
    let line = |row: &[String]| {
        let cells = row.iter().zip(&widths).zip(&table.columns);
        let cells: Vec<String> =
            cells.map(|((text, width), (_, _, number))| cell(text, *width, *number)).collect();
        cells.join("  ").trim_end().to_owned()
    };
    let head: Vec<String> = table.columns.iter().map(|(name, _, _)| name.clone()).collect();
    [line(&head)].into_iter().chain(table.rows.iter().map(|row| line(row))).collect::<Vec<_>>().join("\n")
}

/// Without signs that move the cursor or turn the writing round.
fn printable(text: &str) -> String {
    let harmless = |c: char| {
        let turns = matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
        if c == '\n' || !(c.is_control() || turns) { c } else { '\u{fffd}' }
    };
    text.chars().map(harmless).collect()
}
