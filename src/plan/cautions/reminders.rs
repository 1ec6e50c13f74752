//! What is always said, and what follows from the ramps and the dams upstream.

use super::note::{Scene, caution, not_known};
use crate::plan::level::judged_level;
use crate::plan::{Caution, CautionLevel, Hazard, RampState};
use crate::whereabouts::drivers::water_of;

const RAMP_SOURCE: &str =
    "toe elevations of the lake file; no feed tells of gates, closures or the state of the surface";

/// Ramps that do not float the boat by level, have no lane open, or launch into a closed arm.
pub(super) fn ramps_out(scene: Scene) -> Option<Caution> {
    let out = names_of(scene, |r| {
        r.usable == Some(false) || r.lanes == Some(0) || into_closed(scene, r)
    });
    let threshold = "less water over the end of the ramp than the boat needs to launch, now or on return, no lane open, or an arm that \
                     is closed at this level";
    let found = caution(Hazard::Ramp, CautionLevel::Caution, threshold, RAMP_SOURCE);
    (!out.is_empty()).then(|| found.with_names(out))
}

/// Ramps of which nothing is known, for want of a level, or because a late one leaves it open.
pub(super) fn ramps_unknown(scene: Scene) -> Option<Caution> {
    let unknown = names_of(scene, |r| r.usable.is_none() && !into_closed(scene, r));
    let threshold = match judged_level(scene.lake, scene.conditions) {
        Some(level) if level.late => {
            "not known: the level is late, and the pool may since have fallen below what the boat needs at some ramps"
        }
        Some(_) => {
            "not known: the trend of the level is missing, and the pool may fall below what the boat needs at some ramps by the return"
        }
        None => "not known: no level in time in the feeds, so no ramp can be judged",
    };
    (!unknown.is_empty()).then(|| not_known(Hazard::Ramp, unknown, threshold, RAMP_SOURCE))
}

fn into_closed(scene: Scene, ramp: &RampState) -> bool {
    water_of(scene.water, &ramp.zone).is_some_and(|water| water.closed)
}

fn names_of(scene: Scene, which: impl Fn(&RampState) -> bool) -> Vec<String> {
    let named = scene.ramps.iter().filter(|r| which(r));
    named.map(|r| r.name.clone()).collect()
}

/// Rivers below a dam.
pub(super) fn upstream_release(scene: Scene) -> Option<Caution> {
    let below_a_dam = scene.lake.inflows.iter().filter(|i| i.regulated);
    let regulated: Vec<String> = below_a_dam.map(|i| i.name.clone()).collect();
    if regulated.is_empty() {
        return None;
    }
    let threshold = "below a dam upstream a sudden release is possible; ask the operator";
    let source = "operators may change releases without notice (from memory)";
    let found = caution(Hazard::ChangingLevel, CautionLevel::Reminder, threshold, source);
    Some(
        found
            .with_names(regulated)
            .with_names(scene.lake.links.operator.clone()),
    )
}

/// Said on every trip, with the pages of the lake file where it names them.
pub(super) fn always(scene: Scene) -> Vec<Caution> {
    let links = &scene.lake.links;
    let mut all = vec![
        caution(
            Hazard::Ramp,
            CautionLevel::Reminder,
            "by level only; gate, closure and surface are not known",
            RAMP_SOURCE,
        ),
        caution(
            Hazard::LifeJacket,
            CautionLevel::Reminder,
            "wear a life jacket: about 85 % of drowned boaters wore none",
            "US Army Corps of Engineers, citing US Coast Guard statistics of 2022, read",
        ),
        caution(
            Hazard::Regulations,
            CautionLevel::Reminder,
            "regulations, closures and official warnings prevail; no limits, seasons or gear rules are stored here",
            "state code and site orders change in season: see the agency's own pages",
        )
        .with_names(links.rules.clone()),
        caution(
            Hazard::Algae,
            CautionLevel::Reminder,
            "the posted status alone tells of harmful algae; nothing is inferred from a lack of data",
            "EPA 822-R-19-001 and 822-F-19-001, read: microcystins 8, cylindrospermopsin 15 ug/L for recreation; states differ",
        )
        .with_names(links.algae.clone()),
    ];
    // Without the page there is nothing to point at, and no advice on portions is given.
    if let Some(page) = &links.fish_advisory {
        let threshold =
            "advisories by water, species and age: see the page; no advice on portions is given here";
        let source = "state advisories; EPA methylmercury criterion 0.3 mg/kg (from memory)";
        let found = caution(Hazard::FishAdvisory, CautionLevel::Reminder, threshold, source);
        all.push(found.with_names([page.clone()]));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;

    #[test]
    fn a_dry_ramp_is_named_and_the_limits_of_that_are_always_said() {
        let mut morning = Morning::calm();
        let toe_m = morning.lake.ramps[0].toe_elevation_m;
        morning.set_level(toe_m);
        let cautions = morning.cautions();
        let ramp: Vec<_> = cautions.iter().filter(|c| c.hazard == Hazard::Ramp).collect();
        assert_eq!(ramp.len(), 2);
        assert_eq!(
            (ramp[0].level, ramp[0].names.as_slice()),
            (CautionLevel::Caution, ["Dam Road".to_owned()].as_slice())
        );
        assert_eq!(
            ramp[1].threshold,
            "by level only; gate, closure and surface are not known"
        );
    }

    #[test]
    fn a_ramp_into_a_closed_arm_is_out_whatever_the_water_over_it() {
        let mut morning = Morning::calm();
        morning.lake.ramps[0].zone = crate::lake::ZoneId::new("sorrel");
        assert_eq!(morning.level_of(Hazard::Ramp), Some(CautionLevel::Reminder));
        morning.water.zones[1].closed = true;
        assert_eq!(morning.level_of(Hazard::Ramp), Some(CautionLevel::Caution));
    }

    #[test]
    fn a_ramp_that_a_late_level_leaves_open_is_not_known_beside_one_that_is_out() {
        let mut morning = Morning::calm();
        let (level_m, needed_m) = (
            morning.pool().elevation_m,
            morning.lake.boat.unwrap().launch_depth_m,
        );
        let mut dry = morning.lake.ramps[0].clone();
        (dry.name, dry.toe_elevation_m) = ("High Road".to_owned(), level_m + 3.0);
        morning.lake.ramps[0].toe_elevation_m = level_m - needed_m - 0.05;
        morning.lake.ramps.push(dry);
        morning.set_level_age_h(24.0);
        let cautions = morning.cautions();
        let named = |level| {
            let of_ramps = cautions
                .iter()
                .find(|c| c.hazard == Hazard::Ramp && c.level == level);
            of_ramps.map(|c| c.names.clone())
        };
        assert_eq!(named(CautionLevel::Caution), Some(vec!["High Road".to_owned()]));
        assert_eq!(named(CautionLevel::NotKnown), Some(vec!["Dam Road".to_owned()]));
    }

    #[test]
    fn pages_of_the_lake_file_are_named_and_eating_fish_only_with_its_page() {
        let mut morning = Morning::calm();
        assert!(morning.caution(Hazard::Algae).unwrap().names.is_empty());
        assert_eq!(morning.caution(Hazard::FishAdvisory), None);
        let page = |what: &str| Some(format!("https://example.org/{what}"));
        morning.lake.links.algae = page("algae");
        morning.lake.links.fish_advisory = page("eating");
        morning.lake.links.rules = page("rules");
        for (hazard, what) in [
            (Hazard::Algae, "algae"),
            (Hazard::FishAdvisory, "eating"),
            (Hazard::Regulations, "rules"),
        ] {
            let found = morning.caution(hazard).unwrap();
            assert_eq!(found.names, [format!("https://example.org/{what}")], "{hazard:?}");
        }
    }

    #[test]
    fn a_river_below_a_dam_is_named() {
        let mut morning = Morning::calm();
        assert_eq!(morning.caution(Hazard::ChangingLevel), None);
        morning.lake.inflows[0].regulated = true;
        assert_eq!(
            morning.caution(Hazard::ChangingLevel).unwrap().names,
            ["Sorrel River"]
        );
        morning.lake.links.operator = Some("https://example.org/releases".to_owned());
        let found = morning.caution(Hazard::ChangingLevel).unwrap();
        assert_eq!(found.names[1], "https://example.org/releases");
        // It is said beside the caution of a falling pool, not in its place.
        morning.set_change_7d(-1.0);
        let both = morning
            .cautions()
            .into_iter()
            .filter(|c| c.hazard == Hazard::ChangingLevel);
        let levels: Vec<CautionLevel> = both.map(|c| c.level).collect();
        assert_eq!(levels, [CautionLevel::Caution, CautionLevel::Reminder]);
    }
}
