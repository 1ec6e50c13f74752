//! Tables of profiles to observations.

use chrono::{DateTime, Duration, Utc};

use super::error::InputError;
use super::input::Files;
use super::note::InputNote;
use super::observed::Observed;
use super::read_tables::{Read, read_table};
use crate::lake::{Depths, ProfileTable};
use crate::sources::csv::StampZone;
use crate::sources::stamp::Stamp;

/// Observations of a table between two instants, sorted by time and depth, each time and depth once.
pub(super) fn observed(
    table: &ProfileTable,
    (from, to): (DateTime<Utc>, DateTime<Utc>),
    files: &Files<'_>,
    notes: &mut Vec<InputNote>,
) -> Result<Vec<Observed>, InputError> {
    let all = match &table.depths {
        Depths::Long {
            depth,
            depth_scale,
            value,
        } => {
            let read = read_table(&table.table, &[depth, value], true, files, notes)?;
            long(&read, table, |depth| depth_scale.to_si(depth))
        }
        Depths::Wide(columns) => {
            let names: Vec<&str> = columns.iter().map(|(name, _)| name.as_str()).collect();
            let read = read_table(&table.table, &names, true, files, notes)?;
            let depths = columns.iter().zip(&read.columns.values);
            depths
                .flat_map(|((_, depth_m), values)| {
                    read.columns.stamps.iter().zip(values).map(|(stamp, value)| {
                        (
                            time_of(*stamp, table.day_hour_h, read.zone),
                            Some(*depth_m),
                            *value,
                        )
                    })
                })
                .collect()
        }
    };
    let (mut sound, mut without, mut beyond) = (Vec::new(), 0, 0);
    let within =
        |value: f64| table.low.is_none_or(|low| value >= low) && table.high.is_none_or(|high| value <= high);
    for (time, depth, figure) in all {
        let Some(time) = time.filter(|time| *time >= from && *time < to) else {
            continue;
        };
        let value = figure.map(|figure| table.scale.to_si(figure));
        match (depth, value) {
            (Some(depth_m), Some(value)) if within(value) => sound.push(Observed { time, depth_m, value }),
            (Some(_), Some(_)) => beyond += 1,
            _ => without += 1,
        }
    }
    let file = || table.table.file.clone();
    if without > 0 {
        notes.push(InputNote::WithoutValue {
            file: file(),
            count: without,
        });
    }
    if beyond > 0 {
        notes.push(InputNote::BeyondLimits {
            file: file(),
            count: beyond,
        });
    }
    let (one_each, merged, differing) = once(sound);
    if merged > 0 {
        notes.push(InputNote::Merged {
            file: file(),
            places: merged,
        });
    }
    if let Some((places, spread)) = differing {
        notes.push(InputNote::Contradicting {
            file: file(),
            places,
            spread,
        });
    }
    Ok(one_each)
}

type Raw = (Option<DateTime<Utc>>, Option<f64>, Option<f64>);

fn long(read: &Read, table: &ProfileTable, to_m: impl Fn(f64) -> f64) -> Vec<Raw> {
    let [depths, values] = &read.columns.values[..] else {
        return Vec::new();
    };
    let rows = read.columns.stamps.iter().zip(depths).zip(values);
    rows.map(|((stamp, depth), value)| {
        // A depth above the surface is none.
        let depth_m = depth.map(&to_m).filter(|depth_m| *depth_m >= 0.0);
        (time_of(*stamp, table.day_hour_h, read.zone), depth_m, *value)
    })
    .collect()
}

fn time_of(stamp: Stamp, day_hour_h: f64, zone: StampZone) -> Option<DateTime<Utc>> {
    match stamp {
        Stamp::Instant(instant) => Some(instant),
        Stamp::Day(day) => {
            let hour = Duration::seconds((day_hour_h * 3600.0).round() as i64);
            zone.instant(day.and_time(chrono::NaiveTime::MIN) + hour, None)
        }
    }
}

/// Each time and depth once: values that agree are one; where they differ none stays. With it how many places were
/// merged, and how many differ by how much at most.
fn once(mut all: Vec<Observed>) -> (Vec<Observed>, usize, Option<(usize, f64)>) {
    all.sort_by(|a, b| a.time.cmp(&b.time).then(a.depth_m.total_cmp(&b.depth_m)));
    let (mut kept, mut merged) = (Vec::with_capacity(all.len()), 0);
    let mut differing: Option<(usize, f64)> = None;
    for group in all.chunk_by(|a, b| a.time == b.time && a.depth_m == b.depth_m) {
        let values = || group.iter().map(|one| one.value);
        let range = values().fold(f64::NEG_INFINITY, f64::max) - values().fold(f64::INFINITY, f64::min);
        if range > 0.0 {
            let (places, spread) = differing.unwrap_or((0, 0.0));
            differing = Some((places + 1, spread.max(range)));
            continue;
        }
        merged += usize::from(group.len() > 1);
        kept.push(group[0]);
    }
    (kept, merged, differing)
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeZone as _;

    #[test]
    fn values_that_agree_are_one_and_values_that_differ_none() {
        let time = Utc.with_ymd_and_hms(2015, 1, 1, 12, 0, 0).unwrap();
        let at = |depth_m, value| Observed { time, depth_m, value };
        let all = vec![
            at(5.0, 4.0),
            at(1.0, 3.0),
            at(5.0, 4.0),
            at(1.0, 13.0),
            at(2.0, 3.5),
        ];
        let (kept, merged, differing) = once(all);
        assert_eq!(kept, [at(2.0, 3.5), at(5.0, 4.0)]);
        assert_eq!((merged, differing), (1, Some((1, 10.0))));
    }
}
