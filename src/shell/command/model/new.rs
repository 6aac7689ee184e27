//! `leadhand model new`: a copy of a model with values from the sheet in front of you; all comments are kept.

use std::path::PathBuf;

use miette::{Context, IntoDiagnostic, miette};
use toml_edit::{DocumentMut, Item, TableLike, Value, value};

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
    let was = document.get("id").and_then(Item::as_str).unwrap_or_default().to_owned();
    for setting in &set {
        let element = setting.apply(rows(document.get_mut("element")))?;
        // Where the chosen variant has the element too, its value lies over the other.
        for variant in
            rows(document.get_mut("variant")).into_iter().filter(|variant| id_of(*variant) == Some(&was))
        {
            let same =
                rows(variant.get_mut("element")).into_iter().filter(|row| id_of(*row) == Some(&element));
            same.for_each(|row| setting.write(row));
        }
    }
    document["id"] = value(&id);
    // The variant that was chosen by the old name is chosen by the new one.
    for variant in
        rows(document.get_mut("variant")).into_iter().filter(|variant| id_of(*variant) == Some(&was))
    {
        variant.insert("id", value(&id));
    }
    let copy = document.to_string();
    // A value that makes no sound model is told before anything is written.
    model::load(&name, &copy)?;
    std::fs::write(&out, copy).into_diagnostic().wrap_err_with(|| format!("writing {name}"))?;
    println!("{name}: a copy of {from} with {} values set; use it with: leadhand type {name}", set.len());
    Ok(())
}

impl Setting {
    /// Sets the element of this name, or the only one of this kind; gives its name.
    fn apply(&self, mut elements: Vec<&mut dyn TableLike>) -> miette::Result<String> {
        let wanted = Some(self.element.as_str());
        let named = elements.iter().position(|row| id_of(*row) == wanted);
        let kinds = elements.iter().enumerate().filter(|(_, row)| text_in(**row, "kind") == wanted);
        let kinds: Vec<usize> = kinds.map(|(place, _)| place).collect();
        let names = elements.iter().filter_map(|row| id_of(*row));
        let Some(place) = named.or(kinds.first().copied().filter(|_| kinds.len() == 1)) else {
            return Err(unknown("element", &self.element, names.collect::<Vec<_>>().into_iter()));
        };
        let name = id_of(elements[place]).unwrap_or_default().to_owned();
        self.write(elements[place]);
        Ok(name)
    }

    fn write(&self, row: &mut dyn TableLike) {
        let old = row.get(self.field).map(|old| old.to_string().trim().to_owned());
        let heater = text_in(row, "kind") == Some("heater");
        set(row, self.field, value(self.value));
        // The bounds were those of the old value. Ohms, or watts and volts: the sheet's figure replaces the other.
        let gone: &[&str] = match self.field {
            "ohms" if heater => &["low", "high", "watts", "volts"],
            "ohms" => &["low", "high", "watts"],
            "watts" => &["low", "high", "ohms"],
            _ => &["low", "high"],
        };
        for field in gone {
            row.remove(field);
        }
        set(row, "provenance", value("plate"));
        let before = old.map_or_else(String::new, |old| format!("; was {} {old}", self.field));
        set(row, "mark", value(format!("{} from the sheet at hand{before}", self.said)));
    }
}

/// The rows of a list of tables, however it is written.
fn rows(list: Option<&mut Item>) -> Vec<&mut dyn TableLike> {
    match list {
        Some(Item::ArrayOfTables(tables)) => tables.iter_mut().map(|row| row as &mut dyn TableLike).collect(),
        Some(Item::Value(Value::Array(list))) => {
            let tables = list.iter_mut().filter_map(Value::as_inline_table_mut);
            tables.map(|row| row as &mut dyn TableLike).collect()
        }
        _ => Vec::new(),
    }
}

fn text_in<'a>(row: &'a dyn TableLike, field: &str) -> Option<&'a str> {
    row.get(field).and_then(Item::as_str)
}

fn id_of(row: &dyn TableLike) -> Option<&str> {
    text_in(row, "id")
}

/// Sets a field and keeps what stands round it.
fn set(row: &mut dyn TableLike, field: &str, mut new: Item) {
    if let (Some(old), Some(new)) = (row.get(field).and_then(Item::as_value), new.as_value_mut()) {
        *new.decor_mut() = old.decor().clone();
    }
    row.insert(field, new);
}
