//! Whatever a catalogue or a table of capacity holds, its reader answers; what it makes of a table is a lake's.

use plungeline::lake::{CapacityKind, hypsography_of};
use plungeline::sources::csv::{CapacityColumns, read_capacity};
use plungeline::sources::usgs_ogc::{read_locations, read_time_series};
use proptest::prelude::*;

use crate::house::source::root;

fn fixture(name: &str) -> Vec<u8> {
    std::fs::read(root().join("fixtures/catalogues").join(name)).expect("fixtures")
}

fn read_all(bytes: &[u8]) {
    let _ = read_locations(bytes);
    let _ = read_time_series(bytes);
    for (kind, unit) in [(CapacityKind::Storage, "acre-ft"), (CapacityKind::Area, "acres")] {
        let columns = CapacityColumns {
            elevation: "elevation_ft".to_owned(),
            elevation_unit: "ft".to_owned(),
            kind,
            figure: "storage_acre_ft".to_owned(),
            figure_unit: unit.to_owned(),
        };
        if let Ok((rows, _)) = read_capacity(bytes, &columns) {
            let _ = hypsography_of(kind, &rows);
        }
    }
}

proptest! {
    #[test]
    fn no_bytes_make_a_reader_of_catalogues_panic(bytes in proptest::collection::vec(any::<u8>(), 0..600)) {
        read_all(&bytes);
    }

    #[test]
    fn no_damage_to_a_catalogue_makes_its_reader_panic(
        which in 0_usize..4,
        at in any::<prop::sample::Index>(),
        put in prop::sample::select(vec!["1e999", "-1", "null", "NaN", "\"", "{", "[", ",,", "\u{0}", "é", "262142-12-31"]),
        cut in any::<bool>(),
    ) {
        let files = [
            "usgs-ogc/time-series-page1.json", "usgs-ogc/locations-lk.json", "usgs-ogc/named-none.json", "capacity-harrow-gap.csv",
        ];
        let mut bytes = fixture(files[which]);
        let at = at.index(bytes.len());
        if cut {
            bytes.truncate(at);
        } else {
            bytes.splice(at..at, put.bytes());
        }
        read_all(&bytes);
    }

    /// Any bed that widens upward: the areas found are a lake's, and meet every storage within the stated bound.
    #[test]
    fn a_storage_that_grows_ever_faster_gives_areas_that_never_fall(
        widths in proptest::collection::vec((0.1_f64..5.0, 0.0_f64..1e5), 3..120),
    ) {
        let (mut elevation_m, mut area_m2, mut storage_m3) = (200.0, 0.0, 0.0);
        let mut rows = vec![(elevation_m, storage_m3)];
        for (step_m, more_m2) in widths {
            elevation_m += step_m;
            storage_m3 += step_m * (area_m2 + 0.5 * more_m2);
            area_m2 += more_m2;
            rows.push((elevation_m, storage_m3));
        }
        // Few rows may say too little of the area, which is a fault of its own.
        if let Ok(found) = hypsography_of(CapacityKind::Storage, &rows) {
            prop_assert!(found.table.area_m2.iter().all(|a| *a >= 0.0));
            prop_assert!(found.table.area_m2.windows(2).all(|w| w[1] >= w[0] * (1.0 - 1e-9)));
            for &(elevation_m, storage_m3) in &rows {
                let drawn_m3 = found.table.volume_m3(elevation_m).expect("within the table");
                let greatest_m3 = rows[rows.len() - 1].1;
                prop_assert!((drawn_m3 - storage_m3).abs() <= (found.drawn_frac + 1e-9) * greatest_m3);
            }
        }
    }
}
