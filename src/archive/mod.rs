//! Briefs, calls and fits as they were issued: append-only, keyed by the clock and a hash of the content; and the analysed states of the
//! water that runs are taken up from.

pub mod analysed;
mod error;
mod forecast;
mod issued;

pub use error::ArchiveError;
pub use forecast::{
    FORECAST_FORM, KeptDay, KeptForecast, KeptPlace, KeptThermocline, KeptTurnover, TURNOVER_FORM,
    keep_forecast, keep_turnover,
};
pub(crate) use issued::write_whole;
pub use issued::{Issued, IssuedFile};
