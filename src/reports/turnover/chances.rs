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
    let shown_frac = shown_frac(season);
    let density = Weights::of(season, place, by_density);
    let by_date = density.by_date();
    let by_degree = Weights::of(season, place, by_degree).by_date();
    let already_mixed_prob = density.already_prob.min(1.0);
    let closing = runs
        .iter()
        .zip(&place.ends)
        .filter(|(_, end)| **end == RunEnd::Closed);
    let closing_prob: f64 = closing.map(|(run, _)| run.weight_frac).sum();
    // Runs that close have not come by today, and count for more as all of these do. An empty sum is -0.0.
    let closed_prob = 0.0 + shown_frac * closing_prob * density.scale().unwrap_or(0.0);
    // Of no days nothing turned over after today.
    let by_last_prob = by_date
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
        early: day_reached(&by_date, 0.1),
        median: day_reached(&by_date, 0.5),
        late: day_reached(&by_date, 0.9),
        median_by_degree: day_reached(&by_degree, 0.5),
        surface_then: surface_then(runs, place),
        surface_now: range(place.top_degc.iter().map(|top| (*top, 1.0)).collect()),
        under_way_prob: place.half_mixed_frac,
        by_date,
    }
}

/// What became of a run by the rule of density; `None` where the place closed.
fn by_density(end: &RunEnd) -> Option<&SeasonEnd> {
    match end {
        RunEnd::Season { by_density, .. } => Some(by_density),
        RunEnd::Closed => None,
    }
}

/// The same by the rule of 1 degC.
fn by_degree(end: &RunEnd) -> Option<&SeasonEnd> {
    match end {
        RunEnd::Season { by_degree, .. } => Some(by_degree),
        RunEnd::Closed => None,
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

/// Weights of the runs of a place by one rule of turnover.
struct Weights<'s> {
    season: &'s SeasonRuns,
    /// Weight of a run, and its day where it turns over.
    dated: Vec<(f64, NaiveDate)>,
    /// Of the runs that were mixed on the first day.
    already_prob: f64,
    /// Of all others.
    ahead_prob: f64,
}

impl<'s> Weights<'s> {
    fn of(
        season: &'s SeasonRuns,
        place: &PlaceRuns,
        end: impl Fn(&RunEnd) -> Option<&SeasonEnd>,
    ) -> Weights<'s> {
        let (mut dated, mut already_prob, mut all_prob) = (Vec::new(), 0.0, 0.0);
        for (run, of) in season.runs.iter().zip(&place.ends) {
            all_prob += run.weight_frac;
            match end(of) {
                Some(SeasonEnd::AlreadyMixed) => already_prob += run.weight_frac,
                Some(SeasonEnd::TurnedOver { day, .. }) => dated.push((run.weight_frac, *day)),
                Some(SeasonEnd::NotTurnedOver) | None => {}
            }
        }
        Weights {
            season,
            dated,
            already_prob,
            ahead_prob: all_prob - already_prob,
        }
    }

    /// What of the runs ahead has come by the end of a day, by their own dates and errors.
    fn come_prob(&self, date: NaiveDate) -> f64 {
        let come = self
            .dated
            .iter()
            .map(|(weight, day)| weight * turned_over_by(*day, date));
        come.sum()
    }

    /// By how much the weight of what has not come by today counts for more: what the errors give to days that are over did not come, and
    /// the rest is scaled to the whole. `None` where nothing is left.
    fn scale(&self) -> Option<f64> {
        let left_prob = self.ahead_prob - self.come_prob(self.season.today);
        (left_prob > ROUNDING_FRAC).then(|| self.ahead_prob / left_prob)
    }

    /// Chance that it has turned over by each day of the season from the clock on.
    fn by_date(&self) -> Vec<DateChance> {
        let (today, shown_frac) = (self.season.today, shown_frac(self.season));
        let (gone_prob, scale) = (self.come_prob(today), self.scale());
        let days = today.iter_days().take_while(|day| *day <= self.season.until);
        days.map(|date| {
            let come_prob = match scale {
                Some(scale) => scale * (self.come_prob(date) - gone_prob).max(0.0),
                None if date > today => self.ahead_prob,
                None => 0.0,
            };
            let sum = self.already_prob + shown_frac * come_prob;
            DateChance {
                date,
                turned_over_prob: (0.0 + sum).min(1.0),
            }
        })
        .collect()
    }
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

    fn curve_of(runs: &SeasonRuns, place: &PlaceRuns) -> Vec<DateChance> {
        Weights::of(runs, place, by_density).by_date()
    }

    #[test]
    fn a_runs_day_is_spread_and_none_of_it_lies_before_today() {
        let curve = |days: &[u32]| {
            let (mut runs, place) = season(&days.iter().map(|day| (*day, 1.0)).collect::<Vec<_>>());
            // As of so many years that none is missing.
            runs.effective_years = 1e12;
            let chances = curve_of(&runs, &place);
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
    fn all_that_has_not_come_by_today_grows_alike() {
        let (mut runs, mut place) = season(&[(2, 1.0), (2, 1.0), (2, 1.0)]);
        place.ends[1] = RunEnd::Closed;
        place.ends[2] = RunEnd::Season {
            by_density: SeasonEnd::NotTurnedOver,
            by_degree: SeasonEnd::NotTurnedOver,
        };
        runs.effective_years = 1e12;
        let density = Weights::of(&runs, &place, by_density);
        // cdf(-0.5/3) = 0.433816 of one run of three did not come (Python's statistics.NormalDist): 1 / (1 - 0.433816 / 3).
        let scale = density.scale().unwrap();
        assert!((scale - 1.169_051).abs() < 1e-5, "{scale}");
        // What comes, and a third each of those that close and that do not, grown so, are all there is.
        let comes = density.by_date().last().unwrap().turned_over_prob;
        assert!((comes + 2.0 / 3.0 * scale - 1.0).abs() < 1e-6, "{comes}");
    }

    #[test]
    fn no_chance_of_what_is_to_come_is_all_or_none() {
        let (runs, place) = season(&[(15, 1.0); 9]);
        let curve = curve_of(&runs, &place);
        // By hand: all nine have, 9 / (9 + 1).
        assert!((curve.last().unwrap().turned_over_prob - 0.9).abs() < 1e-6);
        assert_eq!(curve[0].turned_over_prob, 0.0);
    }
}
