//! Notices: conditions that the user wants to be told of when they come to hold, once each time.
//!
//! They are the user's own, and never called by the names of official products, which are quoted and not made
//! (docs/glossary.md).

use serde::{Deserialize, Serialize};

use super::model::{InflowId, SpeciesId, ZoneId};

/// What can be looked at, in the words of the lake file.
pub const NOTICE_KINDS: &[&str] = &[
    "turnover",
    "ramp-out",
    "ramp-back",
    "pulse",
    "depth",
    "surface-temp",
    "level",
    "share",
];

/// One notice of the lake file.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// Id.
    pub id: String,
    /// What it waits for.
    pub condition: NoticeCondition,
    /// How long the condition must have been false by its margin before it is told again.
    pub rearm_days: f64,
    /// The user's own words.
    pub note: Option<String>,
}

/// From which side a figure comes to its threshold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum NoticeSide {
    /// It holds at the threshold and above.
    AtLeast,
    /// It holds at the threshold and below.
    AtMost,
}

/// Part of a depth band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum BandEdge {
    /// Upper edge.
    Top,
    /// Depth of the most suitable water.
    Best,
    /// Lower edge.
    Bottom,
}

/// What a notice waits for. Each has a margin: it is told again only after the figure has been so far back beyond its
/// threshold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum NoticeCondition {
    /// A zone turns over within some days.
    Turnover {
        /// Zone.
        zone: ZoneId,
        /// Days.
        within_days: u32,
        /// Chance.
        at_least_prob: f64,
        /// Margin.
        margin_prob: f64,
    },
    /// A ramp goes out of use within some days, by level.
    RampOut {
        /// Ramp.
        ramp: String,
        /// Days.
        within_days: u32,
        /// Chance.
        at_least_prob: f64,
        /// Margin.
        margin_prob: f64,
    },
    /// A ramp comes back into use within some days, by level.
    RampBack {
        /// Ramp.
        ramp: String,
        /// Days.
        within_days: u32,
        /// Chance.
        at_least_prob: f64,
        /// Margin.
        margin_prob: f64,
    },
    /// A river stands so far above its base.
    Pulse {
        /// Inflow.
        inflow: InflowId,
        /// Flow over base.
        at_least_ratio: f64,
        /// Margin.
        margin_ratio: f64,
    },
    /// The depth band of a species.
    Depth {
        /// Species.
        species: SpeciesId,
        /// Which part of the band.
        edge: BandEdge,
        /// From which side.
        side: NoticeSide,
        /// Depth below the surface.
        depth_m: f64,
        /// Margin.
        margin_m: f64,
    },
    /// The surface of a zone.
    SurfaceTemp {
        /// Zone.
        zone: ZoneId,
        /// From which side.
        side: NoticeSide,
        /// Temperature.
        temp_degc: f64,
        /// Margin.
        margin_degc: f64,
    },
    /// The level.
    Level {
        /// From which side.
        side: NoticeSide,
        /// Elevation.
        elevation_m: f64,
        /// Margin.
        margin_m: f64,
    },
    /// The share of a species in a zone.
    Share {
        /// Species.
        species: SpeciesId,
        /// Zone.
        zone: ZoneId,
        /// From which side.
        side: NoticeSide,
        /// Share.
        share_frac: f64,
        /// Margin.
        margin_frac: f64,
    },
}

impl NoticeCondition {
    /// How far `figure`, in the unit of the condition, is past its threshold, in margins: the condition holds from 0 on, and
    /// is false by its margin from -1 down.
    ///
    /// ```
    /// use plungeline::lake::{NoticeCondition, NoticeSide};
    /// let level = NoticeCondition::Level { side: NoticeSide::AtMost, elevation_m: 240.0, margin_m: 0.5 };
    /// assert_eq!([239.5, 240.0, 240.25, 240.5].map(|m| level.past_margin_n(m)), [1.0, 0.0, -0.5, -1.0]);
    /// ```
    pub fn past_margin_n(&self, figure: f64) -> f64 {
        let (side, threshold, margin) = self.terms();
        match side {
            NoticeSide::AtLeast => (figure - threshold) / margin,
            NoticeSide::AtMost => (threshold - figure) / margin,
        }
    }

    /// Side, threshold and margin, both in the unit of the condition.
    fn terms(&self) -> (NoticeSide, f64, f64) {
        match self {
            NoticeCondition::Turnover {
                at_least_prob,
                margin_prob,
                ..
            }
            | NoticeCondition::RampOut {
                at_least_prob,
                margin_prob,
                ..
            }
            | NoticeCondition::RampBack {
                at_least_prob,
                margin_prob,
                ..
            } => (NoticeSide::AtLeast, *at_least_prob, *margin_prob),
            NoticeCondition::Pulse {
                at_least_ratio,
                margin_ratio,
                ..
            } => (NoticeSide::AtLeast, *at_least_ratio, *margin_ratio),
            NoticeCondition::Depth {
                side,
                depth_m,
                margin_m,
                ..
            } => (*side, *depth_m, *margin_m),
            NoticeCondition::SurfaceTemp {
                side,
                temp_degc,
                margin_degc,
                ..
            } => (*side, *temp_degc, *margin_degc),
            NoticeCondition::Level {
                side,
                elevation_m,
                margin_m,
            } => (*side, *elevation_m, *margin_m),
            NoticeCondition::Share {
                side,
                share_frac,
                margin_frac,
                ..
            } => (*side, *share_frac, *margin_frac),
        }
    }
}
