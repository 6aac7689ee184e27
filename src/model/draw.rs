//! The circuit of an appliance as a picture: a ladder of rails and rungs, as wiring diagrams of machines are drawn.
//!
//! Knows where a drawing puts things; what stands on them it asks of the circuit.

mod ladder;
mod symbol;

use std::collections::BTreeSet;

use maud::{Markup, PreEscaped, html};

use crate::circuit::{Current, Element, Flaw, Kind, Meter, Mode, Solution};
use crate::id::{ElementId, FaultId, NodeId, PointId};
use crate::model::appliance::{Appliance, State};
use ladder::{Ladder, Rail, Rung};

/// Width that an element of a rung takes, in units of the drawing (about a pixel each).
const CELL: f64 = 128.0;
/// Height of a row of rungs.
const ROW: f64 = 92.0;
/// Free room around the drawing.
const MARGIN: f64 = 48.0;
/// Height of the title, and of a line of the list of points.
const TITLE: f64 = 84.0;
const LINE: f64 = 20.0;
/// An element that carries more than this is drawn as carrying current, in amperes.
const FLOWS: f64 = 1e-3;

const STYLE: &str = "text{font:12px sans-serif;fill:#222}.title{font-size:18px;font-weight:bold}.value{fill:#555}\
.volts{fill:#a33;font-weight:bold}.wire,.part{stroke:#444;stroke-width:1.5;fill:none}.part{fill:#fff}\
.flows .wire,.flows .part{stroke:#06c;stroke-width:3}.fault .wire,.fault .part{stroke:#c00;stroke-width:3}\
.fault text{fill:#c00}.rail{stroke:#444;stroke-width:2}.dot{fill:#444}.point{fill:#fff;stroke:#a33;stroke-width:2}";

/// The circuit in a state, good or under a fault, as an SVG document: points, switch states, what stands on them, and where
/// each point is on the machine.
///
/// # Errors
/// What keeps the circuit from being solved.
pub fn draw(appliance: &Appliance, state: &State, fault: Option<&FaultId>) -> Result<String, Vec<Flaw>> {
    let good = appliance.circuit(state, None);
    let circuit = appliance.circuit(state, fault);
    // A circuit without its sources is drawn with them: they are where the plug goes.
    let with_supply = &appliance.wiring.netlist;
    let current = if state.energised { Current::Alternating } else { Current::Direct };
    let solution = circuit.solve(current)?;
    let (drawn, hidden): (Vec<&Element>, Vec<&Element>) =
        with_supply.elements.iter().partition(|element| !is_parasite(element));
    let changed = good.elements.iter().zip(&circuit.elements).filter(|(a, b)| a != b);
    let picture = Picture {
        appliance,
        state,
        ladder: Ladder::lay_out(&drawn, &with_supply.reference),
        faulty: changed.map(|(element, _)| element.id.clone()).collect(),
        solution,
    };
    Ok(picture.svg(fault, &hidden).into_string())
}

/// The circuit in a state with the two points where the leads go lit, as an SVG element without style: its looks are the
/// page's (classes `wire`, `part`, `rail`, `dot`, `point`, `lit`).
///
/// # Errors
/// What keeps the circuit from being solved.
pub fn leads(appliance: &Appliance, state: &State, points: [&PointId; 2]) -> Result<Markup, Vec<Flaw>> {
    let current = if state.energised { Current::Alternating } else { Current::Direct };
    let solution = appliance.circuit(state, None).solve(current)?;
    let with_supply = &appliance.wiring.netlist;
    let drawn: Vec<&Element> = with_supply.elements.iter().filter(|element| !is_parasite(element)).collect();
    let ladder = Ladder::lay_out(&drawn, &with_supply.reference);
    let picture = Picture { appliance, state, ladder, faulty: BTreeSet::new(), solution };
    Ok(picture.lit(points))
}

/// Stray capacitance and leakage through insulation belong to no drawing; the list below it names them.
fn is_parasite(element: &Element) -> bool {
    match element.kind {
        Kind::Capacitor { farads } => farads < 1e-9,
        Kind::Resistance { ohms } => ohms > 1e6,
        _ => false,
    }
}

struct Picture<'a> {
    appliance: &'a Appliance,
    state: &'a State,
    ladder: Ladder<'a>,
    faulty: BTreeSet<ElementId>,
    solution: Solution,
}

impl Picture<'_> {
    fn svg(&self, fault: Option<&FaultId>, hidden: &[&Element]) -> Markup {
        let points = &self.appliance.points;
        let list = TITLE + MARGIN + ROW * self.ladder.rows as f64;
        let width = (2.0 * MARGIN + CELL * self.ladder.columns).max(720.0);
        let height = list + LINE * (points.len() as f64 + 3.0) + MARGIN;
        let wrong = fault.and_then(|fault| self.appliance.fault(fault));
        let wrong = wrong.map_or("nothing wrong", |fault| fault.name.as_str());
        let title = format!("{}, {}", self.appliance.name, self.state.name);
        let unseen: Vec<&str> = hidden.iter().map(|element| element.id.as_str()).collect();
        html! {
            svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (px(width)) " " (px(height)) }
                width=(px(width)) height=(px(height)) role="img" aria-label={ (title) ": " (wrong) } {
                style { (PreEscaped(STYLE)) }
                rect width="100%" height="100%" fill="#fff" {}
                text.title x=(px(MARGIN)) y="28" { (title) }
                text x=(px(MARGIN)) y="48" { (wrong) }
                @for rung in &self.ladder.rungs { (self.rung(rung)) }
                @for rail in &self.ladder.rails { (self.rail(rail)) }
                text.title x=(px(MARGIN)) y=(px(list)) { "Where the points are" }
                @for (nth, point) in (1..).zip(points) {
                    @let y = px(list + LINE * f64::from(nth));
                    text x=(px(MARGIN)) y=(y) { (point.name) }
                    text x=(px(MARGIN + 150.0)) y=(y) { (point.place) }
                    text.volts x=(px(MARGIN + 560.0)) y=(y) {
                        (self.appliance.node(&point.id).and_then(|node| self.volts(node)).unwrap_or_default())
                    }
                }
                @if !unseen.is_empty() {
                    text.value x=(px(MARGIN)) y=(px(list + LINE * (points.len() as f64 + 1.5))) {
                        "Not drawn, because nobody fitted them: " (unseen.join(", "))
                    }
                }
            }
        }
    }

    fn lit(&self, points: [&PointId; 2]) -> Markup {
        let names = points.map(|point| self.appliance.point_name(point));
        let places = points.map(|point| self.appliance.node(point).and_then(|node| self.place(node)));
        let width = 2.0 * MARGIN + CELL * self.ladder.columns;
        let height = ROW * (self.ladder.rows as f64 + 0.2);
        let near = |nth: usize| match (places[nth], places[1 - nth]) {
            (Some(here), Some(there))
                if (here.1 - there.1).abs() < ROW && (here.0 - there.0).abs() < 1.5 * CELL =>
            {
                Some(here.0 < there.0)
            }
            _ => None,
        };
        html! {
            svg.circuit viewBox={ "0 " (px(TITLE - 12.0)) " " (px(width)) " " (px(height)) }
                role="img" aria-label={ "The circuit, with the leads on " (names[0]) " and " (names[1]) } {
                @for rung in &self.ladder.rungs { (self.plain_rung(rung)) }
                @for rail in &self.ladder.rails { (self.plain_rail(rail)) }
                @for nth in 0..2 {
                    @if let Some((x, y)) = places[nth] {
                        // Names of neighbours lean away from each other, those at an edge inwards.
                        @let anchor = match near(nth) {
                            _ if x < CELL => "start",
                            _ if x > width - CELL => "end",
                            Some(true) => "end",
                            Some(false) => "start",
                            None => "middle",
                        };
                        @let x = px(x);
                        g.lit {
                            @for rail in &self.ladder.rails {
                                @if self.appliance.node(points[nth]) == Some(rail.node) { (self.plain_rail(rail)) }
                            }
                            circle cx=(x) cy=(px(y)) r="9" {}
                            text x=(x) y=(px(y - 18.0)) text-anchor=(anchor) { (names[nth]) }
                        }
                    }
                }
            }
        }
    }

    fn plain_rail(&self, rail: &Rail) -> Markup {
        let (x, (top, bottom)) = (px(x(rail.column)), self.reach(rail));
        html! { line.rail x1=(x) x2=(x) y1=(px(top)) y2=(px(bottom)) {} }
    }

    /// Where a node is drawn: the top of its rail, or its place on a rung.
    fn place(&self, node: &NodeId) -> Option<(f64, f64)> {
        if let Some(rail) = self.ladder.rails.iter().find(|rail| rail.node == node) {
            return Some((x(rail.column), self.reach(rail).0));
        }
        self.ladder.rungs.iter().find_map(|rung| {
            let nth = rung.inner.iter().position(|inner| *inner == node)?;
            let (left, step, y) = self.pitch(rung);
            Some((left + step * (nth as f64 + 1.0), y))
        })
    }

    /// Where a rung begins, how far it is from one of its elements to the next, and its height.
    fn pitch(&self, rung: &Rung) -> (f64, f64, f64) {
        let (left, right) = (x(self.ladder.rails[rung.left].column), x(self.ladder.rails[rung.right].column));
        (left, (right - left) / rung.elements.len() as f64, y(rung.row))
    }

    fn plain_rung(&self, rung: &Rung) -> Markup {
        let (left, step, y) = self.pitch(rung);
        html! {
            @for (nth, element) in rung.elements.iter().enumerate() {
                @let from = left + step * nth as f64;
                @let middle = from + step / 2.0;
                @let now = self.solution.element(&element.id).unwrap_or(element);
                @let unplugged = matches!(element.kind, Kind::Source { .. } | Kind::DirectSource { .. });
                path.wire d={ "M" (px(from)) " " (px(y)) "H" (px(middle - symbol::HALF)) "M" (px(middle + symbol::HALF)) " " (px(y)) "H" (px(from + step)) } {}
                (symbol::symbol(if unplugged { &element.kind } else { &now.kind }, middle, y))
                text x=(px(middle)) y=(px(y + 26.0)) text-anchor="middle" { (element.id) }
            }
            @for (nth, node) in rung.inner.iter().enumerate() {
                @if self.point_on(node).is_some() {
                    circle.point cx=(px(left + step * (nth as f64 + 1.0))) cy=(px(y)) r="4" {}
                }
            }
        }
    }

    /// From where to where a rail reaches.
    fn reach(&self, rail: &Rail) -> (f64, f64) {
        let rungs = self.ladder.rungs_at(rail);
        (rungs.first().map_or(0.0, |row| y(*row)) - 14.0, rungs.last().map_or(0.0, |row| y(*row)))
    }

    fn rung(&self, rung: &Rung) -> Markup {
        let (left, step, y) = self.pitch(rung);
        html! {
            @for (nth, element) in rung.elements.iter().enumerate() {
                @let from = left + step * nth as f64;
                (self.element(element, from, from + step, y))
            }
            @for (nth, node) in rung.inner.iter().enumerate() {
                (self.node(node, left + step * (nth as f64 + 1.0), y))
            }
        }
    }

    fn element(&self, element: &Element, from: f64, to: f64, y: f64) -> Markup {
        let middle = f64::midpoint(from, to);
        let now = self.solution.element(&element.id).unwrap_or(element);
        let fault = self.faulty.contains(&element.id);
        let flows = self.solution.amps(&element.id).is_some_and(|amps| amps.norm() > FLOWS);
        let class = if fault {
            "fault"
        } else if flows {
            "flows"
        } else {
            "still"
        };
        // The plug of a dead machine: its sources are drawn, though the circuit has none.
        let unplugged = matches!(element.kind, Kind::Source { .. } | Kind::DirectSource { .. })
            && matches!(now.kind, Kind::Open)
            && !fault;
        let shown = if unplugged { &element.kind } else { &now.kind };
        html! {
            g class=(class) {
                path.wire d={ "M" (px(from)) " " (px(y)) "H" (px(middle - symbol::HALF)) "M" (px(middle + symbol::HALF)) " " (px(y)) "H" (px(to)) } {}
                (symbol::symbol(shown, middle, y))
                text x=(px(middle)) y=(px(y + 26.0)) text-anchor="middle" { (element.id) }
                text.value x=(px(middle)) y=(px(y + 40.0)) text-anchor="middle" {
                    @if unplugged { "unplugged" } @else { (symbol::value(shown)) }
                }
            }
        }
    }

    /// A node between two elements of a rung: a point if a lead goes there.
    fn node(&self, node: &NodeId, x: f64, y: f64) -> Markup {
        let Some(name) = self.point_on(node) else { return html! {} };
        html! {
            circle.point cx=(px(x)) cy=(px(y)) r="4" {}
            text x=(px(x)) y=(px(y - 22.0)) text-anchor="middle" { (name) }
            text.volts x=(px(x)) y=(px(y - 9.0)) text-anchor="middle" { (self.volts(node).unwrap_or_default()) }
        }
    }

    fn rail(&self, rail: &Rail) -> Markup {
        let rungs = self.ladder.rungs_at(rail);
        let (top, bottom) =
            (rungs.first().map_or(0.0, |row| y(*row)), rungs.last().map_or(0.0, |row| y(*row)));
        let x = x(rail.column);
        html! {
            line.rail x1=(px(x)) x2=(px(x)) y1=(px(top - 14.0)) y2=(px(bottom)) {}
            @for row in rungs { circle.dot cx=(px(x)) cy=(px(y(row))) r="3.5" {} }
            text x=(px(x)) y=(px(top - 32.0)) text-anchor="middle" {
                (self.point_on(rail.node).unwrap_or_else(|| rail.node.to_string()))
            }
            text.volts x=(px(x)) y=(px(top - 18.0)) text-anchor="middle" { (self.volts(rail.node).unwrap_or_default()) }
        }
    }

    /// The names of the points on a node.
    fn point_on(&self, node: &NodeId) -> Option<String> {
        let there = self.appliance.points.iter().filter(|point| self.appliance.node(&point.id) == Some(node));
        let names: Vec<&str> = there.map(|point| point.name.as_str()).collect();
        (!names.is_empty()).then(|| names.join(", "))
    }

    /// What a meter shows from a node to the reference, where the supply is on.
    fn volts(&self, node: &NodeId) -> Option<String> {
        let reference = &self.appliance.wiring.netlist.reference;
        if !self.state.energised || node == reference {
            return None;
        }
        let shown = self.solution.probe(Mode::AcVolts, node, reference, &Meter::SERVICE)?;
        Some(Meter::SERVICE.display(Mode::AcVolts, shown.nominal()))
    }
}

fn x(column: f64) -> f64 {
    MARGIN + CELL * column
}

fn y(row: usize) -> f64 {
    TITLE + MARGIN + ROW * row as f64
}

/// A length without useless digits.
fn px(length: f64) -> String {
    let text = format!("{length:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}
