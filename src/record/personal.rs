//! Which words of an entry are personal: they are kept apart, so that they can be removed while the record stays whole.
//!
//! Personal is what names or quotes people: customer data, answers, notes, what was overheard, who consented, the names
//! of photographs. The technical record is everything else.

use super::entry::What;

/// The keys of an entry, as written in JSON, whose text is personal.
pub const fn fields(what: &What) -> &'static [&'static str] {
    match what {
        What::Customer { .. } => &["value"],
        What::Asked { .. } => &["answer"],
        What::Noted { .. } => &["text"],
        What::Heard { understood: false, .. } => &["words"],
        What::Photographed { .. } => &["file", "shows"],
        What::Consented(_) => &["who", "number", "words"],
        _ => &[],
    }
}

/// What stands in the place of words that were removed.
pub const REMOVED: &str = "(removed)";
