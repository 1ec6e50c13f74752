//! The main body's surface by member: its past year, today, and the outlook.

use chrono::{Days, NaiveDate};

use super::air::{AirRecord, Span};
use super::climatology::{Climatology, year_frac};
use super::fit::{FittedSurface, fit_surface};
use super::observed::{ObservedSurface, newest, observed_daily};
use super::zones::mean_depth;
use crate::clock::LakeClock;
use crate::column::{DayAhead, ShownBy, SurfaceDay, SurfaceFit, WaterOptions};
use crate::conditions::Conditions;
use crate::lake::{Lake, SeriesPlace};
use crate::math::quantiles::quantiles;
use crate::math::streams::{normal, stream};
use crate::physics::air_water::AirWater;
use crate::quantity::Quantity;
use crate::series::{Consequence, Daily, Gap, GapReason, SeriesSet};

/// Days of the outlook, today among them.
pub(super) const OUTLOOK_DAYS: usize = 16;
/// Air temperature that is read: six years to fit, and what comes before them.
const AIR_DAYS: u64 = 7 * 365;
/// Days that a member runs before today: it must know last winter.
const MEMBER_DAYS: usize = 400;
/// Age of a surface value up to which the surface counts as measured.
pub(super) const FRESH_DAYS: i64 = 3;
/// Error of a measured daily mean as a value for the whole main body (common practice, no source).
const MEASURED_ERROR_DEGC: f64 = 0.3;
/// Days before today within which missing air temperature is worth a word.
const RECENT_DAYS: usize = 30;
/// Day-to-day persistence of a surface anomaly without any model, where the record is too short to tell (common
/// practice, no source).
const ANOMALY_PERSISTENCE: f64 = 0.95;
/// Daily drift of a surface of which nothing but a value is known (common practice, no source).
const DRIFT_DEGC: f64 = 0.5;

/// The surface of the main body.
#[derive(Debug, Clone)]
pub(super) struct Surface {
    /// Best guess day by day, today last. Shape `[day]`.
    pub history_degc: Vec<f64>,
    /// Today and the days after it by member, `[member][day ahead]`.
    pub members_degc: Vec<Vec<f64>>,
    /// Newest observed daily mean.
    pub observed: Option<ObservedSurface>,
    /// What it rests on.
    pub basis: SurfaceBasis,
    /// The fit of the model, where there is one.
    pub fit: Option<SurfaceFit>,
    /// Air temperature, for the rivers.
    pub air: Option<AirRecord>,
}

/// What the surface rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SurfaceBasis {
    Measured,
    Modelled,
    SeasonOnly,
}

/// The surface on `today`; `None` when neither air temperature nor the surface itself is known.
pub(super) fn surface_at(
    lake: &Lake,
    conditions: &Conditions,
    set: &SeriesSet,
    options: &WaterOptions,
    gaps: &mut Vec<Gap>,
) -> Option<Surface> {
    let clock = LakeClock::new(lake.time_zone);
    let today = clock.standard_day(conditions.as_of);
    let seen = observed_daily(lake, conditions, set, &clock);
    let observed = seen
        .as_ref()
        .and_then(|seen| newest(seen, conditions, &clock, today));
    note_observed(lake, observed, conditions, today, gaps);
    let span = Span {
        past_days: AIR_DAYS,
        outlook_days: OUTLOOK_DAYS - 1,
    };
    let Some(air) = AirRecord::read(lake, set, &clock, today, span) else {
        gaps.push(air_gap(lake));
        return without_air(seen?, observed, today, options);
    };
    note_air(&air, today, gaps);
    let depth = mean_depth(lake, conditions);
    let nothing = Daily::new(air.first, Vec::new());
    let best_air_degc = air.best_degc();
    let past = air.index(today)? + 1;
    let fitted = fit_surface(
        air.first,
        &best_air_degc[..past],
        seen.as_ref().unwrap_or(&nothing),
        depth,
    )?;
    if depth.assumed {
        gaps.push(Gap {
            what: "mean depth".to_owned(),
            reason: GapReason::NotDescribed,
            consequence: Consequence::StandIn {
                stand_in: format!("{:.0} m", depth.depth_m),
            },
        });
    }
    let model = Model {
        air: &air,
        fitted: &fitted,
        seen: seen.as_ref(),
        today,
    };
    let history_degc = model.history(&best_air_degc[..past]);
    let members_degc = (0..options.members)
        .map(|m| model.member(&history_degc, m, options.seed))
        .collect();
    let fresh = observed.is_some_and(|o| (today - o.date).num_days() <= FRESH_DAYS);
    let basis = if fresh {
        SurfaceBasis::Measured
    } else {
        SurfaceBasis::Modelled
    };
    Some(Surface {
        history_degc,
        members_degc,
        observed,
        basis,
        fit: Some(fitted.fit.clone()),
        air: Some(air),
    })
}

/// The model, and what it runs on.
struct Model<'a> {
    air: &'a AirRecord,
    fitted: &'a FittedSurface,
    seen: Option<&'a Daily>,
    today: NaiveDate,
}

impl Model<'_> {
    /// Best guess to today: what was observed; between and after, the model and the residual of the last
    /// observation, fading as residuals do.
    fn history(&self, air_degc: &[f64]) -> Vec<f64> {
        let start = self
            .seen
            .and_then(|s| s.get(self.air.first))
            .unwrap_or(air_degc[0].max(0.0));
        let run = run_from(&self.fitted.best, self.air, 0, start, air_degc);
        let mut residual = 0.0;
        self.air
            .first
            .iter_days()
            .zip(run)
            .map(|(date, model)| match self.seen.and_then(|s| s.get(date)) {
                Some(observed) => {
                    residual = observed - model;
                    observed
                }
                None => {
                    residual *= self.fitted.fit.residual_persistence;
                    (model + residual).max(0.0)
                }
            })
            .collect()
    }

    /// One member from today on: parameters drawn, its own air temperature, and a residual that starts
    /// at the member's own error on the last observed day.
    fn member(&self, history_degc: &[f64], member: usize, seed: u64) -> Vec<f64> {
        let mut numbers = stream(seed, &format!("water/surface/{member}"));
        let parameters = self.fitted.draw(&mut numbers);
        let now = history_degc.len() - 1;
        let from = now.saturating_sub(MEMBER_DAYS);
        let air_degc = self.air.member_degc(from, member, seed);
        let run = run_from(&parameters, self.air, from, history_degc[from], &air_degc);
        let (spread, persistence) = (
            self.fitted.residual_spread_degc,
            self.fitted.fit.residual_persistence,
        );
        let fresh = (1.0 - persistence * persistence).sqrt() * spread;
        let last_seen = (from..=now)
            .rev()
            .find_map(|i| Some((i, self.seen.and_then(|s| s.get(self.air.date(i)))?)));
        let (start, mut residual) = match last_seen {
            Some((i, observed)) => (i, observed - run[i - from] + measured_error_degc(seed, member)),
            None => (now, spread * normal(&mut numbers)),
        };
        let mut temps_degc = Vec::with_capacity(OUTLOOK_DAYS);
        for i in start..self.air.days.len() {
            if i > start {
                residual = persistence * residual + fresh * normal(&mut numbers);
            }
            if self.air.date(i) >= self.today {
                temps_degc.push((run[i - from] + residual).max(0.0));
            }
        }
        temps_degc
    }
}

/// A member's own error of the measured surface, the same whatever the member does with it, so that a feed that is
/// missing moves no interval by other draws.
fn measured_error_degc(seed: u64, member: usize) -> f64 {
    let mut numbers = stream(seed, &format!("water/surface-error/{member}"));
    MEASURED_ERROR_DEGC * normal(&mut numbers)
}

fn run_from(
    parameters: &AirWater,
    air: &AirRecord,
    from: usize,
    start_degc: f64,
    air_degc: &[f64],
) -> Vec<f64> {
    let year: Vec<f64> = air
        .date(from)
        .iter_days()
        .take(air_degc.len())
        .map(year_frac)
        .collect();
    parameters.run_degc(start_degc, air_degc, &year)
}

/// Without air temperature: the anomaly of the surface drifts about its own climatology by what the record shows of a
/// day's change and at least by [`DRIFT_DEGC`], or, where the record is too short for one, the last value drifts.
/// Nothing draws it back: weather that nobody forecasts must not make the outlook surer than weather that is known. `None` when that value is too old to drift.
fn without_air(
    seen: Daily,
    observed: Option<ObservedSurface>,
    today: NaiveDate,
    options: &WaterOptions,
) -> Option<Surface> {
    let climatology = Climatology::of(&seen);
    let fresh = observed.is_some_and(|o| (today - o.date).num_days() <= FRESH_DAYS);
    if climatology.is_none() && !fresh {
        return None;
    }
    let last = observed.map_or(today, |o| o.date);
    let members_degc = (0..options.members)
        .map(|member| {
            let mut numbers = stream(options.seed, &format!("water/surface/{member}"));
            let error = measured_error_degc(options.seed, member);
            let normal_at = |date| climatology.as_ref().map(|c| c.at(date));
            let mut anomaly = match (observed, &climatology) {
                (Some(o), _) => o.temp_degc + error - normal_at(o.date).unwrap_or(0.0),
                (None, Some(c)) => c.spread_degc * normal(&mut numbers),
                (None, None) => 0.0,
            };
            let end = today + Days::new(OUTLOOK_DAYS as u64 - 1);
            let mut temps_degc = Vec::new();
            for date in last.iter_days().take_while(|d| *d <= end) {
                if date > last {
                    let noise = normal(&mut numbers);
                    anomaly = match &climatology {
                        Some(c) => {
                            let persistence = c.persistence.unwrap_or(ANOMALY_PERSISTENCE);
                            let fresh = (1.0 - persistence.powi(2)).sqrt() * c.spread_degc;
                            anomaly + fresh.max(DRIFT_DEGC) * noise
                        }
                        None => anomaly + DRIFT_DEGC * noise,
                    };
                }
                if date >= today {
                    temps_degc.push((normal_at(date).unwrap_or(0.0) + anomaly).max(0.0));
                }
            }
            temps_degc
        })
        .collect();
    // A day without a value keeps the one before, so that the history counts days.
    let mut held = None;
    let history_degc = today
        .checked_sub_days(Days::new(MEMBER_DAYS as u64))?
        .iter_days()
        .take(MEMBER_DAYS + 1)
        .filter_map(|date| {
            held = seen
                .get(date)
                .or_else(|| climatology.as_ref().map(|c| c.at(date)))
                .or(held);
            held
        })
        .collect();
    let basis = if fresh {
        SurfaceBasis::Measured
    } else {
        SurfaceBasis::SeasonOnly
    };
    Some(Surface {
        history_degc,
        members_degc,
        observed,
        basis,
        fit: None,
        air: None,
    })
}

/// Median, 10 % and 90 % of the members, day by day.
pub(super) fn outlook(members_degc: &[Vec<f64>], today: NaiveDate) -> Vec<SurfaceDay> {
    let days = members_degc.iter().map(Vec::len).min().unwrap_or(0);
    (0..days)
        .zip(today.iter_days())
        .filter_map(|(ahead, date)| {
            let sample: Vec<f64> = members_degc.iter().map(|m| m[ahead]).collect();
            let [low_degc, median_degc, high_degc] = quantiles(&sample, [0.1, 0.5, 0.9])?;
            Some(SurfaceDay {
                date,
                median_degc,
                low_degc,
                high_degc,
                shown_by: ShownBy::Model,
            })
        })
        .collect()
}

/// The same days member by member; the thumb's thermocline is no forecast, so there is none.
pub(super) fn days_ahead(members_degc: &[Vec<f64>], today: NaiveDate) -> Vec<DayAhead> {
    let days = members_degc.iter().map(Vec::len).min().unwrap_or(0);
    let day = |(ahead, date): (usize, NaiveDate)| DayAhead {
        date,
        surface_degc: members_degc.iter().map(|m| m[ahead]).collect(),
        thermocline_m: Vec::new(),
    };
    (0..days).zip(today.iter_days()).map(day).collect()
}

fn note_observed(
    lake: &Lake,
    observed: Option<ObservedSurface>,
    conditions: &Conditions,
    today: NaiveDate,
    gaps: &mut Vec<Gap>,
) {
    let reason = match observed {
        Some(o) if (today - o.date).num_days() <= FRESH_DAYS => return,
        Some(o) => GapReason::Late {
            newest: o.observed_at,
            age_h: (conditions.as_of - o.observed_at).num_seconds() as f64 / 3600.0,
            allowed_h: (FRESH_DAYS * 24) as f64,
        },
        None if lake.series.iter().any(|s| s.quantity == Quantity::WaterTemp) => GapReason::NoData,
        None => GapReason::NotDescribed,
    };
    let consequence = Consequence::Wider {
        figure: "surface temperature".to_owned(),
    };
    gaps.push(Gap {
        what: "surface temperature".to_owned(),
        reason,
        consequence,
    });
}

fn air_gap(lake: &Lake) -> Gap {
    let described = lake
        .series_of(Quantity::AirTemp, &SeriesPlace::Lake)
        .next()
        .is_some();
    Gap {
        what: "air temperature".to_owned(),
        reason: if described {
            GapReason::NoData
        } else {
            GapReason::NotDescribed
        },
        consequence: Consequence::LeftOut {
            figure: "surface and river temperature from air".to_owned(),
        },
    }
}

fn note_air(air: &AirRecord, today: NaiveDate, gaps: &mut Vec<Gap>) {
    let Some(now) = air.index(today) else { return };
    let mut note = |what: &str, missing: usize, of: usize, figure: &str| {
        if missing > 0 {
            gaps.push(Gap {
                what: what.to_owned(),
                reason: GapReason::TooFew {
                    found: of - missing,
                    wanted: of,
                },
                consequence: Consequence::Wider {
                    figure: figure.to_owned(),
                },
            });
        }
    };
    let from = now.saturating_sub(RECENT_DAYS);
    note(
        "air temperature, last 30 days",
        air.missing(from, now),
        now - from,
        "surface temperature",
    );
    // A forecast of 16 days ends within the last day of the outlook: that day's mean is not expected.
    let last_full = air.days.len() - 1;
    note(
        "air temperature forecast",
        air.missing(now, last_full),
        last_full - now,
        "surface outlook",
    );
}
