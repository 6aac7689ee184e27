//! The file as it is written: tables and fields with their places.
//!
//! A field that is missing or of the wrong kind is reported and read as blank, so that one reading finds every problem.
//! Nothing that was built from a file with problems leaves the loader. Does not know what the fields mean.

use std::cell::RefCell;
use std::ops::Range;
use std::sync::Arc;

use miette::NamedSource;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::model::near::near;
use crate::model::problem::{Code, Problem};
use crate::model::spoken::unspeakable;

/// Every table of a model file and its fields; the top of the file is `model`.
pub const FIELDS: &[(&str, &[&str])] = &[
    (
        "model",
        &[
            "id",
            "name",
            "say",
            "hertz",
            "lasts",
            "reference",
            "isolate",
            "known-source",
            "known-source-volts",
            "prove-dead",
            "refuses",
            "point",
            "part",
            "element",
            "state",
            "complaint",
            "fault",
            "remedy",
            "check",
            "closing",
            "adjustment",
            "candidate",
            "variant",
        ],
    ),
    ("point", &["id", "name", "say", "place", "node"]),
    ("part", &["id", "name", "say"]),
    (
        "element",
        &[
            "id",
            "kind",
            "between",
            "ohms",
            "low",
            "high",
            "percent",
            "watts",
            "volts",
            "ac-ohms",
            "power-factor",
            "degrees",
            "internal-ohms",
            "picofarads",
            "beta",
            "celsius",
            "driver",
            "amps",
            "opens",
            "opens-at",
            "closes-at",
            "provenance",
            "mark",
        ],
    ),
    ("state", &["id", "name", "make", "minutes", "energised", "danger", "jumper", "closed", "celsius"]),
    ("complaint", &["id", "name", "say"]),
    (
        "fault",
        &[
            "id",
            "part",
            "name",
            "weight",
            "remedy",
            "edit",
            "twins",
            "origin",
            "brought-by",
            "wavers",
            "mark",
        ],
    ),
    ("edit", &["open", "short", "drift", "leak", "bridge", "warm", "ohms", "celsius"]),
    ("remedy", &["id", "say", "sold", "cause", "caution", "minutes", "price"]),
    (
        "check",
        &[
            "id", "title", "state", "minutes", "hazards", "before", "why-live", "lifts", "measure",
            "observe", "gauge",
        ],
    ),
    ("measure", &["function", "from", "to", "around", "wire", "range", "most-ohms"]),
    ("observe", &["question", "outcome", "otherwise", "given"]),
    ("outcome", &["name", "say"]),
    ("gauge", &["question", "unit", "otherwise", "given", "provenance", "mark"]),
    ("closing", &["id", "say", "optional"]),
    ("adjustment", &["id", "name", "more", "less", "direction", "limit", "most-turns", "step", "note"]),
    ("step", &["turns", "millilitres", "seconds"]),
    ("candidate", &["id", "name", "share", "move", "mark"]),
    ("move", &["element", "between"]),
];

/// Fields that say one value together: who changes one in a variant has changed them all.
const VALUE: &[&str] = &["ohms", "low", "high", "percent", "watts", "volts"];

/// The file, and what was found wrong with it so far.
pub(super) struct Source {
    named: Arc<NamedSource<String>>,
    problems: RefCell<Vec<Problem>>,
}

impl Source {
    pub(super) fn new(name: &str, text: &str) -> Self {
        let named = Arc::new(NamedSource::new(name, text.to_owned()).with_language("TOML"));
        Self { named, problems: RefCell::default() }
    }

    pub(super) fn report(&self, code: Code, at: Range<usize>, reason: String, help: impl Into<String>) {
        let problem = Problem::new(&self.named, code, at, reason, help.into());
        self.problems.borrow_mut().push(problem);
    }

    pub(super) fn take(&self) -> Vec<Problem> {
        self.problems.take()
    }

    pub(super) fn is_sound(&self) -> bool {
        self.problems.borrow().is_empty()
    }
}

/// A word of the file and where it stands.
#[derive(Clone, Debug)]
pub(super) struct Word {
    pub(super) text: String,
    pub(super) at: Range<usize>,
}

/// A table of the file, and what a variant lays over it.
#[derive(Clone)]
pub(super) struct Section<'a> {
    pub(super) source: &'a Source,
    pub(super) kind: &'static str,
    pub(super) at: Range<usize>,
    table: &'a DeTable<'a>,
    /// Later ones lie above.
    over: Vec<&'a DeTable<'a>>,
}

impl<'a> Section<'a> {
    /// The whole file, under the variants of its own id.
    pub(super) fn model(source: &'a Source, table: &'a DeTable<'a>) -> Self {
        // A problem with the whole file is shown at its first character.
        let mut model = Self { source, kind: "model", at: 0..0, table, over: Vec::new() };
        let variants = model.rows("variant").into_iter().map(|variant| variant.table);
        model.over = variants.filter(|variant| id_of(variant) == id_of(table)).collect();
        model.report_unknown_fields();
        model
    }

    fn report_unknown_fields(&self) {
        let kind = self.kind;
        let known = FIELDS.iter().find(|(name, _)| *name == kind).map_or(&[][..], |(_, fields)| fields);
        let keys = self.over.iter().chain([&self.table]).flat_map(|table| table.keys());
        for key in keys.filter(|key| !known.contains(&key.get_ref().as_ref())) {
            let name = key.get_ref().as_ref();
            let help = near(name, known.iter().copied()).map_or_else(
                || format!("the fields are: {}", known.join(", ")),
                |n| format!("did you mean `{n}`?"),
            );
            self.report(Code::UnknownField, key.span(), format!("a {kind} has no field `{name}`"), help);
        }
    }

    pub(super) fn report(&self, code: Code, at: Range<usize>, reason: String, help: impl Into<String>) {
        self.source.report(code, at, reason, help);
    }

    /// A field's value: the uppermost there is.
    fn get(&self, field: &str) -> Option<&'a Spanned<DeValue<'a>>> {
        for layer in self.over.iter().rev() {
            let found = layer.get(field);
            let elsewhere = || VALUE.contains(&field) && VALUE.iter().any(|field| layer.contains_key(*field));
            if found.is_some() || elsewhere() {
                return found;
            }
        }
        self.table.get(field)
    }

    pub(super) fn has(&self, field: &str) -> bool {
        self.get(field).is_some()
    }

    /// Where a field's value stands, or the table if it has none.
    pub(super) fn place(&self, field: &str) -> Range<usize> {
        self.get(field).map_or(self.at.clone(), Spanned::span)
    }

    fn required(&self, field: &str) -> Option<&'a Spanned<DeValue<'a>>> {
        let value = self.get(field);
        if value.is_none() {
            let help = format!("add `{field} = …`; models/README.md says what it is for");
            self.report(
                Code::MissingField,
                self.at.clone(),
                format!("this {} has no `{field}`", self.kind),
                help,
            );
        }
        value
    }

    fn wrong(&self, value: &Spanned<DeValue<'a>>, field: &str, wanted: &str) {
        let reason = format!("`{field}` is {}, not {wanted}", value.get_ref().type_str());
        self.report(Code::WrongType, value.span(), reason, format!("write {wanted}"));
    }

    fn text_of(&self, value: &Spanned<DeValue<'a>>, field: &str) -> Option<Word> {
        let text = value.get_ref().as_str();
        if text.is_none() {
            self.wrong(value, field, "a text in quotation marks");
        }
        text.map(|text| Word { text: text.to_owned(), at: value.span() })
    }

    /// A text that must be there.
    pub(super) fn word(&self, field: &str) -> Word {
        let word = self.required(field).and_then(|value| self.text_of(value, field));
        word.unwrap_or_else(|| Word { text: String::new(), at: self.at.clone() })
    }

    /// A text that may be there.
    pub(super) fn maybe_word(&self, field: &str) -> Option<Word> {
        self.get(field).and_then(|value| self.text_of(value, field))
    }

    /// A text that must be there and is spoken.
    pub(super) fn spoken(&self, field: &str) -> String {
        if self.required(field).is_none() {
            return String::new();
        }
        self.maybe_spoken(field).unwrap_or_default()
    }

    /// A text that may be there and is spoken.
    pub(super) fn maybe_spoken(&self, field: &str) -> Option<String> {
        let word = self.maybe_word(field)?;
        self.check_spoken(field, &word);
        Some(word.text)
    }

    fn check_spoken(&self, field: &str, word: &Word) {
        if let Some(why) = unspeakable(field, &word.text) {
            let help = "write numbers as words, no symbols, and one short instruction a sentence";
            self.report(Code::Unspeakable, word.at.clone(), why, help);
        }
    }

    /// A list of texts that must be there and hold at least one.
    pub(super) fn spoken_list(&self, field: &str) -> Vec<String> {
        if self.required(field).is_none() {
            return Vec::new();
        }
        let words = self.words(field);
        if words.is_empty() {
            let reason = format!("`{field}` is empty");
            self.report(Code::MissingField, self.place(field), reason, "name at least one");
        }
        for word in &words {
            self.check_spoken(field, word);
        }
        words.into_iter().map(|word| word.text).collect()
    }

    /// A list of texts; nothing if it is not there.
    pub(super) fn words(&self, field: &str) -> Vec<Word> {
        let Some(value) = self.get(field) else { return Vec::new() };
        let Some(array) = value.get_ref().as_array() else {
            self.wrong(value, field, "a list of texts");
            return Vec::new();
        };
        array.iter().filter_map(|value| self.text_of(value, field)).collect()
    }

    /// Two texts that must be there.
    pub(super) fn two_words(&self, field: &str) -> Option<(Word, Word)> {
        self.required(field)?;
        if let Ok([first, second]) = <[Word; 2]>::try_from(self.words(field)) {
            return Some((first, second));
        }
        let reason = format!("`{field}` names two");
        self.report(Code::WrongType, self.place(field), reason, "write a list of two texts");
        None
    }

    /// Pairs of texts.
    pub(super) fn word_pairs(&self, field: &str) -> Vec<(Word, Word)> {
        let Some(value) = self.required(field) else { return Vec::new() };
        let rows = value.get_ref().as_array().into_iter().flatten();
        let pairs = rows.map(|row| {
            let [first, second] = row.get_ref().as_array()?.iter().as_slice() else { return None };
            Some((self.text_of(first, field)?, self.text_of(second, field)?))
        });
        let pairs: Option<Vec<_>> = pairs.collect();
        pairs.filter(|pairs| !pairs.is_empty()).unwrap_or_else(|| {
            self.wrong(value, field, "a list of pairs of texts");
            Vec::new()
        })
    }

    fn number_of(&self, value: &Spanned<DeValue<'a>>, field: &str) -> Option<f64> {
        let written = match value.get_ref() {
            DeValue::Float(float) => Some(float.as_str().to_owned()),
            DeValue::Integer(integer) if integer.radix() == 10 => Some(integer.as_str().to_owned()),
            _ => None,
        };
        let number =
            written.and_then(|text| text.replace('_', "").parse().ok()).filter(|n: &f64| n.is_finite());
        if number.is_none() {
            self.wrong(value, field, "a number");
        }
        number
    }

    /// A number that may be there, within limits.
    pub(super) fn maybe_number(&self, field: &str, least: f64, most: f64) -> Option<f64> {
        let value = self.get(field)?;
        let number = self.number_of(value, field)?;
        if !(least..=most).contains(&number) {
            let reason = format!("`{field}` is {number}");
            self.report(
                Code::OutOfRange,
                value.span(),
                reason,
                format!("it lies between {least} and {most}"),
            );
        }
        Some(number)
    }

    /// A number that must be there, within limits.
    pub(super) fn number(&self, field: &str, least: f64, most: f64) -> f64 {
        self.required(field);
        self.maybe_number(field, least, most).unwrap_or(1.0)
    }

    /// A list of numbers that must be there.
    pub(super) fn numbers(&self, field: &str) -> Vec<f64> {
        let Some(value) = self.required(field) else { return Vec::new() };
        let Some(array) = value.get_ref().as_array() else {
            self.wrong(value, field, "a list of numbers");
            return Vec::new();
        };
        array.iter().filter_map(|value| self.number_of(value, field)).collect()
    }

    /// The least and the most of something; must be there.
    pub(super) fn bounds(&self, field: &str) -> (f64, f64) {
        let found = self.numbers(field);
        if let [least, most] = found[..]
            && least <= most
        {
            return (least, most);
        }
        if self.has(field) {
            let reason = format!("`{field}` is not the least and the most");
            self.report(Code::OutOfRange, self.place(field), reason, "write two numbers, the smaller first");
        }
        (0.0, 0.0)
    }

    /// Yes or no; no if it is not there.
    pub(super) fn flag(&self, field: &str) -> bool {
        let Some(value) = self.get(field) else { return false };
        let flag = value.get_ref().as_bool();
        if flag.is_none() {
            self.wrong(value, field, "true or false");
        }
        flag.unwrap_or(false)
    }

    /// One of the words allowed; must be there.
    pub(super) fn one_of<T: Copy>(&self, field: &str, allowed: &[(&str, T)]) -> Option<T> {
        self.required(field)?;
        self.maybe_word(field).and_then(|word| self.pick(&word, allowed))
    }

    /// One of the words allowed.
    pub(super) fn pick<T: Copy>(&self, word: &Word, allowed: &[(&str, T)]) -> Option<T> {
        let found = allowed.iter().find(|(name, _)| *name == word.text).map(|(_, value)| *value);
        if found.is_none() {
            let names: Vec<&str> = allowed.iter().map(|(name, _)| *name).collect();
            let help = near(&word.text, names.iter().copied()).map_or_else(
                || format!("write one of: {}", names.join(", ")),
                |n| format!("did you mean `{n}`?"),
            );
            self.report(
                Code::UnknownWord,
                word.at.clone(),
                format!("`{}` is not known here", word.text),
                help,
            );
        }
        found
    }

    /// A list of tables, or one table; nothing if it is not there. Reports what is no table and unknown fields.
    pub(super) fn sections(&self, field: &'static str) -> Vec<Section<'a>> {
        let Some(value) = self.get(field) else { return Vec::new() };
        for row in list(value).filter(|row| !row.get_ref().is_table()) {
            self.wrong(row, field, "a table");
        }
        let rows = self.rows(field);
        rows.iter().for_each(Section::report_unknown_fields);
        rows
    }

    /// The same without reporting anything. Of the whole file, a variant's rows lie over those of the same id, and what
    /// is new comes after them; of a row, the uppermost list counts.
    pub(super) fn rows(&self, field: &'static str) -> Vec<Section<'a>> {
        let section = |row: &'a Spanned<DeValue<'a>>| {
            let table = row.get_ref().as_table()?;
            Some(Section { source: self.source, kind: field, at: row.span(), table, over: Vec::new() })
        };
        if self.kind != "model" {
            return self.get(field).into_iter().flat_map(list).filter_map(section).collect();
        }
        let mut rows: Vec<Self> =
            self.table.get(field).into_iter().flat_map(list).filter_map(section).collect();
        let above = self.over.iter().filter_map(|layer| layer.get(field)).flat_map(list);
        for row in above.filter_map(section) {
            match rows.iter_mut().find(|r| id_of(row.table).is_some_and(|id| id_of(r.table) == Some(id))) {
                Some(below) => below.over.push(row.table),
                None => rows.push(row),
            }
        }
        rows
    }

    /// A list of tables that must hold at least one.
    pub(super) fn some_sections(&self, field: &'static str) -> Vec<Section<'a>> {
        self.required(field);
        self.sections(field)
    }

    /// A table whose keys are names: the names with their places, and a section to read each value from.
    pub(super) fn entries(&self, field: &'static str) -> Vec<(Word, Section<'a>)> {
        let Some(value) = self.get(field) else { return Vec::new() };
        let Some(table) = value.get_ref().as_table() else {
            self.wrong(value, field, "a table of names");
            return Vec::new();
        };
        let keys = table.keys().map(|key| {
            let word = Word { text: key.get_ref().to_string(), at: key.span() };
            (word, Section { source: self.source, kind: field, at: value.span(), table, over: Vec::new() })
        });
        keys.collect()
    }
}

fn id_of<'a>(table: &'a DeTable<'a>) -> Option<&'a str> {
    table.get("id").and_then(|id| id.get_ref().as_str())
}

/// The items of a list, or the one item that is no list.
fn list<'a>(value: &'a Spanned<DeValue<'a>>) -> std::slice::Iter<'a, Spanned<DeValue<'a>>> {
    value.get_ref().as_array().map_or_else(|| std::slice::from_ref(value).iter(), |array| array.iter())
}
