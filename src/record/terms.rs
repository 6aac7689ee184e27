//! What a shop sets for itself: who it is, what it charges, which taxes its region lays on what, and for how long.
//!
//! Tax rates change and differ from town to town, so none are built in.

use rust_decimal::Decimal;
use serde::Deserialize;

use super::estimate::{Estimate, Kind, Line, Tax};
use crate::money::{Currency, Locale};

/// What a shop sets for itself, as its file `shop.toml` says.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Terms {
    /// The shop's name on reports.
    #[serde(default)]
    pub name: String,
    /// Who works with this record.
    #[serde(default)]
    pub technician: String,
    /// The region whose rules hold: `US-CA`, `DE`.
    #[serde(default)]
    pub region: String,
    /// The currency.
    #[serde(default = "usd")]
    pub currency: Currency,
    /// How numbers are written.
    #[serde(default)]
    pub locale: Locale,
    /// The price of an hour, before tax.
    #[serde(default)]
    pub hour: Decimal,
    /// The price of coming, before tax.
    #[serde(default)]
    pub travel: Decimal,
    /// For how many days an estimate holds.
    #[serde(default = "month")]
    pub valid_days: u16,
    /// Within how many days a second visit for the same machine counts as a callback.
    #[serde(default = "quarter")]
    pub callback_days: u16,
    /// The taxes.
    #[serde(default, rename = "tax")]
    pub taxes: Vec<Tax>,
}

const fn usd() -> Currency {
    Currency::USD
}

const fn month() -> u16 {
    30
}

const fn quarter() -> u16 {
    90
}

impl Default for Terms {
    fn default() -> Self {
        toml::from_str("").expect("everything has a default")
    }
}

impl Terms {
    /// Reads `shop.toml`.
    pub fn read(text: &str) -> Result<Self, toml::de::Error> {
        toml::from_str(text)
    }

    /// An estimate of parts and hours on these terms.
    pub fn estimate(
        &self,
        parts: Vec<(String, Decimal)>,
        hours: Decimal,
        travel: bool,
        valid_until: Option<String>,
    ) -> Estimate {
        let part =
            |(what, each): (String, Decimal)| Line { kind: Kind::Part, what, count: Decimal::ONE, each };
        let mut lines: Vec<Line> = parts.into_iter().map(part).collect();
        if !hours.is_zero() {
            lines.push(Line { kind: Kind::Labour, what: "Hours".into(), count: hours, each: self.hour });
        }
        if travel {
            let what = "Coming to the place of the work".into();
            lines.push(Line { kind: Kind::Travel, what, count: Decimal::ONE, each: self.travel });
        }
        Estimate {
            currency: self.currency,
            locale: self.locale.clone(),
            lines,
            taxes: self.taxes.clone(),
            valid_until,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shop_says_what_it_charges() {
        let text = r#"
            name = "Alder & Birch"
            currency = "EUR"
            locale = "de-DE"
            hour = "72.50"
            travel = "39"
            [[tax]]
            name = "USt"
            percent = "19"
            on = ["part", "labour", "travel"]
        "#;
        let terms = Terms::read(text).unwrap();
        let estimate =
            terms.estimate(vec![("Belt".into(), "18.90".parse().unwrap())], Decimal::ONE, true, None);
        // 18.90 + 72.50 + 39.00 = 130.40; 19 % of it is 24.776.
        assert_eq!(estimate.shown(estimate.total()).replace('\u{a0}', " "), "155,18 €");
        for wrong in ["hours = \"1\"", "currency = \"euro\"", "hour = \"ten\"", "valid_days = -1"] {
            assert!(Terms::read(wrong).is_err(), "{wrong}");
        }
    }
}
