//! Thunderstorms.

use super::limits::{says, si, source};
use super::note::{Scene, caution, not_known, number};
use super::official::raised;
use crate::plan::{Caution, CautionLevel, Hazard};

/// The caution of thunder: by the forecast, and at its stop line where an official product says so.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    raised(scene, Hazard::Thunder, by_forecast(scene))
}

/// The caution of thunder; `None` below all thresholds.
fn by_forecast(scene: Scene) -> Option<Caution> {
    let thunder = number(scene.conditions.sky.as_ref().and_then(|s| s.thunder_max_prob));
    let Some(prob) = thunder else {
        let threshold = "not known: no lightning forecast in the feeds: check";
        return Some(not_known(
            Hazard::Thunder,
            vec!["thunder_probability".to_owned()],
            threshold,
            source(Hazard::Thunder),
        ));
    };
    let passed = |level: &CautionLevel| prob >= si(Hazard::Thunder, *level, "chance");
    let level = [CautionLevel::Severe, CautionLevel::Caution]
        .into_iter()
        .find(passed)?;
    let threshold = says(Hazard::Thunder, level);
    Some(
        caution(Hazard::Thunder, level, threshold, source(Hazard::Thunder)).with_figure("thunder_prob", prob),
    )
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;

    #[test]
    fn thunder_passes_its_thresholds_at_15_and_30_percent_and_is_not_known_without_a_feed() {
        let mut morning = Morning::calm();
        let mut level = |prob: Option<f64>| {
            morning.sky().thunder_max_prob = prob;
            morning.level_of(Hazard::Thunder)
        };
        assert_eq!(level(Some(0.149)), None);
        assert_eq!(level(Some(0.15)), Some(CautionLevel::Caution));
        assert_eq!(level(Some(0.299)), Some(CautionLevel::Caution));
        assert_eq!(level(Some(0.30)), Some(CautionLevel::Severe));
        assert_eq!(level(None), Some(CautionLevel::NotKnown));
        assert_eq!(level(Some(f64::NAN)), Some(CautionLevel::NotKnown));
    }
}
