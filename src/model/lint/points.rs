//! Test points that an ear could take for each other.
//!
//! Knows spelling and how letters sound; does not know the recogniser.

use crate::model::appliance::{Appliance, Point};
use crate::model::near::distance;
use crate::model::problem::Code;
use crate::model::raw::Section;

/// Letters that sound alike when said by name (common practice of spelling over the telephone).
const ALIKE: &[&str] = &["BCDEGPTVZ", "MN", "AHJK", "FSX", "IY", "QU"];

/// Reports every pair of points of which each name of one sounds like some name of the other. For each one name apart is
/// enough: "mike" and "november" save M and N. A name that both have is never allowed.
pub(super) fn alike(model: &Section, appliance: &Appliance) {
    for (nth, point) in appliance.points.iter().enumerate() {
        for earlier in &appliance.points[..nth] {
            let both = point.say.iter().find(|name| earlier.say.contains(name));
            let reason = match both {
                Some(name) => format!("`{}` and `{}` are both called \"{name}\"", earlier.id, point.id),
                None if no_name_apart(point, earlier) => alike_reason(point, earlier),
                None if no_name_apart(earlier, point) => alike_reason(earlier, point),
                None => continue,
            };
            let row = super::row_of(model, "point", point.id.as_str());
            let help = "give it a name that cannot be taken for the other's";
            row.report(Code::AlikePoints, row.place("say"), reason, help);
        }
    }
}

fn alike_reason(point: &Point, other: &Point) -> String {
    format!("every name of `{}` sounds like one of `{}`", point.id, other.id)
}

fn no_name_apart(point: &Point, other: &Point) -> bool {
    point.say.iter().all(|name| other.say.iter().any(|theirs| sounds_like(name, theirs)))
}

/// Equal but for one word, and those words differ by a letter or are letters that sound alike.
fn sounds_like(a: &str, b: &str) -> bool {
    let (a, b): (Vec<&str>, Vec<&str>) = (a.split(' ').collect(), b.split(' ').collect());
    let different: Vec<(&str, &str)> =
        a.iter().zip(&b).filter(|(a, b)| a != b).map(|(a, b)| (*a, *b)).collect();
    a.len() == b.len()
        && match different[..] {
            [] => true,
            [(a, b)] if a.len() == 1 && b.len() == 1 => {
                ALIKE.iter().any(|letters| letters.contains(a) && letters.contains(b))
            }
            [(a, b)] => a.len() > 3 && b.len() > 3 && distance(a, b) < 2,
            _ => false,
        }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_letter_makes_no_difference_to_an_ear() {
        for (a, b, alike) in [
            ("line one", "line one", true),
            ("line one", "lines one", true),
            ("M", "N", true),
            ("T", "V", true),
            ("L", "H", false),
            ("line one", "line two", false),
            ("heater one", "thermostat one", false),
            ("heater", "heater one", false),
            ("mike", "november", false),
        ] {
            assert_eq!(sounds_like(a, b), alike, "{a}, {b}");
        }
    }
}
