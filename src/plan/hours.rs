//! The hours of the trip: light, wind, chop by zone, air.

use chrono::{DateTime, Duration, Timelike, Utc};
use serde::{Deserialize, Serialize};

use super::cautions::{forecast_is_late, hours_of_wind, open_fetches};
use crate::clock::LakeClock;
use crate::column::Water;
use crate::conditions::{AFTER_TRIP_H, Conditions, LightCondition, trip_window};
use crate::lake::{Lake, ZoneId};
use crate::physics::sun::sun_over_hills;
use crate::physics::waves::higher_of_both;
use crate::physics::wind_chill::wind_chill_degc;
use crate::quantity::Quantity;

/// The hours of a trip and two hours after it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct PlanHours {
    /// Beginning of the trip.
    pub from: DateTime<Utc>,
    /// Its end.
    pub to: DateTime<Utc>,
    /// Civil dawn: first light; `None` where it is not known.
    pub first_light: Option<DateTime<Utc>>,
    /// Sunrise, over a level horizon.
    pub sunrise: Option<DateTime<Utc>>,
    /// When the sun clears the hills of the lake file; `None` without them: shade is not known then.
    pub sun_over_hills: Option<DateTime<Utc>>,
    /// Sunset.
    pub sunset: Option<DateTime<Utc>>,
    /// Whether the wind of the hours is known; without it waves are not known either.
    pub wind_known: bool,
    /// Whether the wind forecast has come late: then it says nothing of what has come up since.
    pub wind_late: bool,
    /// One entry an hour, or a step of the wind forecast.
    pub hours: Vec<PlanHour>,
}

/// One hour.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct PlanHour {
    /// Its time.
    pub time: DateTime<Utc>,
    /// Light.
    pub light: Option<Light>,
    /// Mean wind that nine members in ten stay below.
    pub wind_speed_m_s: Option<f64>,
    /// The same of the gust.
    pub wind_gust_m_s: Option<f64>,
    /// Direction that it blows from.
    pub wind_direction_deg: Option<f64>,
    /// Air, by the control run.
    pub air_temp_degc: Option<f64>,
    /// What that air feels like on bare skin in the mean wind; `None` where either is not known, above 50 degF (10 degC) or below
    /// 3 mph, where the air's own temperature stands.
    #[serde(default)]
    pub wind_chill_degc: Option<f64>,
    /// Chop on each open zone, in the order of the lake file: the higher of two forms, with the gust, as the cautions have it.
    pub chop: Vec<ZoneChop>,
}

/// Chop on one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ZoneChop {
    /// Zone.
    pub zone: ZoneId,
    /// Significant height; `None` where wind or fetch are not known.
    pub wave_height_m: Option<f64>,
}

/// Light of an hour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Light {
    /// Before civil dawn or after civil dusk.
    Dark,
    /// Between civil dawn and sunrise, or sunset and civil dusk.
    HalfLight,
    /// The sun is up.
    Day,
}

/// The hours of the trip of `conditions`.
pub fn plan_hours(lake: &Lake, conditions: &Conditions, water: &Water) -> PlanHours {
    let trip = trip_window(lake, conditions.as_of);
    let open = open_fetches(lake, conditions, water);
    let light = conditions.light.as_ref();
    let air = conditions
        .sky
        .as_ref()
        .map_or(&[][..], |s| s.air_hours.as_slice());
    let winds = conditions.wind.as_ref().map_or_else(Vec::new, hours_of_wind);
    let known = winds.iter().filter(|w| w.time.is_some()).count();
    let end = trip.to + Duration::hours(AFTER_TRIP_H);
    let times: Vec<DateTime<Utc>> = if known > 0 {
        winds.iter().filter_map(|w| w.time).collect()
    } else {
        // Whole hours of the lake's clock, as a forecast would have them, from the one that holds the beginning.
        let local = LakeClock::new(lake.time_zone).local(trip.from);
        let into_hour_s = i64::from(60 * local.minute() + local.second());
        let first = trip.from - Duration::seconds(into_hour_s);
        let count = (end - first).num_hours().max(0);
        (0..=count).map(|h| first + Duration::hours(h)).collect()
    };
    let hours = times
        .into_iter()
        .map(|time| {
            let wind = winds.iter().find(|w| w.time == Some(time));
            let gust_m_s = wind.and_then(|w| w.gust_m_s);
            let mean_m_s = wind.and_then(|w| w.mean_m_s);
            let direction_deg = wind.and_then(|w| w.direction_deg);
            let strongest_m_s = gust_m_s.into_iter().chain(mean_m_s).max_by(f64::total_cmp);
            let height = |fetch: &[(f64, f64)]| {
                let found = higher_of_both(strongest_m_s?, fetch, direction_deg)?;
                Some(found.height_m)
            };
            let air_temp_degc = air.iter().find(|a| a.time == time).map(|a| a.air_temp_degc);
            PlanHour {
                time,
                light: light.and_then(|l| light_at(l, time)),
                wind_speed_m_s: mean_m_s,
                wind_gust_m_s: gust_m_s,
                wind_direction_deg: direction_deg,
                air_temp_degc,
                wind_chill_degc: air_temp_degc
                    .zip(mean_m_s)
                    .and_then(|(air_temp_degc, wind_m_s)| wind_chill_degc(air_temp_degc, wind_m_s)),
                chop: open
                    .iter()
                    .map(|(zone, fetch)| ZoneChop {
                        zone: zone.id.clone(),
                        wave_height_m: height(fetch),
                    })
                    .collect(),
            }
        })
        .collect();
    PlanHours {
        from: trip.from,
        to: trip.to,
        first_light: light.and_then(|l| l.civil_dawn),
        sunrise: light.and_then(|l| l.sunrise),
        sun_over_hills: light
            .and_then(|l| l.sunrise)
            .filter(|_| !lake.horizon.is_empty())
            // The check of the lake file has refused a position off the globe before.
            .and_then(|rise| {
                let found = sun_over_hills(rise, &lake.horizon, lake.latitude_deg, lake.longitude_deg);
                found.ok().flatten()
            }),
        sunset: light.and_then(|l| l.sunset),
        wind_known: known > 0,
        wind_late: known > 0 && forecast_is_late(lake, conditions, Quantity::WindSpeed),
        hours,
    }
}

/// Light at `time`; `None` where one of the sun's four events is not known.
fn light_at(light: &LightCondition, time: DateTime<Utc>) -> Option<Light> {
    let (dawn, rise) = (light.civil_dawn?, light.sunrise?);
    let (set, dusk) = (light.sunset?, light.civil_dusk?);
    Some(if time < dawn || time >= dusk {
        Light::Dark
    } else if time < rise || time >= set {
        Light::HalfLight
    } else {
        Light::Day
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::cautions::morning_tests::Morning;

    fn hours(morning: &Morning) -> PlanHours {
        plan_hours(&morning.lake, &morning.conditions, &morning.water)
    }

    #[test]
    fn each_hour_has_its_own_chop_by_zone_and_none_on_a_closed_one() {
        let mut morning = Morning::calm();
        // Open to the north alone; of 10 m/s over 9 km the Shore Protection Manual makes 0.585 m (check row S-WAVE, which
        // grows with the root of the fetch); methods differ by a fifth.
        morning.lake.zones[0].fetch = vec![(0.0, 9000.0), (90.0, 200.0), (180.0, 200.0), (270.0, 200.0)];
        morning.set_wind(5.0, Some(10.0), Some(0.0));
        morning.set_wind_hours(&[(5.0, 10.0, Some(0.0)), (5.0, 10.0, Some(180.0))]);
        let found = hours(&morning);
        let height = |h: usize| found.hours[h].chop[0].wave_height_m.unwrap();
        assert!((0.47..0.71).contains(&height(0)), "{}", height(0));
        assert!(height(1) < 0.3 && found.wind_known);
        assert_eq!(found.hours[0].chop.len(), 2, "main body and arm, not the river");
        morning.water.zones[1].closed = true;
        assert_eq!(hours(&morning).hours[0].chop.len(), 1);
    }

    #[test]
    fn without_wind_the_hours_of_the_trip_stand_and_nothing_is_made_up() {
        let mut morning = Morning::calm();
        morning.conditions.wind = None;
        let found = hours(&morning);
        // Six hours of trip and two after it, both ends.
        assert_eq!(found.hours.len(), 9);
        assert!(!found.wind_known);
        for hour in &found.hours {
            assert_eq!((hour.wind_speed_m_s, hour.wind_gust_m_s), (None, None));
            assert!(hour.chop.iter().all(|c| c.wave_height_m.is_none()));
        }
    }

    #[test]
    fn hours_without_a_forecast_are_whole_ones_of_the_lakes_clock() {
        let mut morning = Morning::calm();
        morning.conditions.wind = None;
        morning.lake.time_zone = chrono_tz::Australia::Adelaide;
        morning.as_of = "2026-01-10T19:47:00Z".parse().unwrap();
        morning.conditions.as_of = morning.as_of;
        let found = hours(&morning);
        // 06:17 in Adelaide, half an hour off the hours of UTC: the strip begins at 06:00.
        assert_eq!(
            found.hours[0].time,
            "2026-01-10T19:30:00Z".parse::<DateTime<Utc>>().unwrap()
        );
        assert!(found.hours.last().unwrap().time <= found.to + Duration::hours(AFTER_TRIP_H));
    }

    #[test]
    fn light_goes_from_dark_to_half_light_to_day() {
        let mut morning = Morning::calm();
        let (dawn, rise) = {
            let light = morning.light();
            (light.civil_dawn.unwrap(), light.sunrise.unwrap())
        };
        let light = *morning.light();
        let minute = Duration::minutes(1);
        assert_eq!(light_at(&light, dawn - minute), Some(Light::Dark));
        assert_eq!(light_at(&light, dawn), Some(Light::HalfLight));
        assert_eq!(light_at(&light, rise), Some(Light::Day));
        let unknown = LightCondition {
            civil_dusk: None,
            ..light
        };
        assert_eq!(light_at(&unknown, rise), None);
    }
}
