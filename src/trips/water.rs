//! Readings of the log in the shape in which the columns of water take them up.

use chrono::NaiveTime;

use super::check::Known;
use super::log::StoredTrip;
use super::model::{Instrument, Reading};
use crate::sources::csv::WaterReading;
use crate::units::DEGC_PER_DEGF;

/// Standard error of a temperature where the angler gives none: 1 degF of a sonar's surface sensor and of a probe at the
/// weight, half of that of a cast (common practice, no source; docs/lake-file.md).
const SENSOR_ERROR_DEGC: f64 = DEGC_PER_DEGF;
const CAST_ERROR_DEGC: f64 = 0.5 * DEGC_PER_DEGF;
/// The same of oxygen (common practice, no source).
const OXYGEN_ERROR_MG_L: f64 = 0.5;

/// The readings of temperature and oxygen among the trips, by time. A reading without an hour counts as of the noon of its
/// trip's day, as in the table of readings (`water_readings` of the lake file); what lies after the clock is left out.
pub fn water_readings(trips: &[StoredTrip], known: &Known<'_>) -> Vec<WaterReading> {
    let mut rows = Vec::new();
    for (number, trip) in trips {
        let noon = noon_of(trip.date, known);
        let of_water = trip
            .readings
            .iter()
            .filter(|r| r.temp_degc.is_some() || r.oxygen_mg_l.is_some());
        rows.extend(of_water.filter_map(|reading| row_of(reading, noon, *number)));
    }
    rows.retain(|row| {
        row.time <= known.as_of && known.lake.zones.iter().any(|zone| zone.id.as_str() == row.zone)
    });
    rows.sort_by(|a, b| {
        (a.time, &a.zone)
            .cmp(&(b.time, &b.zone))
            .then(a.depth_m.total_cmp(&b.depth_m))
    });
    rows
}

fn noon_of(day: chrono::NaiveDate, known: &Known<'_>) -> Option<chrono::DateTime<chrono::Utc>> {
    let noon = day.and_time(NaiveTime::from_hms_opt(12, 0, 0)?);
    let local = noon.and_local_timezone(known.lake.time_zone).earliest()?;
    Some(local.with_timezone(&chrono::Utc))
}

fn row_of(
    reading: &Reading,
    noon: Option<chrono::DateTime<chrono::Utc>>,
    number: u32,
) -> Option<WaterReading> {
    let temp_error_degc = match reading.instrument {
        Instrument::Cast => CAST_ERROR_DEGC,
        Instrument::Surface | Instrument::Probe | Instrument::Disc => SENSOR_ERROR_DEGC,
    };
    Some(WaterReading {
        line: u64::from(number),
        time: reading.time.or(noon)?,
        is_day: reading.time.is_none(),
        zone: reading.zone.as_str().to_owned(),
        depth_m: reading.depth_m,
        temp_degc: reading.temp_degc,
        temp_error_degc: reading
            .temp_degc
            .map(|_| reading.temp_error_degc.unwrap_or(temp_error_degc)),
        oxygen_mg_l: reading.oxygen_mg_l,
        oxygen_error_mg_l: reading
            .oxygen_mg_l
            .map(|_| reading.oxygen_error_mg_l.unwrap_or(OXYGEN_ERROR_MG_L)),
    })
}
