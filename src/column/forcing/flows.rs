//! From records of rivers, releases and the level to each step.

use super::RiverFlow;
use super::record::{ForcingError, Steps, Track, believed, filled, no_shape};
use crate::math::span_means::{Curve, SpanRow};

/// A record of one quantity of the water: means over spans, or instants between which it runs straight.
#[derive(Debug, Clone, PartialEq)]
pub enum FlowRecord {
    /// Means over spans.
    Means(Track),
    /// Instants.
    Instants {
        /// Seconds since the start, and value, in order of time.
        points: Vec<(f64, f64)>,
        /// Longest time between two of them that is bridged.
        longest_gap_s: f64,
    },
}

/// Records of a river.
#[derive(Debug, Clone, PartialEq)]
pub struct RiverTracks {
    /// Discharge, m3/s.
    pub discharge: FlowRecord,
    /// Temperature, degC.
    pub temp: FlowRecord,
    /// Dissolved oxygen, mg/L.
    pub oxygen: Option<FlowRecord>,
}

/// What of a flow is not as it was given.
#[derive(Debug, Clone, PartialEq)]
pub enum FlowNote {
    /// Gaps were filled or rows lie apart: so many, so many hours in all.
    Filled {
        /// Quantity and place.
        what: String,
        /// How many gaps.
        gaps: usize,
        /// Their hours in all.
        length_h: f64,
    },
    /// Values below 0 (fresh water is ice below 0 degC; a reckoned flow may be negative) count as 0.
    BelowZero {
        /// Quantity and place.
        what: String,
        /// How many rows.
        rows: usize,
        /// The lowest.
        least: f64,
    },
}

/// Limits beyond which a value is not believed (project choice): the Amazon's flow, boiling water, oxygen.
const FLOW_LIMITS_M3S: (f64, f64) = (-3e5, 3e5);
const TEMP_LIMITS_DEGC: (f64, f64) = (-5.0, 50.0);
const OXYGEN_LIMITS_MG_L: (f64, f64) = (0.0, 40.0);
/// And of levels: those of the lake file's elevations.
const LEVEL_LIMITS_M: (f64, f64) = (-7500.0, 14_000.0);

/// How a quantity is put on the steps.
#[derive(Clone, Copy)]
struct Manner {
    limits: (f64, f64),
    /// Whether what is below 0 counts as 0.
    from_zero: bool,
    /// Whether means are rounded off into a curve, or stay even over their span.
    curved: bool,
}

/// Flow, temperature and oxygen of a river step by step; `name` is the river's.
///
/// # Errors
/// [`ForcingError`].
pub fn river_steps(
    name: &str,
    river: &RiverTracks,
    steps: Steps,
    notes: &mut Vec<FlowNote>,
) -> Result<Vec<RiverFlow>, ForcingError> {
    let discharge = Manner {
        limits: FLOW_LIMITS_M3S,
        from_zero: true,
        curved: false,
    };
    let temp = Manner {
        limits: TEMP_LIMITS_DEGC,
        from_zero: true,
        curved: true,
    };
    let oxygen = Manner {
        limits: OXYGEN_LIMITS_MG_L,
        from_zero: true,
        curved: true,
    };
    let flow_m3s = at_steps(
        &format!("discharge of {name}"),
        &river.discharge,
        steps,
        discharge,
        notes,
    )?;
    let temp_degc = at_steps(&format!("temp of {name}"), &river.temp, steps, temp, notes)?;
    let oxygen_mg_l = match &river.oxygen {
        Some(record) => Some(at_steps(
            &format!("oxygen of {name}"),
            record,
            steps,
            oxygen,
            notes,
        )?),
        None => None,
    };
    let steps = (0..steps.count).map(|k| RiverFlow {
        discharge_m3s: flow_m3s[k],
        temp_degc: temp_degc[k],
        oxygen_mg_l: oxygen_mg_l.as_ref().map(|oxygen| oxygen[k]),
    });
    Ok(steps.collect())
}

/// Release of an outlet step by step, m3/s.
///
/// # Errors
/// [`ForcingError`].
pub fn release_steps(
    outlet: &str,
    record: &FlowRecord,
    steps: Steps,
    notes: &mut Vec<FlowNote>,
) -> Result<Vec<f64>, ForcingError> {
    let manner = Manner {
        limits: FLOW_LIMITS_M3S,
        from_zero: true,
        curved: false,
    };
    at_steps(&format!("release of {outlet}"), record, steps, manner, notes)
}

/// Level at the end of each step, m: straight between instants, or between the middles of means.
///
/// # Errors
/// [`ForcingError`].
pub fn level_steps(
    record: &FlowRecord,
    steps: Steps,
    notes: &mut Vec<FlowNote>,
) -> Result<Vec<f64>, ForcingError> {
    let what = "level";
    let curve = match record {
        FlowRecord::Means(track) => {
            let points = track
                .rows
                .iter()
                .filter_map(|row| Some((0.5 * (row.from + row.to), row.value?)));
            let (points, longest_gap_s): (Vec<_>, f64) =
                (points.collect(), track.longest_gap_s.max(track.step_s));
            straight(what, &points, longest_gap_s, steps, LEVEL_LIMITS_M, notes)?
        }
        FlowRecord::Instants {
            points,
            longest_gap_s,
        } => straight(what, points, *longest_gap_s, steps, LEVEL_LIMITS_M, notes)?,
    };
    Ok((0..steps.count)
        .map(|k| curve.value(steps.step_s * (k + 1) as f64))
        .collect())
}

fn at_steps(
    what: &str,
    record: &FlowRecord,
    steps: Steps,
    manner: Manner,
    notes: &mut Vec<FlowNote>,
) -> Result<Vec<f64>, ForcingError> {
    match record {
        FlowRecord::Means(track) => {
            believed(what, &track.rows, steps, manner.limits)?;
            let mut track = track.clone();
            if manner.from_zero {
                let values = track.rows.iter_mut().filter_map(|row| row.value.as_mut());
                raise(what, values, notes);
            }
            let (spans, gaps) = filled(what, &track, steps, &no_shape, 0.0)?;
            if gaps.gaps > 0 {
                notes.push(FlowNote::Filled {
                    what: what.to_owned(),
                    gaps: gaps.gaps,
                    length_h: gaps.length / 3600.0,
                });
            }
            let curve: Curve = if manner.curved {
                spans.curve((0.0, f64::INFINITY))
            } else {
                spans.flat()
            };
            let means = curve.steps(0.0, steps.step_s, steps.count);
            means.ok_or_else(|| empty(what, steps))
        }
        FlowRecord::Instants {
            points,
            longest_gap_s,
        } => {
            let mut points = points.clone();
            let rows: Vec<SpanRow> = points
                .iter()
                .map(|&(from, value)| SpanRow {
                    from,
                    to: from,
                    value: Some(value),
                })
                .collect();
            believed(what, &rows, steps, manner.limits)?;
            if manner.from_zero {
                raise(what, points.iter_mut().map(|point| &mut point.1), notes);
            }
            let lines = straight(what, &points, *longest_gap_s, steps, manner.limits, notes)?;
            Ok((0..steps.count)
                .map(|k| lines.mean(steps.step_s * k as f64, steps.step_s * (k + 1) as f64))
                .collect())
        }
    }
}

fn empty(what: &str, steps: Steps) -> ForcingError {
    ForcingError::Empty {
        what: what.to_owned(),
        from: steps.start,
        to: steps.instant(steps.end_s()),
    }
}

/// Raises what is below 0 to it, and counts.
fn raise<'v>(what: &str, values: impl Iterator<Item = &'v mut f64>, notes: &mut Vec<FlowNote>) {
    let (mut rows, mut least) = (0, 0.0_f64);
    for value in values.filter(|value| **value < 0.0) {
        rows += 1;
        least = least.min(*value);
        *value = 0.0;
    }
    if rows > 0 {
        notes.push(FlowNote::BelowZero {
            what: what.to_owned(),
            rows,
            least,
        });
    }
}

/// Straight lines through points; constant beyond them.
struct Lines {
    /// Time, s, and value.
    points: Vec<(f64, f64)>,
    /// Integral up to each point.
    sums: Vec<f64>,
}

/// Lines through the points, after a look at the gaps between them and at both ends.
fn straight(
    what: &str,
    points: &[(f64, f64)],
    longest_gap_s: f64,
    steps: Steps,
    limits: (f64, f64),
    notes: &mut Vec<FlowNote>,
) -> Result<Lines, ForcingError> {
    let mut points = points.to_vec();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let end_s = steps.end_s();
    let outside = |&&(_, value): &&(f64, f64)| !(limits.0..=limits.1).contains(&value);
    if let Some(&(at, value)) = points.iter().find(outside) {
        return Err(ForcingError::Unbelievable {
            what: what.to_owned(),
            at: steps.instant(at),
            value,
            low: limits.0,
            high: limits.1,
        });
    }
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return Err(empty(what, steps));
    };
    let ends = [(0.0, first.0), (last.0, end_s)];
    let between = points.windows(2).map(|pair| (pair[0].0, pair[1].0));
    for (from, to) in ends.into_iter().chain(between) {
        let (inside_from, inside_to) = (from.max(0.0), to.min(end_s));
        if to - from > longest_gap_s + 1.0 && inside_to > inside_from {
            return Err(ForcingError::Gap {
                what: what.to_owned(),
                from: steps.instant(from),
                to: steps.instant(to),
                longest_h: longest_gap_s / 3600.0,
            });
        }
    }
    if let Some(pair) = points.windows(2).find(|pair| pair[1].0 <= pair[0].0) {
        return Err(ForcingError::Overlap {
            what: what.to_owned(),
            at: steps.instant(pair[1].0),
        });
    }
    count_apart(what, &points, end_s, notes);
    let mut sums = vec![0.0];
    for pair in points.windows(2) {
        let part = 0.5 * (pair[0].1 + pair[1].1) * (pair[1].0 - pair[0].0);
        sums.push(sums[sums.len() - 1] + part);
    }
    Ok(Lines { points, sums })
}

/// Counts distances of more than twice the usual one, the median.
fn count_apart(what: &str, points: &[(f64, f64)], end_s: f64, notes: &mut Vec<FlowNote>) {
    let mut apart: Vec<f64> = points
        .windows(2)
        .filter(|pair| pair[1].0 > 0.0 && pair[0].0 < end_s)
        .map(|pair| pair[1].0 - pair[0].0)
        .collect();
    apart.sort_by(f64::total_cmp);
    let Some(&usual_s) = apart.get(apart.len() / 2) else {
        return;
    };
    let wide: Vec<f64> = apart
        .into_iter()
        .filter(|length| *length > 1.5 * usual_s)
        .collect();
    if !wide.is_empty() {
        notes.push(FlowNote::Filled {
            what: what.to_owned(),
            gaps: wide.len(),
            length_h: wide.iter().map(|length| length - usual_s).sum::<f64>() / 3600.0,
        });
    }
}

impl Lines {
    fn value(&self, at_s: f64) -> f64 {
        // There is a point, as `straight` makes sure.
        crate::math::interpolate::linear_pairs(&self.points, at_s).unwrap_or(f64::NAN)
    }

    /// Integral from the first point to `at_s`.
    fn integral(&self, at_s: f64) -> f64 {
        let after = self.points.partition_point(|point| point.0 <= at_s);
        let Some(before) = after.checked_sub(1) else {
            return (at_s - self.points[0].0) * self.points[0].1;
        };
        let (from, value) = self.points[before];
        self.sums[before] + 0.5 * (value + self.value(at_s)) * (at_s - from)
    }

    fn mean(&self, from_s: f64, to_s: f64) -> f64 {
        (self.integral(to_s) - self.integral(from_s)) / (to_s - from_s)
    }
}
