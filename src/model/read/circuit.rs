//! The circuit of an appliance: elements, where leads go, what states close and what faults break.

use std::collections::{BTreeMap, BTreeSet};

use num_complex::Complex64;

use crate::circuit::netlist::ROOM_CELSIUS;
use crate::circuit::{Bimetal, Edit, Element, Follow, Kind, Law, Netlist, Spread};
use crate::id::{ElementId, FaultId, NodeId, PointId, StateId};
use crate::model::appliance::Provenance;
use crate::model::names::Names;
use crate::model::problem::Code;
use crate::model::raw::{Section, Word};
use crate::model::wiring::{Move, Wiring};

/// Watts, volts and ohms of a heater may differ by this part (trade practice; see models/README.md).
const POWER_MISMATCH: f64 = 0.12;

/// A closed contact, a whole fuse or a wire with more than this is a fault, not a value (maker's sheet: above 2 Ω dirty).
const MOST_CONTACT_OHMS: f64 = 2.0;

/// What a contact, a fuse or a wire has if the file does not say: ten milliohms (common practice).
const USUAL_CONTACT_OHMS: f64 = 0.01;

/// Where values come from.
pub(in crate::model) const PROVENANCE: &[(&str, Provenance)] = &[
    ("plate", Provenance::Plate),
    ("computed", Provenance::Computed),
    ("class-default", Provenance::ClassDefault),
];

#[derive(Clone, Copy, PartialEq)]
enum Sort {
    Resistance,
    Joint,
    Winding,
    Thermistor,
    Platinum,
    Capacitor,
    Source,
    Contact,
    Thermostat,
}

const SORTS: &[(&str, Sort)] = &[
    ("heater", Sort::Resistance),
    ("resistor", Sort::Resistance),
    ("leakage", Sort::Resistance),
    ("fuse", Sort::Joint),
    ("wire", Sort::Joint),
    ("motor", Sort::Winding),
    ("coil", Sort::Winding),
    ("thermistor", Sort::Thermistor),
    ("platinum", Sort::Platinum),
    ("capacitor", Sort::Capacitor),
    ("stray", Sort::Capacitor),
    ("source", Sort::Source),
    ("contact", Sort::Contact),
    ("jumper", Sort::Contact),
    ("thermostat", Sort::Thermostat),
];

/// Reads everything about the circuit.
pub(in crate::model) fn wiring(model: &Section, names: &Names) -> Wiring {
    let mut netlist = Netlist::new(&model.word("reference").text, model.number("hertz", 16.0, 400.0));
    let mut provenance = BTreeMap::new();
    for section in model.some_sections("element") {
        let (element, from) = element(&section, names);
        provenance.insert(element.id.clone(), from);
        netlist.elements.push(element);
    }
    let nodes: BTreeSet<NodeId> = netlist.nodes().into_iter().cloned().collect();
    let known = |section: &Section, word: Word| -> NodeId {
        let node = NodeId::from(word.text.as_str());
        if !word.text.is_empty() && !nodes.contains(&node) {
            let reason = format!("no element touches a node `{node}`");
            section.report(
                Code::UnknownName,
                word.at,
                reason,
                "name a node that stands in an element's `between`",
            );
        }
        node
    };
    let id = |section: &Section| section.maybe_word("id").map_or_else(String::new, |word| word.text);
    let node_of = |s: &Section| (PointId::from(id(s).as_str()), known(s, s.word("node")));
    let closed_in = |s: &Section| (StateId::from(id(s).as_str()), closed(s, names, &netlist));
    let celsius_in = |s: &Section| (StateId::from(id(s).as_str()), celsius(s, names, &netlist));
    let edits_of = |s: &Section| {
        let edits = s.sections("edit").iter().filter_map(|e| edit(e, names, &known)).collect();
        (FaultId::from(id(s).as_str()), edits)
    };
    let moves_of =
        |s: &Section| s.some_sections("move").iter().filter_map(|s| moved(s, names, &known)).collect();
    let own = std::iter::once(Vec::new());
    Wiring {
        moves: own.chain(model.sections("candidate").iter().map(moves_of)).collect(),
        nodes: model.rows("point").iter().map(node_of).collect(),
        closed: model.rows("state").iter().map(closed_in).collect(),
        celsius: model.rows("state").iter().map(celsius_in).collect(),
        edits: model.rows("fault").iter().map(edits_of).collect(),
        provenance,
        netlist,
    }
}

fn closed(state: &Section, names: &Names, netlist: &Netlist) -> BTreeSet<ElementId> {
    for word in state.words("closed") {
        let element = netlist.element(&ElementId::from(word.text.as_str()));
        if element.is_some_and(|e| !matches!(e.kind, Kind::Contact { .. } | Kind::Thermostat { .. })) {
            let reason = format!("`{}` is no contact", word.text);
            state.report(
                Code::UnknownName,
                word.at,
                reason,
                "only contacts and jumpers are closed by a state",
            );
        }
    }
    names.list(state, "element", "closed").into_iter().collect()
}

fn element(s: &Section, names: &Names) -> (Element, Provenance) {
    s.word("mark");
    let id = ElementId::from(s.word("id").text.as_str());
    let (from, to) = s.two_words("between").map_or_else(Default::default, |(a, b)| (a.text, b.text));
    let sort = s.one_of("kind", SORTS).unwrap_or(Sort::Resistance);
    let value = s.maybe_number("ohms", 1e-6, 1e12);
    let (kind, nominal, computed) = match sort {
        Sort::Resistance => resistance(s, value),
        Sort::Joint => (Kind::Resistance { ohms: contact_ohms(s, value) }, contact_ohms(s, value), false),
        Sort::Contact => {
            let ohms = contact_ohms(s, value);
            (Kind::Contact { ohms, closed: false, follows: follow(s, names) }, ohms, false)
        }
        Sort::Thermostat => {
            let ohms = contact_ohms(s, value);
            (Kind::Thermostat { ohms, bimetal: bimetal(s), closed: false }, ohms, false)
        }
        Sort::Winding => {
            let dc_ohms = s.number("ohms", 1e-3, 1e7);
            let size = s.maybe_number("ac-ohms", 1e-3, 1e7).unwrap_or(dc_ohms);
            let factor = s.maybe_number("power-factor", 0.01, 1.0).unwrap_or(1.0);
            (Kind::winding(dc_ohms, Complex64::from_polar(size, factor.acos())), dc_ohms, false)
        }
        Sort::Thermistor | Sort::Platinum => sensor(s, sort),
        Sort::Capacitor => {
            let farads = s.number("picofarads", 0.01, 1e9) * 1e-12;
            (Kind::Capacitor { farads }, farads, false)
        }
        Sort::Source => {
            let angle = s.maybe_number("degrees", -360.0, 360.0).unwrap_or(0.0).to_radians();
            let volts = Complex64::from_polar(s.number("volts", 1.0, 1000.0), angle);
            let ohms = s.maybe_number("internal-ohms", 0.0, 100.0).unwrap_or(0.05);
            (Kind::Source { volts, ohms }, volts.norm(), false)
        }
    };
    let from_file = s.maybe_word("provenance").and_then(|word| s.pick(&word, PROVENANCE));
    let otherwise = if computed { Provenance::Computed } else { Provenance::ClassDefault };
    let mut spread = spread(s, sort, nominal, computed);
    // All sources of a house hang on one transformer.
    spread.together = (sort == Sort::Source).then_some(0);
    let element = Element { id, from: from.as_str().into(), to: to.as_str().into(), kind, spread };
    (element, from_file.unwrap_or(otherwise))
}

/// Ohms as the file has them, or from watts and volts; says whether they were computed.
fn resistance(s: &Section, value: Option<f64>) -> (Kind, f64, bool) {
    let watts = s.maybe_number("watts", 0.1, 20_000.0);
    let volts = s.maybe_number("volts", 1.0, 1000.0);
    let computed = watts.zip(volts).map(|(watts, volts)| volts * volts / watts);
    if let (Some(value), Some(computed)) = (value, computed)
        && (value / computed - 1.0).abs() > POWER_MISMATCH
    {
        let reason =
            format!("{value} ohms do not go with the watts and volts, which make {computed:.1} ohms");
        let help = "check all three on the plate: published sheets mix machines for different supplies";
        s.report(Code::PowerMismatch, s.place("ohms"), reason, help);
    }
    if value.is_none() && computed.is_none() {
        let help = "give `ohms`, or `watts` and `volts`";
        s.report(Code::MissingField, s.at.clone(), "this element has no value".into(), help);
    }
    let ohms = value.or(computed).unwrap_or(1.0);
    (Kind::Resistance { ohms }, ohms, value.is_none())
}

/// A sensor at the room's temperature, or where the file says; a thermistor's ohms are those at 25 °C, platinum's at 0 °C.
fn sensor(s: &Section, sort: Sort) -> (Kind, f64, bool) {
    let ohms = s.number("ohms", 1.0, 1e7);
    let law = if sort == Sort::Platinum {
        Law::Platinum { ohms }
    } else {
        Law::Beta { ohms, celsius: 25.0, beta: s.number("beta", 500.0, 10_000.0) }
    };
    let celsius = s.maybe_number("celsius", -60.0, 600.0).unwrap_or(ROOM_CELSIUS);
    (Kind::Sensor { law, celsius }, ohms, false)
}

fn bimetal(s: &Section) -> Bimetal {
    let (opens, closes) = (s.number("opens-at", -60.0, 600.0), s.number("closes-at", -60.0, 600.0));
    if opens == closes {
        let reason = "it opens and closes at one temperature".into();
        s.report(
            Code::OutOfRange,
            s.place("closes-at"),
            reason,
            "a bimetal closes some degrees from where it opens",
        );
    }
    Bimetal { opens, closes }
}

/// How warm the thermostats are in a state.
fn celsius(state: &Section, names: &Names, netlist: &Netlist) -> BTreeMap<ElementId, f64> {
    let warm = |(word, table): (Word, Section)| {
        let id: ElementId = names.check(&table, "element", &word);
        if netlist.element(&id).is_some_and(|e| !matches!(e.kind, Kind::Thermostat { .. })) {
            let reason = format!("`{}` is no thermostat", word.text);
            let help = "a state sets the temperature of thermostats; sensors have their own `celsius`";
            table.report(Code::UnknownName, word.at.clone(), reason, help);
        }
        (id, table.number(&word.text, -60.0, 600.0))
    };
    state.entries("celsius").into_iter().map(warm).collect()
}

fn contact_ohms(s: &Section, value: Option<f64>) -> f64 {
    let ohms = value.unwrap_or(USUAL_CONTACT_OHMS);
    if ohms > MOST_CONTACT_OHMS {
        let help = "a good contact has less than one ohm; more is a fault, made with an edit";
        let reason = format!("a closed contact of {ohms} ohms is not in order");
        s.report(Code::OutOfRange, s.place("ohms"), reason, help);
    }
    ohms
}

fn follow(s: &Section, names: &Names) -> Option<Follow> {
    let driver = s.maybe_word("driver")?;
    let driver = names.check(s, "element", &driver);
    Some(Follow { driver, amps: s.number("amps", 1e-4, 100.0), opens: s.flag("opens") })
}

/// The 95 % interval of a value: as the file has it, or what is usual for its kind.
fn spread(s: &Section, sort: Sort, nominal: f64, computed: bool) -> Spread {
    let low = s.maybe_number("low", 0.0, 1e12);
    let high = s.maybe_number("high", 0.0, 1e12);
    if let Some(percent) = s.maybe_number("percent", 0.0, 300.0) {
        return Spread::percent(percent);
    }
    if let Some((low, high)) = low.zip(high) {
        return Spread::between(low, nominal, high).unwrap_or_else(|| {
            let reason = format!("{nominal} does not lie between `low` and `high`");
            s.report(Code::OutOfRange, s.place("low"), reason, "low, then the value, then high");
            Spread::EXACT
        });
    }
    match sort {
        // Rated power is met within +5 % and -10 %: ohms within -4.8 % and +11 %.
        Sort::Resistance if computed => {
            Spread { down: 1.05_f64.ln(), up: (1.0 / 0.9_f64).ln(), together: None }
        }
        Sort::Resistance | Sort::Winding | Sort::Thermistor => Spread::percent(10.0),
        // 0.15 % and 2 °C of a sensor in a room whose temperature is a guess within 5 °C.
        Sort::Platinum => Spread::percent(2.0),
        Sort::Source => Spread::percent(5.0),
        Sort::Joint | Sort::Contact | Sort::Thermostat | Sort::Capacitor => Spread::percent(200.0),
    }
}

fn moved(s: &Section, names: &Names, known: &impl Fn(&Section, Word) -> NodeId) -> Option<Move> {
    let (from, to) = s.two_words("between")?;
    Some(Move { element: names.field(s, "element", "element"), between: (known(s, from), known(s, to)) })
}

fn edit(s: &Section, names: &Names, known: &impl Fn(&Section, Word) -> NodeId) -> Option<Edit> {
    let element = |field: &str| names.field(s, "element", field);
    if s.has("open") {
        return Some(Edit::Open(element("open")));
    }
    if s.has("short") {
        return Some(Edit::Short(element("short")));
    }
    if s.has("drift") {
        return Some(Edit::Drift { element: element("drift"), ohms: s.number("ohms", 1e-3, 1e9) });
    }
    if s.has("leak") {
        return Some(Edit::Leak { node: known(s, s.word("leak")), ohms: s.number("ohms", 1e-3, 1e9) });
    }
    if s.has("bridge") {
        return Some(Edit::Bridge { element: element("bridge"), ohms: s.number("ohms", 1e-3, 1e9) });
    }
    if s.has("warm") {
        return Some(Edit::Warm { element: element("warm"), celsius: s.number("celsius", -60.0, 600.0) });
    }
    let help = "write one of: open, short, drift, leak, bridge, warm";
    s.report(Code::MissingField, s.at.clone(), "this edit changes nothing".into(), help);
    None
}
