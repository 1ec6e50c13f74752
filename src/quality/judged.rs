//! A series while test after test looks at it.

use chrono::Datelike;

use super::aggregate::stronger;
use super::climatology::check_climatology;
use super::flat::check_flat;
use super::partner::{Side, check_expected, check_side};
use super::range::{Span, check_gross_range};
use super::rate::{FactorLimits, check_factor, check_rate};
use super::record::{Record, Sequence, quartiles};
use super::spike::{Limits, check_plateau, check_spike_in_turn};
use super::thresholds::{SeriesThresholds, SpikeScale, Thresholds};
use crate::lake::{Lake, SeriesSource};
use crate::math::quantiles::quantile_nearest_rank;
use crate::quantity::Quantity;
use crate::series::{Flag, Observation};
use crate::units::S_PER_DAY;

const S_PER_H: f64 = 3600.0;
const MM_PER_M: f64 = 1000.0;

/// A sequence while test after test looks at it; what fails is left out for the tests that follow.
pub(super) struct Judged {
    sequence: Sequence,
    /// Flags so far.
    pub(super) flags: Vec<Flag>,
    record: Option<Record>,
}

impl Judged {
    pub(super) fn new(mut sequence: Sequence) -> Judged {
        let mut flags: Vec<Flag> = sequence.values.iter().map(|value| base_flag(*value)).collect();
        for (flag, value) in flags.iter_mut().zip(&mut sequence.values) {
            if value.is_some_and(|v| !v.is_finite()) {
                *flag = Flag::Fail;
                *value = None;
            }
        }
        Judged {
            sequence,
            flags,
            record: None,
        }
    }

    /// Takes in the flags of one test. Values left out before are not touched.
    fn take(&mut self, found: &[Flag]) {
        for ((flag, value), found) in self.flags.iter_mut().zip(&mut self.sequence.values).zip(found) {
            if value.is_some() {
                *flag = stronger(*flag, *found);
                if *found == Flag::Fail {
                    *value = None;
                }
            }
        }
    }

    fn spans(&mut self, fail: Span, suspect: Span) {
        if fail != Span::ALL || suspect != Span::ALL {
            self.take(&check_gross_range(&self.sequence.values, fail, suspect));
        }
    }

    /// Spans that need no history.
    pub(super) fn fixed_spans(&mut self, table: &SeriesThresholds, source: &SeriesSource, lake: &Lake) {
        let mut fail = Span::new(table.fail_min, table.fail_max);
        let mut suspect = Span::new(table.suspect_min, table.suspect_max);
        let bed_m = lake
            .hypsography
            .as_ref()
            .and_then(|h| h.elevation_m.first().copied());
        let floor_m = table
            .fail_below_minimum_pool
            .map(|below_m| (lake.minimum_pool_elevation_m - below_m).max(bed_m.unwrap_or(f64::NEG_INFINITY)));
        let ceiling_m = table
            .fail_above_full_pool
            .map(|above_m| lake.full_pool_elevation_m + above_m);
        fail = fail.and(Span::new(floor_m, ceiling_m));
        if source.quantity == Quantity::Evaporation
            && let Some(area_m2) = full_pool_area_m2(lake)
        {
            let flow = |depth_mm: f64| depth_mm / MM_PER_M * area_m2 / S_PER_DAY;
            let within = |depth_mm: Option<f64>| Span::new(depth_mm.map(|d| -flow(d)), depth_mm.map(flow));
            fail = fail.and(within(table.fail_beyond_depth_mm_per_day));
            suspect = suspect.and(within(table.suspect_beyond_depth_mm_per_day));
        }
        self.spans(fail, suspect);
    }

    pub(super) fn quartile_fence(&mut self, table: &SeriesThresholds) {
        let (fail, suspect) = (table.fail_beyond_quartiles, table.suspect_beyond_quartiles);
        if fail.is_none() && suspect.is_none() {
            return;
        }
        let Some((lower, upper)) = quartiles(&self.sequence.values) else {
            return;
        };
        let fence = |times: Option<f64>| {
            Span::new(
                times.map(|t| lower - t * (upper - lower)),
                times.map(|t| upper + t * (upper - lower)),
            )
        };
        self.spans(fence(fail), fence(suspect));
    }

    pub(super) fn spikes(&mut self, table: &SeriesThresholds, reach_h: f64) {
        let Some((suspect, fail)) = table.spike_suspect.zip(table.spike_fail) else {
            return;
        };
        let limits = Limits { suspect, fail };
        if let Some(longest) = table.spike_plateau_values {
            let (time_h, values) = (&self.sequence.time_h, &self.sequence.values);
            let found = check_plateau(time_h, values, limits, longest, reach_h);
            self.take(&found);
        }
        let (time_h, values) = (&self.sequence.time_h, &self.sequence.values);
        let found = match table.spike_scale {
            SpikeScale::Linear => check_spike_in_turn(time_h, values, limits, reach_h),
            SpikeScale::Log10 => {
                let log = |value: &Option<f64>| value.filter(|v| *v > 0.0).map(f64::log10);
                let logs: Vec<Option<f64>> = values.iter().map(log).collect();
                let mut found = check_spike_in_turn(time_h, &logs, limits, reach_h);
                // A flow of zero is there, but has no logarithm.
                found
                    .iter_mut()
                    .filter(|f| **f == Flag::Missing)
                    .for_each(|f| *f = Flag::NotEvaluated);
                found
            }
        };
        self.take(&found);
    }

    pub(super) fn against_record(
        &mut self,
        table: &SeriesThresholds,
        thresholds: &Thresholds,
        daily: &[Observation],
    ) {
        let with_seasons = table.suspect_beyond_season.is_some();
        let needed = with_seasons
            || table.suspect_beyond_record.is_some()
            || table.fail_above_peak_times.is_some()
            || table.suspect_above_peak_times.is_some()
            || table.suspect_below_least_times.is_some()
            || table.rate_suspect_sd.is_some()
            || table.flat_only_above_median;
        if !needed {
            return;
        }
        let record = |s: &Sequence| Record::of(s, thresholds.history, table.record_leaves_out, with_seasons);
        self.record = record(&self.sequence).or_else(|| {
            let daily = daily.iter().filter(|row| row.flag != Flag::Fail);
            table
                .history_from_daily
                .then(|| sequence(daily))
                .and_then(|daily| record(&daily))
        });
        let Some(record) = &self.record else { return };
        let beyond = table.suspect_beyond_record;
        let fail = Span::new(None, table.fail_above_peak_times.map(|times| times * record.peak));
        let suspect =
            Span::new(beyond.map(|b| record.least - b), beyond.map(|b| record.peak + b)).and(Span::new(
                table.suspect_below_least_times.map(|times| times * record.least),
                table.suspect_above_peak_times.map(|times| times * record.peak),
            ));
        let seasons = record.seasons.clone();
        self.spans(fail, suspect);
        if let Some((seasons, margin)) = seasons.zip(table.suspect_beyond_season) {
            self.take(&check_climatology(
                &self.sequence.day,
                &self.sequence.values,
                &seasons,
                margin,
            ));
        }
    }

    pub(super) fn changes(&mut self, table: &SeriesThresholds, reach_h: f64) {
        let daily = table.rate_suspect_per_day.map(|fixed| {
            let sd = self.record.as_ref().and_then(|record| record.change_sd_per_day);
            let usual = table
                .rate_suspect_sd
                .zip(sd)
                .map_or(0.0, |(times, sd)| times * sd);
            fixed.max(usual) / 24.0
        });
        if let Some(limit) = table.rate_suspect_per_h.or(daily) {
            self.take(&check_rate(&self.sequence.time_h, &self.sequence.values, limit));
        }
        let (up, down) = (
            table.rate_suspect_factor_up_per_h,
            table.rate_suspect_factor_down_per_h,
        );
        if let Some((up_per_h, down_per_h)) = up.zip(down) {
            let limits = FactorLimits { up_per_h, down_per_h };
            self.take(&check_factor(
                &self.sequence.time_h,
                &self.sequence.values,
                limits,
                reach_h,
            ));
        }
    }

    pub(super) fn stuck(&mut self, table: &SeriesThresholds) {
        let (Some(suspect), Some(fail), Some(within)) =
            (table.flat_suspect_h, table.flat_fail_h, table.flat_within)
        else {
            return;
        };
        let values = &self.sequence.values;
        let mut found = check_flat(&self.sequence.time_h, values, Limits { suspect, fail }, within);
        let above = table.flat_only_above_median.then(|| {
            let median = self.record.as_ref().map(|record| record.median);
            // Without a record, of the values themselves.
            median.or_else(|| {
                let mut present: Vec<f64> = values.iter().flatten().copied().collect();
                quantile_nearest_rank(&mut present, 0.5)
            })
        });
        for (flag, value) in found.iter_mut().zip(values) {
            let Some(value) = *value else { continue };
            let counts = table.flat_only_at.is_none_or(|at| value == at)
                && above.flatten().is_none_or(|median| value > median);
            if !counts {
                *flag = Flag::Pass;
            }
        }
        self.take(&found);
    }

    pub(super) fn against_partner(&mut self, table: &SeriesThresholds, partner: &[Option<f64>]) {
        let sides = [
            (table.suspect_above_partner, Side::NotAbove),
            (table.suspect_below_partner, Side::NotBelow),
        ];
        for (margin, side) in sides {
            if let Some(margin) = margin {
                self.take(&check_side(&self.sequence.values, partner, side, margin));
            }
        }
        if let Some(share) = table.suspect_off_table_frac {
            self.take(&check_expected(&self.sequence.values, partner, share));
        }
    }
}

/// The flag of a value before any test.
pub(super) fn base_flag(value: Option<f64>) -> Flag {
    if value.is_some() {
        Flag::NotEvaluated
    } else {
        Flag::Missing
    }
}

/// Times and values of rows.
pub(super) fn sequence<'a>(rows: impl Iterator<Item = &'a Observation>) -> Sequence {
    let length = rows.size_hint().0;
    let mut sequence = Sequence {
        time_h: Vec::with_capacity(length),
        day: Vec::with_capacity(length),
        values: Vec::with_capacity(length),
    };
    for row in rows {
        sequence.time_h.push(row.time.timestamp() as f64 / S_PER_H);
        sequence.day.push(row.time.ordinal0() as usize);
        sequence.values.push(row.value);
    }
    sequence
}

fn full_pool_area_m2(lake: &Lake) -> Option<f64> {
    lake.hypsography.as_ref()?.area_m2(lake.full_pool_elevation_m)
}
