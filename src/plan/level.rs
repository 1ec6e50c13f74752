//! The level as far as it may judge ramps and shoals today.

use chrono::{DateTime, Utc};

use crate::conditions::{Conditions, InputAge, PoolCondition, SourcePurpose};
use crate::lake::Lake;
use crate::quantity::Quantity;
use crate::units::M_PER_FT;

/// Hours past its lateness within which a level still judges, lowered; later it says nothing (project
/// choice).
const LATE_STILL_JUDGES_H: f64 = 48.0;
/// Fall that a pool is taken to be capable of unseen, feet a day (project choice; Bureau of Reclamation
/// release 2019, read, speaks of feet a week). A pool that fell faster over the last 7 days keeps its pace.
const UNSEEN_FALL_FT_PER_DAY: f64 = 0.5;

/// The newest level, and how low the pool may stand today.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct JudgedLevel {
    /// As read.
    pub newest_m: f64,
    /// Equal to `newest_m` for a level in time; for a late one lowered by what the pool may have fallen.
    pub lowest_m: f64,
    /// Whether it is late.
    pub late: bool,
}

impl JudgedLevel {
    /// Change of the pool up to `until` from the hour for which `lowest_m` holds, at the pace of the last 7 days; without that
    /// trend at the pace of an unseen fall.
    pub fn change_m(&self, conditions: &Conditions, until: DateTime<Utc>) -> f64 {
        let pool = conditions.pool.as_ref();
        let since = match pool {
            Some(pool) if !self.late => pool.observed_at,
            _ => conditions.as_of,
        };
        let slope_m_per_day = pool
            .and_then(|p| p.slope_7d_m_per_day)
            .unwrap_or(-UNSEEN_FALL_FT_PER_DAY * M_PER_FT);
        slope_m_per_day * age_h(until, since) / 24.0
    }
}

/// The level to judge by; `None` without one, or with one more than two days past its lateness.
pub(super) fn judged_level(lake: &Lake, conditions: &Conditions) -> Option<JudgedLevel> {
    let pool = conditions.pool.as_ref().filter(|p| p.elevation_m.is_finite())?;
    let late_by_h = late_by_h(lake, conditions, pool);
    if late_by_h > LATE_STILL_JUDGES_H {
        return None;
    }
    let late = late_by_h > 0.0;
    let falls_m_per_day = pool.slope_7d_m_per_day.map_or(0.0, |slope| -slope);
    let falls_m_per_day = falls_m_per_day.max(UNSEEN_FALL_FT_PER_DAY * M_PER_FT);
    let unseen_days = if late {
        age_h(conditions.as_of, pool.observed_at) / 24.0
    } else {
        0.0
    };
    Some(JudgedLevel {
        newest_m: pool.elevation_m,
        lowest_m: pool.elevation_m - falls_m_per_day * unseen_days.max(0.0),
        late,
    })
}

/// Whether the level is late, so that ramps and shoals are judged by a lower one or not at all. Without a
/// level it is.
pub fn is_level_late(lake: &Lake, conditions: &Conditions) -> bool {
    let pool = conditions.pool.as_ref();
    pool.is_none_or(|pool| late_by_h(lake, conditions, pool) > 0.0)
}

/// Hours by which the level is later than it may be; negative for one in time.
///
/// Two clocks run, and the later counts: that of the value itself, by the allowed age of the cadence that
/// brought it; and that of the freshest cadence of the level, which tells first that a gauge is silent.
/// Where newer values were refused or are suspect, the value's own cadence cannot be told, and the
/// shortest allowed age counts. Without any entry no age is allowed.
fn late_by_h(lake: &Lake, conditions: &Conditions, pool: &PoolCondition) -> f64 {
    // Of gauges that stand in for each other only the one used has a say.
    let chosen = conditions
        .source_choices
        .iter()
        .filter(|c| c.quantity == Quantity::PoolElevation && c.purpose == SourcePurpose::Observed);
    let used: Vec<&str> = chosen.flat_map(|c| &c.used).map(|id| id.as_str()).collect();
    let of_level = |input: &&InputAge| {
        let named = |id: &str| lake.series.iter().find(|s| s.id.as_str() == id);
        input.cadence != "forecast"
            && (used.is_empty() || used.contains(&input.series.as_str()))
            && named(&input.series).is_some_and(|s| s.quantity == Quantity::PoolElevation)
    };
    // An entry without an allowed age is a record that has ended by design.
    let aged: Vec<(&InputAge, f64, f64)> = conditions
        .inputs
        .iter()
        .filter(of_level)
        .filter_map(|input| Some((input, input.age_h?, input.late_after_h?)))
        .collect();
    let brought_it = aged.iter().filter(|(i, ..)| i.newest == Some(pool.observed_at));
    let own = brought_it.map(|a| a.2).max_by(f64::total_cmp);
    let shortest = aged.iter().map(|a| a.2).min_by(f64::total_cmp);
    let value_h = age_h(conditions.as_of, pool.observed_at) - own.or(shortest).unwrap_or(0.0);
    let freshest = aged.iter().min_by(|a, b| a.1.total_cmp(&b.1));
    let gauge_h = freshest.map(|(_, age_h, allowed_h)| age_h - allowed_h);
    gauge_h.map_or(value_h, |gauge_h| gauge_h.max(value_h))
}

fn age_h(as_of: DateTime<Utc>, time: DateTime<Utc>) -> f64 {
    (as_of - time).num_seconds() as f64 / 3600.0
}

#[cfg(test)]
mod tests {
    use chrono::Duration;

    use super::*;
    use crate::conditions::SourceChoice;
    use crate::lake::{SeriesId, SeriesPlace, SeriesSource};
    use crate::plan::cautions::morning_tests::Morning;

    fn judged(morning: &Morning) -> Option<JudgedLevel> {
        judged_level(&morning.lake, &morning.conditions)
    }

    #[test]
    fn a_level_in_time_judges_as_it_is_and_a_late_one_lowered() {
        let mut morning = Morning::calm();
        morning.set_level(250.0);
        // The gauge of the test may be 6 h old.
        morning.set_level_age_h(6.0);
        assert_eq!(judged(&morning).unwrap().lowest_m, 250.0);
        assert!(!is_level_late(&morning.lake, &morning.conditions));
        morning.set_level_age_h(24.0);
        let level = judged(&morning).unwrap();
        // Half a foot in a day: 0.1524 m.
        assert!(
            level.late && (level.lowest_m - (250.0 - 0.1524)).abs() < 1e-9,
            "{level:?}"
        );
        assert!(is_level_late(&morning.lake, &morning.conditions));
        // A pool that fell a metre a day goes on so; one that rose may have turned.
        morning.pool().slope_7d_m_per_day = Some(-1.0);
        assert!((judged(&morning).unwrap().lowest_m - 249.0).abs() < 1e-9);
        morning.pool().slope_7d_m_per_day = Some(1.0);
        assert!((judged(&morning).unwrap().lowest_m - (250.0 - 0.1524)).abs() < 1e-9);
    }

    #[test]
    fn two_days_past_its_lateness_a_level_judges_nothing() {
        let mut morning = Morning::calm();
        morning.set_level_age_h(6.0 + 48.0);
        assert!(judged(&morning).is_some());
        morning.set_level_age_h(6.0 + 48.1);
        assert_eq!(judged(&morning), None);
        morning.conditions.pool = None;
        assert!(judged(&morning).is_none() && is_level_late(&morning.lake, &morning.conditions));
    }

    #[test]
    fn a_suspect_value_that_is_newer_does_not_make_an_old_level_young() {
        let mut morning = Morning::calm();
        morning.set_level_age_h(2.0);
        morning.pool().observed_at = morning.as_of - Duration::hours(20);
        assert!(judged(&morning).unwrap().late);
    }

    #[test]
    fn a_daily_value_may_be_as_old_as_daily_values_are_unless_a_gauge_has_fallen_silent() {
        let mut morning = Morning::calm();
        morning.set_level_age_h(28.0);
        let gauge = morning.conditions.inputs[0].clone();
        let daily = &mut morning.conditions.inputs[0];
        (daily.cadence, daily.late_after_h) = ("daily".to_owned(), Some(60.0));
        assert!(!judged(&morning).unwrap().late);
        let newest = morning.as_of - Duration::hours(20);
        morning.conditions.inputs.push(InputAge {
            newest: Some(newest),
            age_h: Some(20.0),
            ..gauge
        });
        assert!(judged(&morning).unwrap().late);
    }

    #[test]
    fn a_level_without_an_entry_of_its_age_is_late() {
        let mut morning = Morning::calm();
        morning.conditions.inputs.clear();
        morning.pool().observed_at = morning.as_of - Duration::hours(1);
        assert!(judged(&morning).unwrap().late);
    }

    #[test]
    fn a_gauge_that_was_passed_over_does_not_make_its_stand_in_late() {
        let mut morning = Morning::calm();
        morning.set_level(250.0);
        morning.set_level_age_h(20.0);
        assert!(is_level_late(&morning.lake, &morning.conditions));
        // A gauge with daily values, the newest of yesterday.
        let dam = SeriesId::new("dam");
        let newest = morning.conditions.as_of - Duration::hours(28);
        let stand_in = SeriesSource {
            id: dam.clone(),
            stands_in_for: Some(morning.lake.series[0].id.clone()),
            ..morning.lake.series[0].clone()
        };
        morning.lake.series.push(stand_in);
        let input = InputAge {
            series: dam.to_string(),
            cadence: "daily".to_owned(),
            newest: Some(newest),
            age_h: Some(28.0),
            late_after_h: Some(60.0),
            ..morning.conditions.inputs[0].clone()
        };
        morning.conditions.inputs.push(input);
        morning.conditions.pool.as_mut().unwrap().observed_at = newest;
        assert!(is_level_late(&morning.lake, &morning.conditions));
        morning.conditions.source_choices = vec![SourceChoice {
            quantity: Quantity::PoolElevation,
            place: SeriesPlace::Lake,
            purpose: SourcePurpose::Observed,
            used: Some(dam),
            passed_over: Vec::new(),
            joined: Vec::new(),
        }];
        assert!(!is_level_late(&morning.lake, &morning.conditions));
    }
}
