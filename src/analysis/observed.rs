//! Readings of the water among the series: surfaces, casts and gauges, one a day and depth, as the columns take them up.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, NaiveDate, Utc};

use crate::clock::LakeClock;
use crate::column::assimilate::{WaterField, WaterObservation};
use crate::column::network::Layout;
use crate::lake::{Cadence, Lake, SeriesPlace, SeriesSource, ZoneId};
use crate::quantity::Quantity;
use crate::series::{Observation, SeriesSet};
use crate::sources::csv::WaterReading;

/// Hour of the standard day nearest to which a reading is taken where there are several: by then the surface has lost the
/// warmth of the afternoon, and the reading speaks of the water and not of the hour (project choice).
const MORNING_H: i64 = 8;
/// Standard error of a reading for its column: of the instrument, 0.2 degC, and of one place and hour for kilometres of
/// water; of a daily mean that stands for noon somewhat more (common practice, no source).
const TEMP_ERROR_DEGC: f64 = 0.4;
const DAILY_TEMP_ERROR_DEGC: f64 = 0.5;
/// The same of oxygen (common practice, no source).
const OXYGEN_ERROR_MG_L: f64 = 0.5;

/// Readings of the water.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ObservedWater {
    /// In order of time, each with the zone that it was made in.
    pub readings: Vec<(ZoneId, WaterObservation)>,
}

impl ObservedWater {
    /// Those of an hour that begins at `hour`.
    pub fn within(&self, hour: DateTime<Utc>) -> Vec<WaterObservation> {
        let first = self.readings.partition_point(|(_, o)| o.time < hour);
        let next = hour + Duration::hours(1);
        let of_hour = self.readings[first..].iter().take_while(|(_, o)| o.time < next);
        of_hour.map(|(_, o)| *o).collect()
    }

    /// The newest reading in a zone before an instant, of the uppermost `depth_m` if that is given.
    pub fn newest(
        &self,
        zone: &ZoneId,
        before: DateTime<Utc>,
        depth_m: Option<f64>,
    ) -> Option<DateTime<Utc>> {
        let near = |o: &WaterObservation| depth_m.is_none_or(|most| o.depth_m <= most);
        let mut newest_first = self.readings.iter().rev();
        let found = newest_first
            .find(|(of, o)| of == zone && o.time < before && o.field == WaterField::Temp && near(o));
        found.map(|(_, o)| o.time)
    }
}

/// Every usable reading of water temperature and oxygen in the main body and the arms: of a series at one depth one a day, the
/// nearest to eight in the morning, else the daily value, as of noon. The column of an arm's reading is its middle reach
/// (of two the one at the mouth), since a series tells no more than the zone (project choice).
///
/// To these come the angler's own readings (`own`), each with the error that its row gives; those after the clock are left out.
pub fn observed_water(lake: &Lake, set: &SeriesSet, own: &[WaterReading], layout: &Layout) -> ObservedWater {
    let clock = LakeClock::new(lake.time_zone);
    let mut readings = of_own(set.as_of, own, layout);
    for source in &lake.series {
        let field = match source.quantity {
            Quantity::WaterTemp => WaterField::Temp,
            Quantity::DissolvedOxygen => WaterField::Oxygen,
            _ => continue,
        };
        let zone = match &source.place {
            SeriesPlace::Lake => &lake.main_body().id,
            SeriesPlace::Zone(zone) => zone,
            SeriesPlace::Inflow(_) => continue,
        };
        let Some(place) = middle_of(layout, zone) else {
            continue;
        };
        for ((_, depth_mm), chosen) in of_series(set, source, &clock) {
            readings.push((
                zone.clone(),
                WaterObservation {
                    time: chosen.time,
                    place,
                    depth_m: depth_mm as f64 / 1000.0,
                    field,
                    value: chosen.value,
                    error: match (field, chosen.is_daily) {
                        (WaterField::Oxygen | WaterField::River, _) => OXYGEN_ERROR_MG_L,
                        (WaterField::Temp, true) => DAILY_TEMP_ERROR_DEGC,
                        (WaterField::Temp, false) => TEMP_ERROR_DEGC,
                    },
                },
            ));
        }
    }
    readings.sort_by(|(_, a), (_, b)| {
        (a.time, a.place, a.field)
            .cmp(&(b.time, b.place, b.field))
            .then(a.depth_m.total_cmp(&b.depth_m))
    });
    ObservedWater { readings }
}

/// The angler's readings up to the clock; those of a zone without columns are left out.
fn of_own(as_of: DateTime<Utc>, own: &[WaterReading], layout: &Layout) -> Vec<(ZoneId, WaterObservation)> {
    let mut readings = Vec::new();
    for row in own.iter().filter(|row| row.time <= as_of) {
        let zone = ZoneId::new(row.zone.clone());
        let Some(place) = middle_of(layout, &zone) else {
            continue;
        };
        let temp = row.temp_degc.zip(row.temp_error_degc);
        let oxygen = row.oxygen_mg_l.zip(row.oxygen_error_mg_l);
        for (field, known) in [(WaterField::Temp, temp), (WaterField::Oxygen, oxygen)] {
            readings.extend(known.map(|(value, error)| {
                let observation = WaterObservation {
                    time: row.time,
                    place,
                    depth_m: row.depth_m,
                    field,
                    value,
                    error,
                };
                (zone.clone(), observation)
            }));
        }
    }
    readings
}

/// The middle column of a zone; of two the one at the mouth.
fn middle_of(layout: &Layout, zone: &ZoneId) -> Option<usize> {
    let columns: Vec<usize> = layout.of_zone(zone).collect();
    columns.get(columns.len().checked_sub(1)? / 2).copied()
}

/// A reading that stands for its day.
struct Chosen {
    time: DateTime<Utc>,
    value: f64,
    is_daily: bool,
    apart_s: i64,
}

/// One reading a standard day and depth in millimetres.
fn of_series(
    set: &SeriesSet,
    source: &SeriesSource,
    clock: &LakeClock,
) -> BTreeMap<(NaiveDate, i64), Chosen> {
    let mut chosen: BTreeMap<(NaiveDate, i64), Chosen> = BTreeMap::new();
    for cadence in [Cadence::Continuous, Cadence::Daily] {
        for row in set.observations(&source.id, cadence) {
            let Some((depth_mm, value)) = usable(row, source) else {
                continue;
            };
            let day = clock.standard_day(row.time);
            let is_daily = cadence == Cadence::Daily;
            let wanted = clock.standard_day_start(day) + Duration::hours(MORNING_H);
            let time = match is_daily {
                true => clock.standard_day_start(day) + Duration::hours(12),
                false => row.time,
            };
            let apart_s = (row.time - wanted).num_seconds().abs();
            let better = match chosen.get(&(day, depth_mm)) {
                None => true,
                // A reading within the day says more of its hour than the day's mean does.
                Some(_) if is_daily => false,
                Some(other) => apart_s < other.apart_s,
            };
            if better && time <= set.as_of {
                let reading = Chosen {
                    time,
                    value,
                    is_daily,
                    apart_s,
                };
                chosen.insert((day, depth_mm), reading);
            }
        }
    }
    chosen
}

/// Depth in millimetres and value of a row that may be used. A series without a depth is one of the surface.
fn usable(row: &Observation, source: &SeriesSource) -> Option<(i64, f64)> {
    let value = row
        .value
        .filter(|value| row.flag.is_usable() && value.is_finite())?;
    let depth_m = row.depth_m.or(source.depth_m).unwrap_or(0.0);
    (depth_m.is_finite() && depth_m >= 0.0).then(|| ((depth_m * 1000.0).round() as i64, value))
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::lake::SeriesId;
    use crate::series::{Approval, Flag, Provenance, SeriesKey};

    fn row(time: &str, value: f64, flag: Flag) -> Observation {
        Observation {
            time: time.parse().unwrap(),
            depth_m: None,
            value: Some(value),
            original_value: None,
            approval: Approval::Unstated,
            qualifier: None,
            flag,
            provenance: Arc::new(Provenance {
                service: String::new(),
                station: String::new(),
                parameter: String::new(),
                original_unit: String::new(),
                retrieved_at: DateTime::UNIX_EPOCH,
            }),
        }
    }

    fn put(set: &mut SeriesSet, id: &SeriesId, cadence: Cadence, rows: Vec<Observation>) {
        let key = SeriesKey {
            id: id.clone(),
            cadence,
        };
        set.observations.insert(key, rows);
    }

    #[test]
    fn of_a_day_the_usable_reading_nearest_to_eight_is_taken_and_a_daily_value_where_there_is_none() {
        let mut source = SeriesSource::of("surface", Quantity::WaterTemp, "csv", "t");
        source.depth_m = Some(0.5);
        let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
        let mut set = SeriesSet {
            as_of: "2025-07-24T18:00:00Z".parse().unwrap(),
            ..SeriesSet::default()
        };
        // Eight in standard time is 16:00 UTC.
        let within = vec![
            row("2025-07-22T15:00:00Z", 20.0, Flag::Pass),
            row("2025-07-22T16:10:00Z", 21.0, Flag::Suspect),
            row("2025-07-22T16:30:00Z", 22.0, Flag::Pass),
            row("2025-07-22T23:00:00Z", 25.0, Flag::Pass),
        ];
        put(&mut set, &source.id, Cadence::Continuous, within);
        let days = vec![
            row("2025-07-22T08:00:00Z", 23.0, Flag::Pass),
            row("2025-07-23T08:00:00Z", 24.0, Flag::Pass),
            // Of a day whose noon is not over.
            row("2025-07-24T08:00:00Z", 24.5, Flag::Pass),
        ];
        put(&mut set, &source.id, Cadence::Daily, days);
        let chosen: Vec<(String, i64, f64, bool)> = of_series(&set, &source, &clock)
            .into_iter()
            .map(|((_, depth_mm), c)| (c.time.to_rfc3339(), depth_mm, c.value, c.is_daily))
            .collect();
        let wanted = [
            ("2025-07-22T16:30:00+00:00".to_owned(), 500, 22.0, false),
            ("2025-07-23T20:00:00+00:00".to_owned(), 500, 24.0, true),
        ];
        assert_eq!(chosen, wanted);
    }
}
