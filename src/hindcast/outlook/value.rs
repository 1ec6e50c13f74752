//! The answer: scores by lead, and what each year's outlook said.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::skill::seasons::Skill;

/// Name and version of the form of a hindcast of the outlook.
pub const TURNOVER_HINDCAST_FORM: &str = "plungeline-turnover-hindcast-1";

/// What is issued.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutlookOptions {
    /// Days ahead.
    pub lead_days: Vec<u32>,
    /// Blocks of eight members.
    pub blocks: usize,
}

impl Default for OutlookOptions {
    /// 60, 40, 20 and 10 days ahead, 40 members.
    fn default() -> Self {
        OutlookOptions {
            lead_days: vec![60, 40, 20, 10],
            blocks: 5,
        }
    }
}

/// From which day the days ahead are counted back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum IssueRule {
    /// The mean date of the other years: what can be done on the day, and tells nothing of the year's own date.
    BeforeNormal,
    /// The year's own date, the middle of its interval: for comparison with what is published so. The day of the issue tells
    /// of the date then, and what is learned from other years so issued (the dates shifted by the surface, the shift of the members) makes use of
    /// it: as skill only the other rule counts.
    BeforeObserved,
}

impl IssueRule {
    /// Both.
    pub const ALL: [IssueRule; 2] = [IssueRule::BeforeNormal, IssueRule::BeforeObserved];
}

/// Outlooks of past years, scored.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TurnoverHindcast {
    /// Name and version of this form: `plungeline-turnover-hindcast-1`.
    pub form: String,
    /// Version of the program.
    pub version: String,
    /// By lake.
    pub lakes: Vec<LakeTurnover>,
}

impl TurnoverHindcast {
    /// Of these lakes, in the form of this version.
    pub fn of(lakes: Vec<LakeTurnover>) -> TurnoverHindcast {
        TurnoverHindcast {
            form: TURNOVER_HINDCAST_FORM.to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            lakes,
        }
    }
}

/// Outlooks of one lake.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LakeTurnover {
    /// Name.
    pub lake: String,
    /// Autumns of which profiles tell when the lake turned over: between two of them.
    pub autumns: usize,
    /// Autumns besides, of which profiles end, or ice comes, before one shows the lake mixed.
    pub not_seen_to_end: usize,
    /// Of them, left out: known to no better than 45 days.
    pub too_wide: usize,
    /// By rule and days ahead.
    pub rows: Vec<LeadRow>,
    /// Every year's outlooks, in the order of the rows.
    pub years: Vec<YearOutlook>,
}

/// How good the outlooks of one lead were. Scores are means over the years; smaller is better.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LeadRow {
    /// From where the days ahead are counted back.
    pub issued: IssueRule,
    /// Days ahead.
    pub lead_days: u32,
    /// Years scored.
    pub years: usize,
    /// Of them, with a date: known to 10 days.
    pub usable_dates: usize,
    /// Of them, not seen to end: scored up to their last stratified profile, where that is no earlier than the issue.
    pub not_seen_to_end: usize,
    /// Years not scored because a profile had shown the lake mixed before the issue.
    pub already_mixed: usize,
    /// Years whose members were moved and spread as the other years teach, because that was shown to help these; the others are issued
    /// without a shift.
    pub taught_years: usize,
    /// CRPS of the outlook.
    pub crps_days: Option<f64>,
    /// CRPS of the members as they ran, without shift and dressing.
    pub members_crps_days: Option<f64>,
    /// CRPS of the other years' dates.
    pub climatology_crps_days: Option<f64>,
    /// CRPS of the other years' dates, shifted by the surface at the issue.
    pub shifted_crps_days: Option<f64>,
    /// Skill against the other years' dates.
    pub skill_climatology: Option<Skill>,
    /// Skill against the same, shifted by the surface.
    pub skill_shifted: Option<Skill>,
    /// Log score of the outlook, nats.
    pub log_score: Option<f64>,
    /// Log score of the other years' dates.
    pub climatology_log_score: Option<f64>,
    /// Log score of the same, shifted by the surface.
    pub shifted_log_score: Option<f64>,
    /// Years whose log score of the outlook needed its floor.
    pub floored: usize,
    /// Of the years with a date, those within 10 to 90 % of the outlook.
    pub coverage: Option<Coverage>,
    /// Of all years, those whose interval has a day within 10 to 90 %: a coverage at most.
    pub met: usize,
}

/// How often the 80 % interval held the date.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Coverage {
    /// Years in which it did.
    pub hits: u32,
    /// Years with a date.
    pub trials: u32,
    /// Lower end of the Jeffreys interval of 80 %.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// What one outlook said and what came.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct YearOutlook {
    /// From where the days ahead are counted back.
    pub issued: IssueRule,
    /// Days ahead.
    pub lead_days: u32,
    /// Year of the summer before.
    pub year: i32,
    /// Day at whose beginning it was issued.
    pub issued_on: NaiveDate,
    /// 10 %, median and 90 % of the outlook.
    pub foreseen: [NaiveDate; 3],
    /// Last stratified profile.
    pub last_stratified: NaiveDate,
    /// First mixed profile; `None` where there is none.
    pub first_mixed: Option<NaiveDate>,
    /// Surface at the issue, against the other years.
    pub surface_anomaly_k: f64,
    /// Added to the members' dates; 0 where the other years did not show that a shift helps.
    pub shift_days: f64,
    /// Spread about each member's date.
    pub dressing_days: f64,
    /// CRPS of the outlook.
    pub crps_days: f64,
    /// CRPS of the members as they ran.
    pub members_crps_days: f64,
    /// CRPS of the other years' dates.
    pub climatology_crps_days: f64,
    /// CRPS of the same, shifted by the surface.
    pub shifted_crps_days: f64,
}
