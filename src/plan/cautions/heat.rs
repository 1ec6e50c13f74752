//! Heat, by the air of the trip; an official product of heat counts whatever the forecast says.

use super::limits::{says, si, source};
use super::note::{Scene, caution, not_known, number};
use super::official::products_with;
use crate::plan::{Caution, CautionLevel, Hazard};

/// The caution of heat; `None` where the air is forecast and cooler, and no official product speaks of heat.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let sky = scene.conditions.sky.as_ref();
    let highest = number(sky.and_then(|s| s.air_temp_max_degc));
    let products = products_with(scene, &["heat"]);
    let passed = |level: &CautionLevel| highest.is_some_and(|t| t >= si(Hazard::Heat, *level, "air"));
    let level = [CautionLevel::Strong, CautionLevel::Caution]
        .into_iter()
        .find(passed);
    let found = if !products.is_empty() {
        let threshold = format!("official product in force, {}", products.join(", "));
        Caution {
            products,
            ..caution(
                Hazard::Heat,
                CautionLevel::Strong,
                &threshold,
                source(Hazard::Heat),
            )
        }
    } else if let Some(level) = level {
        caution(
            Hazard::Heat,
            level,
            says(Hazard::Heat, level),
            source(Hazard::Heat),
        )
    } else if highest.is_none() {
        let threshold = "not known: no air temperature of the trip in the feeds";
        return Some(not_known(
            Hazard::Heat,
            vec!["air_temp".to_owned()],
            threshold,
            source(Hazard::Heat),
        ));
    } else {
        return None;
    };
    Some(found.with_figure_if("air_temp_degc", highest))
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::{Morning, alert};
    use super::*;
    use crate::units::degc_from_degf;

    #[test]
    fn heat_passes_its_thresholds_at_90_and_103_degf() {
        let level = |degf: f64| {
            let mut morning = Morning::calm();
            morning.sky().air_temp_max_degc = Some(degc_from_degf(degf));
            morning.level_of(Hazard::Heat)
        };
        assert_eq!(level(89.9), None);
        assert_eq!(level(90.0), Some(CautionLevel::Caution));
        assert_eq!(level(102.9), Some(CautionLevel::Caution));
        assert_eq!(level(103.0), Some(CautionLevel::Strong));
    }

    #[test]
    fn an_official_product_of_heat_counts_on_a_cool_forecast_and_a_missing_one_is_not_known() {
        let mut morning = Morning::calm();
        morning.sky().air_temp_max_degc = None;
        assert_eq!(morning.level_of(Hazard::Heat), Some(CautionLevel::NotKnown));
        morning.alerts.list = vec![alert("Heat Advisory", morning.as_of, Some(3))];
        let found = morning.caution(Hazard::Heat).unwrap();
        assert_eq!(
            (found.level, found.products),
            (CautionLevel::Strong, vec!["Heat Advisory".to_owned()])
        );
    }
}
