//! River forecasts in the inflow of the days ahead: which forecast, its flow by day, and its part of the inflow.

use chrono::{DateTime, Duration, NaiveDate, Utc};

use super::inflow::ForecastPart;
use super::total::TotalInflow;
use super::{InflowOrigin, RiverForecast};
use crate::clock::LakeClock;
use crate::conditions::choice::late_forecast;
use crate::conditions::flow::InflowRecord;
use crate::conditions::morning::Morning;
use crate::lake::{Cadence, InflowFlow, InflowId, SeriesSource};
use crate::math::quantiles::median;
use crate::quantity::Quantity;
use crate::series::{Consequence, ForecastBatch, Gap, GapReason};

/// Longest time between two steps that the flow is drawn straight over (project choice: river forecasts step by 6 h,
/// so that one missing figure costs nothing).
const LONGEST_STEP_H: f64 = 12.0;
/// Hours of a day that a forecast must cover to give its mean (project choice: three steps of six hours).
const DAY_MIN_H: f64 = 18.0;

/// Share that is still the whole, with its rounding.
const WHOLE_FRAC: f64 = 1.0 + 1e-9;

/// The day that the inflow's record ends on, and how many the projection goes beyond.
#[derive(Debug, Clone, Copy)]
pub(super) struct Span {
    pub newest_day: NaiveDate,
    pub leads: usize,
}

/// The parts of the inflow that river forecasts give, and what is told of each. Pushes a gap for each forecast that the
/// lake file names and that cannot be used: the usual fading of the flow then stands in.
pub(super) fn forecast_parts(
    morning: &Morning,
    records: &[InflowRecord],
    total: &TotalInflow,
    span: Span,
    gaps: &mut Vec<Gap>,
) -> (Vec<ForecastPart>, Vec<RiverForecast>) {
    let mut found: Vec<(&SeriesSource, ForecastPart, RiverForecast)> = Vec::new();
    for record in records {
        let (river, factor) = match &record.inflow.flow {
            InflowFlow::Series => (&record.inflow.id, 1.0),
            InflowFlow::FromGauge { gauge, factor } => (gauge, *factor),
        };
        let is_own = river == &record.inflow.id;
        match newest_forecast(morning, river) {
            None => {}
            Some((source, Ok(batch))) => match part(morning, record, batch, factor, total, span) {
                Ok((part, told)) => {
                    let series = source.id.to_string();
                    found.push((source, part, RiverForecast { series, ..told }));
                }
                Err(reason) => gaps.push(not_used(source, reason)),
            },
            // The gauge itself has told it.
            Some((_, Err(_))) if !is_own => {}
            Some((source, Err(reason))) => gaps.push(not_used(source, reason)),
        }
    }
    let shares: f64 = found.iter().map(|(_, part, _)| part.share_frac).sum();
    if shares > WHOLE_FRAC {
        // Together the gauges read more than the lake takes in: they do not describe its inflow.
        for (source, part, _) in found.drain(..) {
            let of = part.flow_m3s.iter().flatten().count();
            gaps.push(not_used(source, GapReason::Refused { refused: of, of }));
        }
    }
    found.into_iter().map(|(_, part, told)| (part, told)).unzip()
}

fn not_used(source: &SeriesSource, reason: GapReason) -> Gap {
    Gap {
        what: source.id.to_string(),
        reason,
        consequence: Consequence::StandIn {
            stand_in: "in the level ahead, a flow that fades to its base".to_owned(),
        },
    }
}

/// The newest forecast of a river's flow, or why there is none to use; `None` where the lake file names none.
fn newest_forecast<'a>(
    morning: &Morning<'a>,
    river: &InflowId,
) -> Option<(&'a SeriesSource, Result<&'a ForecastBatch, GapReason>)> {
    let place = Morning::inflow_place(river);
    let sources: Vec<&SeriesSource> = morning
        .lake
        .series_of(Quantity::Inflow, &place)
        .filter(|s| s.cadences.contains(&Cadence::Forecast))
        .collect();
    let newest = sources
        .iter()
        .filter_map(|s| Some((*s, morning.set.forecast(&s.id)?)))
        .max_by_key(|(_, batch)| batch.issued_at);
    let Some((source, batch)) = newest else {
        return Some((*sources.first()?, Err(GapReason::NoData)));
    };
    let late = late_forecast(morning, source, batch.issued_at);
    Some((source, late.map_or(Ok(batch), Err)))
}

/// One river's part of the inflow, and what is told of its forecast.
///
/// # Errors
/// Why it has none.
fn part(
    morning: &Morning,
    record: &InflowRecord,
    batch: &ForecastBatch,
    factor: f64,
    total: &TotalInflow,
    span: Span,
) -> Result<(ForecastPart, RiverForecast), GapReason> {
    let days = days_of(batch, morning.clock);
    let lead_of = |day: NaiveDate| usize::try_from((day - span.newest_day).num_days()).ok();
    let mut flow_m3s = vec![None; span.leads + 1];
    let raise = match total.from {
        InflowOrigin::Gauges { factor } => factor,
        InflowOrigin::GaugesAlone | InflowOrigin::Balance => 1.0,
    };
    let mut covered = Vec::new();
    for (day, mean_m3s) in days {
        if let Some(lead) = lead_of(day).filter(|lead| (1..=span.leads).contains(lead)) {
            flow_m3s[lead] = Some(mean_m3s * factor * raise);
            covered.push(day);
        }
    }
    let (Some(from), Some(until)) = (covered.first(), covered.last()) else {
        return Err(GapReason::TooFew { found: 0, wanted: 1 });
    };
    let newest_m3s = flow_on(morning, record, span.newest_day).ok_or(GapReason::NoData)?;
    let whole_m3s = total.daily.get(span.newest_day).ok_or(GapReason::NoData)?;
    let share_frac = newest_m3s * raise / whole_m3s;
    // A gauge that reads more than the lake takes in does not describe its inflow, nor does its forecast.
    let is_part = share_frac > 0.0 && share_frac <= WHOLE_FRAC;
    if !is_part {
        return Err(GapReason::Refused {
            refused: covered.len(),
            of: covered.len(),
        });
    }
    let issue_day = morning.clock.standard_day(batch.issued_at);
    let told = RiverForecast {
        inflow: record.inflow.id.clone(),
        series: String::new(),
        service: batch.provenance.service.clone(),
        station: batch.provenance.station.clone(),
        issued_at: batch.issued_at,
        from: *from,
        until: *until,
        share_frac: share_frac.min(1.0),
    };
    let part = ForecastPart {
        share_frac: told.share_frac,
        flow_m3s,
        days_before: usize::try_from((span.newest_day - issue_day).num_days()).unwrap_or(0),
    };
    Ok((part, told))
}

/// Flow of a river on the day that the inflow's record ends on.
fn flow_on(morning: &Morning, record: &InflowRecord, day: NaiveDate) -> Option<f64> {
    let running = record
        .running
        .filter(|(_, time)| morning.clock.standard_day(*time) == day);
    running
        .map(|(flow_m3s, _)| flow_m3s)
        .or_else(|| record.daily.get(day))
}

/// Mean flow of each standard-time day that a forecast covers, in order: straight lines between its steps, at least
/// 18 h of the day. Of several members their median. A day without flow is left out, for it has no logarithm.
fn days_of(batch: &ForecastBatch, clock: LakeClock) -> Vec<(NaiveDate, f64)> {
    let steps: Vec<(DateTime<Utc>, f64)> = batch
        .time
        .iter()
        .enumerate()
        .filter_map(|(k, time)| {
            let of_members: Vec<f64> = batch
                .value
                .iter()
                .filter_map(|member| member.get(k).copied().flatten())
                .filter(|flow_m3s| flow_m3s.is_finite() && *flow_m3s >= 0.0)
                .collect();
            Some((*time, median(&of_members)?))
        })
        .collect();
    let (Some((first, _)), Some((last, _))) = (steps.first(), steps.last()) else {
        return Vec::new();
    };
    let last_day = clock.standard_day(*last);
    clock
        .standard_day(*first)
        .iter_days()
        .take_while(|day| *day <= last_day)
        .filter_map(|day| {
            let begins = clock.standard_day_start(day);
            Some((day, mean_between(&steps, begins, begins + Duration::days(1))?))
        })
        .filter(|(_, mean_m3s)| *mean_m3s > 0.0)
        .collect()
}

/// Mean of the straight lines between steps from `begins` to `ends`; `None` where they cover too little of it.
fn mean_between(steps: &[(DateTime<Utc>, f64)], begins: DateTime<Utc>, ends: DateTime<Utc>) -> Option<f64> {
    let hours = |from: DateTime<Utc>, to: DateTime<Utc>| (to - from).num_seconds() as f64 / 3600.0;
    let (mut sum, mut covered_h) = (0.0, 0.0);
    for pair in steps.windows(2) {
        let ((t0, q0_m3s), (t1, q1_m3s)) = (pair[0], pair[1]);
        let step_h = hours(t0, t1);
        let (from, to) = (t0.max(begins), t1.min(ends));
        if from >= to || step_h > LONGEST_STEP_H {
            continue;
        }
        let at = |time| q0_m3s + (q1_m3s - q0_m3s) * hours(t0, time) / step_h;
        sum += 0.5 * (at(from) + at(to)) * hours(from, to);
        covered_h += hours(from, to);
    }
    (covered_h >= DAY_MIN_H).then(|| sum / covered_h)
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::lake::SeriesId;
    use crate::series::{Member, Provenance, SeriesKey};

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    fn batch(first: &str, step_h: i64, flow_m3s: &[Option<f64>]) -> ForecastBatch {
        let first = at(first);
        ForecastBatch {
            key: SeriesKey {
                id: SeriesId::new("sorrel-forecast"),
                cadence: Cadence::Forecast,
            },
            issued_at: first,
            provenance: Arc::new(Provenance {
                service: "nwps".to_owned(),
                station: "SRLX9".to_owned(),
                parameter: "flow".to_owned(),
                original_unit: "cfs".to_owned(),
                retrieved_at: first,
            }),
            time: (0..flow_m3s.len() as i64)
                .map(|k| first + Duration::hours(k * step_h))
                .collect(),
            members: vec![Member(0)],
            value: vec![flow_m3s.to_vec()],
        }
    }

    fn days(batch: &ForecastBatch) -> Vec<(String, f64)> {
        days_of(batch, LakeClock::new(chrono_tz::America::Los_Angeles))
            .into_iter()
            .map(|(day, mean_m3s)| (day.to_string(), mean_m3s))
            .collect()
    }

    #[test]
    fn a_day_is_the_mean_of_the_lines_between_the_steps_of_its_standard_time() {
        // Midnight of standard time is 08:00 UTC. Steps of six hours, 10 rising by 2 a step: on the first day from
        // 14:00 UTC on, 18 h, from 12 to 18, mean 15; on the second from 18 to 26, mean 22; of the third 12 h.
        let flow: Vec<Option<f64>> = (0..11).map(|k| Some(10.0 + 2.0 * f64::from(k))).collect();
        let found = days(&batch("2025-07-24T08:00:00Z", 6, &flow));
        // The first day whole: from 10 to 18, mean 14.
        assert_eq!(found[0], ("2025-07-24".to_owned(), 14.0));
        assert_eq!(found[1], ("2025-07-25".to_owned(), 22.0));
        assert_eq!(found.len(), 2, "half a day is none");
        let found = days(&batch("2025-07-24T14:00:00Z", 6, &flow[1..]));
        assert_eq!(found[0], ("2025-07-24".to_owned(), 15.0));
        let found = days(&batch("2025-07-24T20:00:00Z", 6, &flow[2..]));
        assert_eq!(found[0].0, "2025-07-25", "twelve hours are too few");
    }

    #[test]
    fn one_missing_figure_is_drawn_over_and_two_are_not() {
        let mut flow = vec![Some(10.0); 9];
        flow[2] = None;
        assert_eq!(days(&batch("2025-07-24T08:00:00Z", 6, &flow)).len(), 2);
        flow[3] = None;
        let found = days(&batch("2025-07-24T08:00:00Z", 6, &flow));
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].0, "2025-07-25");
    }

    #[test]
    fn a_day_without_flow_and_a_forecast_of_one_step_give_nothing() {
        assert!(days(&batch("2025-07-24T08:00:00Z", 6, &[Some(0.0); 5])).is_empty());
        assert!(days(&batch("2025-07-24T08:00:00Z", 6, &[Some(5.0)])).is_empty());
        assert!(days(&batch("2025-07-24T08:00:00Z", 6, &[])).is_empty());
        assert!(days(&batch("2025-07-24T08:00:00Z", 6, &[Some(-3.0); 5])).is_empty());
    }

    #[test]
    fn days_of_both_clock_changes_are_24_hours_of_standard_time() {
        for first in ["2025-03-09T08:00:00Z", "2025-11-02T08:00:00Z"] {
            let found = days(&batch(first, 6, &[Some(7.0); 9]));
            assert_eq!(found.len(), 2, "{first}");
            assert_eq!(found[0], (first[..10].to_owned(), 7.0));
        }
    }
}
