//! A value from the rating plate in front of the technician, in place of what the model has.
//!
//! The value is written under the model's text as a variant of it, so the result is checked, predicted and kept like any
//! other model. Does not know how the value was given.

use std::fmt::Write as _;

use toml::de::DeTable;

use crate::circuit::{Edit, Kind};
use crate::id::{ElementId, PartId};
use crate::model::appliance::Appliance;
use crate::model::build::build;
use crate::model::near::near;
use crate::model::problem::{Code, Problems};
use crate::model::raw::{Section, Source};
use crate::quantity::{Quantity, Unit};

/// What a plate or a technical sheet says of a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rated {
    /// Its resistance, in ohms.
    Ohms(f64),
    /// Its power, in watts, at the volts the plate names; if it names none, at those the model has for it.
    Watts {
        /// In watts.
        watts: f64,
        /// In volts.
        volts: Option<f64>,
    },
}

impl Rated {
    /// A quantity as said; `None` if it is neither in watts nor in ohms.
    pub fn of(said: Quantity) -> Option<Self> {
        match said.unit {
            Some(Unit::Watts) => Some(Self::Watts { watts: said.value(), volts: None }),
            Some(Unit::Ohms) => Some(Self::Ohms(said.value())),
            _ => None,
        }
    }
}

impl Appliance {
    /// The same machine with what its plate says of parts; what does not go with it is left out.
    #[must_use]
    pub fn as_rated(&self, plate: &[(PartId, Quantity)]) -> Self {
        plate.iter().fold(self.clone(), |known, (part, said)| {
            let rated = Rated::of(*said).and_then(|rated| known.with_value(part.as_str(), rated).ok());
            rated.unwrap_or(known)
        })
    }

    /// The same machine with a value as its plate has it. `name` is an element, or a part of which one element has a
    /// value worth giving.
    ///
    /// # Errors
    /// What is wrong with the model that would come out, or that nothing in it has this name.
    pub fn with_value(&self, name: &str, rated: Rated) -> Result<Self, Problems> {
        let text = self.text_with_value(name, rated)?;
        let mut machine = build(&self.file.0, &text)?;
        // How often each fault comes may have been learned since the file was read; a plate says nothing of that.
        for (fault, own) in machine.faults.iter_mut().zip(&self.faults) {
            fault.weight.clone_from(&own.weight);
        }
        Ok(machine)
    }

    /// The model's text with such a value: what a technician keeps as a model of this very machine.
    ///
    /// # Errors
    /// That nothing in the model has this name, or that no volts are known to go with the watts.
    pub fn text_with_value(&self, name: &str, rated: Rated) -> Result<String, Problems> {
        let (file, text) = (&self.file.0, &self.file.1);
        let source = Source::new(file, text);
        let (table, _) = DeTable::parse_recoverable(text);
        let model = Section::model(&source, table.get_ref());
        let element = self.element_called(name);
        let row = element.as_ref().and_then(|id| {
            let mut rows = model.rows("element").into_iter();
            rows.find(|row| row.maybe_word("id").is_some_and(|word| word.text == id.as_str()))
        });
        let Some((id, row)) = element.zip(row) else {
            let ids = self.wiring.netlist.elements.iter().map(|e| e.id.as_str());
            let help = near(name, ids).map_or_else(
                || "name an element of the model, or a part with one value".to_owned(),
                |near| format!("did you mean `{near}`?"),
            );
            source.report(
                Code::UnknownName,
                0..0,
                format!("nothing with one value is called `{name}`"),
                help,
            );
            return Err(Problems::new(source.take()));
        };
        let mut text =
            format!("{text}\n[[variant]]\nid = \"{}\"\n[[variant.element]]\nid = \"{id}\"\n", self.id);
        match rated {
            Rated::Ohms(ohms) => writeln!(text, "ohms = {ohms:?}"),
            Rated::Watts { watts, volts } => {
                let Some(volts) = volts.or_else(|| row.maybe_number("volts", 1.0, 1000.0)) else {
                    let reason = format!("the model has no volts for `{id}`");
                    row.report(Code::MissingField, row.at.clone(), reason, "give the volts with the watts");
                    return Err(Problems::new(source.take()));
                };
                writeln!(text, "watts = {watts:?}\nvolts = {volts:?}")
            }
        }
        .expect("writing to a text");
        text.push_str("provenance = \"plate\"\nmark = \"rating plate of this machine\"\n");
        Ok(text)
    }

    /// The element of this name; or, of the part of this name, the one that is more than a contact or a wire.
    fn element_called(&self, name: &str) -> Option<ElementId> {
        let id = ElementId::from(name);
        let netlist = &self.wiring.netlist;
        if netlist.element(&id).is_some() {
            return Some(id);
        }
        let faults = self.faults.iter().filter(|fault| fault.part.as_str() == name);
        let edits = faults.filter_map(|fault| self.wiring.edits.get(&fault.id)).flatten();
        let mut elements: Vec<&ElementId> = edits
            .filter_map(|edit| match edit {
                Edit::Open(element)
                | Edit::Short(element)
                | Edit::Drift { element, .. }
                | Edit::Warm { element, .. }
                | Edit::Fade { element, .. }
                | Edit::Bridge { element, .. } => Some(element),
                Edit::Leak { .. } => None,
            })
            .collect();
        elements.retain(|id| {
            let kind = netlist.element(id).map(|element| &element.kind);
            matches!(kind, Some(Kind::Winding { .. }))
                || matches!(kind, Some(Kind::Resistance { ohms }) if *ohms > 2.0)
        });
        elements.sort();
        elements.dedup();
        if let [only] = elements[..] { Some(only.clone()) } else { None }
    }
}
