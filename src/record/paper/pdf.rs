//! A paper as PDF, with its own fonts inside. The same paper gives the same bytes.
//!
//! The page is as wide as A4 and as high as US Letter, so that it prints whole on both.

mod bars;
mod face;
mod flow;
mod plot;

use krilla::Document;
use krilla::SerializeSettings;
use krilla::color::luma;
use krilla::geom::{PathBuilder, Point};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;
use krilla::text::TextDirection;

use super::Paper;
use face::{Face, Faces};
use flow::Flow;

/// Width of a page in points: that of A4.
const WIDTH: f32 = 595.0;
/// Height of a page in points: that of US Letter.
const HEIGHT: f32 = 792.0;
/// Empty space around.
const MARGIN: f32 = 54.0;
/// The baseline of the foot.
const FOOT: f32 = HEIGHT - 30.0;

/// Something drawn on a page; measured from the upper left, in points.
#[derive(Clone, Debug, PartialEq)]
enum Mark {
    /// A text with its baseline at a height.
    Text { x: f32, y: f32, size: f32, face: Face, text: String, grey: u8 },
    /// A level line.
    Rule { x: f32, y: f32, width: f32, grey: u8 },
    /// A filled shape.
    Shape { points: Vec<(f32, f32)>, grey: u8 },
}

/// Why there is no PDF.
#[derive(Debug, thiserror::Error)]
#[error("the report cannot be set as PDF: {0}")]
pub struct NoPdf(String);

/// The paper as the bytes of a PDF file.
pub fn pdf(paper: &Paper) -> Result<Vec<u8>, NoPdf> {
    let faces = Faces::load();
    let mut flow = Flow::new(&faces);
    flow.title(&paper.kind, &paper.title);
    paper.blocks.iter().for_each(|block| flow.block(block));
    let pages = flow.into_pages();
    let settings = SerializeSettings { compress_content_streams: true, ..SerializeSettings::default() };
    let mut document = Document::new_with(settings);
    document.set_metadata(
        Metadata::new()
            .title(format!("{}: {}", paper.kind, paper.title))
            .language("en".into())
            .creator("Leadhand".into()),
    );
    for (number, marks) in (1..).zip(&pages) {
        let size =
            PageSettings::from_wh(WIDTH, HEIGHT).ok_or_else(|| NoPdf("the page has no size".into()))?;
        let mut page = document.start_page_with(size);
        let mut surface = page.surface();
        for mark in marks {
            draw(&mut surface, &faces, mark);
        }
        foot(&mut surface, &faces, &paper.foot, &format!("{number} of {}", pages.len()));
        surface.finish();
        page.finish();
    }
    document.finish().map_err(|why| NoPdf(format!("{why:?}")))
}

fn foot(surface: &mut Surface<'_>, faces: &Faces, left: &str, right: &str) {
    let size = 8.0;
    let text = |x: f32, text: &str| Mark::Text {
        x,
        y: FOOT,
        size,
        face: Face::Plain,
        text: text.to_owned(),
        grey: 90,
    };
    draw(surface, faces, &text(MARGIN, left));
    draw(surface, faces, &text(WIDTH - MARGIN - faces.width(right, Face::Plain, size), right));
}

fn draw(surface: &mut Surface<'_>, faces: &Faces, mark: &Mark) {
    let fill = |grey: u8| Fill {
        paint: luma::Color::new(grey).into(),
        opacity: NormalizedF32::ONE,
        ..Fill::default()
    };
    match mark {
        Mark::Text { x, y, size, face, text, grey } => {
            surface.set_stroke(None);
            surface.set_fill(Some(fill(*grey)));
            let mut x = *x;
            for (font, run) in faces.runs(text, *face) {
                surface.draw_text(
                    Point::from_xy(x, *y),
                    font.font(),
                    *size,
                    &run,
                    false,
                    TextDirection::LeftToRight,
                );
                x += font.width(&run, *size);
            }
        }
        Mark::Rule { x, y, width, grey } => {
            surface.set_fill(None);
            surface.set_stroke(Some(Stroke {
                paint: luma::Color::new(*grey).into(),
                width: 0.6,
                ..Stroke::default()
            }));
            path(surface, &[(*x, *y), (x + width, *y)], false);
        }
        Mark::Shape { points, grey } => {
            surface.set_stroke(None);
            surface.set_fill(Some(fill(*grey)));
            path(surface, points, true);
        }
    }
}

fn path(surface: &mut Surface<'_>, points: &[(f32, f32)], closed: bool) {
    let mut builder = PathBuilder::new();
    for (index, (x, y)) in points.iter().enumerate() {
        if index == 0 { builder.move_to(*x, *y) } else { builder.line_to(*x, *y) }
    }
    if closed {
        builder.close();
    }
    if let Some(path) = builder.finish() {
        surface.draw_path(&path);
    }
}
