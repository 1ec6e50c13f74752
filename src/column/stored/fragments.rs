//! The course of the day where a past year has daily values only: that of a like day of a year with hours.
//!
//! The method of fragments (Svanidze 1980, for river flow): the daily mean stands, and the shape of the day is that of a day which
//! was seen hour by hour, near in season and alike in wind, warmth and light. Without it a mean wind would stir less
//! than the same wind in gusts, for stirring goes by its cube, and no night would cool below its day.

use super::years::YearWeather;
use crate::column::forcing::Weather;
use crate::math::quantiles::mean;
use crate::physics::atmosphere::saturation_vapour_pressure_pa;

/// Hours of a day.
const DAY_H: usize = 24;
/// Days either side of the date among which a like day is sought (project choice: short against the season).
const NEAR_DAYS: usize = 10;
/// What counts as much as a factor e of the wind, when days are likened (project choices).
const LIKE_AIR_DEGC: f64 = 6.0;
const LIKE_SUNLIGHT_W_M2: f64 = 120.0;
/// Wind below which a day has no shape to lend, m/s.
const CALM_M_S: f64 = 0.3;

/// Means of a day.
#[derive(Debug, Clone, Copy)]
struct DayMean {
    wind_m_s: f64,
    air_degc: f64,
    sunlight_w_m2: f64,
}

impl DayMean {
    fn of(hours: &[Weather]) -> Option<DayMean> {
        let over = |value: fn(&Weather) -> f64| mean(&hours.iter().map(value).collect::<Vec<f64>>());
        Some(DayMean {
            wind_m_s: over(|w| w.wind_speed_m_s)?,
            air_degc: over(|w| w.air_temp_degc)?,
            sunlight_w_m2: over(|w| w.sunlight_w_m2)?,
        })
    }

    /// How unlike two days are; infinite for a calm one.
    fn unlike(self, donor: DayMean) -> f64 {
        if donor.wind_m_s < CALM_M_S || self.wind_m_s < CALM_M_S {
            return f64::INFINITY;
        }
        let wind = (self.wind_m_s / donor.wind_m_s).ln();
        let air = (self.air_degc - donor.air_degc) / LIKE_AIR_DEGC;
        let sunlight = (self.sunlight_w_m2 - donor.sunlight_w_m2) / LIKE_SUNLIGHT_W_M2;
        wind * wind + air * air + sunlight * sunlight
    }
}

/// Gives every whole day of daily values the course of the day of the likest day of hours, of all years, at most ten days off in season. Returns
/// how many days were shaped and how many found none, and keep their smooth course.
///
/// Wind is multiplied by the other day's, air has the other day's departures from its mean and drift added; both keep their daily mean.
/// Vapour is held to saturation in the cooler hours. Sunlight goes by the sun already.
pub(super) fn shape_days(years: &mut [YearWeather]) -> (usize, usize) {
    let means: Vec<Vec<Option<DayMean>>> = years
        .iter()
        .map(|year| {
            year.days()
                .map(|hours| DayMean::of(&year.weather[hours]))
                .collect()
        })
        .collect();
    let donors: Vec<Vec<Option<DayMean>>> = years
        .iter()
        .zip(&means)
        .map(|(year, means)| {
            let hourly = year.is_daily.iter().zip(means);
            hourly.map(|(daily, mean)| mean.filter(|_| !daily)).collect()
        })
        .collect();
    let (mut pairs, mut plain) = (Vec::new(), 0);
    for (year, days) in means.iter().enumerate() {
        for (day, own) in days.iter().enumerate() {
            let Some(own) = own.filter(|_| years[year].is_daily[day]) else {
                continue;
            };
            let near = day.saturating_sub(NEAR_DAYS)..(day + NEAR_DAYS + 1);
            let alike = donors
                .iter()
                .enumerate()
                .flat_map(|(other, days)| near.clone().map(move |day| (other, day, days.get(day))))
                .filter_map(|(other, day, donor)| {
                    let unlike = own.unlike((*donor?)?);
                    unlike.is_finite().then_some((other, day, unlike))
                })
                .min_by(|a, b| a.2.total_cmp(&b.2));
            match alike {
                Some((other, from, _)) => pairs.push(((year, day), (other, from))),
                None => plain += 1,
            }
        }
    }
    let shaped = pairs.len();
    for ((year, day), (other, from)) in pairs {
        let lent: Vec<Weather> = years[other].weather[years[other].hours_of(from)].to_vec();
        let hours = years[year].hours_of(day);
        shape(&mut years[year].weather[hours], &lent);
    }
    (shaped, plain)
}

/// Departures of 24 values from their mean and straight drift.
fn departures(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let values: Vec<f64> = values.collect();
    let middle = 0.5 * (values.len() as f64 - 1.0);
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let at = |i: usize| i as f64 - middle;
    let (mut along, mut squares) = (0.0, 0.0);
    for (i, value) in values.iter().enumerate() {
        along += at(i) * (value - mean);
        squares += at(i) * at(i);
    }
    let drift = along / squares;
    let departure = |(i, value): (usize, &f64)| value - mean - drift * at(i);
    values.iter().enumerate().map(departure).collect()
}

/// Gives a day's hours the shape of another's.
fn shape(day: &mut [Weather], lent: &[Weather]) {
    let air = departures(lent.iter().map(|w| w.air_temp_degc));
    let wanted: f64 = day.iter().map(|w| w.wind_speed_m_s).sum();
    for ((hour, other), air) in day.iter_mut().zip(lent).zip(&air) {
        hour.wind_speed_m_s *= other.wind_speed_m_s;
        hour.air_temp_degc += air;
        let saturated_pa = saturation_vapour_pressure_pa(hour.air_temp_degc);
        hour.vapour_pressure_pa = hour.vapour_pressure_pa.min(saturated_pa);
        if hour.wind_from_deg.is_none() {
            hour.wind_from_deg = other.wind_from_deg;
        }
    }
    let found: f64 = day.iter().map(|w| w.wind_speed_m_s).sum();
    // Neither day is calm, so hours of both with wind meet but by chance; then the even wind stands.
    for hour in day.iter_mut() {
        hour.wind_speed_m_s = if found > 0.0 {
            hour.wind_speed_m_s * wanted / found
        } else {
            wanted / DAY_H as f64
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hour(air_temp_degc: f64, wind_speed_m_s: f64) -> Weather {
        Weather {
            air_temp_degc,
            vapour_pressure_pa: 600.0,
            pressure_pa: 90_000.0,
            wind_speed_m_s,
            wind_from_deg: None,
            sunlight_w_m2: 100.0,
            sun_height_frac: 0.2,
            sky_longwave_w_m2: 280.0,
            precipitation_m_s: None,
        }
    }

    #[test]
    fn a_daily_day_keeps_its_means_and_takes_the_shape() {
        let course = |i: usize| (i as f64 * std::f64::consts::TAU / 24.0).sin();
        let hourly: Vec<Weather> = (0..24)
            .map(|i| hour(12.0 + 4.0 * course(i), 3.0 + 2.0 * course(i)))
            .collect();
        let of = |year, weather: Vec<Weather>, daily| YearWeather {
            year,
            first_h: 0,
            weather,
            is_daily: vec![daily],
        };
        let mut years = [
            of(1990, vec![hour(10.0, 2.0); 24], true),
            of(2022, hourly.clone(), false),
        ];
        assert_eq!(shape_days(&mut years), (1, 0));
        let over =
            |value: fn(&Weather) -> f64| -> f64 { years[0].weather.iter().map(value).sum::<f64>() / 24.0 };
        // Means stand, to rounding of a sum of 24.
        assert!((over(|w| w.wind_speed_m_s) - 2.0).abs() < 1e-12);
        assert!((over(|w| w.air_temp_degc) - 10.0).abs() < 1e-12);
        // By hand: the wind is 2 times (3 + 2 sin) / 3, whose mean cube is 8 (1 + 1.5 (2/3)^2).
        let cube = over(|w| w.wind_speed_m_s.powi(3));
        assert!((cube - 8.0 * (1.0 + 1.5 * 4.0 / 9.0)).abs() < 1e-9, "{cube}");
        assert!(years[1].weather == hourly, "a year with hours is left alone");
    }

    #[test]
    fn without_a_year_of_hours_the_smooth_course_stands() {
        let smooth = vec![hour(10.0, 2.0); 48];
        let mut years = [YearWeather {
            year: 1990,
            first_h: 0,
            weather: smooth.clone(),
            is_daily: vec![true, true],
        }];
        assert_eq!(shape_days(&mut years), (0, 2));
        assert!(years[0].weather == smooth);
    }
}
