//! Inflow pulses: onset, peak, end, and how the river falls after.

use chrono::NaiveDate;

use super::{Pulse, RatioPeak};
use crate::series::Daily;
use crate::units::{M3S_PER_CFS, S_PER_DAY};

/// Flow over baseflow at which a pulse begins, and above which it lasts (project choice).
const ONSET_RATIO: f64 = 1.5;
/// Rise a day at the onset (project choice).
const ONSET_RISE_FRAC: f64 = 0.20;
/// Falling days in a row after which a peak is settled (project choice).
const FALLING_DAYS: usize = 3;
/// A pulse ends at the latest so many days after its peak (project choice).
const LONGEST_FALL_DAYS: usize = 10;
/// Peaks fewer days apart are one pulse (project choice).
const MERGE_DAYS: usize = 3;
/// Falling days that a recession constant needs.
const RECESSION_MIN_DAYS: usize = 5;
/// Days of the highest ratio (project choice: so long a flood's wood drifts, series-and-skill 8).
const HIGHEST_DAYS: i64 = 10;

/// A trickle, 1 ft3/s (project choice): it stands in for the baseflow of a dry river, and a rise by less
/// of it is no pulse.
pub const TRICKLE_M3S: f64 = M3S_PER_CFS;

/// Flow over its base. A river whose base is 0 is dry: any flow is infinitely many times that, so a
/// trickle stands in for its base, and the ratio is a lower bound that stays finite. A dry bed has 0.
///
/// ```
/// use plungeline::conditions::pulse::{TRICKLE_M3S, ratio_to_base};
/// assert_eq!([ratio_to_base(12.0, 8.0), ratio_to_base(0.0, 0.0)], [1.5, 0.0]);
/// assert_eq!(ratio_to_base(5.0 * TRICKLE_M3S, 0.0), 5.0);
/// ```
pub fn ratio_to_base(flow_m3s: f64, base_m3s: f64) -> f64 {
    if base_m3s > 0.0 {
        flow_m3s / base_m3s
    } else {
        flow_m3s / TRICKLE_M3S
    }
}

/// Where a pulse lies in its record, as positions of days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PulseSpan {
    /// First day.
    pub onset: usize,
    /// Day of the peak.
    pub peak: usize,
    /// Last day so far.
    pub last: usize,
    /// Whether it has ended.
    pub ended: bool,
}

/// Pulses of a daily record, in the order of time.
///
/// A pulse begins on the first day with flow at least 1.5 times `base` and a rise of 20 % a day or more;
/// its peak is the highest flow before the river falls three days running; its last day is the last with
/// flow at least 1.5 times base, 10 days after the peak at the latest. Two peaks fewer than 3 days apart
/// are one pulse. A rise across a hole counts by its mean factor a day, a rise from a dry bed as a rise of
/// any size. `base` is the baseflow, or for a regulated river the median of the 30 days before; where it
/// is 0 see [`ratio_to_base`]. Shapes `[day]`; rules of series-and-skill 3.2.
pub fn find_pulses(flow_m3s: &[Option<f64>], base_m3s: &[Option<f64>]) -> Vec<PulseSpan> {
    let mut pulses: Vec<PulseSpan> = Vec::new();
    let mut i = 1;
    while i < flow_m3s.len().min(base_m3s.len()) {
        if !is_onset(flow_m3s, base_m3s, i) {
            i += 1;
            continue;
        }
        let span = span_from(flow_m3s, base_m3s, i);
        i = span.last + 1;
        match pulses.last_mut() {
            Some(before) if span.peak - before.peak < MERGE_DAYS => merge(before, span, flow_m3s),
            _ => pulses.push(span),
        }
    }
    pulses
}

fn merge(before: &mut PulseSpan, after: PulseSpan, flow_m3s: &[Option<f64>]) {
    if flow_m3s[after.peak] > flow_m3s[before.peak] {
        before.peak = after.peak;
    }
    before.last = after.last;
    before.ended = after.ended;
}

fn is_high(flow_m3s: &[Option<f64>], base_m3s: &[Option<f64>], i: usize) -> Option<bool> {
    Some(ratio_to_base(flow_m3s[i]?, base_m3s[i]?) >= ONSET_RATIO)
}

fn is_onset(flow_m3s: &[Option<f64>], base_m3s: &[Option<f64>], i: usize) -> bool {
    if is_high(flow_m3s, base_m3s, i) != Some(true) {
        return false;
    }
    let before = (0..i).rev().find_map(|j| Some((j, flow_m3s[j]?)));
    match (before, flow_m3s[i]) {
        (Some((j, before)), Some(flow)) if before > 0.0 => {
            (flow / before).powf(1.0 / (i - j) as f64) >= 1.0 + ONSET_RISE_FRAC
        }
        // From a dry bed the factor is infinite.
        (Some(_), Some(_)) => true,
        _ => false,
    }
}

fn span_from(flow_m3s: &[Option<f64>], base_m3s: &[Option<f64>], onset: usize) -> PulseSpan {
    let mut span = PulseSpan {
        onset,
        peak: onset,
        last: onset,
        ended: false,
    };
    let (mut before, mut falling, mut settled) = (flow_m3s[onset], 0, false);
    for i in onset + 1..flow_m3s.len().min(base_m3s.len()) {
        let Some(high) = is_high(flow_m3s, base_m3s, i) else {
            continue;
        };
        let begins_anew = settled && is_onset(flow_m3s, base_m3s, i);
        if !high || begins_anew || i - span.peak > LONGEST_FALL_DAYS {
            span.ended = true;
            break;
        }
        span.last = i;
        falling = if flow_m3s[i] < before { falling + 1 } else { 0 };
        settled |= falling >= FALLING_DAYS;
        before = flow_m3s[i];
        if !settled && flow_m3s[i] > flow_m3s[span.peak] {
            span.peak = i;
        }
    }
    span
}

/// Volume of quickflow (flow less base) over the days of `span`, m3.
pub fn quickflow_volume_m3(flow_m3s: &[Option<f64>], base_m3s: &[Option<f64>], span: &PulseSpan) -> f64 {
    (span.onset..=span.last)
        .filter_map(|i| Some((flow_m3s[i]? - base_m3s[i]?).max(0.0) * S_PER_DAY))
        .sum()
}

/// Recession constant of consecutive daily flows: `k = exp(slope)` of the least-squares line through
/// `ln Q`; the flow falls by the factor `k` each day, and by half in `ln 0.5 / ln k` days (row S-REC).
///
/// `None` for fewer than five flows, or one that is not positive.
///
/// ```
/// let k = plungeline::conditions::pulse::recession_per_day(&[160.0, 80.0, 40.0, 20.0, 10.0]).unwrap();
/// assert!((k - 0.5).abs() < 1e-12);
/// ```
pub fn recession_per_day(flow_m3s: &[f64]) -> Option<f64> {
    if flow_m3s.len() < RECESSION_MIN_DAYS || flow_m3s.iter().any(|q| !q.is_finite() || *q <= 0.0) {
        return None;
    }
    let mean_x = (flow_m3s.len() - 1) as f64 / 2.0;
    let mean_y = flow_m3s.iter().map(|q| q.ln()).sum::<f64>() / flow_m3s.len() as f64;
    let (mut xy, mut xx) = (0.0, 0.0);
    for (i, q) in flow_m3s.iter().enumerate() {
        let x = i as f64 - mean_x;
        xy += x * (q.ln() - mean_y);
        xx += x * x;
    }
    Some((xy / xx).exp())
}

/// The running or last pulse of `flow` that touches the 30 days before `today`, among those that stand at
/// least `least_quickflow_m3s` above their base at the peak (see [`highest_ratio`]).
pub(super) fn latest_pulse(
    flow: &Daily,
    base_m3s: &[Option<f64>],
    least_quickflow_m3s: f64,
    today: NaiveDate,
) -> Option<Pulse> {
    let days = usize::try_from((today - flow.first).num_days() + 1)
        .ok()?
        .min(flow.value.len());
    let (flow_m3s, base_m3s) = (flow.value.get(..days)?, base_m3s.get(..days)?);
    let stands_out = |span: &PulseSpan| {
        let quickflow = flow_m3s[span.peak].zip(base_m3s[span.peak]).map(|(q, b)| q - b);
        quickflow.is_some_and(|q| q >= least_quickflow_m3s)
    };
    let span = find_pulses(flow_m3s, base_m3s).into_iter().rfind(stands_out)?;
    if (today - flow.date(span.last)).num_days() > 30 {
        return None;
    }
    let peak_flow = flow_m3s[span.peak]?;
    let after: Vec<f64> = flow_m3s[span.peak + 1..].iter().map_while(|q| *q).collect();
    let mut before = peak_flow;
    let falling: Vec<f64> = after
        .iter()
        .copied()
        .take(LONGEST_FALL_DAYS)
        .take_while(|q| {
            let falls = *q < before;
            before = *q;
            falls
        })
        .collect();
    Some(Pulse {
        onset: flow.date(span.onset),
        peak: flow.date(span.peak),
        peaked: flow_m3s[span.peak + 1..]
            .iter()
            .flatten()
            .next_back()
            .is_some_and(|q| *q < peak_flow),
        peak_ratio: ratio_to_base(peak_flow, base_m3s[span.peak]?),
        end: span.ended.then(|| flow.date(span.last)),
        days_since_peak: (today - flow.date(span.peak)).num_days().max(0) as f64,
        rise_days: (span.peak - span.onset) as i64,
        quickflow_volume_m3: quickflow_volume_m3(flow_m3s, base_m3s, &span),
        recession_per_day: recession_per_day(&falling),
    })
}

/// The highest ratio among the daily means of the 10 days before `today` and `now`, the flow and base of
/// this morning with their day. A small later rise does not hide a flood here, as it does in
/// [`latest_pulse`]. Flows that stand less than `least_quickflow_m3s` above their base do not count: the
/// noise of a computed discharge, and a trickle in a dry bed.
pub(super) fn highest_ratio(
    flow: &Daily,
    base_m3s: &[Option<f64>],
    now: Option<(NaiveDate, f64, f64)>,
    least_quickflow_m3s: f64,
    today: NaiveDate,
) -> Option<RatioPeak> {
    let days = (0..flow.value.len().min(base_m3s.len()))
        .filter_map(|i| Some((flow.date(i), flow.value[i]?, base_m3s[i]?)))
        .chain(now);
    days.filter(|(date, _, _)| (0..=HIGHEST_DAYS).contains(&(today - *date).num_days()))
        .filter(|(_, flow_m3s, base_m3s)| flow_m3s - base_m3s >= least_quickflow_m3s)
        .map(|(date, flow_m3s, base_m3s)| RatioPeak {
            date,
            ratio: ratio_to_base(flow_m3s, base_m3s),
        })
        .max_by(|a, b| a.ratio.total_cmp(&b.ratio))
}
