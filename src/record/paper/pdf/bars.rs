//! What was believed after each reading, drawn: one row a cause, one bar a step.

use super::Mark;
use crate::record::report::belief::Line;

/// The height of a row, in points.
pub const HEIGHT: f32 = 26.0;
/// No bar is wider than this.
const WIDEST: f32 = 18.0;

/// The marks of a row whose lower left corner is at a place.
pub fn marks(line: &Line, width: f32, (left, bottom): (f32, f32)) -> Vec<Mark> {
    let pitch = (width / line.permille.len().max(1) as f32).min(WIDEST);
    let bar = |(step, permille): (usize, &u16)| {
        let (x, height) = (left + step as f32 * pitch, f32::from(*permille) / 1000.0 * (HEIGHT - 6.0));
        let right = x + pitch - 1.5;
        let points = vec![(x, bottom), (right, bottom), (right, bottom - height), (x, bottom - height)];
        Mark::Shape { points, grey: 90 }
    };
    let axis = Mark::Rule { x: left, y: bottom, width: pitch * line.permille.len() as f32, grey: 90 };
    line.permille.iter().enumerate().filter(|(_, p)| **p > 0).map(bar).chain([axis]).collect()
}
