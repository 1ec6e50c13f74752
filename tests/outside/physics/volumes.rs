//! Every integral of volume against the slow, obvious way: many thin slices, each its area times its height.

use plungeline::lake::{Hypsography, read_lake_file};
use plungeline::physics::stratification::{WaterLayer, centre_of_volume_m};
use plungeline::sources::service_rules;
use plungeline::whereabouts::{DepthRange, hard_band::volume_m3};
use proptest::prelude::*;

use crate::house::source::root;

/// Slices of a sum: an integrand that is linear or quadratic between its kinks is met to about the square of a slice's share.
const SLICES: usize = 40_000;
/// What that leaves, as a share of the whole: kinks and edges fall within a slice, one slice's share each at most.
const SLICED_FRAC: f64 = 1e-4;

/// `integral of f` from `from` to `to` by the middles of thin slices.
fn sliced(from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
    let thin = (to - from) / SLICES as f64;
    (0..SLICES)
        .map(|i| f(from + (i as f64 + 0.5) * thin))
        .sum::<f64>()
        * thin
}

/// Straight lines between the points of a table, written out a second time.
fn between(x: &[f64], y: &[f64], at: f64) -> f64 {
    let mut i = 0;
    while i + 2 < x.len() && x[i + 1] < at {
        i += 1;
    }
    y[i] + (y[i + 1] - y[i]) * (at - x[i]) / (x[i + 1] - x[i])
}

prop_compose! {
    /// Elevations and areas that grow upward, from a bed of some area or none.
    fn tables()(
        steps_m in prop::collection::vec(0.5..30.0f64, 1..8),
        growths_m2 in prop::collection::vec(1e3..5e6f64, 9),
        has_flat_bed in any::<bool>(),
    ) -> (Vec<f64>, Vec<f64>) {
        let (mut elevations, mut areas) = (vec![100.0], vec![if has_flat_bed { growths_m2[8] } else { 0.0 }]);
        for (k, step) in steps_m.iter().enumerate() {
            elevations.push(elevations[k] + step);
            areas.push(areas[k] + growths_m2[k]);
        }
        (elevations, areas)
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_volume_of_a_table_is_the_sum_of_its_slices((elevations, areas) in tables(), at_frac in 0.05..1.0f64) {
        let table = Hypsography::from_areas(elevations.clone(), areas.clone());
        let (bed_m, top_m) = (elevations[0], elevations[elevations.len() - 1]);
        let at_m = bed_m + at_frac * (top_m - bed_m);
        let wanted = sliced(bed_m, at_m, |e| between(&elevations, &areas, e));
        let found = table.volume_m3(at_m).unwrap();
        prop_assert!((found / wanted - 1.0).abs() < SLICED_FRAC, "{} {}", found, wanted);
        // And back.
        prop_assert!((table.elevation_m(wanted).unwrap() - at_m).abs() < SLICED_FRAC * (top_m - bed_m));
    }

    #[test]
    fn the_volume_within_limits_is_the_sum_of_its_slices((depths, areas) in tables(), edges in prop::collection::vec(0.0..1.0f64, 4)) {
        // Depth runs down, so the areas are those of a lake turned over: any positive areas do.
        let (first, last) = (depths[0], depths[depths.len() - 1]);
        let mut edges_m: Vec<f64> = edges.iter().map(|e| first + e * (last - first)).collect();
        edges_m.sort_by(f64::total_cmp);
        let ranges: Vec<DepthRange> = edges_m
            .chunks(2)
            .map(|pair| DepthRange { top_m: pair[0], bottom_m: pair[1] })
            .collect();
        let inside = |z: f64| ranges.iter().any(|range| range.top_m <= z && z <= range.bottom_m);
        let wanted = sliced(first, last, |z| if inside(z) { between(&depths, &areas, z) } else { 0.0 });
        let whole = sliced(first, last, |z| between(&depths, &areas, z));
        let found = volume_m3(&depths, &areas, &ranges);
        // Of the whole: a narrow range is some slices only.
        prop_assert!((found - wanted).abs() < SLICED_FRAC * whole, "{} {}", found, wanted);
    }

    #[test]
    fn the_centre_of_volume_is_that_of_its_slices((elevations, areas) in tables()) {
        let table = Hypsography::from_areas(elevations.clone(), areas.clone());
        let (bed_m, top_m) = (elevations[0], elevations[elevations.len() - 1]);
        let layers: Vec<WaterLayer> = (0..2000)
            .map(|i| {
                let height = |k: usize| (bed_m + (top_m - bed_m) * k as f64 / 2000.0).min(top_m);
                let volume = |k: usize| table.volume_m3(height(k)).unwrap();
                WaterLayer {
                    depth_m: top_m - 0.5 * (height(i) + height(i + 1)),
                    volume_m3: volume(i + 1) - volume(i),
                    density_kg_m3: 1000.0,
                }
            })
            .collect();
        let moment = sliced(bed_m, top_m, |e| (top_m - e) * between(&elevations, &areas, e));
        let volume = sliced(bed_m, top_m, |e| between(&elevations, &areas, e));
        let found = centre_of_volume_m(&layers).unwrap();
        prop_assert!((found - moment / volume).abs() < SLICED_FRAC * (top_m - bed_m), "{}", found);
    }
}

#[test]
fn zones_of_the_demonstration_lake_hold_the_sums_of_their_slices() {
    let lake = read_lake_file(&root().join("config/lakes/harrow-gap.toml"), &service_rules()).unwrap();
    let table = lake.hypsography.as_ref().unwrap();
    let (bed_m, top_m) = (table.bed_elevation_m().unwrap(), table.top_elevation_m().unwrap());
    let mut seen = 0;
    for zone in lake.zones.iter().filter(|zone| !zone.area_share.is_empty()) {
        for at_frac in [0.3, 0.62, 1.0] {
            let at_m = bed_m + at_frac * (top_m - bed_m);
            let wanted = sliced(bed_m, at_m, |e| {
                table.volume_slope_m2(e).unwrap() * zone.area_share_frac(e).unwrap()
            });
            let below = table.volume_m3(bed_m).unwrap() * zone.area_share_frac(bed_m).unwrap();
            let found = lake.zone_volume_m3(zone, at_m).unwrap();
            // Of the lake: an arm that has hardly begun is some slices only.
            let lake_m3 = table.volume_m3(at_m).unwrap();
            assert!(
                (found - below - wanted).abs() < SLICED_FRAC * lake_m3,
                "{} {found} {wanted}",
                zone.name
            );
            seen += 1;
        }
    }
    assert!(seen >= 9, "main body and two arms at three levels");
}
