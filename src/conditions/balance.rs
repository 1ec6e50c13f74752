//! Inflow from the lake's own water balance, and levels through a hole in their record.

use polars::prelude::{Expr, IntoLazy, PolarsResult, RollingOptionsFixedWindow, col, lit};

use crate::lake::Hypsography;
use crate::math::interpolate::linear_inside;
use crate::series::Daily;
use crate::series::daily::aligned_frame;
use crate::units::S_PER_DAY;

/// Evaporation a day that no lake exceeds, metres (from memory: open water in deserts loses about 10 to
/// 15 mm on the hottest days). Outside 0 to this, a reported evaporation is not believed.
pub(super) const HIGHEST_EVAPORATION_M: f64 = 0.015;
/// Mean depth that no storage reservoir falls below, metres (project choice): with it the storage bounds
/// the area, and so the evaporation, of a lake without hypsography.
const LOWEST_MEAN_DEPTH_M: f64 = 5.0;

/// Storage at a level; `None` outside the table.
///
/// Where the file gives volumes, by straight lines between them: operators read their storage tables so,
/// hence a reported storage and its change agree with it (row S-MB-S). Where it gives areas alone nobody has
/// such a table, and between rows the line would say more than the areas do by an eighth of the gain in area
/// times the step; then it is [`Hypsography::volume_m3`], the integral of an area that is linear between
/// rows. Both meet at the rows. Habitat, which needs area and volume of one shape, always takes the integral.
pub fn storage_at_m3(table: &Hypsography, elevation_m: f64) -> Option<f64> {
    if table.volume_given {
        linear_inside(&table.elevation_m, &table.volume_m3, elevation_m)
    } else {
        table.volume_m3(elevation_m)
    }
}

/// Level at a storage, the inverse of [`storage_at_m3`]; `None` outside the table. Where the storage is the
/// same over several rows, the highest of them (given volumes) or the lowest (areas alone).
pub fn elevation_at_m(table: &Hypsography, storage_m3: f64) -> Option<f64> {
    if table.volume_given {
        linear_inside(&table.volume_m3, &table.elevation_m, storage_m3)
    } else {
        table.elevation_m(storage_m3)
    }
}

/// Standard deviation of the inferred inflow from the reading error of the level alone.
///
/// `sqrt(2) sigma_h A / (n dt)`: the errors of a mean over `n` days telescope to those of its two ends, so
/// that it falls as `n`, not as its root (series-and-skill 3.4; rows S-MB-sig, S-MB-sig7).
///
/// ```
/// use plungeline::units::{M2_PER_ACRE, M3S_PER_CFS, M_PER_FT};
/// let sd_m3s = plungeline::conditions::balance::inflow_noise_m3s(0.02 * M_PER_FT, 4250.0 * M2_PER_ACRE, 1);
/// assert!((sd_m3s / M3S_PER_CFS - 60.60494).abs() < 1e-4); // row S-MB-sig
/// ```
pub fn inflow_noise_m3s(level_sd_m: f64, area_m2: f64, days: u32) -> f64 {
    std::f64::consts::SQRT_2 * level_sd_m * area_m2 / (f64::from(days.max(1)) * S_PER_DAY)
}

/// What the value of a day stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DayValue {
    /// The reading at the end of the day.
    EndOfDay,
    /// The mean of the day, which is the state at its noon.
    Mean,
}

/// Inflow that the balance of each day wants, m3/s: negative values are noise, and stay.
///
/// ```text
/// I_i = dS_i / dt + release + evaporation
/// dS_i = S_i - S_(i-1)              S: storage at the end of the day
/// dS_i = (S_(i+1) - S_(i-1)) / 2    S: mean storage of the day
/// ```
///
/// The difference of two day means is the change from noon to noon, half of it of the day before; the mean
/// of a day's two such differences has the day's noon in its middle. So the newest day mean has no inflow.
///
/// `evaporation_m3s` is a flow; a day without it counts as without evaporation, and so does a day whose
/// evaporation no lake can have (it is a fault of the record, and would pass for a flood). A day without
/// storage at either end or without release has no inflow. `None` when no day has one.
pub fn inferred_inflow(
    storage_m3: &Daily,
    storage_is: DayValue,
    release_m3s: &Daily,
    evaporation_m3s: Option<&Daily>,
) -> Option<Daily> {
    let believed = evaporation_m3s.map(|e| believable_evaporation(e, storage_m3));
    let nothing = Daily::new(storage_m3.first, Vec::new());
    let columns = [
        ("storage_m3", storage_m3),
        ("release_m3s", release_m3s),
        ("evaporation_m3s", believed.as_ref().unwrap_or(&nothing)),
    ];
    let (from, to, days) = match storage_is {
        DayValue::EndOfDay => (1, 0, 1.0),
        DayValue::Mean => (1, -1, 2.0),
    };
    let storage_m3 = |shift: i32| col("storage_m3").shift(lit(shift));
    let storage_change_m3s = (storage_m3(to) - storage_m3(from)) / lit(days * S_PER_DAY);
    let inflow_m3s = storage_change_m3s + col("release_m3s") + col("evaporation_m3s").fill_null(lit(0.0));
    by_day(&columns, inflow_m3s)
}

/// Centred mean over `days` (3 or 7); a mean needs all but one of its days. At both ends of the record,
/// where the window is cut, there is none. Negative values are averaged in, not clipped.
pub fn centred_mean(series: &Daily, days: usize) -> Option<Daily> {
    let days = days.max(1);
    let window = RollingOptionsFixedWindow {
        window_size: days,
        min_periods: days.saturating_sub(1).max(1),
        center: true,
        ..Default::default()
    };
    let mut mean = by_day(&[("inflow_m3s", series)], col("inflow_m3s").rolling_mean(window))?;
    let (half, length) = (days / 2, mean.value.len());
    mean.value[..half.min(length)].fill(None);
    mean.value[length.saturating_sub(half)..].fill(None);
    mean.value.iter().any(Option::is_some).then_some(mean)
}

/// The expression `wanted` over the aligned columns as a daily series; `None` when it has no value.
fn by_day(columns: &[(&str, &Daily)], wanted: Expr) -> Option<Daily> {
    let table = || -> PolarsResult<(Option<i32>, Vec<Option<f64>>)> {
        let frame = aligned_frame(columns)?
            .lazy()
            .select([col("day"), wanted.alias("wanted")])
            .collect()?;
        let first_day = frame.column("day")?.i32()?.get(0);
        Ok((first_day, frame.column("wanted")?.f64()?.iter().collect()))
    };
    let (first_day, value) =
        table().expect("the columns have different names, one length and one type, all made in this file");
    let first =
        chrono::NaiveDate::default().checked_add_signed(chrono::Duration::days(i64::from(first_day?)))?;
    value
        .iter()
        .any(Option::is_some)
        .then(|| Daily::new(first, value))
}

/// `evaporation_m3s` without the days that no lake of the day's storage can have.
fn believable_evaporation(evaporation_m3s: &Daily, storage_m3: &Daily) -> Daily {
    let mut believed = evaporation_m3s.clone();
    for i in 0..believed.value.len() {
        let highest_m3s = storage_m3
            .get(believed.date(i))
            .map(|s| s / LOWEST_MEAN_DEPTH_M * HIGHEST_EVAPORATION_M / S_PER_DAY);
        believed.value[i] = believed.value[i].filter(|e| *e >= 0.0 && highest_m3s.is_none_or(|h| *e <= h));
    }
    believed
}

/// Longest hole in the level that the balance bridges, days (project choice, series-and-skill 2).
const LONGEST_BALANCE_HOLE_DAYS: usize = 7;

/// Fills holes of up to 7 days in the level by the balance of inflow and release, and marks them filled.
///
/// The storage is carried from the last level before the hole by `inflow - release`, from noon to noon where
/// the levels are day means; what it misses at the first level after the hole is spread evenly over the
/// days. A hole with a day without flows, or one that leads out of the table, stays.
pub fn fill_level_by_balance(
    level_m: &mut Daily,
    level_is: DayValue,
    table: &Hypsography,
    inflow_m3s: &Daily,
    release_m3s: &Daily,
) {
    let mut i = 1;
    while i < level_m.value.len() {
        if level_m.value[i].is_some() || !level_m.is_measured(i - 1) {
            i += 1;
            continue;
        }
        let Some(after) = (i..level_m.value.len()).find(|&j| level_m.value[j].is_some()) else {
            return;
        };
        if after - i <= LONGEST_BALANCE_HOLE_DAYS
            && level_m.is_measured(after)
            && let Some(bridge) = bridge(
                level_m,
                level_is,
                (i - 1, after),
                table,
                (inflow_m3s, release_m3s),
            )
        {
            for (k, value) in bridge.into_iter().enumerate() {
                level_m.value[i + k] = Some(value);
                level_m.filled[i + k] = true;
            }
        }
        i = after + 1;
    }
}

/// Levels of the days strictly between the entries `ends`.
fn bridge(
    level_m: &Daily,
    level_is: DayValue,
    ends: (usize, usize),
    table: &Hypsography,
    flows_m3s: (&Daily, &Daily),
) -> Option<Vec<f64>> {
    let (before, after) = ends;
    let start_m3 = storage_at_m3(table, level_m.value[before]?)?;
    let end_m3 = storage_at_m3(table, level_m.value[after]?)?;
    let net_of_day_m3s = |day: usize| {
        let date = level_m.date(day);
        Some(flows_m3s.0.get(date)? - flows_m3s.1.get(date)?)
    };
    let mut carried_m3 = vec![start_m3];
    for day in before + 1..=after {
        let net_m3s = match level_is {
            DayValue::EndOfDay => net_of_day_m3s(day)?,
            DayValue::Mean => f64::midpoint(net_of_day_m3s(day - 1)?, net_of_day_m3s(day)?),
        };
        carried_m3.push(carried_m3.last()? + net_m3s * S_PER_DAY);
    }
    let days = (after - before) as f64;
    let missed_m3 = end_m3 - carried_m3.last()?;
    let inner = carried_m3.len() - 1;
    (1..inner)
        .map(|k| elevation_at_m(table, carried_m3[k] + missed_m3 * k as f64 / days))
        .collect()
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;

    fn first() -> NaiveDate {
        NaiveDate::from_ymd_opt(2025, 7, 1).unwrap()
    }

    fn table() -> Hypsography {
        // A box of 1 km2.
        Hypsography {
            elevation_m: vec![0.0, 100.0],
            area_m2: vec![1e6, 1e6],
            volume_m3: vec![0.0, 1e8],
            volume_given: false,
        }
    }

    #[test]
    fn straight_lines_are_for_given_volumes_and_the_integral_for_areas_alone() {
        // Areas of 1 and 3 km2, 8 m apart: by the line half of 16 hm3, by the integral 4 (1 + 2) / 2 = 6 hm3.
        let areas = Hypsography::from_areas(vec![100.0, 108.0], vec![1e6, 3e6]);
        let volumes = Hypsography {
            volume_given: true,
            ..areas.clone()
        };
        assert_eq!(storage_at_m3(&volumes, 104.0), Some(8e6));
        assert_eq!(storage_at_m3(&areas, 104.0), Some(6e6));
        assert_eq!(
            8e6 - 6e6,
            (3e6 - 1e6) * 8.0 / 8.0,
            "an eighth of the gain times the step"
        );
        for table in [&areas, &volumes] {
            for elevation_m in [100.0, 104.0, 108.0] {
                let storage_m3 = storage_at_m3(table, elevation_m).unwrap();
                let back_m = elevation_at_m(table, storage_m3).unwrap();
                assert!((back_m - elevation_m).abs() < 1e-9, "{back_m} {elevation_m}");
            }
            assert_eq!(storage_at_m3(table, 108.0), Some(16e6));
        }
    }

    #[test]
    fn an_evaporation_that_no_lake_can_have_does_not_become_a_flood() {
        let storage = Daily::new(first(), vec![Some(4e8); 4]);
        let release = Daily::new(first(), vec![Some(30.0); 4]);
        let evaporation = Daily::new(first(), vec![Some(2.0), Some(454.0), Some(-232.0), Some(2.0)]);
        let inflow = inferred_inflow(&storage, DayValue::EndOfDay, &release, Some(&evaporation)).unwrap();
        assert_eq!(inflow.value, vec![None, Some(30.0), Some(30.0), Some(32.0)]);
    }

    #[test]
    fn the_inflow_of_day_means_is_centred_on_its_day() {
        // A day of 8 m3/s, the third of five, into a closed lake. At the ends of the days 0, 0, 8, 8, 8 of its
        // day's volumes are in; on average of the days 0, 0, 4, 8, 8.
        let storage = |volumes: [f64; 5]| Daily::new(first(), volumes.map(|v| Some(v * S_PER_DAY)).to_vec());
        let closed = Daily::new(first(), vec![Some(0.0); 5]);
        let of = |volumes, is| {
            inferred_inflow(&storage(volumes), is, &closed, None)
                .unwrap()
                .value
        };
        assert_eq!(
            of([0.0, 0.0, 8.0, 8.0, 8.0], DayValue::EndOfDay),
            vec![None, Some(0.0), Some(8.0), Some(0.0), Some(0.0)]
        );
        // By hand: (4 - 0) / 2, (8 - 0) / 2, (8 - 4) / 2: the day is in the middle, and none of its water lost.
        assert_eq!(
            of([0.0, 0.0, 4.0, 8.0, 8.0], DayValue::Mean),
            vec![None, Some(2.0), Some(4.0), Some(2.0), None]
        );
    }

    #[test]
    fn noise_is_averaged_and_not_clipped() {
        let noisy = Daily::new(
            first(),
            vec![Some(10.0), Some(-20.0), Some(40.0), Some(-20.0), Some(10.0)],
        );
        let mean = centred_mean(&noisy, 3).unwrap();
        assert_eq!(mean.value, vec![None, Some(10.0), Some(0.0), Some(10.0), None]);
    }

    #[test]
    fn the_balance_carries_a_level_through_a_hole_and_closes_at_its_end() {
        let mut level = Daily::new(first(), vec![Some(50.0), None, None, Some(53.0)]);
        let steady = |v: f64| Daily::new(first(), vec![Some(v); 4]);
        // 1 m a day on 1 km2, all of it on the second day: the line would say 51, 52.
        let mut inflow = steady(0.0);
        inflow.value[1] = Some(3e6 / 86_400.0);
        let hole = level.clone();
        let near = |level: &Daily, wanted: [f64; 4]| {
            for (found, wanted) in level.value.iter().zip(wanted) {
                assert!((found.unwrap() - wanted).abs() < 1e-9, "{level:?} {wanted}");
            }
        };
        fill_level_by_balance(&mut level, DayValue::EndOfDay, &table(), &inflow, &steady(0.0));
        near(&level, [50.0, 53.0, 53.0, 53.0]);
        assert_eq!(level.filled, vec![false, true, true, false]);
        // As day means: half of the second day's water is in by its noon.
        let mut level = hole;
        fill_level_by_balance(&mut level, DayValue::Mean, &table(), &inflow, &steady(0.0));
        near(&level, [50.0, 51.5, 53.0, 53.0]);
    }

    #[test]
    fn a_hole_without_flows_or_longer_than_a_week_stays() {
        let mut level = Daily::new(first(), vec![Some(50.0), None, Some(51.0)]);
        let none = Daily::new(first(), vec![None; 3]);
        fill_level_by_balance(&mut level, DayValue::EndOfDay, &table(), &none, &none);
        assert_eq!(level.value[1], None);
        let mut value = vec![None; 10];
        value[0] = Some(50.0);
        value[9] = Some(50.0);
        let mut level = Daily::new(first(), value);
        let flows = Daily::new(first(), vec![Some(1.0); 10]);
        fill_level_by_balance(&mut level, DayValue::EndOfDay, &table(), &flows, &flows);
        assert_eq!(level.value[5], None);
    }
}
