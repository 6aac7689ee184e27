//! `leadhand model new`: a copy of a model with values from the sheet in front of you; all comments are kept.

use std::path::PathBuf;

use miette::{Context, IntoDiagnostic, miette};
use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, value};

use super::{text, unknown};
use crate::model;

/// Arguments of `leadhand model new`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  leadhand model new --from dryer-240 --set heater=10.7ohm --set motor-run=2.1ohm --out my-dryer.toml\n\nUnits: ohm, kohm, Mohm, W, kW, V, A, pF, nF, uF."
)]
pub(super) struct NewArgs {
    /// Model to copy: a name or a .toml file
    #[arg(long, value_name = "APPLIANCE")]
    from: String,
    /// Element (or its kind, where there is one of that kind) and its value; may be repeated
    #[arg(long, value_name = "ELEMENT=VALUE")]
    set: Vec<Setting>,
    /// File to write; its name without .toml becomes the model's
    #[arg(long, value_name = "FILE", default_value = "my-model.toml")]
    out: PathBuf,
}

/// One value of one element.
#[derive(Clone, Debug)]
struct Setting {
    element: String,
    field: &'static str,
    value: f64,
    said: String,
}

/// Units, the field that they belong to, and what a number in them is multiplied by.
const UNITS: &[(&str, &str, f64)] = &[
    ("kohm", "ohms", 1e3),
    ("Mohm", "ohms", 1e6),
    ("ohms", "ohms", 1.0),
    ("ohm", "ohms", 1.0),
    ("kΩ", "ohms", 1e3),
    ("MΩ", "ohms", 1e6),
    ("Ω", "ohms", 1.0),
    ("kW", "watts", 1e3),
    ("W", "watts", 1.0),
    ("V", "volts", 1.0),
    ("A", "amps", 1.0),
    ("pF", "picofarads", 1.0),
    ("nF", "picofarads", 1e3),
    ("uF", "picofarads", 1e6),
    ("µF", "picofarads", 1e6),
];

impl std::str::FromStr for Setting {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let help = "write it as element=value with a unit, like heater=10.7ohm";
        let (element, said) = text.split_once('=').ok_or(help)?;
        let unit = UNITS.iter().find_map(|(unit, field, factor)| {
            said.strip_suffix(unit).map(|number| (number.trim(), *field, *factor))
        });
        let (number, field, factor) =
            unit.ok_or_else(|| format!("`{said}` has no unit known here; {help}"))?;
        let number: f64 = number.parse().map_err(|_| format!("`{number}` is not a number; {help}"))?;
        if !(number.is_finite() && number > 0.0) {
            return Err(format!("{number} is no value of a part; values are above zero"));
        }
        // Rounded, so that 8.8 kilohms are written as 8800.
        let value = (number * factor * 1e9).round() / 1e9;
        Ok(Self { element: element.trim().to_owned(), field, value, said: said.to_owned() })
    }
}

/// Runs the command: writes the copy and checks it.
pub(super) fn run(args: NewArgs) -> miette::Result<()> {
    let NewArgs { from, set, out } = args;
    let name = out.display().to_string();
    let id = out.file_stem().and_then(|stem| stem.to_str()).unwrap_or_default().to_owned();
    if out.extension().is_none_or(|ending| ending != "toml") || id.is_empty() {
        return Err(miette!(help = "give --out a name that ends in .toml", "`{name}` is no model file"));
    }
    if out.exists() {
        return Err(miette!(help = "choose another name with --out", "`{name}` is already there"));
    }
    let original = text(&from)?;
    let mut document: DocumentMut =
        original.text.parse().into_diagnostic().wrap_err_with(|| format!("reading {}", original.file))?;
    document["id"] = value(&id);
    let elements = document.get_mut("element").and_then(Item::as_array_of_tables_mut);
    let elements = elements.ok_or_else(|| miette!("{} has no elements", original.file))?;
    for setting in &set {
        setting.apply(elements)?;
    }
    let copy = document.to_string();
    // A value that makes no sound model is told before anything is written.
    model::load(&name, &copy)?;
    std::fs::write(&out, copy).into_diagnostic().wrap_err_with(|| format!("writing {name}"))?;
    println!("{name}: a copy of {from} with {} values set; use it with: leadhand type {name}", set.len());
    Ok(())
}

impl Setting {
    fn apply(&self, elements: &mut ArrayOfTables) -> miette::Result<()> {
        let element = self.find(elements)?;
        let old = element.get(self.field).map(|old| old.to_string().trim().to_owned());
        set(element, self.field, value(self.value));
        // The bounds were those of the old value.
        element.remove("low");
        element.remove("high");
        // Ohms, or watts and volts: the sheet's figure replaces the other.
        match self.field {
            "ohms" => drop(element.remove("watts")),
            "watts" => drop(element.remove("ohms")),
            _ => {}
        }
        if self.field == "ohms" && element.get("kind").and_then(Item::as_str) == Some("heater") {
            element.remove("volts");
        }
        set(element, "provenance", value("plate"));
        let before = old.map_or_else(String::new, |old| format!("; was {} {old}", self.field));
        set(element, "mark", value(format!("{} from the sheet at hand{before}", self.said)));
        Ok(())
    }

    /// The element of this name, or the only one of this kind.
    fn find<'a>(&self, elements: &'a mut ArrayOfTables) -> miette::Result<&'a mut Table> {
        let of = |table: &Table, field: &str| table.get(field).and_then(Item::as_str).map(str::to_owned);
        let wanted = Some(self.element.clone());
        let named = elements.iter().position(|table| of(table, "id") == wanted);
        let kinds: Vec<Option<String>> = elements.iter().map(|table| of(table, "kind")).collect();
        let of_kind = || kinds.iter().enumerate().filter(|(_, kind)| **kind == wanted);
        let only = of_kind().next().filter(|_| of_kind().count() == 1).map(|(place, _)| place);
        let names: Vec<String> = elements.iter().filter_map(|table| of(table, "id")).collect();
        let Some(place) = named.or(only) else {
            return Err(unknown("element", &self.element, names.iter().map(String::as_str)));
        };
        Ok(elements.get_mut(place).expect("the place was found above"))
    }
}

/// Sets a field and keeps what stands round it.
fn set(table: &mut Table, field: &str, mut new: Item) {
    if let (Some(old), Some(new)) = (table.get(field).and_then(Item::as_value), new.as_value_mut()) {
        *new.decor_mut() = old.decor().clone();
    }
    table.insert(field, new);
}
