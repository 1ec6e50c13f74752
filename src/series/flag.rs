//! QARTOD quality flags (UNESCO 2013 scheme; IOOS QARTOD Water Level manual v2.1, section 3).

use serde::{Deserialize, Serialize};

/// Quality of one value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
#[repr(u8)]
pub enum Flag {
    /// Passed the tests that were run.
    Pass = 1,
    /// No test could be run.
    NotEvaluated = 2,
    /// Suspect, or of high interest.
    Suspect = 3,
    /// Failed.
    Fail = 4,
    /// No value.
    Missing = 9,
}

impl Flag {
    /// The flag of a number of the scheme.
    pub fn from_code(code: u8) -> Option<Flag> {
        match code {
            1 => Some(Flag::Pass),
            2 => Some(Flag::NotEvaluated),
            3 => Some(Flag::Suspect),
            4 => Some(Flag::Fail),
            9 => Some(Flag::Missing),
            _ => None,
        }
    }

    /// The number of the scheme.
    pub fn code(self) -> u8 {
        self as u8
    }

    /// Name in tables for programs, as in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Flag::Pass => "pass",
            Flag::NotEvaluated => "not_evaluated",
            Flag::Suspect => "suspect",
            Flag::Fail => "fail",
            Flag::Missing => "missing",
        }
    }

    /// Whether features may use the value as it is.
    pub fn is_usable(self) -> bool {
        matches!(self, Flag::Pass | Flag::NotEvaluated)
    }
}
