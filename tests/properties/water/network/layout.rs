//! From a lake to columns.

use plungeline::column::network::{Layout, LayoutError};

use super::{faces_m, harrow_gap, prism};

#[test]
fn the_columns_add_up_to_the_lake_at_every_elevation() {
    let lake = harrow_gap();
    let table = lake.hypsography.as_ref().unwrap();
    for (layer_m, reaches) in [(1.0, 4), (0.7, 3), (2.0, 5)] {
        let layout = Layout::of_lake(&lake, layer_m, reaches).unwrap();
        assert_eq!(layout.places.len(), 1 + 2 * reaches);
        let (bed_m, top_m) = (table.bed_elevation_m().unwrap(), table.top_elevation_m().unwrap());
        let full_m3 = table.volume_m3(top_m).unwrap();
        for i in 0..=1000 {
            let level_m = bed_m + (top_m - bed_m) * f64::from(i) / 1000.0;
            let parts = layout.places.iter().map(|p| p.grid.volume_m3(level_m).unwrap());
            let (sum_m3, lake_m3) = (parts.sum::<f64>(), table.volume_m3(level_m).unwrap());
            // Sums of hundreds of terms: the twelfth figure of the full lake.
            assert!(
                (sum_m3 - lake_m3).abs() < 1e-12 * full_m3,
                "{level_m}: {sum_m3} {lake_m3}"
            );
            assert!((layout.whole.volume_m3(level_m).unwrap() - lake_m3).abs() < 1e-12 * full_m3);
        }
    }
}

#[test]
fn an_arm_has_its_share_of_the_volume() {
    let lake = harrow_gap();
    let layout = Layout::of_lake(&lake, 1.0, 4).unwrap();
    for zone in lake.zones.iter().filter(|z| !z.area_share.is_empty()) {
        for level_m in [225.0, 240.0, 257.5] {
            let columns = layout.of_zone(&zone.id);
            let sum_m3: f64 = columns
                .map(|i| layout.places[i].grid.volume_m3(level_m).unwrap())
                .sum();
            let wanted_m3 = lake.zone_volume_m3(zone, level_m).unwrap();
            // Trapezoids on rows a metre apart against the exact integral of share times area.
            assert!(
                (sum_m3 - wanted_m3).abs() < 2e-3 * wanted_m3.max(1e5),
                "{}: {sum_m3} {wanted_m3}",
                zone.id
            );
        }
    }
}

#[test]
fn reaches_rise_from_the_mouth_to_the_head_and_join_over_the_higher_bed() {
    let lake = harrow_gap();
    let layout = Layout::of_lake(&lake, 1.0, 4).unwrap();
    for arm in lake.arms() {
        let columns: Vec<usize> = layout.of_zone(&arm.id).collect();
        assert_eq!(layout.head_of(&arm.id), columns.last().copied());
        let mut before = 0;
        for column in columns {
            let place = &layout.places[column];
            let (next, face) = place.toward_lake.as_ref().unwrap();
            assert_eq!(*next, before);
            let higher_m = place.bed_elevation_m.max(layout.places[before].bed_elevation_m);
            assert_eq!(face.sill_elevation_m, higher_m);
            assert!(place.bed_elevation_m >= layout.places[before].bed_elevation_m);
            // The bed of a reach is that of its thalweg, to the row of the table above it.
            let bed_m = place.valley.as_ref().unwrap().lowest_bed_m();
            assert!(
                (place.bed_elevation_m - bed_m).abs() < 1.0,
                "{} {bed_m}",
                place.bed_elevation_m
            );
            assert!(face.width_m[..face.first_layer].iter().all(|w| *w == 0.0));
            assert!(face.width_m.windows(2).all(|w| w[1] >= w[0]));
            before = column;
        }
    }
}

#[test]
fn no_column_has_a_layer_without_water_or_a_sliver() {
    let layout = Layout::of_lake(&harrow_gap(), 1.0, 4).unwrap();
    for place in &layout.places {
        let least = (0..place.grid.layers())
            .map(|i| place.grid.full_volume_m3(i))
            .fold(f64::INFINITY, f64::min);
        // The lowest layer of a triangular valley: half a metre of water in a gorge.
        assert!(least > 100.0, "{}: {least}", place.zone);
    }
}

#[test]
fn a_lake_without_arms_is_one_column() {
    let mut lake = harrow_gap();
    lake.zones.retain(|z| z.id.as_str() == "main");
    let layout = Layout::of_lake(&lake, 1.0, 4).unwrap();
    assert_eq!(layout.places.len(), 1);
    assert_eq!(layout.places[0].grid, layout.whole);
}

#[test]
fn an_arm_without_a_thalweg_is_one_reach() {
    let mut lake = harrow_gap();
    lake.zones.iter_mut().for_each(|z| z.thalweg.clear());
    let layout = Layout::of_lake(&lake, 1.0, 4).unwrap();
    assert_eq!(layout.places.len(), 3);
    assert!(
        layout.places[1]
            .toward_lake
            .as_ref()
            .unwrap()
            .1
            .width_m
            .iter()
            .any(|w| *w > 100.0)
    );
}

#[test]
fn what_makes_no_columns_is_refused_with_its_reason() {
    let mut lake = harrow_gap();
    lake.hypsography = None;
    let found = Layout::of_lake(&lake, 1.0, 4);
    assert!(matches!(found, Err(LayoutError::Hypsography { .. })), "{found:?}");
    let faces = faces_m(0.0, 20.0, 1.0);
    let alone = vec![prism((0.0, 20.0), 1e6, Some((0, 100.0)))];
    assert_eq!(Layout::join(&faces, alone), Err(LayoutError::Part { column: 0 }));
    let other = vec![
        prism((0.0, 20.0), 1e6, None),
        prism((0.0, 21.0), 1e6, Some((0, 1.0))),
    ];
    assert_eq!(Layout::join(&faces, other), Err(LayoutError::Part { column: 1 }));
    let high = vec![prism((0.0, 19.0), 1e6, None)];
    assert!(matches!(Layout::join(&faces, high), Err(LayoutError::Grid(_))));
}
