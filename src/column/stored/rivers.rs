//! Rivers in the order of the lake file: discharge, temperature and oxygen up to the clock, and each member ahead.

use std::cell::LazyCell;

use super::error::StoredForcingError;
use super::forecast::to_take;
use super::join::{Laid, holes};
use super::note::{StoredNote, Used};
use super::past::Gatherer;
use super::river_temp::{FIT_DAYS, RiverModel};
use super::seam::{Scaling, SeamScale};
use super::sources::{Past, Reading, on_one_scale};
use super::water::{FlowAhead, filled_flow};
use super::window::Window;
use crate::clock::LakeClock;
use crate::column::forcing::{FlowNote, FlowRecord, RiverFlow, RiverTracks, river_steps};
use crate::column::quick::{AirRecord, AirSpan};
use crate::conditions::{DailyInflow, DailyWater, daily_of_chain};
use crate::lake::{Inflow, InflowFlow, InflowId, SeriesPlace, SeriesSource};
use crate::math::quantiles::median;
use crate::math::span_means::SpanRow;
use crate::quantity::Quantity;
use crate::series::daily::daily_series;
use crate::series::{Consequence, Daily, Gap, GapReason};

/// Values that a river never takes are left out (as in the tables of a hindcast).
const FLOW_LIMITS_M3S: (f64, f64) = (0.0, 3e5);
const TEMP_LIMITS_DEGC: (f64, f64) = (-5.0, 50.0);
const OXYGEN_LIMITS_MG_L: (f64, f64) = (0.0, 40.0);
/// Oldest daily discharge that is carried on ahead (project choice, as for the level ahead).
const OLDEST_FLOW_DAYS: i64 = 10;

/// The rivers of the lake.
pub(super) struct Rivers {
    rivers: Vec<River>,
}

struct River {
    inflow: Inflow,
    flows: Vec<RiverFlow>,
    model: Option<RiverModel>,
    /// Daily discharge, where it is known.
    daily: Option<Daily>,
    ahead: Option<FlowAhead>,
}

impl Rivers {
    /// The rivers up to the clock. Their temperature is modelled, which takes most of the time, where it is wanted ahead or was
    /// not measured.
    ///
    /// # Errors
    /// [`StoredForcingError::Unknown`] where a river's temperature is neither measured nor to be had from the air.
    pub fn of(
        gatherer: &mut Gatherer<'_, '_>,
        water: &DailyWater,
        looks_ahead: bool,
    ) -> Result<Rivers, StoredForcingError> {
        gatherer.gaps.extend(water.gaps.iter().cloned());
        let (lake, set, today) = (gatherer.lake, gatherer.set, gatherer.today);
        if lake.inflows.is_empty() {
            return Ok(Rivers { rivers: Vec::new() });
        }
        let past_days = (FIT_DAYS + 60).max(gatherer.window.days() + 60) as u64;
        let span = AirSpan {
            past_days,
            outlook_days: 0,
        };
        let air = LazyCell::new(|| {
            let clock = LakeClock::new(lake.time_zone);
            AirRecord::read(lake, set, &clock, today, span)
        });
        let mut rivers = Vec::with_capacity(lake.inflows.len());
        for inflow in &lake.inflows {
            let known = water.inflows.iter().find(|known| known.inflow == inflow.id);
            rivers.push(river(gatherer, inflow, known, (looks_ahead, &|| air.as_ref()))?);
        }
        Ok(Rivers { rivers })
    }

    /// Flows up to the clock. Shape `[inflow][step]`.
    pub fn past(&self) -> Vec<Vec<RiverFlow>> {
        self.rivers.iter().map(|river| river.flows.clone()).collect()
    }

    /// Makes ready what is ahead.
    pub fn look_ahead(&mut self, gatherer: &mut Gatherer<'_, '_>, window: &Window) {
        for river in &mut self.rivers {
            let Some(daily) = &river.daily else { continue };
            let forecast = river_forecast(gatherer, &river.inflow, window);
            let newest = river.flows.last().map_or(0.0, |flow| flow.discharge_m3s);
            let name = match &river.inflow.flow {
                InflowFlow::Series => &river.inflow.id,
                // One gauge, one course.
                InflowFlow::FromGauge { gauge, .. } => gauge,
            };
            let ahead = FlowAhead::inflow((name.as_str(), daily), newest, forecast, (window, gatherer.today));
            if !ahead.is_modelled() {
                let oldest = daily
                    .newest_measured(gatherer.today)
                    .map(|i| gatherer.clock.standard_day_start(daily.date(i)));
                gatherer.gaps.push(held(
                    &river.inflow.id,
                    oldest.map(|at| (gatherer.set.as_of - at).num_hours()),
                ));
            }
            river.ahead = Some(ahead);
        }
    }

    /// Flows of one member. Shape `[inflow][step]`; `air` is that of the hours before the clock and of the member's own.
    ///
    /// # Errors
    /// [`StoredForcingError::Steps`].
    pub fn ahead(
        &self,
        window: &Window,
        (before_degc, air_degc): (&[f64], &[f64]),
        (member, seed): (usize, u64),
    ) -> Result<Vec<Vec<RiverFlow>>, StoredForcingError> {
        let air_by_day = air_by_day(window, before_degc, air_degc);
        let one = |river: &River| {
            let points = match &river.ahead {
                Some(ahead) => ahead.points(window, (member, seed)),
                None => vec![(0.0, 0.0)],
            };
            let last_degc = river.flows.last().map_or(0.0, |flow| flow.temp_degc);
            let rows: Vec<SpanRow> = match &river.model {
                Some(model) => {
                    let days: Vec<(f64, f64)> = air_by_day
                        .iter()
                        .enumerate()
                        .map(|(day, air)| {
                            let middle = 0.5 * (window.day_edges_s[day] + window.day_edges_s[day + 1]);
                            let flow = crate::math::interpolate::linear_pairs(&points, middle);
                            (*air, flow.unwrap_or(0.0))
                        })
                        .collect();
                    let temps = model.member_degc(river.inflow.id.as_str(), &days, (member, seed));
                    let rows = temps.iter().enumerate().map(|(day, temp)| SpanRow {
                        from: window.day_edges_s[day].max(0.0),
                        to: window.day_edges_s[day + 1],
                        value: Some(*temp),
                    });
                    rows.filter(|row| row.to - row.from > 1.0).collect()
                }
                None => vec![SpanRow {
                    from: 0.0,
                    to: window.end_s(),
                    value: Some(last_degc),
                }],
            };
            let tracks = RiverTracks {
                discharge: FlowRecord::Instants {
                    points,
                    longest_gap_s: f64::INFINITY,
                },
                temp: FlowRecord::Means(super::ahead::track(rows)),
                oxygen: None,
            };
            // Every member is made alike; what is told is told of the past.
            let steps = river_steps(&river.inflow.name, &tracks, window.steps(), &mut Vec::new());
            Ok(steps?)
        };
        self.rivers.iter().map(one).collect()
    }
}

fn held(inflow: &InflowId, age_h: Option<i64>) -> Gap {
    let allowed_h = OLDEST_FLOW_DAYS * 24;
    let reason = match age_h {
        Some(age_h) if age_h <= allowed_h => GapReason::TooFew { found: 0, wanted: 1 },
        _ => GapReason::NoData,
    };
    Gap {
        what: format!("{inflow} ahead"),
        reason,
        consequence: Consequence::StandIn {
            stand_in: "the newest discharge, held".to_owned(),
        },
    }
}

/// Mean air temperature of the days of the window ahead, the first with its hours before the clock.
fn air_by_day(window: &Window, before_degc: &[f64], air_degc: &[f64]) -> Vec<f64> {
    let mut sums = vec![(0.0, 0.0); window.days()];
    let hours_before = ((-window.day_edges_s[0]).max(0.0) / 3600.0) as usize;
    let before = &before_degc[before_degc.len().saturating_sub(hours_before)..];
    for value in before {
        sums[0] = (sums[0].0 + value, sums[0].1 + 1.0);
    }
    for (k, value) in air_degc.iter().enumerate() {
        if let Some(day) = window.day_at(3600.0 * (k as f64 + 0.5)) {
            sums[day] = (sums[day].0 + value, sums[day].1 + 1.0);
        }
    }
    sums.into_iter().map(|(sum, count)| sum / count).collect()
}

fn place(inflow: &InflowId) -> SeriesPlace {
    SeriesPlace::Inflow(inflow.clone())
}

/// Pasts of the series of a quantity at an inflow, on one scale, laid side by side.
fn laid(
    gatherer: &mut Gatherer<'_, '_>,
    (inflow, quantity): (&Inflow, Quantity),
    limits: (f64, f64),
    scaling: Scaling,
) -> Vec<SpanRow> {
    let lake = gatherer.lake;
    let reading = Reading {
        set: gatherer.set,
        clock: &gatherer.clock,
        window: gatherer.window,
        limits,
    };
    let mut pasts = Vec::new();
    for source in lake.series_of(quantity, &place(&inflow.id)) {
        pasts.extend(Past::read(source, reading, &mut gatherer.notes));
    }
    let pasts = on_one_scale(pasts, (quantity, scaling), gatherer.window, &mut gatherer.seams);
    let mut laid = Laid::new(gatherer.window);
    let scaled = || pasts.iter().filter_map(|past| Some((past, past.scale?)));
    for (past, scale) in scaled() {
        laid.spans((&past.source.id, Used::Hours), &past.spans, scale);
    }
    for (past, scale) in scaled() {
        laid.days((&past.source.id, Used::Days), &past.days, scale);
    }
    let (rows, used) = laid.finish();
    if !used.is_empty() {
        let what = format!("{}, {}", quantity.word(), inflow.id);
        gatherer.notes.push(StoredNote::From { what, used });
    }
    rows
}

fn river<'r>(
    gatherer: &mut Gatherer<'_, '_>,
    inflow: &Inflow,
    known: Option<&DailyInflow>,
    (looks_ahead, air): (bool, &dyn Fn() -> Option<&'r AirRecord>),
) -> Result<River, StoredForcingError> {
    let window = gatherer.window;
    let discharge = match known {
        Some(known) => {
            let rows = discharge_rows(gatherer, inflow, known);
            filled_flow(gatherer, inflow.id.as_str(), rows, &known.daily)
        }
        None => {
            gatherer.gaps.push(Gap {
                what: inflow.id.to_string(),
                reason: GapReason::NoData,
                consequence: Consequence::LeftOut {
                    figure: format!("water of {}: none flows", inflow.name),
                },
            });
            vec![SpanRow {
                from: 0.0,
                to: window.end_s(),
                value: Some(0.0),
            }]
        }
    };
    let measured = laid(
        gatherer,
        (inflow, Quantity::RiverTemp),
        TEMP_LIMITS_DEGC,
        Scaling::Offset,
    );
    let seen = temp_daily(gatherer, inflow);
    let flow = known.map(|known| &known.daily);
    let dates = (window.first_day, gatherer.today);
    let is_wanted = looks_ahead || holes(&measured, window).iter().any(|hole| !hole.bridged);
    let air = is_wanted.then(air).flatten();
    let model = air.and_then(|air| RiverModel::fit(inflow, air, (flow, seen.as_ref()), dates));
    let temp = temp_rows(gatherer, inflow, measured, model.as_ref())?;
    let oxygen = laid(
        gatherer,
        (inflow, Quantity::DissolvedOxygen),
        OXYGEN_LIMITS_MG_L,
        Scaling::AsItIs,
    );
    let tracks = RiverTracks {
        discharge: FlowRecord::Means(super::ahead::track(discharge)),
        temp: FlowRecord::Means(super::ahead::track(temp)),
        oxygen: None,
    };
    let mut notes: Vec<FlowNote> = Vec::new();
    let mut flows = river_steps(&inflow.name, &tracks, window.steps(), &mut notes)?;
    // Oxygen is not filled: where it is not known the water counts as saturated.
    for span in &oxygen {
        let from = (span.from.max(0.0) / 3600.0).round() as usize;
        let to = (span.to.max(0.0) / 3600.0).round() as usize;
        for flow in flows.iter_mut().take(to).skip(from) {
            flow.oxygen_mg_l = span.value;
        }
    }
    gatherer.notes.extend(notes.into_iter().map(StoredNote::Flow));
    Ok(River {
        inflow: inflow.clone(),
        flows,
        model,
        daily: known.map(|known| known.daily.clone()),
        ahead: None,
    })
}

/// Hours of the gauge, and daily values where it has none.
fn discharge_rows(gatherer: &mut Gatherer<'_, '_>, inflow: &Inflow, known: &DailyInflow) -> Vec<SpanRow> {
    let window = gatherer.window;
    let mut laid = Laid::new(window);
    let gauge = known.gauge.as_ref().and_then(|(id, factor)| {
        let source = gatherer.lake.series.iter().find(|source| source.id == *id)?;
        Some((source, *factor))
    });
    if let Some((source, factor)) = gauge {
        let reading = Reading {
            set: gatherer.set,
            clock: &gatherer.clock,
            window,
            limits: FLOW_LIMITS_M3S,
        };
        if let Some(past) = Past::read(source, reading, &mut gatherer.notes) {
            let scale = SeamScale::Factor {
                reads_times_frac: 1.0 / factor,
            };
            laid.spans((&source.id, Used::Hours), &past.spans, scale);
        }
    }
    let days = super::water::days_of(&known.daily, window, gatherer.today);
    let series = gauge.map_or_else(
        || crate::lake::SeriesId::new(inflow.id.as_str()),
        |(source, _)| source.id.clone(),
    );
    laid.days((&series, Used::Days), &days, SeamScale::Same);
    let (rows, used) = laid.finish();
    if !used.is_empty() {
        let what = format!("inflow, {}", inflow.id);
        gatherer.notes.push(StoredNote::From { what, used });
    }
    rows
}

/// Daily temperatures of the river, of the chain of its series.
fn temp_daily(gatherer: &Gatherer<'_, '_>, inflow: &Inflow) -> Option<Daily> {
    let own = |source: &SeriesSource| daily_series(gatherer.set, &source.id, &gatherer.clock);
    let place = place(&inflow.id);
    let mut sources = gatherer.lake.series_of(Quantity::RiverTemp, &place);
    sources.find_map(|source| daily_of_chain(gatherer.lake, gatherer.set, source, own))
}

/// The measured spans with every hole filled that is too long to be bridged, by the model.
fn temp_rows(
    gatherer: &mut Gatherer<'_, '_>,
    inflow: &Inflow,
    mut rows: Vec<SpanRow>,
    model: Option<&RiverModel>,
) -> Result<Vec<SpanRow>, StoredForcingError> {
    let window = gatherer.window;
    let open: Vec<_> = holes(&rows, window)
        .into_iter()
        .filter(|hole| !hole.bridged)
        .collect();
    let mut filled_s = 0.0;
    for hole in &open {
        for day in 0..window.days() {
            let from = hole.from.max(window.day_edges_s[day]);
            let to = hole.to.min(window.day_edges_s[day + 1]);
            if to - from <= 1.0 {
                continue;
            }
            let temp = model.and_then(|model| model.day_degc(window.date(day)));
            let temp = temp.ok_or(StoredForcingError::Unknown {
                what: "river_temp, nor the air_temp that it could be made of,",
                from: window.instant(from),
            })?;
            filled_s += to - from;
            rows.push(SpanRow {
                from,
                to,
                value: Some(temp),
            });
        }
    }
    if filled_s > 0.0 {
        rows.sort_by(|a, b| a.from.total_cmp(&b.from));
        let equation = match model.map_or(0, RiverModel::fitted_days) {
            0 => "its published equation".to_owned(),
            days => format!("its equation, fitted on {days} days"),
        };
        gatherer.gaps.push(Gap {
            what: format!("river temperature, {}", inflow.name),
            reason: GapReason::TooFew {
                found: window.hours - ((filled_s / 3600.0) as usize).min(window.hours),
                wanted: window.hours,
            },
            consequence: Consequence::StandIn {
                stand_in: format!("river temperature from air temperature and discharge by {equation}"),
            },
        });
    }
    Ok(rows)
}

/// Daily means of a river's own forecast (the median of its members), by date from the day of the clock on.
fn river_forecast(
    gatherer: &Gatherer<'_, '_>,
    inflow: &Inflow,
    window: &Window,
) -> Option<(chrono::DateTime<chrono::Utc>, Vec<Option<f64>>)> {
    let sources: Vec<&SeriesSource> = gatherer
        .lake
        .series_of(Quantity::Inflow, &place(&inflow.id))
        .collect();
    let (_, batch) = to_take(gatherer.set, &sources, None)?;
    let mut sums = vec![(0.0, 0_usize); window.days()];
    for (step, time) in batch.time.iter().enumerate() {
        let values = batch
            .value
            .iter()
            .filter_map(|member| member.get(step).copied().flatten());
        let values: Vec<f64> = values.filter(|q| q.is_finite() && *q > 0.0).collect();
        if let (Some(day), Some(flow)) = (window.day_at(window.seconds(*time)), median(&values)) {
            sums[day] = (sums[day].0 + flow, sums[day].1 + 1);
        }
    }
    let days = sums.into_iter().map(|(sum, n)| (n > 0).then(|| sum / n as f64));
    Some((batch.issued_at, days.collect()))
}
