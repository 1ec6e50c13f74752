//! Thunderstorms.

use super::note::{Scene, caution, not_known, number};
use super::official::raised;
use crate::plan::{Caution, CautionLevel, Hazard};

/// Chance of thunder of a caution (project choice).
const CAUTION_PROB: f64 = 0.15;
/// Chance of thunder at which not to go out (project choice).
const SEVERE_PROB: f64 = 0.30;

const SOURCE: &str = "project choice; National Weather Service pages for boaters, read: there are no warnings for \
                      lightning, all thunderstorms have it, do not go out if storms are possible; wait 30 min after the \
                      last thunder (from memory)";

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
            SOURCE,
        ));
    };
    let (level, threshold) = if prob >= SEVERE_PROB {
        (
            CautionLevel::Severe,
            "a chance of thunder of 30 % or more: do not go out",
        )
    } else if prob >= CAUTION_PROB {
        (CautionLevel::Caution, "a chance of thunder of 15 % or more")
    } else {
        return None;
    };
    Some(caution(Hazard::Thunder, level, threshold, SOURCE).with_figure("thunder_prob", prob))
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
