//! What the work will cost, as told to the customer before it is done.
//!
//! Totals are worked out, never kept, so that they cannot disagree with the lines.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::money::{Currency, Locale};

/// What the work will cost.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Estimate {
    /// The currency of every amount.
    pub currency: Currency,
    /// How amounts are written here.
    #[serde(default)]
    pub locale: Locale,
    /// What is charged for.
    pub lines: Vec<Line>,
    /// The taxes of the region on the kinds they are laid on; empty where the shop has set none.
    #[serde(default)]
    pub taxes: Vec<Tax>,
    /// The last day on which it holds: `2026-12-25`.
    #[serde(default)]
    pub valid_until: Option<String>,
}

/// One line of an estimate.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Line {
    /// What kind of thing it is.
    pub kind: Kind,
    /// What it is, in words.
    pub what: String,
    /// How many, or how many hours.
    pub count: Decimal,
    /// The price of one, before tax.
    pub each: Decimal,
}

/// What is charged for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Something fitted.
    Part,
    /// Time worked.
    Labour,
    /// The way here.
    Travel,
    /// Finding the fault.
    Diagnosis,
    /// Anything else.
    Other,
}

impl Kind {
    /// For the page.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Part => "Part",
            Self::Labour => "Labour",
            Self::Travel => "Travel",
            Self::Diagnosis => "Diagnosis",
            Self::Other => "Other",
        }
    }
}

/// A tax of the region.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tax {
    /// Its name on the invoice: "Sales tax", "VAT".
    pub name: String,
    /// Its rate, in percent of the price before tax.
    pub percent: Decimal,
    /// The kinds it is laid on.
    pub on: Vec<Kind>,
}

impl Estimate {
    /// What a line comes to, before tax.
    pub fn line(&self, line: &Line) -> Decimal {
        self.currency.round(line.count * line.each)
    }

    /// All lines, before tax.
    pub fn net(&self) -> Decimal {
        self.lines.iter().map(|line| self.line(line)).sum()
    }

    /// What a tax comes to: rounded once, on the sum of the lines it is laid on.
    pub fn tax(&self, tax: &Tax) -> Decimal {
        let base: Decimal =
            self.lines.iter().filter(|line| tax.on.contains(&line.kind)).map(|line| self.line(line)).sum();
        self.currency.round(base * tax.percent / Decimal::ONE_HUNDRED)
    }

    /// What is to be paid, taxes with it.
    pub fn total(&self) -> Decimal {
        self.net() + self.taxes.iter().map(|tax| self.tax(tax)).sum::<Decimal>()
    }

    /// An amount as it is written here.
    pub fn shown(&self, amount: Decimal) -> String {
        self.locale.money(amount, self.currency)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked by hand: lines of (kind, count, each), taxes of (percent, kinds), total.
    #[test]
    fn an_estimate_adds_up() {
        use Kind::{Labour, Part, Travel};
        let check = |lines: &[(Kind, &str, &str)], taxes: &[(&str, &[Kind])], net: &str, total: &str| {
            let lines = lines.iter().map(|(kind, count, each)| Line {
                kind: *kind,
                what: "x".into(),
                count: count.parse().unwrap(),
                each: each.parse().unwrap(),
            });
            let taxes = taxes.iter().map(|(percent, on)| Tax {
                name: "tax".into(),
                percent: percent.parse().unwrap(),
                on: on.to_vec(),
            });
            let estimate = Estimate {
                currency: Currency::USD,
                locale: Locale::default(),
                lines: lines.collect(),
                taxes: taxes.collect(),
                valid_until: None,
            };
            assert_eq!(
                (estimate.net().to_string(), estimate.total().to_string()),
                (net.into(), total.into())
            );
            let text = serde_json::to_string(&estimate).unwrap();
            assert_eq!(serde_json::from_str::<Estimate>(&text).unwrap(), estimate);
        };
        check(&[], &[], "0", "0");
        check(&[(Part, "1", "34.95"), (Labour, "0.75", "90")], &[], "102.45", "102.45");
        // 34.95 × 8.25 % = 2.883…; labour is not taxed here.
        check(&[(Part, "1", "34.95"), (Labour, "0.75", "90")], &[("8.25", &[Part])], "102.45", "105.33");
        // 19 % on everything: 0.1 + 0.2 in binary would go wrong.
        check(&[(Part, "3", "0.10"), (Travel, "1", "0.20")], &[("19", &[Part, Travel])], "0.50", "0.60");
        // Half a cent goes up: 1.50 × 5 % = 0.075.
        check(&[(Part, "1", "1.50")], &[("5", &[Part]), ("1", &[Labour])], "1.50", "1.58");
    }
}
