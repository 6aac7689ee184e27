//! Repair or replace: what is to be fitted, weighed against the machine's age, in a sentence.

use crate::diagnose::hypothesis::Hypothesis;
use crate::diagnose::remedy::{self, Wish, Worth};
use crate::model::appliance::Appliance;
use crate::record::entry::{CustomerField, PlateField};
use crate::record::job::Job;

/// The sentence; `None` where nothing is to be fitted, or the machine's age or how long such machines last is not known.
pub fn worth(job: &Job, appliance: &Appliance, today: &str) -> Option<String> {
    let advice = job.advised().filter(|advice| advice.remedy.is_some())?;
    let remedies = remedy::remedies(&Hypothesis::named(&advice.cause), appliance);
    let price = remedies.iter().map(|remedy| remedy.price).max()?;
    let lasts = appliance.lasts?;
    let bought = job.plate.get(&PlateField::Bought).and_then(|bought| year(bought))?;
    let age = year(today)?.checked_sub(bought).filter(|age| *age >= 0)?;
    let wish = job.customer.get(&CustomerField::Wish).and_then(|wish| wished(wish));
    let judged = match Worth::of(price, f64::from(age), lasts, wish) {
        Worth::Repair => "The repair is worth it",
        Worth::Either => "Repair and replacement are both reasonable; the customer decides",
        Worth::Replace => "A new machine is the better use of the money",
    };
    let years = if age == 1 { "year" } else { "years" };
    Some(format!("{judged}. It is {age} {years} old; such machines last about {lasts:.0} years unrepaired."))
}

/// The first year that a text names: "2014-03", "March 2014".
fn year(text: &str) -> Option<i16> {
    let numbers = text.split(|c: char| !c.is_ascii_digit()).filter(|digits| digits.len() == 4);
    numbers.filter_map(|digits| digits.parse().ok()).find(|year| (1950..2100).contains(year))
}

/// What a text wishes, if it says so plainly.
fn wished(text: &str) -> Option<Wish> {
    let text = text.to_lowercase();
    let says = |words: &[&str]| words.iter().any(|word| text.contains(word));
    match (says(&["keep", "repair"]), says(&["new", "replace"])) {
        (true, false) => Some(Wish::Keep),
        (false, true) => Some(Wish::New),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn years_and_wishes_are_read_or_left() {
        assert_eq!(year("2014-03"), Some(2014));
        assert_eq!(year("March 2014"), Some(2014));
        assert_eq!(year("two years ago"), None);
        assert_eq!(wished("would keep it"), Some(Wish::Keep));
        assert_eq!(wished("A new one"), Some(Wish::New));
        assert_eq!(wished("repair, or a new one"), None);
    }
}
