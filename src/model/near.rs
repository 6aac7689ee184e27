//! "Did you mean": the known name nearest to one that is not known.

/// The nearest of some names, if any is near: at most a third of the letters differ.
pub fn near<'a>(wrong: &str, names: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let most = (wrong.chars().count() / 3).max(1);
    let distances = names.into_iter().map(|name| (distance(wrong, name), name));
    distances.filter(|(distance, _)| *distance <= most).min().map(|(_, name)| name)
}

/// Letters to insert, delete, replace or swap with their neighbour (optimal string alignment).
pub(super) fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut rows = vec![vec![0; b.len() + 1]; a.len() + 1];
    for i in 0..=a.len() {
        for j in 0..=b.len() {
            rows[i][j] = if i == 0 || j == 0 {
                i + j
            } else {
                let changed = usize::from(a[i - 1] != b[j - 1]);
                let mut least =
                    (rows[i - 1][j] + 1).min(rows[i][j - 1] + 1).min(rows[i - 1][j - 1] + changed);
                if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                    least = least.min(rows[i - 2][j - 2] + 1);
                }
                least
            };
        }
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_finger_is_near_and_another_word_is_not() {
        let names = ["element", "thermal-fuse", "door-switch", "L1"];
        for (wrong, expected) in [
            ("elemnet", Some("element")),
            ("thermal-fuze", Some("thermal-fuse")),
            ("doorswitch", Some("door-switch")),
            ("L2", Some("L1")),
            ("belt", None),
            ("", None),
        ] {
            assert_eq!(near(wrong, names), expected, "{wrong}");
        }
    }
}
