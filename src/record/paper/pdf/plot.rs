//! A reading beside what was expected, drawn.

use super::Mark;
use super::face::{Face, Faces};
use crate::record::report::row::{Band, Mark as Reading, Plot};

/// The height of a drawing, in points.
pub const HEIGHT: f32 = 34.0;
/// The width of the line.
const WIDTH: f32 = 300.0;
/// Half the height of the band.
const BAND: f32 = 5.0;
/// The box for what is more than the meter can show, and the gap before it.
const BEYOND: (f32, f32) = (30.0, 12.0);
/// The size of the names below the line.
const SIZE: f32 = 7.0;

/// The marks of a drawing whose upper left corner is at a place.
pub fn marks(plot: &Plot, faces: &Faces, (left, top): (f32, f32)) -> Vec<Mark> {
    let beyond = plot.mark == Reading::Overload || plot.band == Band::Overload;
    let width = WIDTH - if beyond { BEYOND.0 + BEYOND.1 } else { 0.0 };
    let line = top + 13.0;
    let across = |value: f64| left + plot.scale.place(value) as f32 * width;
    let bar = |x: f32, width: f32, grey: u8| Mark::Shape {
        points: vec![(x, line - BAND), (x + width, line - BAND), (x + width, line + BAND), (x, line + BAND)],
        grey,
    };
    let mut marks = Vec::new();
    if let Band::Between(low, high) = plot.band {
        marks.push(bar(across(low), (across(high) - across(low)).max(2.0), 215));
    }
    let over = left + width + BEYOND.1;
    if beyond {
        marks.push(bar(over, BEYOND.0, if plot.band == Band::Overload { 215 } else { 240 }));
        marks.push(name("OL", over + BEYOND.0 / 2.0, line, faces));
    }
    marks.push(Mark::Rule { x: left, y: line, width, grey: 90 });
    for (place, text) in plot.scale.ticks() {
        let x = left + place as f32 * width;
        marks.push(Mark::Shape {
            points: vec![
                (x - 0.3, line - 2.0),
                (x + 0.3, line - 2.0),
                (x + 0.3, line + 2.0),
                (x - 0.3, line + 2.0),
            ],
            grey: 90,
        });
        marks.push(name(&text, x, line, faces));
    }
    let pointer = match plot.mark {
        Reading::At(value) => Some(across(value)),
        Reading::Overload => Some(over + BEYOND.0 / 2.0),
        Reading::Nowhere => None,
    };
    let tip = line - BAND + 3.0;
    marks.extend(pointer.map(|x| Mark::Shape {
        points: vec![(x, tip), (x - 4.0, tip - 10.0), (x + 4.0, tip - 10.0)],
        grey: 0,
    }));
    marks
}

fn name(text: &str, middle: f32, line: f32, faces: &Faces) -> Mark {
    let x = middle - faces.width(text, Face::Plain, SIZE) / 2.0;
    Mark::Text { x, y: line + BAND + 8.0, size: SIZE, face: Face::Plain, text: text.to_owned(), grey: 90 }
}
