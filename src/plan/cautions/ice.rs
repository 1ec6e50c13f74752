//! Ice on the water or the ramp, by the coldest surface.

use super::limits::{says, si, source};
use super::note::{Scene, caution, not_known};
use super::surfaces::surfaces;
use crate::plan::{Caution, CautionLevel, Hazard};

/// The caution of ice; `None` where the surface of every open zone is known and warmer, and no river is
/// known to be so cold.
///
/// A river that is not known is passed over: what it may be is said with cold water.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    // A mean of a day and a zone hides a degree of night and of shallows.
    let icy_degc = si(Hazard::Ice, CautionLevel::Severe, "at_most");
    let surfaces = surfaces(scene);
    let mut icy: Vec<(&String, f64)> = surfaces
        .iter()
        .filter_map(|s| Some((&s.name, s.temp?.low_degc)))
        .filter(|(_, low_degc)| *low_degc <= icy_degc)
        .collect();
    icy.sort_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((_, low_degc)) = icy.first().copied() {
        let threshold = says(Hazard::Ice, CautionLevel::Severe);
        let mut names: Vec<String> = Vec::new();
        for (name, _) in icy {
            if !names.contains(name) {
                names.push(name.clone());
            }
        }
        return Some(
            caution(Hazard::Ice, CautionLevel::Severe, threshold, source(Hazard::Ice))
                .with_figure("water_temp_low_degc", low_degc)
                .with_names(names),
        );
    }
    let standing = surfaces.iter().filter(|s| s.standing);
    let missing: Vec<String> = standing
        .filter(|s| s.temp.is_none())
        .map(|s| format!("water_temp:{}", s.name))
        .collect();
    let threshold =
        "not known: the surface temperature of these waters is not known; look for ice before launching";
    (!missing.is_empty()).then(|| not_known(Hazard::Ice, missing, threshold, source(Hazard::Ice)))
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;

    #[test]
    fn ice_may_be_there_from_one_degree_down() {
        let mut morning = Morning::calm();
        let mut level = |surface_degc: f64| {
            morning.set_surface(surface_degc);
            morning.level_of(Hazard::Ice)
        };
        assert_eq!(level(1.01), None);
        assert_eq!(level(1.0), Some(CautionLevel::Severe));
        assert_eq!(level(0.0), Some(CautionLevel::Severe));
    }

    #[test]
    fn a_tenth_of_the_members_in_one_arm_is_enough_and_the_arm_is_named() {
        let mut morning = Morning::calm();
        morning.set_surface(4.0);
        for member in morning.water.zones[1].temp_degc.iter_mut().take(3) {
            member[0] = 0.5;
        }
        let ice = morning.caution(Hazard::Ice).unwrap();
        assert_eq!(
            (ice.level, ice.names),
            (CautionLevel::Severe, vec!["Sorrel Arm".to_owned()])
        );
        assert_eq!(ice.figures["water_temp_low_degc"], 0.5);
    }

    #[test]
    fn an_unknown_surface_is_not_known_and_an_unknown_river_alone_says_nothing() {
        let mut morning = Morning::calm();
        morning.water.rivers.clear();
        assert_eq!(morning.level_of(Hazard::Ice), None);
        morning.water.zones[1].temp_degc.clear();
        let ice = morning.caution(Hazard::Ice).unwrap();
        assert_eq!(
            (ice.level, ice.names),
            (CautionLevel::NotKnown, vec!["water_temp:Sorrel Arm".to_owned()])
        );
        morning.water.zones[1].temp_degc = vec![vec![f64::NAN, 9.0, 9.0]; 10];
        assert_eq!(morning.level_of(Hazard::Ice), Some(CautionLevel::NotKnown));
    }
}
