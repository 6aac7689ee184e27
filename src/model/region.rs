//! What holds in a region for whoever works there: supply, earthing, licensed trades, cautions. Says no law.

use serde::{Deserialize, Serialize};

use super::appliance::Appliance;
use super::spoken::unspeakable;

/// The profiles that come with the program: name and text.
pub const SHIPPED: [(&str, &str); 3] = [
    ("north-america", include_str!("../../models/regions/north-america.toml")),
    ("europe", include_str!("../../models/regions/europe.toml")),
    ("great-britain", include_str!("../../models/regions/great-britain.toml")),
];

/// A region's profile. Every text but the name is spoken once a job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Region {
    /// What it is called.
    pub name: String,
    /// What a wall outlet gives, in volts.
    pub outlet_volts: f64,
    /// The supply.
    pub supply: String,
    /// Where earth is.
    pub earthing: String,
    /// What is left to licensed trades.
    pub licensed: String,
    /// What is easily forgotten here.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// Who said, when it was set up, that they may do this work here; in no file that is handed round.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub confirmed: Option<Confirmed>,
}

/// Somebody's word that they may do this work in the region.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Confirmed {
    /// Whose.
    pub by: String,
    /// On which day, as 2026-11-26.
    pub on: String,
}

/// Why a text is no region's profile.
#[derive(Debug, thiserror::Error)]
pub enum NoRegion {
    /// Not TOML, or other fields than a profile has.
    #[error("{0}")]
    Form(#[from] toml::de::Error),
    /// A voltage that no household has.
    #[error("`outlet-volts`: {0} is not between 90 and 260")]
    Volts(f64),
    /// A text that cannot be spoken.
    #[error("`{field}`: {why}")]
    Unspeakable {
        /// The field.
        field: &'static str,
        /// Why.
        why: String,
    },
}

impl Region {
    /// Reads a profile.
    ///
    /// # Errors
    /// The first thing that is wrong with it.
    pub fn read(text: &str) -> Result<Self, NoRegion> {
        let region: Self = toml::from_str(text)?;
        if !(90.0..=260.0).contains(&region.outlet_volts) {
            return Err(NoRegion::Volts(region.outlet_volts));
        }
        let cautions = region.cautions.iter().map(|text| ("cautions", text));
        let texts = [
            ("name", &region.name),
            ("supply", &region.supply),
            ("earthing", &region.earthing),
            ("licensed", &region.licensed),
        ];
        for (field, text) in texts.into_iter().chain(cautions) {
            if let Some(why) = unspeakable(field, text) {
                return Err(NoRegion::Unspeakable { field, why });
            }
        }
        Ok(region)
    }

    /// Is a machine made for what a wall outlet gives here?
    pub fn supplies(&self, appliance: &Appliance) -> bool {
        let (least, most) = appliance.known_source_volts;
        (least..=most).contains(&self.outlet_volts)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shipped_profiles_are_whole() {
        for (name, text) in SHIPPED {
            let region = Region::read(text).unwrap_or_else(|why| panic!("{name}: {why}"));
            assert_eq!(region.confirmed, None, "{name}: nobody's word is handed round");
            let again = Region::read(&toml::to_string(&region).unwrap()).unwrap();
            assert_eq!(region, again, "{name}");
        }
    }

    #[test]
    fn a_machine_goes_with_its_supply() {
        let region = |at: usize| Region::read(SHIPPED[at].1).unwrap();
        for (machine, america, europe) in
            [("dryer-240", true, false), ("dryer-230", false, true), ("microwave", true, false)]
        {
            let machine = crate::model::by_name(machine).unwrap();
            assert_eq!((region(0).supplies(&machine), region(1).supplies(&machine)), (america, europe));
        }
    }

    #[test]
    fn what_is_no_profile_is_refused_with_the_reason() {
        let whole = SHIPPED[1].1;
        for (from, to, why) in [
            ("name = \"Europe\"", "", "missing field `name`"),
            ("-volts = 230", "-volts = 23", "`outlet-volts`: 23 is not between"),
            ("-volts = 230", "-volts = 230\nhertz = 50", "unknown field `hertz`"),
            ("two hundred thirty", "230", "`supply`: `2` cannot be spoken"),
            ("A plug can", "", ""),
        ] {
            let text = whole.replace(from, to);
            assert_ne!(text, whole, "{from}");
            match Region::read(&text) {
                Ok(_) => assert_eq!(why, "", "{to}"),
                Err(error) => assert!(!why.is_empty() && error.to_string().contains(why), "{to}: {error}"),
            }
        }
    }
}
