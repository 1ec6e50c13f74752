//! Open water upwind of each open zone, for the caution of waves and for the strip of hours alike: one chop for one water.

use crate::column::Water;
use crate::conditions::Conditions;
use crate::lake::{Lake, Zone, ZoneKind};
use crate::plan::level::judged_level;
use crate::whereabouts::drivers::water_of;

/// Zones that a boat may cross today, each with its fetch by direction at today's level. Without a level, or with a late one,
/// behind which the pool may have risen, the fetch is that of the full pool, the longest.
pub(in crate::plan) fn open_fetches<'a>(
    lake: &'a Lake,
    conditions: &Conditions,
    water: &Water,
) -> Vec<(&'a Zone, Vec<(f64, f64)>)> {
    let in_time = judged_level(lake, conditions).filter(|level| !level.late);
    let level_m = in_time.map(|level| level.newest_m);
    lake.zones
        .iter()
        .filter(|z| z.kind != ZoneKind::River)
        .filter(|z| !water_of(water, &z.id).is_some_and(|w| w.closed))
        .map(|z| (z, lake.fetch_of(z, level_m)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;
    use crate::lake::{ZoneId, read_lake};
    use crate::plan::Hazard;
    use crate::plan::hours::plan_hours;
    use crate::units::{M_PER_FT, M_PER_MI};

    /// The demonstration lake with its tables of fetch set aside, so that its outlines count.
    fn outlined() -> Morning {
        let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
        let text = std::fs::read_to_string(&file).unwrap();
        let mut morning = Morning::calm();
        morning.lake = read_lake(&text, &file, &crate::sources::service_rules()).unwrap();
        morning.lake.zones.iter_mut().for_each(|z| z.fetch.clear());
        // The gauge of the test is named "pool", as that of the lake.
        let found = &morning.conditions.inputs[0].series;
        assert!(morning.lake.series.iter().any(|s| s.id.as_str() == found));
        morning
    }

    fn longest_m(morning: &Morning, zone: &str) -> f64 {
        let open = open_fetches(&morning.lake, &morning.conditions, &morning.water);
        let (_, fetch) = open.into_iter().find(|(z, _)| z.id == ZoneId::new(zone)).unwrap();
        assert_eq!(fetch.len(), 120, "every 3 degrees");
        fetch.into_iter().map(|(_, fetch_m)| fetch_m).fold(0.0, f64::max)
    }

    #[test]
    fn outlines_join_at_the_mouths_and_end_where_an_arm_is_dry_today() {
        let mut morning = outlined();
        morning.set_level(845.0 * M_PER_FT);
        // By its thalweg the Sorrel Arm is straight, and 7.5 mi long to the last point but one.
        let full_m = longest_m(&morning, "sorrel");
        assert!((7.5..9.0 + 5.5).contains(&(full_m / M_PER_MI)), "{full_m}");
        // Its outline ends 300 m short of its mouth, which lies on the shore of the main body, and the water goes on beyond.
        let mut alone = outlined();
        alone.set_level(845.0 * M_PER_FT);
        alone.lake.zones[0].outline.clear();
        let alone_m = longest_m(&alone, "sorrel");
        assert!(full_m - alone_m > 300.0, "{full_m}, alone {alone_m}");
        // At 779 ft its bed is dry from 5.7 mi on.
        morning.set_level(779.0 * M_PER_FT);
        let low_m = longest_m(&morning, "sorrel");
        assert!((full_m - low_m) / M_PER_MI > 2.5, "{low_m} of {full_m}");
        // The Narrows bend the main body: its own axis is 5.5 mi long, and wet from end to end at either level.
        assert!(longest_m(&morning, "main") > 3.0 * M_PER_MI);
    }

    #[test]
    fn without_a_level_in_time_the_fetch_is_that_of_the_full_pool() {
        let mut morning = outlined();
        morning.set_level(845.0 * M_PER_FT);
        let full_m = longest_m(&morning, "sorrel");
        morning.set_level(779.0 * M_PER_FT);
        morning.set_level_age_h(24.0);
        assert_eq!(
            longest_m(&morning, "sorrel"),
            full_m,
            "a late level may have risen since"
        );
        morning.conditions.pool = None;
        assert_eq!(longest_m(&morning, "sorrel"), full_m);
    }

    #[test]
    fn the_strip_of_hours_and_the_caution_have_the_same_waves() {
        let mut morning = outlined();
        for level_ft in [779.0, 845.0] {
            morning.set_level(level_ft * M_PER_FT);
            morning.set_wind(8.0, Some(12.0), Some(50.0));
            morning.set_wind_hours(&[(6.0, 9.0, Some(50.0)), (8.0, 12.0, Some(230.0))]);
            let caution = morning.caution(Hazard::Waves).unwrap();
            let strip = plan_hours(&morning.lake, &morning.conditions, &morning.water);
            let chop = strip
                .hours
                .iter()
                .flat_map(|h| &h.chop)
                .filter_map(|c| c.wave_height_m);
            assert_eq!(
                chop.fold(0.0, f64::max),
                caution.figures["wave_height_m"],
                "{level_ft}"
            );
        }
    }
}
