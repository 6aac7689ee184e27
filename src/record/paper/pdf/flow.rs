//! Blocks, one below the other, on as many pages as they need.

use super::face::{Face, Faces};
use super::{HEIGHT, MARGIN, Mark, WIDTH, bars, plot};
use crate::record::paper::{Block, Table};
use crate::record::report::belief::History;
use crate::record::report::capitalised;

/// The size of running text.
const SIZE: f32 = 10.0;
/// From baseline to baseline.
const LEADING: f32 = 13.5;
/// The width of the text.
const MEASURE: f32 = WIDTH - 2.0 * MARGIN;
/// The lowest baseline of the text.
const BOTTOM: f32 = HEIGHT - 56.0;

/// Pages in the making.
pub struct Flow<'a> {
    faces: &'a Faces,
    pages: Vec<Vec<Mark>>,
    /// The baseline of the last line.
    y: f32,
}

/// How a paragraph is set.
#[derive(Clone, Copy)]
struct Set {
    left: f32,
    width: f32,
    size: f32,
    face: Face,
    grey: u8,
}

const BODY: Set = Set { left: MARGIN, width: MEASURE, size: SIZE, face: Face::Plain, grey: 0 };

impl<'a> Flow<'a> {
    /// One empty page.
    pub fn new(faces: &'a Faces) -> Self {
        Self { faces, pages: vec![Vec::new()], y: MARGIN }
    }

    /// The pages.
    pub fn into_pages(self) -> Vec<Vec<Mark>> {
        self.pages
    }

    /// What the paper is, and what it is about.
    pub fn title(&mut self, kind: &str, title: &str) {
        self.paragraph(kind, Set { grey: 90, ..BODY });
        self.y += 9.0;
        self.paragraph(title, Set { size: 20.0, face: Face::Bold, ..BODY });
        self.y += 4.0;
    }

    /// A block below what is there.
    pub fn block(&mut self, block: &Block) {
        match block {
            Block::Heading(text) => {
                // A title stays with what follows it.
                self.need(LEADING * 4.0);
                self.y += 14.0;
                self.paragraph(text, Set { size: 13.0, face: Face::Bold, ..BODY });
                self.y += 3.0;
            }
            Block::Text(text) => self.paragraph(text, BODY),
            Block::Strong(text) => {
                self.need(LEADING * 2.0);
                self.y += 4.0;
                self.paragraph(text, Set { face: Face::Bold, ..BODY });
            }
            Block::Facts(facts) => self.facts(facts),
            Block::List(points) => points.iter().for_each(|point| self.point(point)),
            Block::Table(table) => self.table(table),
            Block::Plot(shown) => {
                self.need(plot::HEIGHT);
                let marks = plot::marks(shown, self.faces, (MARGIN + 14.0, self.y + 6.0));
                self.pages.last_mut().expect("there is a page").extend(marks);
                self.y += plot::HEIGHT;
            }
            Block::Belief(history) => self.belief(history),
        }
    }

    /// Begins a page if so much does not fit any more.
    fn need(&mut self, height: f32) {
        if self.y + height > BOTTOM {
            self.pages.push(Vec::new());
            self.y = MARGIN;
        }
    }

    fn put(&mut self, x: f32, text: String, set: Set) {
        let mark = Mark::Text { x, y: self.y, size: set.size, face: set.face, text, grey: set.grey };
        self.pages.last_mut().expect("there is a page").push(mark);
    }

    fn paragraph(&mut self, text: &str, set: Set) {
        for line in self.lines(text, set) {
            self.line(set.size);
            self.put(set.left, line, set);
        }
    }

    /// Goes to the next line.
    fn line(&mut self, size: f32) {
        let leading = LEADING.max(size * 1.2);
        self.need(leading);
        self.y += leading;
    }

    fn point(&mut self, text: &str) {
        let set = Set { left: MARGIN + 14.0, width: MEASURE - 14.0, ..BODY };
        for (index, line) in self.lines(text, set).into_iter().enumerate() {
            self.line(SIZE);
            if index == 0 {
                self.put(MARGIN, "–".into(), BODY);
            }
            self.put(set.left, line, set);
        }
    }

    fn facts(&mut self, facts: &[(String, String)]) {
        let widest =
            facts.iter().map(|(name, _)| self.faces.width(name, Face::Plain, SIZE)).fold(0.0, f32::max);
        let left = (widest + 14.0).min(MEASURE * 0.4);
        for (name, value) in facts {
            let set = Set { left: MARGIN + left, width: MEASURE - left, ..BODY };
            for (index, line) in self.lines(value, set).into_iter().enumerate() {
                self.line(SIZE);
                if index == 0 {
                    self.put(MARGIN, name.clone(), Set { grey: 90, ..BODY });
                }
                self.put(set.left, line, set);
            }
        }
    }

    fn table(&mut self, table: &Table) {
        if table.rows.is_empty() {
            return;
        }
        let head: Vec<String> = table.columns.iter().map(|(name, _, _)| name.clone()).collect();
        self.row(&head, table, Set { size: 9.0, grey: 90, ..BODY });
        for row in &table.rows {
            self.row(row, table, Set { size: 9.0, ..BODY });
        }
    }

    /// One row a cause: its name, and a bar for each step.
    fn belief(&mut self, history: &History) {
        const NAME: f32 = 0.4;
        let (left, width) = (MARGIN + MEASURE * NAME, MEASURE * (1.0 - NAME));
        for cause in &history.causes {
            let lines =
                self.lines(&capitalised(&cause.name), Set { size: 9.0, width: MEASURE * NAME - 8.0, ..BODY });
            let height = bars::HEIGHT.max(LEADING * lines.len() as f32 + 4.0);
            self.need(height);
            let bottom = self.y + height;
            let marks = bars::marks(cause, width, (left, bottom));
            self.pages.last_mut().expect("there is a page").extend(marks);
            // The name stands on the bars' own line.
            self.y = bottom - LEADING * lines.len() as f32;
            for line in lines {
                self.y += LEADING;
                self.put(MARGIN, line, Set { size: 9.0, ..BODY });
            }
            self.y = bottom;
        }
    }

    fn row(&mut self, cells: &[String], table: &Table, set: Set) {
        let mut left = MARGIN;
        let mut columns = Vec::new();
        for (cell, (_, share, number)) in cells.iter().zip(&table.columns) {
            let width = MEASURE * f32::from(*share) / 100.0;
            let set = Set { left, width: width - 6.0, ..set };
            columns.push((self.lines(cell, set), set, *number));
            left += width;
        }
        let height = columns.iter().map(|(lines, _, _)| lines.len()).max().unwrap_or(1).max(1);
        self.need(LEADING * height as f32 + 3.0);
        let rule = Mark::Rule { x: MARGIN, y: self.y + 4.0, width: MEASURE, grey: 200 };
        self.pages.last_mut().expect("there is a page").push(rule);
        self.y += 3.0;
        let top = self.y;
        for (lines, set, number) in columns {
            self.y = top;
            for line in lines {
                self.y += LEADING;
                let room = set.width - self.faces.width(&line, set.face, set.size);
                self.put(set.left + if number { room.max(0.0) } else { 0.0 }, line, set);
            }
        }
        self.y = top + LEADING * height as f32;
    }

    /// A text in lines that fit; a word that is wider than a line is cut.
    fn lines(&self, text: &str, set: Set) -> Vec<String> {
        let fits = |line: &str| self.faces.width(line, set.face, set.size) <= set.width;
        let mut lines = Vec::new();
        let mut line = String::new();
        for word in text.split(|c: char| c.is_whitespace() && c != '\u{a0}').filter(|word| !word.is_empty()) {
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if fits(&longer) {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for sign in word.chars() {
                line.push(sign);
                if !fits(&line) {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, sign.to_string()));
                }
            }
        }
        lines.push(line);
        lines
    }
}
