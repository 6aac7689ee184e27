//! A report as a list of blocks, one after the other: what text, PDF and the customer's page are made from.
//!
//! Knows what is said and in which order; how it looks is the business of each form.

mod customer;
pub mod html;
pub mod pdf;
mod technician;
pub mod text;

use super::report::Report;
use super::report::belief::History;
use super::report::row::Plot;

/// Something to be printed.
#[derive(Clone, Debug, PartialEq)]
pub struct Paper {
    /// What it is: "Service report".
    pub kind: String,
    /// What it is about: "Electric dryer".
    pub title: String,
    /// The line at the foot of each page.
    pub foot: String,
    /// What it says.
    pub blocks: Vec<Block>,
}

/// A piece of a paper.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// The title of what follows.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// A paragraph that must not be overlooked.
    Strong(String),
    /// Names with their values.
    Facts(Vec<(String, String)>),
    /// Points.
    List(Vec<String>),
    /// Rows under a head; nothing where there are no rows.
    Table(Table),
    /// A reading beside what was expected.
    Plot(Box<Plot>),
    /// What was believed after each reading.
    Belief(Box<History>),
}

/// Rows under a head.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// The columns: name, share of the width in percent, and whether it holds numbers.
    pub columns: Vec<(String, u8, bool)>,
    /// The rows, one text a column.
    pub rows: Vec<Vec<String>>,
}

impl Paper {
    /// For the customer: two pages in plain words.
    pub fn customer(report: &Report) -> Self {
        Self {
            kind: "Service report".to_owned(),
            title: report.machine.clone(),
            foot: foot(report),
            blocks: customer::blocks(report),
        }
    }

    /// For the next technician: everything.
    pub fn technician(report: &Report) -> Self {
        Self {
            kind: "Service record".to_owned(),
            title: report.machine.clone(),
            foot: foot(report),
            blocks: technician::blocks(report),
        }
    }
}

/// The facts beside the readings, for the technician's page.
pub fn visit(report: &Report) -> Vec<Block> {
    technician::visit(report)
}

fn foot(report: &Report) -> String {
    let fingerprint: String = report.fingerprint.chars().take(16).collect();
    format!(
        "Job {}, {}. Made by Leadhand {}; record {fingerprint}…",
        report.header.job,
        report.header.opened.date(),
        report.version
    )
}

/// Facts with their names, as a block; none where there are none.
fn facts<'a>(of: impl IntoIterator<Item = (&'a str, String)>) -> Option<Block> {
    let facts: Vec<_> = of.into_iter().map(|(name, value)| (name.to_owned(), value)).collect();
    (!facts.is_empty()).then_some(Block::Facts(facts))
}

/// A heading with what stands under it; nothing where nothing does.
fn section(title: &str, under: impl IntoIterator<Item = Block>) -> Vec<Block> {
    let under: Vec<Block> = under.into_iter().filter(|block| !block.is_empty()).collect();
    if under.is_empty() {
        return Vec::new();
    }
    [Block::Heading(title.to_owned())].into_iter().chain(under).collect()
}

impl Block {
    fn is_empty(&self) -> bool {
        match self {
            Self::Heading(text) | Self::Text(text) | Self::Strong(text) => text.is_empty(),
            Self::Facts(facts) => facts.is_empty(),
            Self::List(points) => points.is_empty(),
            Self::Table(table) => table.rows.is_empty(),
            Self::Plot(_) => false,
            Self::Belief(history) => history.causes.is_empty(),
        }
    }
}
