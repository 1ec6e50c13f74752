//! Fog.

use super::limits::{says, si, source};
use super::note::{Scene, caution, not_known, number};
use super::official::raised;
use crate::plan::{Caution, CautionLevel, Hazard};

/// The caution of fog: by the forecast, and at its stop line where an official product says so.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    raised(scene, Hazard::Fog, by_forecast(scene))
}

/// The caution of fog; `None` where visibility is forecast, good, and no sign of fog stands against it.
fn by_forecast(scene: Scene) -> Option<Caution> {
    let sky = scene.conditions.sky.as_ref();
    let visibility_m = number(sky.and_then(|s| s.visibility_min_m));
    let likely = sky.and_then(|s| s.fog_likely) == Some(true);
    let found = if visibility_m.is_some_and(|v| v <= si(Hazard::Fog, CautionLevel::Severe, "visibility")) {
        caution(
            Hazard::Fog,
            CautionLevel::Severe,
            says(Hazard::Fog, CautionLevel::Severe),
            source(Hazard::Fog),
        )
    } else if likely {
        let threshold = says(Hazard::Fog, CautionLevel::Caution);
        caution(Hazard::Fog, CautionLevel::Caution, threshold, source(Hazard::Fog))
    } else if visibility_m.is_none() {
        let threshold = "not known: no visibility in the feeds; look before launching";
        not_known(
            Hazard::Fog,
            vec!["visibility".to_owned()],
            threshold,
            source(Hazard::Fog),
        )
    } else {
        return None;
    };
    Some(found.with_figure_if("visibility_m", visibility_m))
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;
    use crate::units::M_PER_MI;

    #[test]
    fn fog_is_severe_at_a_quarter_mile_likely_by_its_signs_and_not_known_without_visibility() {
        let mut morning = Morning::calm();
        let mut level = |visibility_mi: Option<f64>, likely: Option<bool>| {
            morning.sky().visibility_min_m = visibility_mi.map(|v| v * M_PER_MI);
            morning.sky().fog_likely = likely;
            morning.level_of(Hazard::Fog)
        };
        assert_eq!(level(Some(0.26), Some(false)), None);
        assert_eq!(level(Some(0.25), Some(false)), Some(CautionLevel::Severe));
        assert_eq!(level(Some(5.0), Some(true)), Some(CautionLevel::Caution));
        assert_eq!(level(None, Some(true)), Some(CautionLevel::Caution));
        assert_eq!(level(None, Some(false)), Some(CautionLevel::NotKnown));
        assert_eq!(level(None, None), Some(CautionLevel::NotKnown));
        morning.conditions.sky = None;
        assert_eq!(morning.level_of(Hazard::Fog), Some(CautionLevel::NotKnown));
    }
}
