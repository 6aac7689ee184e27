//! The cost of mending by trying: remedies one after the other until the machine runs.

/// Expected cost of repair of an order, for single faults and independent costs:
/// `ECR = Σᵢ [(1 − Σⱼ pⱼ)·Cᵢᵒ + pᵢ·Cᵢʳ]`, where j runs over what comes before i, Cᵒ is the cost of looking at (or
/// trying) a component and Cʳ that of repairing it (Heckerman, Breese and Rommelse, CACM 38(3), 1995, 49–57).
pub fn expected_cost(order: &[usize], p: &[f64], look: &[f64], repair: &[f64]) -> f64 {
    let step =
        |(left, cost): (f64, f64), i: &usize| (left - p[*i], cost + left * look[*i] + p[*i] * repair[*i]);
    order.iter().fold((p.iter().sum(), 0.0), step).1
}

/// The order of least expected cost: probability over cost, largest first, equals as they stand
/// (Kadane and Simon 1977: optimal for single faults and independent costs).
///
/// The cost of repairing adds the same to every order and plays no part.
pub fn best_order(p: &[f64], look: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    // By products, so that a cost of zero comes first and nothing is divided by it.
    order.sort_by(|a, b| (p[*b] * look[*a]).total_cmp(&(p[*a] * look[*b])));
    order
}
