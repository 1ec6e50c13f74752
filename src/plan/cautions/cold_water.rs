//! Cold water, by the coldest surface that a route may cross, rivers among them.

use super::limits::{says, si, source};
use super::note::{Scene, caution, not_known};
use super::surfaces::{SurfaceTemp, surfaces};
use crate::plan::{Caution, CautionLevel, ColderWater, Hazard};

/// The caution of cold water; `None` where the coldest known surface on a route of today is warm and none of them is unknown.
/// What was measured counts as it is (`water_temp_degc`); what is modelled, or an arm that was not measured, counts as low as it
/// may be, the 10 % quantile over members (`water_temp_low_degc`). A colder water that no route comes to is named beside it.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let surfaces = surfaces(scene);
    let coldest = coldest(&surfaces, true);
    let missing: Vec<String> = surfaces
        .iter()
        .filter(|s| s.temp.is_none() && s.on_route)
        .map(|s| format!("water_temp:{}", s.name))
        .collect();
    let passed = |level: &CautionLevel| {
        let limit_degc = si(Hazard::ColdWater, *level, "below");
        coldest.is_some_and(|c| c.temp_degc < limit_degc)
    };
    let levels = [CautionLevel::Severe, CautionLevel::Strong, CautionLevel::Caution];
    let found = if let Some(level) = levels.into_iter().find(passed) {
        let threshold = says(Hazard::ColdWater, level);
        caution(Hazard::ColdWater, level, threshold, source(Hazard::ColdWater))
    } else if !missing.is_empty() {
        let threshold = "not known: the temperature of these waters is not known; treat them as cold";
        return Some(not_known(
            Hazard::ColdWater,
            missing,
            threshold,
            source(Hazard::ColdWater),
        ));
    } else {
        return None;
    };
    let on_route = coldest?;
    let colder = self::coldest(&surfaces, false).filter(|off| off.temp_degc < on_route.temp_degc);
    Some(Caution {
        colder_off_route: colder.map(|off| ColderWater {
            name: off.name.to_owned(),
            water_temp_degc: off.temp_degc,
        }),
        ..found
            .with_figure(on_route.figure, on_route.temp_degc)
            .with_names([on_route.name.to_owned()])
            .with_names(missing)
    })
}

/// A surface as it is judged.
#[derive(Clone, Copy)]
struct Judged<'a> {
    name: &'a str,
    /// What the figure is called: as measured, or as low as it may be.
    figure: &'static str,
    temp_degc: f64,
}

/// The coldest known surface on or off the routes of today.
fn coldest(surfaces: &[SurfaceTemp], on_route: bool) -> Option<Judged<'_>> {
    let known = surfaces
        .iter()
        .filter(|s| s.on_route == on_route)
        .filter_map(|s| {
            let temp = s.temp?;
            let (figure, temp_degc) = if s.measured {
                ("water_temp_degc", temp.median_degc)
            } else {
                ("water_temp_low_degc", temp.low_degc)
            };
            Some(Judged {
                name: &s.name,
                figure,
                temp_degc,
            })
        });
    known.min_by(|a, b| a.temp_degc.total_cmp(&b.temp_degc))
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;
    use crate::column::ProfileBasis;
    use crate::units::degc_from_degf;

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
        assert_eq!(caution.figures["water_temp_degc"], 9.0, "that river is measured");
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
        for basis in [
            ProfileBasis::SurfaceModelled,
            ProfileBasis::SurfaceFromMainBody {
                observed_at: morning.as_of,
            },
        ] {
            morning.water.zones[0].basis = basis;
            let cold = morning.caution(Hazard::ColdWater).unwrap();
            assert_eq!(cold.level, CautionLevel::Strong);
            assert_eq!(
                cold.figures.keys().collect::<Vec<_>>(),
                ["water_temp_low_degc"],
                "the figure says that it is a low one"
            );
        }
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

    #[test]
    fn the_river_of_a_closed_arm_is_off_every_route_and_named_when_it_is_colder() {
        let mut morning = Morning::calm();
        morning.set_surface(15.0);
        morning.water.rivers[0].temp_degc.fill(9.0);
        let open = morning.caution(Hazard::ColdWater).unwrap();
        assert_eq!((open.level, open.colder_off_route), (CautionLevel::Severe, None));
        morning.water.zones[1].closed = true;
        let closed = morning.caution(Hazard::ColdWater).unwrap();
        assert_eq!(
            (closed.level, closed.figures["water_temp_degc"]),
            (CautionLevel::Strong, 15.0)
        );
        let colder = closed.colder_off_route.unwrap();
        assert_eq!(
            (colder.name.as_str(), colder.water_temp_degc),
            ("Sorrel River", 9.0)
        );
        // Of that river nothing need be known.
        morning.set_surface(25.0);
        morning.water.rivers.clear();
        assert_eq!(morning.level_of(Hazard::ColdWater), None);
    }

    #[test]
    fn an_open_arm_counts_even_with_no_ramp_in_use_and_no_way_that_is_known() {
        // The wider set: the plan orders every open zone, whatever the ramps are.
        let mut morning = Morning::calm();
        morning.set_surface(25.0);
        morning.water.rivers[0].temp_degc.fill(9.0);
        morning.lake.ramps.clear();
        assert_eq!(morning.level_of(Hazard::ColdWater), Some(CautionLevel::Severe));
    }
}
