//! The inflows: discharge, baseflow, ratio, pulse; gauged, from another gauge, or from the balance.

use chrono::{DateTime, NaiveDate, Utc};

use super::balance::centred_mean;
use super::baseflow::{PROJECT_FILTER, baseflow_of_record};
use super::discharge::{Discharge, believable_discharge, noise_of_mean_m3s};
use super::flashiness::flashiness_frac;
use super::morning::{Morning, left_out, wider};
use super::pulse::{TRICKLE_M3S, highest_ratio, latest_pulse, ratio_to_base};
use super::shift::step_within_14_days;
use super::{FlowStep, InflowCondition, RatioBasis};
use crate::lake::{Cadence, Inflow, InflowFlow, SeriesSource};
use crate::math::quantiles::median;
use crate::quantity::Quantity;
use crate::series::{Consequence, Daily, Gap, GapReason};

/// A discharge older than this says nothing of this morning (project choice).
const OLDEST_FLOW_DAYS: i64 = 7;
/// Days of the median of a regulated river, and how many of them it needs (project choice).
const MEDIAN_DAYS: usize = 30;
const MEDIAN_MIN_DAYS: usize = 20;
/// Days of the mean of a residual inflow (series-and-skill 3.4 allows 3 or 7; the residual of several
/// series is the noisier).
const RESIDUAL_MEAN_DAYS: usize = 7;

/// A pulse of a computed discharge stands so many deviations out of its noise (project choice).
const NOISE_MULTIPLE: f64 = 3.0;

/// Least step of a flow that is told, as a ratio (project choice).
const LEAST_STEP_RATIO: f64 = 1.5;

/// Daily discharge of one inflow, and where its newest value comes from.
pub(super) struct InflowRecord<'a> {
    pub inflow: &'a Inflow,
    pub daily: Daily,
    /// Discharge of the last 24 h, where a gauge gives it.
    pub running: Option<(f64, DateTime<Utc>)>,
    /// Standard deviation of a day's discharge where it is computed; 0 where it is gauged.
    noise_m3s: f64,
}

impl<'a> InflowRecord<'a> {
    /// The same inflow with other days; no flow of the last 24 h goes before them.
    pub fn with(&self, daily: Daily) -> InflowRecord<'a> {
        InflowRecord {
            inflow: self.inflow,
            daily,
            running: None,
            noise_m3s: self.noise_m3s,
        }
    }

    /// Whether the discharge is computed from a balance, and so means of some days.
    pub fn is_computed(&self) -> bool {
        self.noise_m3s > 0.0
    }
}

/// The records of all inflows whose flow is known; pushes a gap for each that is not.
pub(super) fn inflow_records<'a>(
    morning: &Morning<'a>,
    balance: Option<&Daily>,
    gaps: &mut Vec<Gap>,
) -> Vec<InflowRecord<'a>> {
    let mut records: Vec<InflowRecord<'a>> = Vec::new();
    let mut unknown: Vec<(&'a Inflow, GapReason)> = Vec::new();
    let single = morning.lake.inflows.len() == 1;
    for inflow in morning
        .lake
        .inflows
        .iter()
        .filter(|i| i.flow == InflowFlow::Series)
    {
        match gauged(morning, inflow, balance.filter(|_| single), gaps) {
            Ok(record) => records.push(record),
            Err(reason) => unknown.push((inflow, reason)),
        }
    }
    for inflow in &morning.lake.inflows {
        if let InflowFlow::FromGauge { gauge, factor } = &inflow.flow {
            match records.iter().find(|r| &r.inflow.id == gauge) {
                Some(record) => {
                    let scaled = scaled(record, inflow, *factor);
                    records.push(scaled);
                }
                None => unknown.push((inflow, GapReason::NoData)),
            }
        }
    }
    if let ([(inflow, reason)], Some(balance)) = (unknown.as_slice(), balance)
        && let Some(record) = residual(inflow, balance, &records)
    {
        gaps.push(Gap {
            what: inflow.id.to_string(),
            reason: reason.clone(),
            consequence: Consequence::StandIn {
                stand_in: "inflow from the lake's water balance".to_owned(),
            },
        });
        records.push(record);
        unknown.clear();
    }
    for (inflow, reason) in unknown {
        gaps.push(left_out(inflow.id.as_str(), reason, "inflow, baseflow, pulse"));
    }
    let order = |r: &InflowRecord| morning.lake.inflows.iter().position(|i| i.id == r.inflow.id);
    records.sort_by_key(order);
    records
}

fn gauged<'a>(
    morning: &Morning<'a>,
    inflow: &'a Inflow,
    balance: Option<&Daily>,
    gaps: &mut Vec<Gap>,
) -> Result<InflowRecord<'a>, GapReason> {
    let source: &SeriesSource = morning.source(Quantity::Inflow, &[Morning::inflow_place(&inflow.id)])?;
    let record = morning
        .daily(source)
        .ok_or(GapReason::TooFew { found: 0, wanted: 1 })?;
    let rows = morning.set.observations(&source.id, Cadence::Daily);
    let found = believable_discharge(&record, rows, &morning.clock, balance);
    let Discharge {
        daily,
        computed,
        noise_m3s,
        disbelieved,
    } = found.ok_or(GapReason::Refused {
        refused: rows.len(),
        of: rows.len(),
    })?;
    if computed {
        // The series is no gauge's, and the lake file names none.
        gaps.push(Gap {
            what: format!("{} gauge", inflow.id),
            reason: GapReason::NotDescribed,
            consequence: Consequence::StandIn {
                stand_in: format!(
                    "3-day means of {}, which is computed from a water balance",
                    source.id
                ),
            },
        });
    }
    if !disbelieved.is_empty() {
        let (refused, of) = (disbelieved.len(), record.value.len());
        gaps.push(wider(
            source.id.as_str(),
            GapReason::Refused { refused, of },
            "inflow",
        ));
    }
    let running = if computed {
        None
    } else {
        morning.last_24h(source).map(|n| (n.value, n.time))
    };
    if let Some(reason) = morning.newest(source).and_then(|n| morning.late(source, n.time)) {
        gaps.push(wider(source.id.as_str(), reason, "inflow"));
    }
    Ok(InflowRecord {
        inflow,
        daily,
        running: running.filter(|(q, _)| *q >= 0.0),
        noise_m3s,
    })
}

fn scaled<'a>(gauge: &InflowRecord, inflow: &'a Inflow, factor: f64) -> InflowRecord<'a> {
    let mut daily = gauge.daily.clone();
    daily.value.iter_mut().flatten().for_each(|q| *q *= factor);
    InflowRecord {
        inflow,
        daily,
        running: gauge.running.map(|(q, t)| (q * factor, t)),
        noise_m3s: gauge.noise_m3s * factor,
    }
}

/// What the balance leaves for the one inflow that has no gauge: ungauged streams and rain are in it too.
fn residual<'a>(inflow: &'a Inflow, balance: &Daily, known: &[InflowRecord]) -> Option<InflowRecord<'a>> {
    let mut rest = balance.clone();
    for i in 0..rest.value.len() {
        let date = rest.date(i);
        let sum: Option<f64> = known.iter().map(|r| r.daily.get(date)).sum();
        rest.value[i] = rest.value[i].zip(sum).map(|(all, known)| all - known);
    }
    let mut daily = centred_mean(&rest, RESIDUAL_MEAN_DAYS)?;
    let noise_m3s = noise_of_mean_m3s(&rest, &daily, RESIDUAL_MEAN_DAYS);
    daily.value.iter_mut().for_each(|q| *q = q.filter(|q| *q > 0.0));
    daily.value.iter().any(Option::is_some).then_some(InflowRecord {
        inflow,
        daily,
        running: None,
        noise_m3s,
    })
}

/// The condition of one inflow; `None`, with a gap, where its newest discharge is more than a week old.
pub(super) fn inflow_condition(
    morning: &Morning,
    record: &InflowRecord,
    gaps: &mut Vec<Gap>,
) -> Option<InflowCondition> {
    let (inflow, daily) = (record.inflow, &record.daily);
    let newest_day = daily.newest_measured(morning.today);
    let of_day =
        newest_day.and_then(|i| Some((daily.value[i]?, morning.clock.standard_day_start(daily.date(i)))));
    let Some((discharge_m3s, observed_at)) = record.running.or(of_day) else {
        let reason = GapReason::TooFew { found: 0, wanted: 1 };
        gaps.push(left_out(inflow.id.as_str(), reason, "inflow, baseflow, pulse"));
        return None;
    };
    let age_h = morning.age_h(observed_at);
    let allowed_h = (OLDEST_FLOW_DAYS * 24) as f64;
    if age_h > allowed_h {
        let reason = GapReason::Late {
            newest: observed_at,
            age_h,
            allowed_h,
        };
        gaps.push(left_out(inflow.id.as_str(), reason, "inflow, baseflow, pulse"));
        return None;
    }
    let baseflow = baseflow_of_record(&daily.value, PROJECT_FILTER);
    let (basis, base) = if inflow.regulated {
        (RatioBasis::Median30d, median_before(&daily.value))
    } else {
        (RatioBasis::EckhardtBaseflow, baseflow.clone())
    };
    let of_newest = |values: &[Option<f64>]| newest_day.and_then(|i| values.get(i).copied().flatten());
    let base_now = of_newest(&base);
    if base_now.is_none() {
        let found = daily.value.iter().flatten().count();
        let wanted = if inflow.regulated {
            MEDIAN_MIN_DAYS
        } else {
            super::baseflow::BASEFLOW_MIN_DAYS
        };
        gaps.push(left_out(
            inflow.id.as_str(),
            GapReason::TooFew { found, wanted },
            "ratio to baseflow, pulse",
        ));
    }
    let values: Vec<f64> = daily.value.iter().flatten().copied().collect();
    let now = base_now.map(|b| (morning.clock.standard_day(observed_at), discharge_m3s, b));
    let least_quickflow_m3s = TRICKLE_M3S.max(NOISE_MULTIPLE * record.noise_m3s);
    Some(InflowCondition {
        inflow: inflow.id.clone(),
        zone: inflow.enters.clone(),
        discharge_m3s,
        observed_at,
        baseflow_m3s: if inflow.regulated {
            None
        } else {
            of_newest(&baseflow)
        },
        ratio: base_now.map(|b| ratio_to_base(discharge_m3s, b)),
        ratio_basis: basis,
        pulse: latest_pulse(daily, &base, least_quickflow_m3s, morning.today),
        highest_10d: highest_ratio(daily, &base, now, least_quickflow_m3s, morning.today),
        mean_m3s: (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64),
        change_7d_m3s: newest_day.and_then(|i| change_7d(daily, i)),
        flashiness_frac: flashiness_frac(daily),
        step: flow_step(daily, morning.today),
    })
}

fn flow_step(daily: &Daily, today: NaiveDate) -> Option<FlowStep> {
    let ln = |q: f64| (q > 0.0).then(|| q.ln());
    let step = step_within_14_days(daily, today, LEAST_STEP_RATIO.ln(), ln)?;
    Some(FlowStep {
        date: step.date,
        factor: step.height.exp(),
    })
}

/// Change of the daily mean over 7 days; both ends measured.
fn change_7d(daily: &Daily, end: usize) -> Option<f64> {
    let start = end.checked_sub(7).filter(|&i| daily.is_measured(i))?;
    Some(daily.value[end]? - daily.value[start]?)
}

/// Median of the 30 days before each day, where 20 of them have a value.
fn median_before(flow_m3s: &[Option<f64>]) -> Vec<Option<f64>> {
    (0..flow_m3s.len())
        .map(|i| {
            let window: Vec<f64> = flow_m3s[i.saturating_sub(MEDIAN_DAYS)..i]
                .iter()
                .flatten()
                .copied()
                .collect();
            if window.len() < MEDIAN_MIN_DAYS {
                None
            } else {
                median(&window)
            }
        })
        .collect()
}
