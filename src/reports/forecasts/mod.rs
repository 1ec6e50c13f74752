//! Forecasts of days ahead: kept as they were issued, judged by what came, and what briefs show because of that.

mod issued;
mod judged;
pub mod page;
mod record;
mod rule;
mod turnover;

pub use issued::kept_forecast;
pub use judged::{Counted, counted, known_at, level_hour, moments, record_of};
pub use page::*;
pub use record::{ForecastParts, LONGEST_RULE_DAYS, forecast_skill, surface_rules};
pub use rule::show_by_rules;
pub use turnover::observed_turnovers;
