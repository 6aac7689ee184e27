//! Worked examples of decision analysis: what information is worth, and in which order to try.

use leadhand::diagnose::{repair, value};

use super::Dice;

fn close(got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 1e-9, "{got} is not {wanted}");
}

/// Expected payoff with the best choice now, with the test, and with a seer; losses are payoffs with the other sign.
fn check(belief: &[f64], payoff: &[&[f64]], likelihoods: &[&[f64]], wanted: (f64, f64, f64)) {
    let losses: Vec<Vec<f64>> = payoff.iter().map(|row| row.iter().map(|v| -v).collect()).collect();
    let best = |b: &[f64]| value::best_choice(b, &losses).1;
    close(-best(belief), wanted.0);
    close(-value::expected_cost_after(belief, likelihoods.iter().copied(), best), wanted.1);
    let seer: Vec<Vec<f64>> =
        (0..belief.len()).map(|i| (0..belief.len()).map(|j| f64::from(u8::from(i == j))).collect()).collect();
    close(-value::expected_cost_after(belief, seer.iter().map(Vec::as_slice), best), wanted.2);
}

/// Hillier and Lieberman, the Goferbroke Company: drill 700/−100 or sell for 90, P(oil) 1/4. Without the survey 100,
/// with it 153 (so it is worth 53 before its price of 30), perfect information worth 142.5.
#[test]
fn goferbroke() {
    check(
        &[0.25, 0.75],
        &[&[700.0, -100.0], &[90.0, 90.0]],
        &[&[0.6, 0.2], &[0.4, 0.8]],
        (100.0, 153.0, 242.5),
    );
}

/// Raiffa 1968, the oil wildcatter: dry, wet, soaking .5 .3 .2; payoff −70, 50, 200 or nothing. Seismic test free of
/// cost 32.5, less its price of 10 the published 22.5; perfect information worth 35.
#[test]
fn oil_wildcatter() {
    check(
        &[0.5, 0.3, 0.2],
        &[&[-70.0, 50.0, 200.0], &[0.0, 0.0, 0.0]],
        &[&[0.6, 0.3, 0.1], &[0.3, 0.4, 0.4], &[0.1, 0.3, 0.5]],
        (20.0, 32.5, 55.0),
    );
}

#[test]
fn what_tells_nothing_is_worth_nothing() {
    let losses = [vec![0.0, 10.0], vec![8.0, 0.0]];
    let best = |b: &[f64]| value::best_choice(b, &losses).1;
    let belief = [0.4, 0.6];
    let blind: [&[f64]; 2] = [&[0.3, 0.3], &[0.7, 0.7]];
    close(value::expected_cost_after(&belief, blind, best), best(&belief));
    assert_eq!(value::after(&belief, &[0.0, 0.0]), None);
    assert_eq!(value::best_choice(&[0.5, 0.5], &[vec![1.0, 1.0], vec![1.0, 1.0]]).0, 0, "ties are stable");
}

fn every_order(n: usize) -> Vec<Vec<usize>> {
    if n == 0 {
        return vec![vec![]];
    }
    let shorter = every_order(n - 1);
    let put = |order: &Vec<usize>, at: usize| {
        let mut order = order.clone();
        order.insert(at, n - 1);
        order
    };
    shorter.iter().flat_map(|order| (0..n).map(|at| put(order, at)).collect::<Vec<_>>()).collect()
}

fn least(p: &[f64], look: &[f64], repair: &[f64]) -> f64 {
    let cost = |order: &Vec<usize>| repair::expected_cost(order, p, look, repair);
    every_order(p.len()).iter().map(cost).fold(f64::INFINITY, f64::min)
}

/// Expected cost of repair by brute force over all orders (computed once by an independent program), and the same
/// from the order by probability over cost.
#[test]
fn three_orders_by_brute_force() {
    type Case<'a> = (&'a [f64], &'a [f64], &'a [f64], f64, f64);
    let cases: [Case; 3] = [
        (&[0.5, 0.3, 0.2], &[10.0, 2.0, 5.0], &[0.0; 3], 10.0, 12.0),
        (&[0.4, 0.3, 0.2, 0.1], &[5.0, 15.0, 1.0, 2.0], &[0.0; 4], 10.3, 14.5),
        (
            &[0.45, 0.25, 0.15, 0.10, 0.05],
            &[12.0, 4.0, 3.0, 8.0, 1.0],
            &[60.0, 25.0, 90.0, 15.0, 5.0],
            62.75,
            64.85,
        ),
    ];
    for (p, look, mend, best, by_probability) in cases {
        close(least(p, look, mend), best);
        close(repair::expected_cost(&repair::best_order(p, look), p, look, mend), best);
        let as_listed: Vec<usize> = (0..p.len()).collect();
        close(repair::expected_cost(&as_listed, p, look, mend), by_probability);
    }
}

/// Kadane and Simon 1977: probability over cost is optimal.
#[test]
fn probability_over_cost_is_the_best_order() {
    let mut dice = Dice(1977);
    for round in 0..500 {
        let n = 1 + dice.below(6);
        let p = dice.shares(n);
        let look: Vec<f64> = (0..n).map(|_| 20.0 * dice.share()).collect();
        let mend: Vec<f64> = (0..n).map(|_| 90.0 * dice.share()).collect();
        let ours = repair::expected_cost(&repair::best_order(&p, &look), &p, &look, &mend);
        assert!((ours - least(&p, &look, &mend)).abs() < 1e-9, "trouble {round}: {p:?} {look:?}");
    }
}

#[test]
fn free_looks_come_first_and_ties_stand_as_they_are() {
    assert_eq!(repair::best_order(&[0.5, 0.2, 0.3], &[1.0, 0.0, 1.0]), [1, 0, 2]);
    assert_eq!(repair::best_order(&[0.25; 4], &[3.0; 4]), [0, 1, 2, 3]);
}
