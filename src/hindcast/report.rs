//! The report of a hindcast as a value: figures and counts, no sentence.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::figures::Figure;
use super::observed::ObservedCounts;
use super::pairs::{Compared, PairCounts};
use super::statistics::ErrorFigures;
use super::thermocline::ThermoclineReport;
use super::turnover::TurnoverReport;
use super::years::RmseInterval;

/// What a run was worth. Temperatures in degC, oxygen in mg/L; every point has the same weight.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HindcastReport {
    /// Lake.
    pub lake: String,
    /// Whether parameters of the model were fitted to these observations.
    pub fitted: bool,
    /// First and last modelled day; `None` of an empty run.
    pub modelled: Option<(NaiveDate, NaiveDate)>,
    /// Depth down to which the shallowest observation counts as the surface.
    pub surface_depth_m: f64,
    /// Temperature, and oxygen where it was both observed and modelled.
    pub parts: Vec<HindcastPart>,
    /// Depth of the thermocline.
    pub thermocline: ThermoclineReport,
    /// Dates of the autumn turnover.
    pub turnover: TurnoverReport,
    /// What a reader has to know beside the figures.
    pub notes: Vec<HindcastNote>,
}

impl HindcastReport {
    /// The figures of `figure` of what is `compared`; `None` where there are none.
    pub fn row(&self, compared: Compared, figure: Figure) -> Option<&FigureRow> {
        let part = self.parts.iter().find(|p| p.compared == compared)?;
        part.figures.iter().find(|f| f.figure == figure)
    }
}

/// Figures of one quantity.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HindcastPart {
    /// Which.
    pub compared: Compared,
    /// The observations as they came.
    pub observed: ObservedCounts,
    /// What became of the points.
    pub pairs: PairCounts,
    /// One row a figure.
    pub figures: Vec<FigureRow>,
}

/// One figure of the model, and of the references on the same points.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FigureRow {
    /// Which.
    pub figure: Figure,
    /// The model, over all points of the figure; `None` without points.
    pub model: Option<ErrorFigures>,
    /// 10 to 90 % of the model's RMSE over resampled years; `None` with fewer than five.
    pub interval: Option<RmseInterval>,
    /// Days of pairs that have no point in the figure.
    pub days_left_out: usize,
    /// The references, each on the points that it has a value for.
    pub references: Vec<ReferenceRow>,
}

/// A reference and the model on the same points.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ReferenceRow {
    /// Which.
    pub reference: Reference,
    /// Points of the figure that the reference has no value for: left out of both.
    pub left_out: usize,
    /// RMSE of the model on the others.
    pub model_rmse: Option<f64>,
    /// The reference on the others.
    pub figures: Option<ErrorFigures>,
}

/// A simple forecast of the same points.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Reference {
    /// Mean of the other years about the date.
    Climatology,
    /// The last profile that is at least so many days old.
    Persistence {
        /// Days.
        days: u64,
    },
    /// The surface from air temperature alone.
    QuickSurface,
}

/// What a reader has to know beside the figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum HindcastNote {
    /// The model was fitted to the very observations that it is compared with.
    FittedInSample,
    /// No daily air temperature was given: the quick surface is not among the references.
    NoQuickSurface,
    /// The quick surface was fitted to the very observations that it is compared with.
    QuickFittedInSample,
    /// Oxygen was observed but not modelled.
    OxygenNotModelled,
}
