//! The runs of a place summed up as chances.

use chrono::NaiveDate;
use statrs::distribution::{ContinuousCDF, Normal};

use super::value::{DateChance, PlaceOutlook, RunContrast, TempRange};
use crate::column::turnover::{PlaceRuns, RunEnd, RunYear, SeasonEnd, SeasonRuns};
use crate::lake::Zone;
use crate::math::ensemble::mean_and_variance;
use crate::skill::normal_date::RUN_DATE_SD_DAYS;

/// Runs that a temperature of the turnover needs.
const LEAST_RUNS: usize = 5;
/// Chances are sums of weights: this much is rounding.
const ROUNDING_FRAC: f64 = 1e-9;

/// Chances of one place. What is so today is the weight of the runs that say so. What is to come is that weight by the plotting position
/// rank/(n + 1), n = the number of equal years: one year in n + 1 is like none of those that are known. Each run's day of turnover is
/// spread by a normal error, and all of them together are cut at today, as hindcasts cut theirs.
pub(super) fn place_outlook(zone: &Zone, place: &PlaceRuns, season: &SeasonRuns) -> PlaceOutlook {
    let runs = &season.runs;
    let closed = place.depth_m.is_none();
    let prob = |is: &dyn Fn(&RunEnd) -> bool| -> f64 {
        let weights = runs.iter().zip(&place.ends).filter(|(_, end)| is(end));
        // An empty sum is -0.0.
        (0.0 + weights.map(|(run, _)| run.weight_frac).sum::<f64>()).min(1.0)
    };
    let ends = |end: &RunEnd, wanted: SeasonEnd| matches!(end, RunEnd::Season { by_density, .. } if *by_density == wanted);
    let shown_frac = shown_frac(season);
    let by_density = by_date(season, place, |end| match end {
        RunEnd::Season { by_density, .. } => Some(by_density),
        RunEnd::Closed => None,
    });
    let by_degree = by_date(season, place, |end| match end {
        RunEnd::Season { by_degree, .. } => Some(by_degree),
        RunEnd::Closed => None,
    });
    let reached = |curve: &[DateChance], wanted_prob: f64| day_reached(curve, wanted_prob);
    let already_mixed_prob = prob(&|end| ends(end, SeasonEnd::AlreadyMixed));
    let closed_prob = shown_frac * prob(&|end| *end == RunEnd::Closed);
    // Of no days nothing turned over after today.
    let by_last_prob = by_density
        .last()
        .map_or(already_mixed_prob, |last| last.turned_over_prob);
    let no_run_prob = (1.0 - shown_frac) * (1.0 - already_mixed_prob);
    PlaceOutlook {
        zone: zone.id.clone(),
        name: zone.name.clone(),
        kind: zone.kind,
        closed,
        depth_m: place.depth_m,
        already_mixed_prob,
        turns_over_prob: by_last_prob - already_mixed_prob,
        // What is left, so that all outcomes add up to 1: runs that do not, and the part of a late day's error that lies past the last.
        not_turned_over_prob: rest(1.0 - by_last_prob - closed_prob - no_run_prob),
        closed_prob,
        no_run_prob,
        early: reached(&by_density, 0.1),
        median: reached(&by_density, 0.5),
        late: reached(&by_density, 0.9),
        median_by_degree: reached(&by_degree, 0.5),
        surface_then: surface_then(runs, place),
        surface_now: range(place.top_degc.iter().map(|top| (*top, 1.0)).collect()),
        under_way_prob: place.half_mixed_frac,
        by_date: by_density,
    }
}

/// Day of a run's turnover, and the surface on it.
fn turned(end: &RunEnd) -> Option<(NaiveDate, f64)> {
    match end {
        RunEnd::Season {
            by_density: SeasonEnd::TurnedOver { day, top_degc },
            ..
        } => Some((*day, *top_degc)),
        _ => None,
    }
}

/// Share of what is to come that the runs show.
fn shown_frac(season: &SeasonRuns) -> f64 {
    season.effective_years / (season.effective_years + 1.0)
}

/// A remainder of sums: rounding is none.
fn rest(prob: f64) -> f64 {
    if prob.abs() < ROUNDING_FRAC { 0.0 } else { prob }
}

/// Chance that a run that turns over on `day` has done so by the end of `date`, its error spread.
fn turned_over_by(day: NaiveDate, date: NaiveDate) -> f64 {
    let days = (date - day).num_days() as f64 + 0.5;
    Normal::standard().cdf(days / RUN_DATE_SD_DAYS)
}

/// Chance that it has turned over by each day of the season from the clock on.
fn by_date(
    season: &SeasonRuns,
    place: &PlaceRuns,
    end: impl Fn(&RunEnd) -> Option<&SeasonEnd>,
) -> Vec<DateChance> {
    let weighted = || {
        season
            .runs
            .iter()
            .zip(&place.ends)
            .map(|(run, of)| (run.weight_frac, end(of)))
    };
    let already = weighted().filter(|(_, end)| matches!(end, Some(SeasonEnd::AlreadyMixed)));
    let already_prob: f64 = already.map(|(weight, _)| weight).sum();
    // Weight of the other runs, and what of it has come by the end of a day, by their own dates.
    let ahead_prob: f64 = weighted().map(|(weight, _)| weight).sum::<f64>() - already_prob;
    let by = |date: NaiveDate| -> f64 {
        let come = weighted().filter_map(|(weight, end)| match end {
            Some(SeasonEnd::TurnedOver { day, .. }) => Some(weight * turned_over_by(*day, date)),
            _ => None,
        });
        come.sum()
    };
    // What the errors give to days that are over did not come; the rest is scaled to the whole.
    let gone_prob = by(season.today);
    let left_prob = ahead_prob - gone_prob;
    let shown_frac = shown_frac(season);
    let days = season.today.iter_days().take_while(|day| *day <= season.until);
    days.map(|date| {
        let share = if left_prob > ROUNDING_FRAC {
            ((by(date) - gone_prob) / left_prob).max(0.0)
        } else {
            f64::from(u8::from(date > season.today))
        };
        let sum = already_prob + shown_frac * ahead_prob.max(0.0) * share;
        DateChance {
            date,
            turned_over_prob: (0.0 + sum).min(1.0),
        }
    })
    .collect()
}

/// First day by which a chance is reached; `None` where it was on the first already, or never is.
fn day_reached(curve: &[DateChance], wanted_prob: f64) -> Option<NaiveDate> {
    let reached = |chance: &&DateChance| chance.turned_over_prob >= wanted_prob - ROUNDING_FRAC;
    if curve.first().as_ref().is_some_and(reached) {
        return None;
    }
    curve.iter().find(reached).map(|chance| chance.date)
}

/// Surface on the day of the turnover, of the runs that turn over.
fn surface_then(runs: &[RunYear], place: &PlaceRuns) -> Option<TempRange> {
    let pairs = runs.iter().zip(&place.ends);
    let tops: Vec<(f64, f64)> = pairs
        .filter_map(|(run, end)| Some((turned(end)?.1, run.weight_frac)))
        .collect();
    (tops.len() >= LEAST_RUNS).then(|| range(tops)).flatten()
}

/// Weighted quantiles: the least value up to which so much of the weight lies.
fn range(mut pairs: Vec<(f64, f64)>) -> Option<TempRange> {
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let sum: f64 = pairs.iter().map(|(_, weight)| weight).sum();
    let at = |share: f64| {
        let mut reached = 0.0;
        let found = pairs.iter().find(|(_, weight)| {
            reached += weight;
            reached >= share * sum - ROUNDING_FRAC
        });
        found.or(pairs.last()).map(|(value, _)| *value)
    };
    Some(TempRange {
        low_degc: at(0.1)?,
        median_degc: at(0.5)?,
        high_degc: at(0.9)?,
    })
}

/// How much later in days a place turned over in the third of the runs with the most of `of` than in that with the least; runs that were mixed
/// already or did not turn over stand aside. `None` for fewer than nine runs.
pub(super) fn contrast(
    season: &SeasonRuns,
    place: &PlaceRuns,
    of: impl Fn(&RunYear) -> f64,
) -> Option<RunContrast> {
    let pairs = season.runs.iter().zip(&place.ends);
    let mut known: Vec<(f64, f64)> = pairs
        .filter_map(|(run, end)| Some((of(run), (turned(end)?.0 - season.today).num_days() as f64)))
        .collect();
    let third = known.len() / 3;
    if third < 3 {
        return None;
    }
    known.sort_by(|a, b| a.0.total_cmp(&b.0));
    let days = |part: &[(f64, f64)]| part.iter().map(|(_, days)| *days).collect::<Vec<f64>>();
    let (least_days, least_var) = mean_and_variance(&days(&known[..third]))?;
    let (most_days, most_var) = mean_and_variance(&days(&known[known.len() - third..]))?;
    Some(RunContrast {
        later_days: most_days - least_days,
        // Of two means that know nothing of each other.
        standard_error_days: ((least_var + most_var) / third as f64).sqrt(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::column::turnover::YearWeights;
    use crate::lake::ZoneId;

    fn on(day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2025, 10, day).unwrap()
    }

    #[test]
    fn a_runs_day_is_spread_and_none_of_it_lies_before_today() {
        let curve = |days: &[u32]| {
            let (mut runs, place) = season(&days.iter().map(|day| (*day, 1.0)).collect::<Vec<_>>());
            // As of so many years that none is missing.
            runs.effective_years = 1e12;
            let chances = by_date(&runs, &place, |end| match end {
                RunEnd::Season { by_density, .. } => Some(by_density),
                RunEnd::Closed => None,
            });
            move |date: u32| chances[date as usize - 1].turned_over_prob
        };
        // Normal distribution function at 0.5 / 3 and -2.5 / 3 (Python's statistics.NormalDist): 0.566184, 0.202328. Nineteen days ahead
        // nothing is cut.
        let far = curve(&[20; 3]);
        assert!((far(20) - 0.566_184).abs() < 1e-5 && (far(17) - 0.202_328).abs() < 1e-5);
        assert_eq!(far(1), 0.0);
        // Of one that mixes tomorrow: (cdf(0.5/3) - cdf(-0.5/3)) / (1 - cdf(-0.5/3)) = 0.132368 / 0.566184 by the same table.
        let tomorrow = curve(&[2])(2);
        assert!((tomorrow - 0.233_789).abs() < 1e-5, "{tomorrow}");
        // Of it and one far off: what is cut of the first is shared by both, 0.132368 / (2 - 0.433816).
        let both = curve(&[2, 30])(2);
        assert!((both - 0.132_368 / 1.566_184).abs() < 1e-5, "{both}");
    }

    /// Runs that turn over on these days, each with an air temperature.
    fn season(runs: &[(u32, f64)]) -> (SeasonRuns, PlaceRuns) {
        let place = PlaceRuns {
            zone: ZoneId::new("main"),
            depth_m: Some(40.0),
            top_degc: Vec::new(),
            half_mixed_frac: 0.0,
            ends: runs
                .iter()
                .map(|(day, _)| {
                    let end = SeasonEnd::TurnedOver {
                        day: on(*day),
                        top_degc: 12.0,
                    };
                    RunEnd::Season {
                        by_density: end,
                        by_degree: end,
                    }
                })
                .collect(),
        };
        let season = SeasonRuns {
            from: "2025-10-01T12:00:00Z".parse().unwrap(),
            today: on(1),
            until: on(31),
            runs: (2000..)
                .zip(runs)
                .map(|(year, (_, air_temp_degc))| RunYear {
                    year,
                    weight_frac: 1.0 / runs.len() as f64,
                    air_temp_degc: *air_temp_degc,
                    wind_speed_m_s: 3.0,
                })
                .collect(),
            effective_years: runs.len() as f64,
            weights: YearWeights::Equal,
            left_out: Vec::new(),
            places: vec![place.clone()],
            level_m: 240.0,
            forecast_and_blend_h: (0, 0),
            forecast_members: 0,
            shaped_days: (0, 0),
            held_runs: 0,
            gaps: Vec::new(),
        };
        (season, place)
    }

    #[test]
    fn thirds_differ_by_their_means_and_are_told_beyond_twice_the_error() {
        let warm_is_late: Vec<(u32, f64)> = vec![
            (10, 1.0),
            (11, 2.0),
            (12, 3.0),
            (14, 4.0),
            (15, 5.0),
            (16, 6.0),
            (20, 7.0),
            (21, 8.0),
            (22, 9.0),
        ];
        let (runs, place) = season(&warm_is_late);
        let found = contrast(&runs, &place, |run| run.air_temp_degc).unwrap();
        // By hand: means 11 and 21; variances 1 and 1 over 3 runs each.
        assert!((found.later_days - 10.0).abs() < 1e-12);
        assert!((found.standard_error_days - (2.0_f64 / 3.0).sqrt()).abs() < 1e-12);
        assert!(found.is_told());
        let mut neither = warm_is_late;
        neither[0].0 = 30;
        neither[8].0 = 5;
        let (runs, place) = season(&neither);
        assert!(
            !contrast(&runs, &place, |run| run.air_temp_degc)
                .unwrap()
                .is_told()
        );
        let (runs, place) = season(&neither[..8]);
        assert_eq!(contrast(&runs, &place, |run| run.air_temp_degc), None);
    }

    #[test]
    fn no_chance_of_what_is_to_come_is_all_or_none() {
        let (runs, place) = season(&[(15, 1.0); 9]);
        let curve = by_date(&runs, &place, |end| match end {
            RunEnd::Season { by_density, .. } => Some(by_density),
            RunEnd::Closed => None,
        });
        // By hand: all nine have, 9 / (9 + 1).
        assert!((curve.last().unwrap().turned_over_prob - 0.9).abs() < 1e-6);
        assert_eq!(curve[0].turned_over_prob, 0.0);
    }
}
