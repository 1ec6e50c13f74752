//! Where to go when the first place stays quiet, and when.

use chrono::{DateTime, Duration, Utc};
use serde::{Deserialize, Serialize};

use super::depth::SpeciesDepth;
use super::order::OrderPlace;
use crate::lake::ZoneId;

/// Share above which the second zone is the second choice (fish.md 5, project choice).
const SECOND_SHARE_FRAC: f64 = 0.3;
/// Worth over the trip, as a part of the first place's, from which on another zone comes before the same water again (project choice).
const SECOND_WORTH_FRAC: f64 = 0.3;
/// Time for one rung of the ladder without a touch (common practice, no source).
const RUNG_H: f64 = 0.5;
/// The first place has no more than this part of the hours before the second is tried (project choice).
const FIRST_PLACE_FRAC: f64 = 0.5;

/// The second choice.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum SecondChoice {
    /// Another zone.
    Zone {
        /// Zone.
        zone: ZoneId,
        /// When to go to it.
        at: DateTime<Utc>,
        /// Run to it from the first place; `None` where that is not known.
        run_h: Option<f64>,
    },
    /// The same zone: no other has enough of the fish.
    SameZone {
        /// Next stretch that reaches the depth, the first once more where there is no other; `None` where none is known, and then it is along
        /// steep walls.
        stretch: Option<String>,
        /// When to go to it.
        at: DateTime<Utc>,
        /// Depth to set at that hour; `None` where it is not known.
        set_m: Option<f64>,
    },
}

/// The second zone where it has more than 0.3 of the fish and can be reached, else the first one's next stretch; where it has no other, the next
/// zone that is worth 0.3 of the first, and only then the same water again. Each after one pass of the ladder from first light on, or
/// after half of the hours where that is sooner. A zone without water within the hard limits is no second to one that has it.
pub(super) fn second(
    places: &[OrderPlace],
    run_h: impl Fn(&OrderPlace, &OrderPlace, DateTime<Utc>) -> Option<f64>,
    (leave_at, depth): (DateTime<Utc>, &SpeciesDepth),
    rungs: usize,
) -> Option<SecondChoice> {
    let first = places.first()?;
    let tried_h = (RUNG_H * rungs.max(1) as f64).min(FIRST_PLACE_FRAC * first.fishing_h);
    let seconds = |hours_h: f64| Duration::seconds((hours_h * 3600.0) as i64);
    let there = leave_at + seconds(first.run_h.unwrap_or(0.0));
    // What is tried in the dark says little.
    let dawn = depth.first_light.map(|light| light.from);
    let at = dawn.map_or(there, |dawn| there.max(dawn)) + seconds(tried_h);
    let others = || {
        let can_be_fished = |p: &&OrderPlace| p.fishing_h > 0.0 && (p.within_limits || !first.within_limits);
        places.iter().skip(1).filter(can_be_fished)
    };
    let next_stretch = first.stretches.get(1);
    let other = others().find(|p| p.share > SECOND_SHARE_FRAC).or_else(|| {
        let mut worth = others().filter(|_| next_stretch.is_none());
        worth.find(|p| p.worth_frac >= SECOND_WORTH_FRAC)
    });
    Some(match other {
        Some(other) => SecondChoice::Zone {
            zone: other.zone.clone(),
            at,
            run_h: run_h(first, other, at),
        },
        None => SecondChoice::SameZone {
            stretch: next_stretch.or(first.stretches.first()).cloned(),
            at,
            set_m: set_at(depth, &first.zone, at),
        },
    })
}

/// The depth to set in a zone from an hour on: that of first light only where it holds for a rung from then on.
fn set_at(depth: &SpeciesDepth, zone: &ZoneId, at: DateTime<Utc>) -> Option<f64> {
    let own = depth.zones.iter().find(|z| &z.zone == zone)?;
    let rung = Duration::seconds((RUNG_H * 3600.0) as i64);
    let dawn = depth.first_light.is_some_and(|light| at + rung < light.to);
    if dawn { own.first_light_m } else { own.set_m }
}

#[cfg(test)]
mod tests {
    use super::super::order::tests::place;
    use super::*;
    use crate::lake::SpeciesId;
    use crate::plan::cautions::morning_tests::Morning;
    use crate::plan::{FirstLight, ZoneDepth};

    fn begin() -> DateTime<Utc> {
        Morning::calm().as_of
    }

    fn hours_after(at: DateTime<Utc>) -> f64 {
        (at - begin()).num_seconds() as f64 / 3600.0
    }

    /// Depths of the main body: 12 m, 10 m for two hours from first light on.
    fn depths(dawn_h: Option<i64>) -> SpeciesDepth {
        SpeciesDepth {
            species: SpeciesId::new("landlocked-chinook"),
            zones: vec![ZoneDepth {
                zone: ZoneId::new("main"),
                band_top_m: Some(8.0),
                band_bottom_m: Some(20.0),
                set_m: Some(12.0),
                first_light_m: Some(10.0),
                within_limits: None,
                outside_limits: false,
                has_layer_within: true,
                surface_m: None,
                structures: Vec::new(),
            }],
            first_light: dawn_h.map(|h| FirstLight {
                from: begin() + Duration::hours(h),
                to: begin() + Duration::hours(h + 2),
            }),
            steep: true,
        }
    }

    fn no_run(_: &OrderPlace, _: &OrderPlace, _: DateTime<Utc>) -> Option<f64> {
        None
    }

    #[test]
    fn the_second_zone_is_tried_after_the_ladder_and_at_the_latest_after_half_of_the_hours() {
        let places = [place("main", 0.5, Some(0.25)), place("sorrel", 0.4, Some(0.75))];
        let at = |rungs, dawn_h: i64| {
            let depth = depths(Some(dawn_h));
            match second(&places, |_, _, _| Some(0.5), (begin(), &depth), rungs) {
                Some(SecondChoice::Zone { zone, at, run_h }) => {
                    assert_eq!((zone.as_str(), run_h), ("sorrel", Some(0.5)));
                    hours_after(at)
                }
                other => panic!("{other:?}"),
            }
        };
        // Four rungs of half an hour after a run of a quarter; then half of the 5.5 h that are left of 6.
        assert_eq!((at(4, 0), at(40, 0)), (2.25, 3.0));
        assert_eq!(
            at(4, 1),
            3.0,
            "from first light on, an hour after the trip begins"
        );
    }

    #[test]
    fn without_another_zone_of_three_in_ten_the_next_stretch_is_the_second_choice() {
        let places = [place("main", 0.7, None), place("sorrel", 0.3, None)];
        let of = |dawn_h, rungs| match second(&places, no_run, (begin(), &depths(dawn_h)), rungs) {
            Some(SecondChoice::SameZone { stretch, at, set_m }) => (stretch, hours_after(at), set_m),
            other => panic!("{other:?}"),
        };
        let narrows = Some("narrows".to_owned());
        assert_eq!(of(None, 2), (narrows.clone(), 1.0, Some(12.0)));
        // While the fish stand shallower the second stretch is run there too, and no longer.
        assert_eq!(of(Some(0), 2), (narrows.clone(), 1.0, Some(10.0)));
        assert_eq!(
            of(Some(0), 3),
            (narrows.clone(), 1.5, Some(12.0)),
            "the last half hour"
        );
        assert_eq!(of(Some(0), 4), (narrows, 2.0, Some(12.0)));
        assert_eq!(second(&[], no_run, (begin(), &depths(None)), 2), None);
    }

    #[test]
    fn where_no_other_stretch_reaches_the_depth_the_next_zone_comes_before_the_same_water() {
        let mut places = [place("main", 0.7, Some(0.25)), place("sorrel", 0.25, Some(0.5))];
        places[0].stretches.truncate(1);
        let of = |places: &[OrderPlace]| second(places, no_run, (begin(), &depths(None)), 2);
        places[1].worth_frac = 0.3;
        let other = of(&places);
        assert!(
            matches!(&other, Some(SecondChoice::Zone { zone, .. }) if zone.as_str() == "sorrel"),
            "{other:?}"
        );
        places[1].worth_frac = 0.29;
        let same = of(&places);
        assert!(
            matches!(&same, Some(SecondChoice::SameZone { stretch: Some(s), .. }) if s == "wall"),
            "{same:?}"
        );
        places[0].stretches.clear();
        let steep = of(&places);
        assert!(
            matches!(steep, Some(SecondChoice::SameZone { stretch: None, .. })),
            "{steep:?}"
        );
    }

    #[test]
    fn a_zone_without_water_within_the_limits_is_no_second_to_one_that_has_it() {
        let mut places = [place("main", 0.5, Some(0.25)), place("sorrel", 0.4, Some(0.75))];
        let is_zone = |places: &[OrderPlace]| {
            let found = second(places, no_run, (begin(), &depths(None)), 2);
            matches!(found, Some(SecondChoice::Zone { .. }))
        };
        places[1].within_limits = false;
        assert!(!is_zone(&places));
        places[0].within_limits = false;
        assert!(is_zone(&places), "neither has it: the share decides again");
    }
}
