//! A notice of one morning as a value.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

use super::latch::{Look, Memory};
use crate::lake::{Notice, NoticeCondition};

/// A notice as it stands at one clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct NoticeReport {
    /// Id in the lake file.
    pub id: String,
    /// What it waits for.
    pub condition: NoticeCondition,
    /// The user's own words.
    pub note: Option<String>,
    /// Whether it holds, and since when.
    pub state: NoticeState,
    /// The figure that was looked at; `None` where it is not known.
    pub figure: Option<NoticeFigure>,
}

/// Whether a notice holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum NoticeState {
    /// It came to hold, and is told at this clock: once.
    Fired {
        /// Whether it was so already when it was looked at for the first time.
        already: bool,
    },
    /// It was told before, and has not been false by its margin since.
    Standing {
        /// Clock at which it was told; `None` where that is not remembered: at a clock of the past, which is not kept.
        fired_at: Option<DateTime<Utc>>,
    },
    /// It does not hold.
    Quiet,
    /// It cannot be judged: it is neither told nor made ready to be told again.
    NotKnown {
        /// What is missing.
        lack: Lack,
    },
}

/// What is missing for a notice.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Lack {
    /// No outlook of the turnover was made.
    TurnoverOutlook,
    /// No outlook of the level, or none so far ahead.
    LevelOutlook,
    /// No level, or a late one.
    Level,
    /// No flow of the river, or a late one.
    Inflow,
    /// The flow's base.
    Baseflow,
    /// The water of the zone: only the season is known of it, or it is closed.
    Water,
    /// The depth: no water is known, or no depth stands out.
    Depth,
    /// A depth that counts: none of the band is within the hard limits of the species.
    OutsideLimits,
    /// The shares.
    Shares,
    /// The ledger of the store could not be read or written.
    Ledger,
}

/// The figure that was looked at.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(untagged)]
pub enum NoticeFigure {
    /// A chance, and the first day on which it reaches that of the condition.
    Chance {
        /// The highest within the days of the condition.
        chance_prob: f64,
        /// First day with the chance of the condition; `None` where none has it.
        date: Option<NaiveDate>,
    },
    /// Flow over its base.
    Flow {
        /// Ratio.
        ratio: f64,
        /// Flow.
        discharge_m3s: f64,
    },
    /// Depth below the surface.
    Depth {
        /// Depth.
        depth_m: f64,
    },
    /// Surface temperature.
    Temp {
        /// Median over members.
        temp_degc: f64,
    },
    /// Level.
    Level {
        /// Elevation.
        elevation_m: f64,
    },
    /// Share.
    Share {
        /// Share of the fish.
        share_frac: f64,
    },
}

impl NoticeFigure {
    /// The number that is held against the threshold, in the unit of its kind.
    pub fn number(&self) -> f64 {
        match self {
            NoticeFigure::Chance { chance_prob, .. } => *chance_prob,
            NoticeFigure::Flow { ratio, .. } => *ratio,
            NoticeFigure::Depth { depth_m } => *depth_m,
            NoticeFigure::Temp { temp_degc } => *temp_degc,
            NoticeFigure::Level { elevation_m } => *elevation_m,
            NoticeFigure::Share { share_frac } => *share_frac,
        }
    }
}

/// What a morning says of a notice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reading {
    /// Its figure.
    Known {
        /// Figure.
        figure: NoticeFigure,
        /// Whether what it waits for has come about: the ramp is out of use, or back. It is told then if nobody was told
        /// before, and is over.
        over: bool,
    },
    /// Nothing.
    NotKnown(Lack),
}

impl NoticeReport {
    /// The report of `notice`.
    pub fn of(notice: &Notice, reading: &Reading, look: Option<(Look, &Memory)>) -> NoticeReport {
        let (figure, state) = match (reading, look) {
            (Reading::NotKnown(lack), _) => (None, NoticeState::NotKnown { lack: *lack }),
            (Reading::Known { figure, .. }, look) => {
                let state = match look {
                    Some((Look::Fired, memory)) => NoticeState::Fired {
                        already: memory.already,
                    },
                    Some((Look::Standing, memory)) => NoticeState::Standing {
                        fired_at: memory.fired_at,
                    },
                    Some((Look::Quiet, _)) => NoticeState::Quiet,
                    None => NoticeState::NotKnown { lack: Lack::Ledger },
                };
                (Some(*figure), state)
            }
        };
        NoticeReport {
            id: notice.id.clone(),
            condition: notice.condition.clone(),
            note: notice.note.clone(),
            state,
            figure,
        }
    }
}

/// The reports where the ledger cannot be used: nothing is told as new, since it may have been told before.
pub fn not_remembered(readings: &[(&Notice, Reading)]) -> Vec<NoticeReport> {
    let of = |(notice, reading): &(&Notice, Reading)| NoticeReport::of(notice, reading, None);
    readings.iter().map(of).collect()
}
