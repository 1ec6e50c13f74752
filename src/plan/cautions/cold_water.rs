//! Cold water, by the coldest surface that a route may cross, rivers among them.

use super::note::{Scene, caution, not_known, number};
use crate::column::ProfileBasis;
use crate::lake::ZoneKind;
use crate::math::quantiles::quantiles;
use crate::plan::{Caution, CautionLevel, Hazard};
use crate::units::degc_from_degf;
use crate::whereabouts::drivers::water_of;

/// Below it hypothermia is possible (US Coast Guard tips as republished 2017, read).
const CAUTION_BELOW_DEGF: f64 = 70.0;
/// Below it dexterity is lost within minutes (National Weather Service New York, read).
const STRONG_BELOW_DEGF: f64 = 60.0;
/// Below it immediate incapacitation from cold shock is highly likely (National Weather Service
/// Burlington, citing the US Coast Guard, read).
const SEVERE_BELOW_DEGF: f64 = 50.0;
/// Quantile over members of a temperature that is modelled and not measured.
const MODELLED_PROB: f64 = 0.1;

const SOURCE: &str = "National Weather Service (New York, Burlington) and US Coast Guard, read; warm air misleads: \
                      the water counts";

/// The caution of cold water; `None` where the coldest known surface is warm and none is unknown.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let surfaces = surfaces(scene);
    let known = surfaces.iter().filter_map(|(name, temp)| Some((name, (*temp)?)));
    let coldest = known.min_by(|a, b| a.1.total_cmp(&b.1));
    let missing: Vec<String> = surfaces
        .iter()
        .filter(|(_, t)| t.is_none())
        .map(|(n, _)| format!("water_temp:{n}"))
        .collect();
    let below = |limit_degf: f64| coldest.is_some_and(|(_, t)| t < degc_from_degf(limit_degf));
    let found = if below(SEVERE_BELOW_DEGF) {
        let threshold = "water below 50 degF (10 degC): cold shock at once; wear a life jacket";
        caution(Hazard::ColdWater, CautionLevel::Severe, threshold, SOURCE)
    } else if below(STRONG_BELOW_DEGF) {
        let threshold = "water below 60 degF (15.6 degC): the hands fail within minutes; wear a life jacket";
        caution(Hazard::ColdWater, CautionLevel::Strong, threshold, SOURCE)
    } else if below(CAUTION_BELOW_DEGF) {
        let threshold = "water below 70 degF (21.1 degC): hypothermia is possible; wear a life jacket";
        caution(Hazard::ColdWater, CautionLevel::Caution, threshold, SOURCE)
    } else if !missing.is_empty() {
        let threshold = "not known: the temperature of these waters is not known; treat them as cold";
        return Some(not_known(Hazard::ColdWater, missing, threshold, SOURCE));
    } else {
        return None;
    };
    let (name, temp_degc) = coldest?;
    Some(
        found
            .with_figure("water_temp_degc", temp_degc)
            .with_names([name.clone()])
            .with_names(missing),
    )
}

/// Every surface of a route with its temperature: median of members where measured, the 10 % quantile
/// where modelled; and what was observed, as it is.
fn surfaces(scene: Scene) -> Vec<(String, Option<f64>)> {
    let mut surfaces = Vec::new();
    for zone in scene.lake.zones.iter().filter(|z| z.kind != ZoneKind::River) {
        let water = water_of(scene.water, &zone.id);
        if water.is_some_and(|w| w.closed) {
            continue;
        }
        let temp = water.and_then(|w| {
            let measured = matches!(
                w.basis,
                ProfileBasis::Measured { .. } | ProfileBasis::SurfaceMeasured { .. }
            );
            let members: Option<Vec<f64>> = w.temp_degc.iter().map(|t| t.first().copied()).collect();
            coldest_of(&members?, measured)
        });
        surfaces.push((zone.name.clone(), temp));
    }
    for inflow in &scene.lake.inflows {
        let river = scene.water.rivers.iter().find(|r| r.inflow == inflow.id);
        surfaces.push((
            inflow.name.clone(),
            river.and_then(|r| coldest_of(&r.temp_degc, r.measured)),
        ));
    }
    let observed = scene
        .conditions
        .surface
        .as_ref()
        .and_then(|s| number(Some(s.temp_degc)));
    surfaces.extend(observed.map(|t| (scene.lake.main_body().name.clone(), Some(t))));
    surfaces
}

fn coldest_of(members_degc: &[f64], measured: bool) -> Option<f64> {
    let prob = if measured { 0.5 } else { MODELLED_PROB };
    quantiles(members_degc, [prob]).map(|[t]| t)
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;

    fn level(surface_degf: f64) -> Option<CautionLevel> {
        let mut morning = Morning::calm();
        morning.set_surface(degc_from_degf(surface_degf));
        morning.level_of(Hazard::ColdWater)
    }

    #[test]
    fn water_passes_its_thresholds_at_70_60_and_50_degf() {
        assert_eq!(level(70.0), None);
        assert_eq!(level(69.9), Some(CautionLevel::Caution));
        assert_eq!(level(60.0), Some(CautionLevel::Caution));
        assert_eq!(level(59.9), Some(CautionLevel::Strong));
        assert_eq!(level(50.0), Some(CautionLevel::Strong));
        assert_eq!(level(49.9), Some(CautionLevel::Severe));
    }

    #[test]
    fn a_cold_river_counts_on_a_warm_lake() {
        let mut morning = Morning::calm();
        morning.set_surface(25.0);
        morning.water.rivers[0].temp_degc.fill(9.0);
        let caution = morning.caution(Hazard::ColdWater).unwrap();
        assert_eq!(caution.level, CautionLevel::Severe);
        assert_eq!(caution.names[0], morning.lake.inflows[0].name);
    }

    #[test]
    fn a_modelled_surface_is_judged_by_its_cold_members_and_a_measured_one_by_its_median() {
        let mut morning = Morning::calm();
        morning.set_surface(25.0);
        let members = &mut morning.water.zones[0].temp_degc;
        for member in members.iter_mut().take(3) {
            member[0] = 14.0;
        }
        assert!(
            members.len() >= 10,
            "3 of 10 cold members move the 10 % quantile, not the median"
        );
        morning.water.zones[0].basis = ProfileBasis::SurfaceModelled;
        assert_eq!(morning.level_of(Hazard::ColdWater), Some(CautionLevel::Strong));
        morning.water.zones[0].basis = ProfileBasis::SurfaceMeasured {
            observed_at: morning.as_of,
        };
        assert_eq!(morning.level_of(Hazard::ColdWater), None);
    }

    #[test]
    fn an_unknown_river_on_a_warm_lake_is_not_known() {
        let mut morning = Morning::calm();
        morning.set_surface(25.0);
        morning.water.rivers.clear();
        let caution = morning.caution(Hazard::ColdWater).unwrap();
        assert_eq!(caution.level, CautionLevel::NotKnown);
        assert_eq!(caution.names.len(), morning.lake.inflows.len());
    }
}
