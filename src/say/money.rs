//! Amounts of money in words.

use rust_decimal::Decimal;

use crate::money::Currency;
use crate::quantity;
use crate::understand::numerals::{number_words, sign_by_sign};

/// "one hundred eighty dollars fifty cents"; a currency without a name of its own is spelled by its three letters.
pub(super) fn words(amount: Decimal, currency: Currency) -> String {
    let amount = currency.round(amount);
    let (whole, rest) = (amount.trunc(), amount.fract());
    let (large, small) = names(currency);
    let whole = format!("{} {large}", count(whole));
    if rest.is_zero() {
        return whole;
    }
    let parts = rest * Decimal::from(10_u64.pow(currency.places()));
    format!("{whole} {} {small}", count(parts))
}

fn count(whole: Decimal) -> String {
    let digits = whole.trunc().to_string();
    let number: Option<quantity::Decimal> = digits.parse().ok();
    // More money than a number has digits is read out one by one.
    number.map_or_else(|| sign_by_sign(&digits), number_words)
}

fn names(currency: Currency) -> (String, &'static str) {
    let (large, small) = match currency.code() {
        "USD" | "CAD" | "AUD" | "NZD" => ("dollars", "cents"),
        "EUR" => ("euros", "cents"),
        "GBP" => ("pounds", "pence"),
        code => {
            return (sign_by_sign(code), if currency.places() == 3 { "thousandths" } else { "hundredths" });
        }
    };
    (large.to_owned(), small)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn money_is_said_in_words() {
        for (amount, currency, expected) in [
            ("180", "USD", "one hundred eighty dollars"),
            ("180.50", "USD", "one hundred eighty dollars fifty cents"),
            ("0.05", "EUR", "zero euros five cents"),
            ("12.345", "GBP", "twelve pounds thirty five pence"),
            ("99", "CHF", "ninety nine C H F"),
        ] {
            assert_eq!(words(amount.parse().unwrap(), currency.parse().unwrap()), expected);
        }
    }
}
