//! Weather by position: what the demonstration lake has too.

use super::value::DraftSeries;
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::sources::{Candidate, nws, open_meteo};

/// Id, quantity, parameter, and whether the service has daily values of it.
const ROWS: [(&str, Quantity, &str, bool); 9] = [
    ("air-temp", Quantity::AirTemp, "temperature_2m", true),
    ("dew-point", Quantity::DewPoint, "dew_point_2m", true),
    ("wind-speed", Quantity::WindSpeed, "wind_speed_10m", true),
    ("wind-gust", Quantity::WindGust, "wind_gusts_10m", true),
    (
        "wind-direction",
        Quantity::WindDirection,
        "wind_direction_10m",
        false,
    ),
    ("cloud-cover", Quantity::CloudCover, "cloud_cover", true),
    (
        "surface-pressure",
        Quantity::SurfacePressure,
        "surface_pressure",
        true,
    ),
    ("precipitation", Quantity::Precipitation, "precipitation", true),
    ("shortwave", Quantity::Shortwave, "shortwave_radiation", true),
];

/// First day of daily values, and the first within the day (project choice, those of the demonstration lake):
/// long enough for a normal of each day of the year.
const DAILY_FROM: (i32, u32, u32) = (1985, 1, 1);
const HOURLY_FROM: (i32, u32, u32) = (2022, 1, 1);

/// The weather series, and the thunder forecast where the National Weather Service has one.
pub(super) fn weather(candidates: &[Candidate]) -> Vec<DraftSeries> {
    let day = |(y, m, d)| chrono::NaiveDate::from_ymd_opt(y, m, d);
    let mut series: Vec<DraftSeries> = ROWS
        .iter()
        .map(|&(id, quantity, parameter, daily)| {
            let mut cadences = vec![Cadence::Continuous, Cadence::Forecast];
            if daily {
                cadences.insert(0, Cadence::Daily);
            }
            let hourly_from = day(HOURLY_FROM);
            bare(SeriesSource {
                ensemble_model: Some("gfs_seamless".to_owned()),
                daily_from: day(DAILY_FROM).filter(|_| daily),
                daily_until: hourly_from.and_then(|d| d.pred_opt()).filter(|_| daily),
                continuous_from: hourly_from,
                cadences,
                late_after_h: Some(12.0),
                ..SeriesSource::of(id, quantity, open_meteo::NAME, parameter)
            })
        })
        .collect();
    series.push(bare(SeriesSource {
        cadences: vec![Cadence::Forecast],
        late_after_h: Some(12.0),
        ..SeriesSource::of("visibility", Quantity::Visibility, open_meteo::NAME, "visibility")
    }));
    let thunder = "probabilityOfThunder";
    let has_thunder = |c: &Candidate| c.service == nws::NAME && c.parameter == thunder;
    if candidates.iter().any(has_thunder) {
        series.push(bare(SeriesSource {
            cadences: vec![Cadence::Forecast],
            ..SeriesSource::of("thunder", Quantity::ThunderProbability, nws::NAME, thunder)
        }));
    }
    series
}

fn bare(source: SeriesSource) -> DraftSeries {
    DraftSeries {
        source,
        group: None,
        datum: None,
    }
}
