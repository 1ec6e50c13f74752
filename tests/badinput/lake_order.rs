//! Series that stand in for each other in a lake file, rightly and wrongly.

use std::path::Path;

use plungeline::faces::Units;
use plungeline::faces::faults::render_faults;
use plungeline::faces::lake::render_lake;
use plungeline::lake::{SeriesPlace, ZoneId, read_lake};
use plungeline::quantity::Quantity;
use plungeline::sources::service_rules;

use super::lake_file::{Case, check, faults, harrow_gap};

#[rustfmt::skip]
const ORDER: &[Case] = &[
    ("quantity = \"storage\"", "quantity = \"storage\"\nstands_in_for = \"storge\"", "stands_in_for = ", "stands_in_for = \"storge\"", "\"storage\""),
    ("quantity = \"storage\"", "quantity = \"storage\"\nstands_in_for = \"pool\"", "stands_in_for = ", "which measures pool_elevation", "another series"),
    ("quantity = \"storage\"", "quantity = \"storage\"\nstands_in_for = \"storage\"", "stands_in_for = ", "stands in for itself", "remove"),
    ("id = \"sorrel-flow\"", "id = \"sorrel-flow\"\nstands_in_for = \"wicket-flow\"", "stands_in_for = ", "of inflow \"wicket\"", "another series"),
    ("quantity = \"storage\"", "quantity = \"storage\"\nstands_in_for = 3", "stands_in_for = ", "stands_in_for = 3", "\"pool\""),
];

#[test]
fn a_stand_in_for_what_it_cannot_stand_in_for_is_one_fault_at_its_place() {
    check(ORDER);
}

/// The demonstration lake with two thermometers more, the first of which stands in for `first`.
fn with_thermometers(first: &str, depth_m: f64) -> String {
    let thermometer = |id: &str, first: &str, depth_m: f64| {
        format!(
            "[[series]]\nid = \"{id}\"\nquantity = \"water_temp\"\nzone = \"main\"\ndepth_m = {depth_m:.1}\n\
             service = \"usgs-ogc\"\nstation = \"USGS-990000011\"\nparameter = \"00010\"\n\
             cadences = [\"continuous\"]\nstands_in_for = \"{first}\"\n"
        )
    };
    [
        harrow_gap(),
        thermometer("raft", first, depth_m),
        thermometer("dock", "raft", 0.5),
    ]
    .join("\n")
}

#[test]
fn stand_ins_may_follow_each_other_and_come_in_the_order_of_the_chain() {
    let lake = read_lake(
        &with_thermometers("surface", 0.5),
        Path::new("lake.toml"),
        &service_rules(),
    )
    .unwrap_or_else(|faults| panic!("{}", render_faults(&faults)));
    let main = SeriesPlace::Zone(ZoneId::new("main"));
    let ids: Vec<&str> = lake
        .series_of(Quantity::WaterTemp, &main)
        .map(|s| s.id.as_str())
        .collect();
    assert_eq!(ids, ["surface", "raft", "dock"]);
    let shown = render_lake(&lake, Units::Us);
    assert!(shown.contains("stands in for surface"), "{shown}");
    assert!(
        shown.contains("water_temp in main: surface, then raft, then dock"),
        "{shown}"
    );
}

#[test]
fn stand_ins_in_a_circle_and_deep_water_for_the_surface_are_refused() {
    let circle = faults(&with_thermometers("dock", 0.5));
    assert_eq!(circle.len(), 2, "{}", render_faults(&circle));
    assert!(
        circle
            .iter()
            .all(|f| f.found.contains("in the end stands in for itself"))
    );
    let deep = faults(&with_thermometers("surface", 20.0));
    let shown = render_faults(&deep);
    // The raft for the surface, and the dock for the raft.
    assert_eq!(deep.len(), 2, "{shown}");
    assert!(
        deep[0].found.contains("which is at 1 m") && deep[0].wanted.contains("within 2 m"),
        "{shown}"
    );
}
