//! A gap: something that is not known, why, and what follows. A gap weakens an answer; it is no error.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

/// One named gap.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Gap {
    /// What is not known: a series id, or a topic such as `hypsography`.
    pub what: String,
    /// Why.
    pub reason: GapReason,
    /// What follows.
    pub consequence: Consequence,
}

/// Why something is not known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum GapReason {
    /// The lake file names no source.
    NotDescribed,
    /// The store holds no value.
    NoData,
    /// Nobody knows: the literature has no figure.
    NotKnown {
        /// What was looked for.
        why: String,
    },
    /// The newest value is older than it should be.
    Late {
        /// Time of the newest value.
        newest: DateTime<Utc>,
        /// Its age.
        age_h: f64,
        /// Age that would still be in order.
        allowed_h: f64,
    },
    /// Too few values for the figure.
    TooFew {
        /// Values there were.
        found: usize,
        /// Values needed.
        wanted: usize,
    },
    /// Values are there, but quality checks refuse them.
    Refused {
        /// Values refused.
        refused: usize,
        /// Values looked at.
        of: usize,
    },
    /// The fetch failed; the message says how.
    FetchFailed {
        /// Service.
        service: String,
        /// Message of the error.
        message: String,
    },
    /// A file of the store could not be read and was set aside.
    StoreDamaged {
        /// Where it was set aside.
        set_aside: String,
    },
}

/// What follows from a gap.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Consequence {
    /// A figure is left out.
    LeftOut {
        /// Which.
        figure: String,
    },
    /// An interval is wider.
    Wider {
        /// Which.
        figure: String,
    },
    /// Something else stands in.
    StandIn {
        /// What.
        stand_in: String,
    },
    /// A caution is given because the danger cannot be judged.
    CautionGiven {
        /// Which.
        caution: String,
    },
    /// The brief as a whole is too thin to trust (exit status 3).
    TooThin,
}
