//! Waves by zone and hour of the trip, each hour with its own wind and direction; the higher of two
//! fetch-limited forms.

use chrono::{DateTime, Utc};

use super::fetches::open_fetches;
use super::limits::{says, si, source};
use super::note::{Scene, caution, not_known};
use super::official::raised;
use super::wind_hours::{HourWind, hours_of, wind_hours};
use crate::lake::Zone;
use crate::physics::waves::{Waves, higher_of_both};
use crate::plan::{Caution, CautionLevel, Hazard};

/// The caution of waves: by the forecast, and at its stop line where an official product says so.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    raised(scene, Hazard::Waves, by_forecast(scene))
}

/// The caution of the highest waves of any open zone; `None` below all thresholds.
fn by_forecast(scene: Scene) -> Option<Caution> {
    let Some(wind) = scene.conditions.wind.as_ref() else {
        let threshold = "not known: no wind forecast in the feeds; check an official forecast";
        return Some(not_known(
            Hazard::Waves,
            vec!["wind_speed".to_owned()],
            threshold,
            source(Hazard::Waves),
        ));
    };
    let hours = wind_hours(wind);
    let zones: Vec<(&Zone, Vec<Rough>)> = open_fetches(scene.lake, scene.conditions, scene.water)
        .into_iter()
        .map(|(zone, fetch)| (zone, rough(&fetch, &hours)))
        .collect();
    let highest = zones
        .iter()
        .flat_map(|(_, rough)| rough)
        .max_by(|a, b| a.waves.height_m.total_cmp(&b.waves.height_m));
    let missing: Vec<String> = zones
        .iter()
        .filter(|(_, rough)| rough.len() < hours.len())
        .map(|(z, _)| format!("fetch:{}", z.id))
        .collect();
    let reached = |zone_waves: &[Rough], least_m: f64| zone_waves.iter().any(|r| r.waves.height_m >= least_m);
    let names = |least_m: f64| -> Vec<String> {
        let at_least = zones.iter().filter(|(_, rough)| reached(rough, least_m));
        at_least.map(|(zone, _)| zone.name.clone()).collect()
    };
    let height_m = highest.map_or(0.0, |r| r.waves.height_m);
    let no_wind = hours.iter().all(|h| strongest(h).is_none());
    let height_of = |level| si(Hazard::Waves, level, "height");
    let (caution_m, severe_m) = (height_of(CautionLevel::Caution), height_of(CautionLevel::Severe));
    let passed = |level, least_m: f64| {
        let threshold = says(Hazard::Waves, level);
        caution(Hazard::Waves, level, threshold, source(Hazard::Waves)).with_names(names(least_m))
    };
    let found = if height_m >= severe_m {
        passed(CautionLevel::Severe, severe_m).with_names(missing)
    } else if height_m >= caution_m {
        passed(CautionLevel::Caution, caution_m).with_names(missing)
    } else if no_wind {
        let threshold = "not known: the wind forecast holds no usable wind; check an official forecast";
        not_known(
            Hazard::Waves,
            vec!["wind_speed".to_owned()],
            threshold,
            source(Hazard::Waves),
        )
    } else if !missing.is_empty() {
        let threshold =
            "not known: the lake file gives no fetch for these zones, so chop there cannot be judged";
        not_known(Hazard::Waves, missing, threshold, source(Hazard::Waves))
    } else if hours.iter().all(|h| h.gust_m_s.is_none()) {
        // By the mean wind alone they would come out too low.
        let threshold = "not known: gusts through the trip are not in the feeds; check an official forecast";
        not_known(
            Hazard::Waves,
            vec!["wind_gust".to_owned()],
            threshold,
            source(Hazard::Waves),
        )
    } else {
        return None;
    };
    let least_m = if height_m >= severe_m { severe_m } else { caution_m };
    let (from, to) = hours_of(wind, &hours, |hour| {
        zones.iter().any(|(_, rough)| {
            rough
                .iter()
                .any(|r| r.time == hour.time && r.waves.height_m >= least_m)
        })
    });
    let Some(highest) = highest else {
        return Some(found.between(from, to));
    };
    let found = found
        .with_figure("wave_height_m", highest.waves.height_m)
        .with_figure("wave_period_s", highest.waves.period_s)
        .with_figure(highest.wind.0, highest.wind.1)
        .with_figure_if("wind_direction_deg", highest.direction_deg);
    Some(found.between(from, to).highest_at(highest.time))
}

/// The waves of one hour.
struct Rough {
    time: Option<DateTime<Utc>>,
    waves: Waves,
    /// The wind behind them, with its name.
    wind: (&'static str, f64),
    direction_deg: Option<f64>,
}

/// The waves of every hour of which they can be judged.
fn rough(fetch: &[(f64, f64)], hours: &[HourWind]) -> Vec<Rough> {
    let judged = hours.iter().filter_map(|hour| {
        let wind = strongest(hour)?;
        Some(Rough {
            time: hour.time,
            waves: higher_of_both(wind.1, fetch, hour.direction_deg)?,
            wind,
            direction_deg: hour.direction_deg,
        })
    });
    judged.collect()
}

/// The stronger of mean and gust: waves lag behind gusts, so this errs on the high side.
fn strongest(hour: &HourWind) -> Option<(&'static str, f64)> {
    let mean = hour.mean_m_s.map(|mean| ("wind_speed_m_s", mean));
    let gust = hour.gust_m_s.map(|gust| ("wind_gust_m_s", gust));
    // The last of equals is taken: the gust.
    mean.into_iter().chain(gust).max_by(|a, b| a.1.total_cmp(&b.1))
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;

    fn caution_at(fetch_m: f64, speed_m_s: f64, direction_deg: Option<f64>) -> Option<Caution> {
        let mut morning = Morning::calm();
        for zone in &mut morning.lake.zones {
            zone.fetch = vec![(0.0, fetch_m), (90.0, 200.0), (180.0, 200.0), (270.0, 200.0)];
        }
        morning.set_wind(speed_m_s, Some(speed_m_s), direction_deg);
        morning.caution(Hazard::Waves)
    }

    #[test]
    fn waves_pass_their_thresholds_at_0_3_and_0_6_metres() {
        // Shore Protection Manual 1984, 10 m/s over 5 km: 0.436 m (check row S-WAVE); height grows with
        // the root of the fetch, so 0.3 m stands at 2.37 km and 0.6 m at 9.48 km.
        let level = |fetch_m| caution_at(fetch_m, 10.0, Some(0.0)).map(|c| c.level);
        assert_eq!(level(2250.0), None);
        assert_eq!(level(2500.0), Some(CautionLevel::Caution));
        assert_eq!(level(9000.0), Some(CautionLevel::Caution));
        assert_eq!(level(10_000.0), Some(CautionLevel::Severe));
    }

    #[test]
    fn an_unknown_direction_takes_the_longest_fetch_and_a_sheltered_one_does_not() {
        let height =
            |direction| caution_at(9000.0, 10.0, direction).map_or(0.0, |c| c.figures["wave_height_m"]);
        assert!(height(None) >= height(Some(0.0)) - 1e-9);
        assert!(height(Some(180.0)) < height(Some(0.0)));
    }

    /// A morning of three hours, `(gust, direction)`, whose lake is open to the north only.
    fn three_hours(hours: [(f64, Option<f64>); 3]) -> Morning {
        let mut morning = Morning::calm();
        for zone in &mut morning.lake.zones {
            zone.fetch = vec![(0.0, 9000.0), (90.0, 200.0), (180.0, 200.0), (270.0, 200.0)];
        }
        let strongest = hours.iter().map(|h| h.0).fold(0.0, f64::max);
        morning.set_wind(5.0, Some(strongest), hours[0].1);
        morning.set_wind_hours(&hours.map(|(gust, direction)| (5.0, gust, direction)));
        morning
    }

    #[test]
    fn every_hour_counts_with_its_own_direction() {
        // The strongest gust blows off the land; an hour later a weaker one blows down the lake.
        let morning = three_hours([(12.0, Some(180.0)), (10.0, Some(0.0)), (4.0, Some(0.0))]);
        let caution = morning.caution(Hazard::Waves).unwrap();
        let hour = |h| Some(morning.as_of + chrono::Duration::hours(h));
        assert_eq!(
            (caution.from, caution.to, caution.peak_at),
            (hour(1), hour(1), hour(1))
        );
        assert_eq!(caution.figures["wind_gust_m_s"], 10.0);
        assert_eq!(caution.figures["wind_direction_deg"], 0.0);
        assert!(!caution.figures.contains_key("wind_speed_m_s"));
        // Shore Protection Manual 1984 (check row S-WAVE): 10 m/s over 5 km is 0.436 m, over 9 km
        // sqrt(9 / 5) times that, 0.585 m; methods differ by a fifth.
        let height_m = caution.figures["wave_height_m"];
        assert!((0.47..0.71).contains(&height_m), "{height_m}");
    }

    #[test]
    fn an_hour_of_unknown_direction_takes_the_longest_fetch() {
        let known = three_hours([(10.0, Some(180.0)); 3]).level_of(Hazard::Waves);
        assert_eq!(known, None);
        let unknown = three_hours([(10.0, Some(180.0)), (10.0, None), (4.0, Some(0.0))]);
        assert_eq!(unknown.level_of(Hazard::Waves), Some(CautionLevel::Caution));
    }

    #[test]
    fn missing_wind_and_missing_fetch_are_not_known() {
        let mut morning = Morning::calm();
        morning.conditions.wind = None;
        assert_eq!(morning.level_of(Hazard::Waves), Some(CautionLevel::NotKnown));
        let mut morning = Morning::calm();
        morning.lake.zones[0].fetch.clear();
        let caution = morning.caution(Hazard::Waves).unwrap();
        assert_eq!(
            (caution.level, caution.names),
            (CautionLevel::NotKnown, vec!["fetch:main".to_owned()])
        );
    }

    #[test]
    fn calm_mean_wind_without_gusts_says_nothing_of_waves() {
        let mut morning = Morning::calm();
        morning.set_wind(1.0, None, Some(0.0));
        assert_eq!(morning.level_of(Hazard::Waves), Some(CautionLevel::NotKnown));
        morning.set_wind(1.0, Some(1.5), Some(0.0));
        assert_eq!(morning.level_of(Hazard::Waves), None);
    }
}
