//! What the customer agreed to, with all that makes it count.
//!
//! Going over an estimate needs consent beforehand; where it is given by word of mouth, the date and time, the name of
//! the person consenting, the telephone number called if any, who took the consent, the extra parts and labour and the
//! extra cost are kept (after 16 CCR 2722, California; other places ask for less or for more).

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::header::Moment;
use crate::money::Currency;

/// What the customer agreed to, or did not.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Consent {
    /// Was it given?
    pub given: bool,
    /// The date and time.
    pub when: Moment,
    /// The name of the person consenting.
    pub who: String,
    /// By what means.
    pub means: Means,
    /// The telephone number or address used, if any.
    #[serde(default)]
    pub number: Option<String>,
    /// Who took the consent.
    pub taken_by: String,
    /// The work agreed to, or the work beyond what was agreed before: parts and labour.
    pub work: String,
    /// What it costs beyond what was agreed before.
    pub extra: Decimal,
    /// What may be charged in all from now on, taxes with it.
    pub total: Decimal,
    /// The currency of the amounts.
    pub currency: Currency,
    /// The words heard, where it was spoken and read back.
    #[serde(default)]
    pub words: Option<String>,
}

/// How consent was given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Means {
    /// By word of mouth, face to face; read back and confirmed.
    Spoken,
    /// By telephone.
    Telephone,
    /// By a written message.
    Message,
    /// By a signature on paper or on the screen.
    Signed,
}

impl Means {
    /// For the page.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Spoken => "by word of mouth",
            Self::Telephone => "by telephone",
            Self::Message => "by message",
            Self::Signed => "by signature",
        }
    }
}

/// What is estimated but not agreed to yet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Excess {
    /// What was agreed to so far; nothing if nothing was.
    pub agreed: Option<Decimal>,
    /// What is estimated now.
    pub total: Decimal,
    /// The currency of both.
    pub currency: Currency,
}

impl Excess {
    /// What has still to be agreed to.
    pub fn extra(&self) -> Decimal {
        self.total - self.agreed.unwrap_or_default()
    }
}
