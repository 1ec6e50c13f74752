//! All cautions of a morning.

use chrono::{DateTime, Utc};

use super::note::Scene;
use super::{
    changing_level, cold_air, cold_water, darkness, debris, fog, heat, ice, low_water, reminders, stale,
    thunder, waves, wind,
};
use crate::column::Water;
use crate::conditions::Conditions;
use crate::lake::Lake;
use crate::plan::{Caution, OfficialAlerts, RampState};

/// Every caution of the trip that begins at `as_of`, the most severe first.
///
/// There is no way to leave one out: life jackets, regulations and the limits of what is known of ramps
/// are always among them, and a hazard whose feed is missing is there as not known.
pub fn cautions(
    lake: &Lake,
    conditions: &Conditions,
    water: &Water,
    ramps: &[RampState],
    alerts: &OfficialAlerts,
    as_of: DateTime<Utc>,
) -> Vec<Caution> {
    let scene = Scene {
        lake,
        conditions,
        water,
        ramps,
        alerts,
        as_of,
    };
    let by_hazard = [
        wind::caution_of(scene),
        waves::caution_of(scene),
        cold_water::caution_of(scene),
        ice::caution_of(scene),
        thunder::caution_of(scene),
        debris::caution_of(scene),
        low_water::caution_of(scene),
        changing_level::caution_of(scene),
        fog::caution_of(scene),
        darkness::caution_of(scene),
        heat::caution_of(scene),
        cold_air::caution_of(scene),
        reminders::ramps_out(scene),
        reminders::ramps_unknown(scene),
        reminders::upstream_release(scene),
    ];
    let mut all: Vec<Caution> = by_hazard.into_iter().flatten().collect();
    let stale = stale::cautions_of(scene, &all);
    all.extend(stale);
    all.extend(reminders::always(scene));
    all.sort_by(|a, b| b.level.cmp(&a.level).then(a.hazard.cmp(&b.hazard)));
    all
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use crate::plan::{CautionLevel, Hazard};

    #[test]
    fn a_calm_warm_morning_has_the_reminders_and_nothing_else() {
        let cautions = Morning::calm().cautions();
        let hazards: Vec<Hazard> = cautions.iter().map(|c| c.hazard).collect();
        assert_eq!(
            hazards,
            [
                Hazard::Ramp,
                Hazard::LifeJacket,
                Hazard::Algae,
                Hazard::Regulations
            ],
            "{cautions:?}"
        );
        assert!(cautions.iter().all(|c| c.level == CautionLevel::Reminder));
    }

    #[test]
    fn with_no_feed_at_all_every_hazard_is_not_known() {
        let cautions = Morning::without_feeds().cautions();
        for hazard in [
            Hazard::Wind,
            Hazard::Waves,
            Hazard::ColdWater,
            Hazard::Ice,
            Hazard::Thunder,
            Hazard::Debris,
            Hazard::LowWater,
            Hazard::ChangingLevel,
            Hazard::Fog,
            Hazard::Darkness,
            Hazard::Heat,
            Hazard::ColdAir,
            Hazard::Ramp,
        ] {
            let found = cautions
                .iter()
                .find(|c| c.hazard == hazard)
                .unwrap_or_else(|| panic!("{hazard:?}"));
            assert_eq!(found.level, CautionLevel::NotKnown, "{hazard:?}");
            assert!(!found.names.is_empty(), "{hazard:?} names what is missing");
        }
    }

    #[test]
    fn the_most_severe_comes_first_and_nothing_is_called_without_danger() {
        let mut bad = Morning::calm();
        bad.set_wind(12.0, Some(16.0), Some(0.0));
        bad.sky().thunder_max_prob = Some(0.2);
        bad.set_surface(10.0);
        for morning in [bad, Morning::calm(), Morning::without_feeds()] {
            let cautions = morning.cautions();
            assert!(cautions.windows(2).all(|w| w[0].level >= w[1].level));
            for caution in &cautions {
                assert!(
                    !caution.threshold.is_empty() && !caution.source.is_empty(),
                    "{caution:?}"
                );
                assert!(
                    !format!("{caution:?}").to_lowercase().contains("safe"),
                    "{caution:?}"
                );
            }
        }
    }
}
