//! What it is worth to know more, on plain tables: beliefs, likelihoods, losses.

/// The choice with the least expected loss, the first of equals, and that loss. `losses[choice][state]`.
///
/// # Panics
/// If there is no choice.
pub fn best_choice(belief: &[f64], losses: &[Vec<f64>]) -> (usize, f64) {
    let expected = |row: &Vec<f64>| belief.iter().zip(row).map(|(p, loss)| p * loss).sum::<f64>();
    let better = |best: (usize, f64), next: (usize, f64)| if next.1 < best.1 { next } else { best };
    losses.iter().map(expected).enumerate().reduce(better).expect("there is something to choose")
}

/// The belief after an outcome, and how probable the outcome was; `None` if it cannot happen.
pub fn after(belief: &[f64], likelihood: &[f64]) -> Option<(Vec<f64>, f64)> {
    let joint: Vec<f64> = belief.iter().zip(likelihood).map(|(p, l)| p * l).collect();
    let total: f64 = joint.iter().sum();
    (total > 0.0).then(|| (joint.iter().map(|j| j / total).collect(), total))
}

/// What it will cost on average once the outcome is known: `likelihoods[outcome][state]`, and the cost of a belief.
///
/// The value of the information is the cost of the belief as it is, less this.
pub fn expected_cost_after<'a>(
    belief: &[f64],
    likelihoods: impl IntoIterator<Item = &'a [f64]>,
    mut cost: impl FnMut(&[f64]) -> f64,
) -> f64 {
    likelihoods
        .into_iter()
        .filter_map(|likelihood| after(belief, likelihood))
        .map(|(belief, probability)| probability * cost(&belief))
        .sum()
}
