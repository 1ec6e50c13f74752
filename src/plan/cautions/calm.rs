//! The calm hours of a trip: from first light, as long as wind and chop stay below their cautions.

use chrono::{DateTime, Duration, Utc};

use super::limits::si;
use crate::lake::ZoneId;
use crate::plan::{CautionLevel, Hazard, PlanHours};

/// Shortest stretch that is told, hours (project choice: below it no boat is launched for it).
const SHORTEST_H: i64 = 2;

/// The longest stretch of the trip, from first light on, in which nine members in ten stay below the mean wind and the gust
/// of the caution, and the chop on `zone` below its height. `None` where wind, gust, light or chop are not known, where the
/// forecast is late, and where no stretch lasts two hours.
pub fn calm_hours(hours: &PlanHours, zone: &ZoneId) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
    if !hours.wind_known || hours.wind_late {
        return None;
    }
    let [mean, gust] = ["mean", "gust"].map(|name| si(Hazard::Wind, CautionLevel::Caution, name));
    let height = si(Hazard::Waves, CautionLevel::Caution, "height");
    let first = hours.first_light?.max(hours.from);
    let mut best: Option<(DateTime<Utc>, DateTime<Utc>)> = None;
    let mut begun: Option<DateTime<Utc>> = None;
    for (i, hour) in hours.hours.iter().enumerate() {
        let next = hours.hours.get(i + 1).map(|next| next.time);
        let end = next.unwrap_or(hour.time).min(hours.to);
        let chop = hour.chop.iter().find(|chop| &chop.zone == zone);
        let known = hour
            .wind_speed_m_s
            .zip(hour.wind_gust_m_s)
            .zip(chop.and_then(|chop| chop.wave_height_m));
        let calm = known.is_some_and(|((speed_m_s, gust_m_s), height_m)| {
            speed_m_s < mean && gust_m_s < gust && height_m < height
        });
        if !calm || end <= first {
            begun = None;
            continue;
        }
        let from = *begun.get_or_insert(hour.time.max(first));
        if best.is_none_or(|(start, stop)| end - from > stop - start) {
            best = Some((from, end));
        }
    }
    best.filter(|(from, to)| *to - *from >= Duration::hours(SHORTEST_H))
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;
    use crate::column::Water;
    use crate::plan::hours::plan_hours;

    fn of(morning: &Morning) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
        let water: &Water = &morning.water;
        let hours = plan_hours(&morning.lake, &morning.conditions, water);
        calm_hours(&hours, &morning.lake.main_body().id)
    }

    #[test]
    fn the_calm_ends_with_the_hour_that_passes_the_caution_and_none_is_made_up() {
        let mut morning = Morning::calm();
        morning.set_wind(2.0, Some(4.0), Some(0.0));
        // 12 kt is 6.17 m/s (config/cautions.toml).
        let calm = (2.0, 4.0, Some(0.0));
        morning.set_wind_hours(&[calm, calm, calm, calm, (6.5, 8.0, Some(0.0)), calm, calm]);
        let (from, to) = of(&morning).expect("three hours from first light");
        assert!(from >= morning.light().civil_dawn.unwrap() && (to - from) >= Duration::hours(2));
        let hours = plan_hours(&morning.lake, &morning.conditions, &morning.water);
        assert_eq!(to, hours.hours[4].time);
        morning.conditions.wind = None;
        assert_eq!(of(&morning), None);
    }
}
