//! Releases and level up to the clock, and flows ahead.

use chrono::NaiveDate;

use super::error::StoredForcingError;
use super::join::{Laid, holes};
use super::normal::normal;
use super::note::{StoredNote, Used};
use super::past::Gatherer;
use super::rows::Point;
use super::seam::SeamScale;
use super::sources::{Past, Reading};
use super::window::{HOUR_S, Window};
use crate::column::forcing::{FlowRecord, level_steps, release_steps};
use crate::conditions::DailyWater;
use crate::conditions::outlook::inflow::{ForecastPart, InflowModel};
use crate::conditions::outlook::release::ReleaseModel;
use crate::lake::Lake;
use crate::math::interpolate::linear_pairs;
use crate::math::quantiles::mean;
use crate::math::span_means::SpanRow;
use crate::math::streams::stream;
use crate::series::{Consequence, Daily, Gap, GapReason};

/// Longest hole of a flow that is filled from its edges, straight in the logarithm (project choice: a recession lasts days,
/// a season does not).
const EDGES_S: f64 = 10.0 * 86_400.0;
/// A flow of no water stands for this in the logarithm, m3/s.
const TRICKLE_M3S: f64 = 1e-3;
/// Longest time between two levels that is bridged (project choice).
const LEVEL_GAP_S: f64 = 30.0 * 86_400.0;
/// Readings before the clock that make the newest level (project choice: enough to still the waves).
const NEWEST_LEVEL_S: f64 = 6.0 * HOUR_S;
/// Release values that are believed.
const RELEASE_LIMITS_M3S: (f64, f64) = (0.0, 3e5);

/// Values of whole days of the window before `today`.
pub(super) fn days_of(daily: &Daily, window: &Window, today: NaiveDate) -> Vec<Option<f64>> {
    (0..window.days())
        .map(|day| daily.get(window.date(day)).filter(|_| window.date(day) < today))
        .collect()
}

/// The rows of a flow with every hole filled that is too long to be bridged: up to 10 days straight in the logarithm between its
/// edges (beyond one edge, that held), longer ones by the same days of other years, else by the nearest edge.
pub(super) fn filled_flow(
    gatherer: &mut Gatherer<'_, '_>,
    what: &str,
    mut rows: Vec<SpanRow>,
    daily: &Daily,
) -> Vec<SpanRow> {
    let window = gatherer.window;
    let open: Vec<_> = holes(&rows, window)
        .into_iter()
        .filter(|hole| !hole.bridged)
        .collect();
    if open.is_empty() {
        return rows;
    }
    let known = rows.clone();
    let (mut by_edges_h, mut by_years_h) = (0.0, 0.0);
    for hole in &open {
        let before = known.iter().rev().find(|row| row.to <= hole.from + 1.0);
        let after = known.iter().find(|row| row.from >= hole.to - 1.0);
        let edges: Vec<(f64, f64)> = [
            before.map(|row| (hole.from, row)),
            after.map(|row| (hole.to, row)),
        ]
        .into_iter()
        .flatten()
        .filter_map(|(at, row)| Some((at, row.value?.max(TRICKLE_M3S).ln())))
        .collect();
        let is_short = hole.to - hole.from <= EDGES_S;
        for day in 0..window.days() {
            let from = hole.from.max(window.day_edges_s[day]);
            let to = hole.to.min(window.day_edges_s[day + 1]);
            if to - from <= 1.0 {
                continue;
            }
            let edge = linear_pairs(&edges, 0.5 * (from + to)).map(f64::exp);
            let usual = || normal(daily, window.date(day), gatherer.today);
            let (value, by_edge) = match edge {
                Some(edge) if is_short => (edge, true),
                edge => match (usual(), edge) {
                    (Some(usual), _) => (usual, false),
                    (None, edge) => (edge.unwrap_or(0.0), true),
                },
            };
            *(if by_edge { &mut by_edges_h } else { &mut by_years_h }) += (to - from) / HOUR_S;
            rows.push(SpanRow {
                from,
                to,
                value: Some(value),
            });
        }
    }
    rows.sort_by(|a, b| a.from.total_cmp(&b.from));
    for (hours, stand_in) in [
        (by_edges_h, "the flow before and after"),
        (by_years_h, "means of the same days of other years"),
    ] {
        if hours > 0.0 {
            gatherer.gaps.push(Gap {
                what: what.to_owned(),
                reason: GapReason::TooFew {
                    found: window.hours - (hours as usize).min(window.hours),
                    wanted: window.hours,
                },
                consequence: Consequence::StandIn {
                    stand_in: stand_in.to_owned(),
                },
            });
        }
    }
    rows
}

/// Releases up to the clock, all outlets together.
pub(super) struct Releases {
    /// Shape `[step]`; `None` where nothing is known.
    sum_m3s: Option<Vec<f64>>,
    daily: Option<Daily>,
}

/// The outlet that carries what is known in sum only: the lowest, through which a pool below its spillway is drawn.
fn carrier(lake: &Lake) -> Option<usize> {
    let outlets = lake.outlets.iter().enumerate();
    outlets
        .min_by(|a, b| a.1.elevation_m.total_cmp(&b.1.elevation_m))
        .map(|(at, _)| at)
}

/// The sum as the releases of the outlets. Shape `[outlet][step]`; empty without an outlet.
fn by_outlet(lake: &Lake, sum_m3s: Vec<f64>) -> Vec<Vec<f64>> {
    let Some(carrier) = carrier(lake) else {
        return Vec::new();
    };
    let mut releases = vec![vec![0.0; sum_m3s.len()]; lake.outlets.len()];
    releases[carrier] = sum_m3s;
    releases
}

impl Releases {
    /// What the store knows of them.
    ///
    /// # Errors
    /// [`StoredForcingError::Steps`].
    pub fn of(gatherer: &mut Gatherer<'_, '_>, water: &DailyWater) -> Result<Releases, StoredForcingError> {
        let lake = gatherer.lake;
        let (daily, series) = match &water.release {
            Ok(known) => known,
            Err(reason) => {
                gatherer.gaps.push(Gap {
                    what: "release".to_owned(),
                    reason: reason.clone(),
                    consequence: Consequence::LeftOut {
                        figure: "water drawn at the outlets".to_owned(),
                    },
                });
                return Ok(Releases {
                    sum_m3s: None,
                    daily: None,
                });
            }
        };
        let window = gatherer.window;
        let mut laid = Laid::new(window);
        if let Some(source) = lake.series.iter().find(|source| source.id == *series) {
            let reading = Reading {
                set: gatherer.set,
                clock: &gatherer.clock,
                window,
                limits: RELEASE_LIMITS_M3S,
            };
            if let Some(past) = Past::read(source, reading, &mut gatherer.notes) {
                laid.spans((series, Used::Hours), &past.spans, SeamScale::Same);
            }
        }
        laid.days(
            (series, Used::Days),
            &days_of(daily, window, gatherer.today),
            SeamScale::Same,
        );
        let (rows, used) = laid.finish();
        if !used.is_empty() {
            let what = "release".to_owned();
            gatherer.notes.push(StoredNote::From { what, used });
        }
        let rows = filled_flow(gatherer, "release", rows, daily);
        let mut notes = Vec::new();
        let record = FlowRecord::Means(super::ahead::track(rows));
        let sum_m3s = release_steps("all outlets", &record, window.steps(), &mut notes)?;
        gatherer.notes.extend(notes.into_iter().map(StoredNote::Flow));
        if lake.outlets.len() != 1 {
            let outlet = carrier(lake).map_or_else(String::new, |at| lake.outlets[at].id.clone());
            gatherer.notes.push(StoredNote::ReleaseInSum { outlet });
        }
        Ok(Releases {
            sum_m3s: Some(sum_m3s),
            daily: Some(daily.clone()),
        })
    }

    /// Releases up to the clock by outlet.
    pub fn past(&self, lake: &Lake) -> Vec<Vec<f64>> {
        self.sum_m3s
            .clone()
            .map_or_else(Vec::new, |sum| by_outlet(lake, sum))
    }

    /// Makes ready a season ahead: what the operator has planned, else the usual course of the season, today's departure from which fades.
    /// A gate stands where it was set for some days, and not for half a year.
    pub fn season(&self, gatherer: &mut Gatherer<'_, '_>, window: &Window) -> ReleasesAhead {
        if !gatherer.lake.planned_release.is_empty() {
            return self.ahead(gatherer, window);
        }
        let newest = self.sum_m3s.as_ref().and_then(|sum| sum.last().copied());
        let (Some(newest), Some(daily)) = (newest, &self.daily) else {
            return ReleasesAhead(None);
        };
        let ahead = FlowAhead::inflow(("release", daily), newest, None, (window, gatherer.today));
        if ahead.is_modelled() {
            ReleasesAhead(Some(ahead))
        } else {
            self.ahead(gatherer, window)
        }
    }

    /// Makes ready what is ahead.
    pub fn ahead(&self, gatherer: &mut Gatherer<'_, '_>, window: &Window) -> ReleasesAhead {
        let newest = self.sum_m3s.as_ref().and_then(|sum| sum.last().copied());
        let (Some(newest), Some(daily)) = (newest, &self.daily) else {
            return ReleasesAhead(None);
        };
        let ahead = FlowAhead::release(gatherer.lake, daily, newest, (window, gatherer.today));
        if !ahead.is_modelled() {
            gatherer.gaps.push(Gap {
                what: "release ahead".to_owned(),
                reason: GapReason::NoData,
                consequence: Consequence::StandIn {
                    stand_in: "the newest release, held".to_owned(),
                },
            });
        }
        ReleasesAhead(Some(ahead))
    }
}

/// Releases ahead; nothing where none are known.
pub(super) struct ReleasesAhead(Option<FlowAhead>);

impl ReleasesAhead {
    /// Releases of a member by outlet. Shape `[outlet][step]`.
    pub fn member(&self, lake: &Lake, window: &Window, member: (usize, u64)) -> Vec<Vec<f64>> {
        let Some(ahead) = &self.0 else { return Vec::new() };
        let points = ahead.points(window, member);
        let middle = |k: usize| HOUR_S * (k as f64 + 0.5);
        let flow = |k: usize| linear_pairs(&points, middle(k)).unwrap_or(0.0);
        by_outlet(lake, (0..window.hours).map(flow).collect())
    }
}

/// A flow ahead, ready to be drawn member by member.
pub(super) struct FlowAhead {
    name: String,
    newest_m3s: f64,
    /// Place of the newest day in the window ahead, before it below 0.
    newest_day: i64,
    leads: usize,
    course: Course,
}

enum Course {
    Inflow(InflowModel),
    Release(ReleaseModel),
    Held,
}

impl FlowAhead {
    fn of(
        name: &str,
        daily: &Daily,
        newest_m3s: f64,
        (window, today): (&Window, NaiveDate),
    ) -> (FlowAhead, Option<usize>) {
        let end = daily.newest_measured(today);
        let newest_day = end.map_or(0, |end| (daily.date(end) - window.first_day).num_days());
        let ahead = FlowAhead {
            name: name.to_owned(),
            newest_m3s,
            newest_day,
            leads: usize::try_from(window.days() as i64 - newest_day).unwrap_or(0),
            course: Course::Held,
        };
        // What is older says little of today; the flow is held.
        (ahead, end.filter(|_| newest_day >= -10))
    }

    /// A river: by its forecast where there is one, its base after the season, its departure fading.
    pub fn inflow(
        (name, daily): (&str, &Daily),
        newest_m3s: f64,
        forecast: Option<(chrono::DateTime<chrono::Utc>, Vec<Option<f64>>)>,
        (window, today): (&Window, NaiveDate),
    ) -> FlowAhead {
        let (mut ahead, end) = FlowAhead::of(name, daily, newest_m3s, (window, today));
        let Some(model) = end.and_then(|end| InflowModel::fit(daily, end, ahead.leads)) else {
            return ahead;
        };
        let part = forecast.map(|(issued_at, days)| {
            let at = |lead: usize| usize::try_from(ahead.newest_day + lead as i64).ok();
            let issued_day = window.seconds(issued_at) / 86_400.0;
            ForecastPart {
                share_frac: 1.0,
                flow_m3s: (0..=ahead.leads)
                    .map(|lead| days.get(at(lead)?).copied().flatten().filter(|_| lead > 0))
                    .collect(),
                days_before: (ahead.newest_day as f64 - issued_day).max(0.0) as usize,
            }
        });
        ahead.course = Course::Inflow(model.with_forecasts(part.into_iter().collect()));
        ahead
    }

    /// The release: as planned, else as it stands with a spread that grows.
    pub fn release(
        lake: &Lake,
        daily: &Daily,
        newest_m3s: f64,
        (window, today): (&Window, NaiveDate),
    ) -> FlowAhead {
        let (mut ahead, end) = FlowAhead::of("release", daily, newest_m3s, (window, today));
        if let Some((end, model)) = end.and_then(|end| Some((end, ReleaseModel::fit(daily, end)?))) {
            ahead.course =
                Course::Release(model.with_plan(&lake.planned_release, daily.date(end), ahead.leads));
        }
        ahead
    }

    /// Whether it is more than the newest value held.
    pub fn is_modelled(&self) -> bool {
        !matches!(self.course, Course::Held)
    }

    /// A member's course, `(s since the start of the window, m3/s)`: the newest value at the clock, then day by day at noon.
    pub fn points(&self, window: &Window, (member, seed): (usize, u64)) -> Vec<Point> {
        let numbers = |what: &str| stream(seed, &format!("forcing/{what}/{}/{member}", self.name));
        let path = match &self.course {
            Course::Inflow(model) => model.draw_m3s(&mut numbers("flow")),
            Course::Release(model) => model.draw_m3s(self.leads, &mut numbers("flow"), &mut numbers("plan")),
            Course::Held => Vec::new(),
        };
        let mut points = vec![(0.0, self.newest_m3s.max(0.0))];
        for (lead, flow_m3s) in path.iter().enumerate().skip(1) {
            let Ok(day) = usize::try_from(self.newest_day + lead as i64) else {
                continue;
            };
            if let Some(edges) = window.day_edges_s.get(day..=day + 1) {
                let noon = 0.5 * (edges[0] + edges[1]);
                if noon > HOUR_S {
                    points.push((noon, flow_m3s.max(0.0)));
                }
            }
        }
        points
    }
}

/// Level at the end of each step of the past; empty, with a gap, where it is not known throughout.
///
/// Daily values, at the middle of their day where they are means, with straight lines between, and the mean of the last six
/// hours' readings at the clock: single readings hold waves and the set-up of wind, which would pass for water that comes and goes.
pub(super) fn level_m(gatherer: &mut Gatherer<'_, '_>, water: &DailyWater) -> Vec<f64> {
    let window = gatherer.window;
    let unknown = |reason| Gap {
        what: "pool_elevation".to_owned(),
        reason,
        consequence: Consequence::StandIn {
            stand_in: "the level that follows from the flows".to_owned(),
        },
    };
    let Some(level) = &water.level else {
        gatherer.gaps.push(unknown(GapReason::NoData));
        return Vec::new();
    };
    let at_share = if level.at_end_of_day { 1.0 } else { 0.5 };
    let dated = level.daily.first.iter_days().zip(&level.daily.value);
    let mut points: Vec<Point> = dated
        .filter(|(date, _)| *date < gatherer.today)
        .filter_map(|(date, value)| {
            let start = window.seconds(gatherer.clock.standard_day_start(date));
            Some((start + at_share * 86_400.0, (*value)?))
        })
        .filter(|(at, _)| *at > -LEVEL_GAP_S && *at <= window.end_s() + HOUR_S)
        .collect();
    points.extend(newest_level(gatherer, water));
    let record = FlowRecord::Instants {
        points,
        longest_gap_s: LEVEL_GAP_S,
    };
    let mut notes = Vec::new();
    match level_steps(&record, window.steps(), &mut notes) {
        Ok(level_m) => {
            gatherer.notes.extend(notes.into_iter().map(StoredNote::Flow));
            level_m
        }
        Err(_) => {
            let found = level.daily.value.iter().flatten().count();
            let wanted = window.days();
            gatherer.gaps.push(unknown(GapReason::TooFew {
                found: found.min(wanted),
                wanted,
            }));
            Vec::new()
        }
    }
}

/// Mean of the last six hours' readings, at their middle, where they are newer than the last noon.
fn newest_level(gatherer: &mut Gatherer<'_, '_>, water: &DailyWater) -> Option<Point> {
    let series = &water.level.as_ref()?.series;
    let source = gatherer.lake.series.iter().find(|source| source.id == *series)?;
    let reading = Reading {
        set: gatherer.set,
        clock: &gatherer.clock,
        window: gatherer.window,
        limits: (f64::NEG_INFINITY, f64::INFINITY),
    };
    let past = Past::read(source, reading, &mut gatherer.notes)?;
    let end_s = gatherer.window.end_s();
    let newest: Vec<f64> = past
        .spans
        .iter()
        .filter(|span| span.to > end_s - NEWEST_LEVEL_S && span.to <= end_s + 1.0)
        .filter_map(|span| span.value)
        .collect();
    Some((end_s - 0.5 * NEWEST_LEVEL_S, mean(&newest)?))
}
