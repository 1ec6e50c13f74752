//! Cold air on bare hands: the wind chill of the trip; an official product of cold counts whatever the forecast says.

use super::limits::{says, si, source};
use super::note::{Scene, caution, not_known, number};
use super::official::products_with;
use super::wind_hours::wind_hours;
use crate::physics::wind_chill::felt_degc;
use crate::plan::{Caution, CautionLevel, Hazard};
use crate::units::{DEGC_PER_DEGF, M_S_PER_MPH};

/// Words of the products of cold, by the names of the National Weather Service (from memory).
const PRODUCTS: [&str; 3] = ["wind chill", "extreme cold", "cold weather"];
/// The strongest wind of the published chart, which stands for one that is not known.
const STRONGEST_WIND_M_S: f64 = 60.0 * M_S_PER_MPH;
/// The chart has whole degrees Fahrenheit: its figure stands for all that rounds to it.
const CHART_ROUNDING_DEGC: f64 = 0.5 * DEGC_PER_DEGF;

/// The caution of cold air; `None` where the air is forecast and no hour of it feels as cold as the threshold, and no official
/// product speaks of cold.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let limit_degc = si(Hazard::ColdAir, CautionLevel::Strong, "feels") + CHART_ROUNDING_DEGC;
    let coldest = coldest(scene);
    let products = products_with(scene, &PRODUCTS);
    let passed = |threshold: &str| {
        caution(
            Hazard::ColdAir,
            CautionLevel::Strong,
            threshold,
            source(Hazard::ColdAir),
        )
    };
    let found = if !products.is_empty() {
        let threshold = format!("official product in force, {}", products.join(", "));
        Caution {
            products,
            ..passed(&threshold)
        }
    } else {
        let Some(coldest) = coldest else {
            let threshold = "not known: no air temperature of the trip in the feeds";
            let missing = vec!["air_temp".to_owned()];
            return Some(not_known(
                Hazard::ColdAir,
                missing,
                threshold,
                source(Hazard::ColdAir),
            ));
        };
        if coldest.felt_degc >= limit_degc {
            return None;
        }
        if !coldest.wind_known {
            let threshold = "not known: air this cold freezes bare hands in a strong wind, and the wind is not in the feeds";
            let missing = vec!["wind_speed".to_owned()];
            return Some(not_known(
                Hazard::ColdAir,
                missing,
                threshold,
                source(Hazard::ColdAir),
            ));
        }
        passed(says(Hazard::ColdAir, CautionLevel::Strong))
    };
    let known = coldest.filter(|c| c.wind_known);
    Some(
        found
            .with_figure_if("felt_temp_degc", known.map(|c| c.felt_degc))
            .with_figure_if("air_temp_low_degc", coldest.map(|c| c.air_temp_degc)),
    )
}

/// The coldest hour of the trip on bare skin.
#[derive(Clone, Copy)]
struct Coldest {
    felt_degc: f64,
    air_temp_degc: f64,
    wind_known: bool,
}

/// Of the hours with a forecast of air and wind; an hour without its own air takes the lowest of the trip, one without its wind
/// the strongest of the chart. `None` without any air.
fn coldest(scene: Scene) -> Option<Coldest> {
    let sky = scene.conditions.sky.as_ref()?;
    let lowest_degc = number(sky.air_temp_min_degc)?;
    let hours = scene.conditions.wind.as_ref().map_or_else(Vec::new, wind_hours);
    let at = |air_temp_degc: f64, wind_m_s: Option<f64>| Coldest {
        felt_degc: felt_degc(air_temp_degc, wind_m_s.unwrap_or(STRONGEST_WIND_M_S)),
        air_temp_degc,
        wind_known: wind_m_s.is_some(),
    };
    if hours.is_empty() {
        return Some(at(lowest_degc, None));
    }
    let felt = hours.iter().map(|hour| {
        let own = sky.air_hours.iter().find(|a| Some(a.time) == hour.time);
        let air = number(own.map(|a| a.air_temp_degc)).unwrap_or(lowest_degc);
        at(air, hour.mean_m_s)
    });
    felt.min_by(|a, b| a.felt_degc.total_cmp(&b.felt_degc))
}

#[cfg(test)]
mod tests {
    use chrono::Duration;

    use super::super::morning_tests::{Morning, alert};
    use super::*;
    use crate::conditions::AirHour;
    use crate::units::degc_from_degf;

    fn cold(air_degf: f64, wind_mph: f64) -> Morning {
        let mut morning = Morning::calm();
        morning.sky().air_temp_min_degc = Some(degc_from_degf(air_degf));
        let wind_m_s = wind_mph * M_S_PER_MPH;
        morning.set_wind(wind_m_s, Some(wind_m_s), Some(0.0));
        morning
    }

    #[test]
    fn bare_hands_freeze_from_the_chill_that_the_weather_service_names() {
        // National Weather Service: 0 degF and 15 mph, -19 degF on the chart, bare skin can freeze in 30 min; 0 degF and 10 mph
        // -16 degF; 10 degF and 60 mph -19 degF, 10 degF and 55 mph -18 degF.
        let found = cold(0.0, 15.0).caution(Hazard::ColdAir).unwrap();
        assert_eq!(found.level, CautionLevel::Strong);
        let felt = found.figures["felt_temp_degc"];
        assert!((felt - degc_from_degf(-19.0)).abs() < 0.3, "{felt}");
        assert_eq!(cold(0.0, 10.0).level_of(Hazard::ColdAir), None);
        assert_eq!(
            cold(10.0, 60.0).level_of(Hazard::ColdAir),
            Some(CautionLevel::Strong)
        );
        assert_eq!(cold(10.0, 55.0).level_of(Hazard::ColdAir), None);
        // In a calm the air's own temperature counts.
        assert_eq!(
            cold(-20.0, 0.0).level_of(Hazard::ColdAir),
            Some(CautionLevel::Strong)
        );
        assert_eq!(cold(-18.0, 0.0).level_of(Hazard::ColdAir), None);
    }

    #[test]
    fn each_hour_counts_with_its_own_air_and_wind() {
        let mut morning = cold(0.0, 15.0);
        let wind_m_s = 15.0 * M_S_PER_MPH;
        // Cold while it is calm, 20 degF when it blows: 6 degF on the chart.
        morning.set_wind_hours(&[(0.5, 1.0, None), (wind_m_s, wind_m_s, None)]);
        let hours = [(0, 0.0), (1, 20.0)];
        morning.sky().air_hours = hours
            .map(|(h, degf)| AirHour {
                time: "2025-07-24T13:30:00Z"
                    .parse::<chrono::DateTime<chrono::Utc>>()
                    .unwrap()
                    + Duration::hours(h),
                air_temp_degc: degc_from_degf(degf),
            })
            .to_vec();
        assert_eq!(morning.level_of(Hazard::ColdAir), None);
        morning.sky().air_hours[1].air_temp_degc = degc_from_degf(0.0);
        assert_eq!(morning.level_of(Hazard::ColdAir), Some(CautionLevel::Strong));
        // Without air of its own an hour takes the lowest of the trip.
        morning.sky().air_hours.clear();
        assert_eq!(morning.level_of(Hazard::ColdAir), Some(CautionLevel::Strong));
    }

    #[test]
    fn without_air_or_without_wind_in_hard_frost_it_is_not_known() {
        let level = |change: &dyn Fn(&mut Morning)| {
            let mut morning = cold(0.0, 15.0);
            change(&mut morning);
            morning.level_of(Hazard::ColdAir)
        };
        let not_known = Some(CautionLevel::NotKnown);
        assert_eq!(level(&|m| m.sky().air_temp_min_degc = None), not_known);
        assert_eq!(level(&|m| m.conditions.sky = None), not_known);
        assert_eq!(level(&|m| m.conditions.wind = None), not_known);
        // The chart ends at 60 mph, where 10 degF feels like -19 degF and 15 degF like -11 degF.
        let milder = |m: &mut Morning| {
            m.conditions.wind = None;
            m.sky().air_temp_min_degc = Some(degc_from_degf(15.0));
        };
        assert_eq!(level(&milder), None);
    }

    #[test]
    fn an_official_product_of_cold_counts_on_a_mild_forecast() {
        for name in [
            "Wind Chill Advisory",
            "Extreme Cold Warning",
            "Cold Weather Advisory",
        ] {
            let mut morning = Morning::calm();
            morning.alerts.list = vec![alert(name, morning.as_of, None)];
            let found = morning.caution(Hazard::ColdAir).unwrap();
            assert_eq!(
                (found.level, found.products.as_slice()),
                (CautionLevel::Strong, [name.to_owned()].as_slice())
            );
        }
        let mut morning = Morning::calm();
        morning.alerts.list = vec![alert("Winter Storm Warning", morning.as_of, None)];
        assert_eq!(morning.level_of(Hazard::ColdAir), None);
    }
}
