//! Reports as values: assembled, SI, complete, serialisable. Not a sentence, not a foot, not a colour.

pub mod assemble;
pub mod brief;
pub mod causes;
pub mod changes;
pub mod digest;
pub mod draft;
mod fit_page;
pub mod forecasts;
mod issued;
pub mod ledger;
pub mod make;
mod notices;
pub mod pulled;
mod record;
mod seconds;
pub mod trust;
mod turnover;
mod water;

pub use assemble::{BriefParts, assemble_brief, header};
pub use brief::*;
pub use digest::*;
pub use fit_page::{FIT_PAGE_FORM, FitPage, FitPageParts, Mornings, NotFitted, fit_page};
pub use issued::{Making, issued_call};
pub use ledger::*;
pub use make::{make_brief, make_brief_by, species_of};
pub use notices::notice_readings;
pub use pulled::{PullFailure, PulledLake, PulledSeries, PulledWater};
pub use record::{BandRecord, SKILL_FORM, SkillPage, SpeciesRecord, WhereaboutsSkill, call_for, skill_page};
pub use turnover::{
    DateChance, InflowDriver, LEAST_YEARS, OutlookBasis, OutlookDrivers, OutlookLacking, OutlookOf,
    OutlookState, PlaceOutlook, RunContrast, TURNOVER_FORM, TempRange, TurnoverOutlook, WANTED_YEARS,
    YearLeftOut, kept_turnover, outlook_out_of_season, turnover_outlook,
};
