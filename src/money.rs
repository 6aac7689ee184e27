//! Amounts of money: decimal digits and a currency, written as the place writes them.

use std::fmt;
use std::str::FromStr;

use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};

/// A currency by its three letters (ISO 4217).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Currency([u8; 3]);

impl Currency {
    /// The United States dollar.
    pub const USD: Self = Self(*b"USD");

    /// Its three letters.
    pub fn code(&self) -> &str {
        std::str::from_utf8(&self.0).expect("a currency is three ASCII letters")
    }

    /// How many digits stand after the point (ISO 4217, "minor unit"; two but for those named, from memory).
    pub fn places(&self) -> u32 {
        match self.code() {
            "CLP" | "ISK" | "JPY" | "KRW" | "PYG" | "UGX" | "VND" | "XAF" | "XOF" | "XPF" => 0,
            "BHD" | "IQD" | "JOD" | "KWD" | "LYD" | "OMR" | "TND" => 3,
            _ => 2,
        }
    }

    /// Rounded to what can be paid; half goes away from zero (common practice of invoices).
    pub fn round(&self, amount: Decimal) -> Decimal {
        let mut amount = amount.round_dp_with_strategy(self.places(), RoundingStrategy::MidpointAwayFromZero);
        amount.rescale(self.places());
        amount
    }

    fn symbol(&self) -> Option<&'static str> {
        match self.code() {
            "USD" => Some("$"),
            "EUR" => Some("€"),
            "GBP" => Some("£"),
            "JPY" => Some("¥"),
            _ => None,
        }
    }
}

/// A text that is no currency.
#[derive(Debug, thiserror::Error)]
#[error("`{0}` is no currency; name it by its three letters, such as USD, EUR or GBP")]
pub struct NotCurrency(String);

impl FromStr for Currency {
    type Err = NotCurrency;

    fn from_str(text: &str) -> Result<Self, NotCurrency> {
        let letters: Result<[u8; 3], _> = text.as_bytes().try_into();
        match letters {
            Ok(letters) if letters.iter().all(u8::is_ascii_uppercase) => Ok(Self(letters)),
            _ => Err(NotCurrency(text.to_owned())),
        }
    }
}

impl TryFrom<String> for Currency {
    type Error = NotCurrency;

    fn try_from(text: String) -> Result<Self, NotCurrency> {
        text.parse()
    }
}

impl From<Currency> for String {
    fn from(currency: Currency) -> Self {
        currency.code().to_owned()
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// How a place writes numbers, by its language tag: `en-US`, `de-DE`, `fr-FR`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Locale(pub String);

impl Default for Locale {
    fn default() -> Self {
        Self("en-US".to_owned())
    }
}

impl Locale {
    /// The signs of the place: between whole and fraction, and between thousands (Unicode CLDR, from memory).
    fn signs(&self) -> (char, char) {
        match self.0.as_str() {
            "de-CH" => return ('.', '’'),
            "de-AT" => return (',', '\u{a0}'),
            _ => {}
        }
        match self.language() {
            "da" | "de" | "el" | "es" | "id" | "it" | "nl" | "pt" | "tr" => (',', '.'),
            "bg" | "cs" | "fi" | "fr" | "hu" | "nb" | "no" | "pl" | "ru" | "sk" | "sv" | "uk" => {
                (',', '\u{a0}')
            }
            _ => ('.', ','),
        }
    }

    fn language(&self) -> &str {
        self.0.split(['-', '_']).next().unwrap_or_default()
    }

    /// An amount as the place writes it: `$1,234.50`, `1.234,50 €`, `CHF 1’234.50`.
    pub fn money(&self, amount: Decimal, currency: Currency) -> String {
        let number = self.number(currency.round(amount));
        let (sign, number) = number.strip_prefix('−').map_or(("", number.as_str()), |rest| ("−", rest));
        let first = matches!(self.language(), "en" | "ja" | "zh") || self.0 == "de-CH";
        match (currency.symbol(), first) {
            (Some(symbol), true) => format!("{sign}{symbol}{number}"),
            (Some(symbol), false) => format!("{sign}{number}\u{a0}{symbol}"),
            (None, true) => format!("{sign}{currency}\u{a0}{number}"),
            (None, false) => format!("{sign}{number}\u{a0}{currency}"),
        }
    }

    /// A number as the place writes it, all digits after the point kept.
    pub fn number(&self, number: Decimal) -> String {
        let (point, between) = self.signs();
        let text = number.abs().to_string();
        let (whole, fraction) = text.split_once('.').unwrap_or((&text, ""));
        let mut out = String::new();
        if number.is_sign_negative() && !number.is_zero() {
            out.push('−');
        }
        for (index, digit) in whole.chars().enumerate() {
            if index > 0 && (whole.len() - index).is_multiple_of(3) {
                out.push(between);
            }
            out.push(digit);
        }
        if !fraction.is_empty() {
            out.push(point);
            out.push_str(fraction);
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_amount_is_written_as_the_place_writes_it() {
        for (locale, amount, currency, expected) in [
            ("en-US", "1234.5", "USD", "$1,234.50"),
            ("en-US", "-0.005", "USD", "−$0.01"),
            ("en-GB", "999.994", "GBP", "£999.99"),
            ("de-DE", "1234567.5", "EUR", "1.234.567,50 €"),
            ("de-CH", "1234.5", "CHF", "CHF 1’234.50"),
            ("fr-FR", "1234.5", "EUR", "1 234,50 €"),
            ("ja-JP", "1234.5", "JPY", "¥1,235"),
            ("sv-SE", "85", "SEK", "85,00 SEK"),
            ("en-US", "0", "KWD", "KWD 0.000"),
        ] {
            let shown = Locale(locale.into()).money(amount.parse().unwrap(), currency.parse().unwrap());
            assert_eq!(shown.replace('\u{a0}', " "), expected);
        }
        for wrong in ["usd", "US", "DOLLAR", "€€€", ""] {
            assert!(wrong.parse::<Currency>().is_err(), "{wrong}");
        }
    }
}
