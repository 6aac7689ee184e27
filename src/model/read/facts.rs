//! The facts that need no circuit: points, parts, states, complaints, faults, remedies, closing, adjustments.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::id::{ApplianceId, FaultId, PointId};
use crate::model::appliance::{
    Adjustment, AdjustmentStep, Appliance, Candidate, ClosingItem, Complaint, Fault, Origin, Part, Point,
    Remedy, State,
};
use crate::model::names::Names;
use crate::model::problem::Code;
use crate::model::raw::Section;
use crate::model::wiring::Wiring;

/// Minutes that one step of a visit may take.
const MOST_MINUTES: f64 = 240.0;

/// The appliance without checks and predictions.
pub(in crate::model) fn appliance(model: &Section, names: &Names, wiring: Wiring) -> Appliance {
    let pair =
        |(a, b)| -> (PointId, PointId) { (names.check(model, "point", &a), names.check(model, "point", &b)) };
    Appliance {
        id: ApplianceId::from(model.word("id").text.as_str()),
        name: model.spoken("name"),
        say: model.spoken_list("say"),
        lasts: model.maybe_number("lasts", 1.0, 50.0),
        isolate: model.spoken("isolate"),
        known_source: model.spoken("known-source"),
        known_source_volts: model.bounds("known-source-volts"),
        prove_dead: model.word_pairs("prove-dead").into_iter().map(pair).collect(),
        points: model.some_sections("point").iter().map(point).collect(),
        parts: model.some_sections("part").iter().map(part).collect(),
        states: model.some_sections("state").iter().map(state).collect(),
        complaints: model.some_sections("complaint").iter().map(complaint).collect(),
        faults: model.some_sections("fault").iter().map(|s| fault(s, names)).collect(),
        remedies: model.some_sections("remedy").iter().map(remedy).collect(),
        checks: Vec::new(),
        closing: model.some_sections("closing").iter().map(closing).collect(),
        refuses: model.spoken_list("refuses"),
        adjustments: model.sections("adjustment").iter().map(|s| adjustment(s, names)).collect(),
        candidates: candidates(model),
        wiring,
        predictions: BTreeMap::new(),
        file: (Arc::from(""), Arc::from("")),
    }
}

fn id<Id: for<'a> From<&'a str>>(section: &Section) -> Id {
    Id::from(&section.word("id").text)
}

fn point(s: &Section) -> Point {
    Point { id: id(s), name: s.spoken("name"), say: s.spoken_list("say"), place: s.spoken("place") }
}

fn part(s: &Section) -> Part {
    Part {
        id: id(s),
        name: s.spoken("name"),
        say: if s.has("say") { s.spoken_list("say") } else { Vec::new() },
    }
}

fn state(s: &Section) -> State {
    State {
        id: id(s),
        name: s.spoken("name"),
        energised: s.flag("energised"),
        make: s.spoken("make"),
        minutes: s.number("minutes", 0.0, MOST_MINUTES),
        danger: s.maybe_spoken("danger"),
        jumper: s.maybe_spoken("jumper"),
    }
}

fn complaint(s: &Section) -> Complaint {
    Complaint { id: id(s), name: s.spoken("name"), say: s.spoken_list("say") }
}

fn fault(s: &Section, names: &Names) -> Fault {
    s.word("mark");
    let weights = s.entries("weight").into_iter();
    let weight =
        weights.map(|(word, s)| (names.check(&s, "complaint", &word), s.number(&word.text, 0.1, 10.0)));
    Fault {
        id: id(s),
        part: names.field(s, "part", "part"),
        name: s.spoken("name"),
        weight: weight.collect(),
        remedy: names.field(s, "remedy", "remedy"),
        origin: s.maybe_word("origin").and_then(|w| s.pick(&w, ORIGINS)).unwrap_or(Origin::Machine),
        brought_by: brought_by(s, names),
        wavers: s.maybe_number("wavers", 0.0, 0.9).unwrap_or(0.0),
    }
}

const ORIGINS: &[(&str, Origin)] =
    &[("machine", Origin::Machine), ("house", Origin::House), ("use", Origin::Use)];

/// The faults behind a fault; together they are at most its only cause.
fn brought_by(s: &Section, names: &Names) -> BTreeMap<FaultId, f64> {
    let shares = s.entries("brought-by").into_iter();
    let shares: BTreeMap<FaultId, f64> =
        shares.map(|(word, s)| (names.check(&s, "fault", &word), s.number(&word.text, 0.01, 1.0))).collect();
    if shares.values().sum::<f64>() > 1.0 {
        let reason = "the shares of what brings this fault about sum to more than one".into();
        s.report(Code::OutOfRange, s.place("brought-by"), reason, "leave a share for the fault alone");
    }
    shares
}

fn remedy(s: &Section) -> Remedy {
    Remedy {
        id: id(s),
        say: s.spoken("say"),
        sold: s.maybe_spoken("sold"),
        cause: s.maybe_spoken("cause"),
        caution: s.maybe_spoken("caution"),
        minutes: s.number("minutes", 0.0, MOST_MINUTES),
        price: s.number("price", 0.0, 3.0) as u8,
    }
}

/// The file's own circuit has the share that the others leave.
fn candidates(model: &Section) -> Vec<Candidate> {
    let others: Vec<Candidate> = model
        .sections("candidate")
        .iter()
        .map(|s| {
            s.word("mark");
            Candidate { id: id(s), name: s.spoken("name"), share: s.number("share", 0.01, 0.9) }
        })
        .collect();
    let share = 1.0 - others.iter().map(|c| c.share).sum::<f64>();
    if share <= 0.0 {
        let help = "leave a share for the circuit as the file has it";
        model.report(
            Code::OutOfRange,
            model.place("candidate"),
            "the shares sum to one or more".into(),
            help,
        );
    }
    let own = Candidate { id: model.word("id").text, name: model.spoken("name"), share };
    std::iter::once(own).chain(others).collect()
}

fn closing(s: &Section) -> ClosingItem {
    ClosingItem { id: s.word("id").text, say: s.spoken("say"), optional: s.flag("optional") }
}

fn adjustment(s: &Section, names: &Names) -> Adjustment {
    let step = |s: &Section| AdjustmentStep {
        turns: s.number("turns", 0.0, 10.0),
        millilitres: s.number("millilitres", 0.0, 1000.0),
        seconds: s.number("seconds", 0.0, 60.0),
    };
    Adjustment {
        id: s.word("id").text,
        name: s.spoken("name"),
        more: names.check(s, "remedy", &s.word("more")),
        less: names.check(s, "remedy", &s.word("less")),
        direction: s.spoken("direction"),
        limit: s.spoken("limit"),
        most_turns: s.number("most-turns", 0.0, 10.0),
        steps: s.some_sections("step").iter().map(step).collect(),
        note: s.word("note").text,
    }
}
