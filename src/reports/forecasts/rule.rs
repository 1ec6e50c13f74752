//! The surface ahead as a brief shows it, by what the archive says of each lead.

use chrono::NaiveDate;
use statrs::distribution::{ContinuousCDF, Normal};

use super::judged::{moments, surface_error_degc};
use super::page::LeadRule;
use crate::column::{DayAhead, ShownBy, SurfaceDay};
use crate::math::quantiles::quantiles;
use crate::skill::daily_reference::KnownDays;

/// Puts in each day of `outlook` what its rule says; `known` is the record of the surface at the issue on `today`. A day without a rule,
/// or whose rule cannot be followed, stays as the model has it.
pub fn show_by_rules(
    outlook: &mut [SurfaceDay],
    ahead: &[DayAhead],
    rules: &[LeadRule],
    (known, today): (&KnownDays, NaiveDate),
) {
    for day in outlook {
        let lead = (day.date - today).num_days();
        let Some(rule) = rules.iter().find(|rule| i64::from(rule.lead_days) == lead) else {
            continue;
        };
        let members = ahead.iter().find(|a| a.date == day.date).map(|a| &a.surface_degc);
        let shown = match (rule.shown_by, rule.correction) {
            (ShownBy::CorrectedModel, Some(correction)) => members.filter(|m| m.len() >= 2).map(|members| {
                let (mean_degc, variance) = moments(members);
                let error_degc = surface_error_degc();
                let (mean_degc, sd_degc) = correction.apply(mean_degc, variance + error_degc * error_degc);
                let half_degc = Normal::standard().inverse_cdf(0.9) * sd_degc;
                [mean_degc - half_degc, mean_degc, mean_degc + half_degc]
            }),
            (ShownBy::DampedPersistence, _) => known
                .references(day.date)
                .and_then(|references| quantiles(&references.persistence?, [0.1, 0.5, 0.9])),
            _ => None,
        };
        if let Some([low_degc, median_degc, high_degc]) = shown {
            *day = SurfaceDay {
                date: day.date,
                median_degc,
                low_degc,
                high_degc,
                shown_by: rule.shown_by,
            };
        }
    }
}
