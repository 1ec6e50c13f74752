//! What of a forcing is not as it was measured.

use crate::column::forcing::{FlowNote, WeatherNote};
use crate::lake::SeriesId;
use crate::quantity::Quantity;

/// What of a forcing is not as it was measured, and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum StoredNote {
    /// Where the hours of a quantity come from.
    From {
        /// What: a quantity, with the inflow where there are several.
        what: String,
        /// Series, how it was used, hours; in the order in which they were taken.
        used: Vec<(SeriesId, Used, usize)>,
    },
    /// Values beyond what the quantity ever takes were left out.
    Unbelieved {
        /// Quantity.
        what: Quantity,
        /// Series.
        series: SeriesId,
        /// How many.
        rows: usize,
    },
    /// A step of making weather steps tells something, up to the clock.
    Weather(WeatherNote),
    /// The same, of the days ahead (of the first member; the others are made alike).
    WeatherAhead(WeatherNote),
    /// A step of making flows tells something.
    Flow(FlowNote),
    /// A humidity was made into vapour pressure.
    VapourFrom {
        /// Series.
        series: SeriesId,
        /// Its quantity.
        quantity: Quantity,
    },
    /// A series that is known in part only is not used at all, since its gaps would be filled from what it is derived from.
    PartlyKnown {
        /// Quantity.
        what: Quantity,
        /// Hours without it.
        hours: usize,
    },
    /// Releases are known in sum only and count as those of one outlet, the lowest.
    ReleaseInSum {
        /// Id of the outlet; empty where the lake file names none, and then nothing is released.
        outlet: String,
    },
    /// The level ahead is not given: it follows from the flows.
    LevelFollowsFlows,
    /// Members beyond those of the forecast use its members again.
    MembersAgain {
        /// Members of the forecast.
        issued: usize,
        /// Members wanted.
        wanted: usize,
    },
    /// A forecast of one run: air temperature is spread by the usual error of one, the rest is not spread.
    OneRun {
        /// Series.
        series: SeriesId,
    },
}

/// How a series was used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Used {
    /// Values within the day.
    Hours,
    /// Daily values, spread over the hours of the day.
    Days,
    /// Values that quality checks suspect, since there were no others.
    Suspect,
    /// Hours of a forecast that have passed.
    PassedForecast,
}
