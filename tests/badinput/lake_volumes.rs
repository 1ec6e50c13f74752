//! Volumes of a lake file against its areas.

use plungeline::faces::faults::render_faults;

use super::lake_file::{faults, harrow_gap};

/// The demonstration lake with volumes in its hypsography, `volume_acre_ft` of each row in order.
fn with_volumes(volumes: &[f64]) -> String {
    let mut volumes = volumes.iter();
    let line = |line: &str| match (line.contains("area_acres = "), line.split_once(" }")) {
        (true, Some((row, rest))) => match volumes.next() {
            Some(volume) => format!("{row}, volume_acre_ft = {volume:.1} }}{rest}"),
            None => line.to_owned(),
        },
        _ => line.to_owned(),
    };
    harrow_gap().lines().map(line).collect::<Vec<_>>().join("\n")
}

/// Trapezoid sums of the demonstration lake's areas, acre-feet, added up by another program.
const VOLUMES: [f64; 16] = [
    0.0, 108.0, 2068.0, 8008.0, 19888.0, 39228.0, 53462.0, 67232.0, 105332.0, 123612.0, 154872.0, 218072.0,
    295472.0, 363272.0, 413322.0, 450737.0,
];

#[test]
fn volumes_are_taken_where_they_fit_the_areas_and_refused_where_they_do_not() {
    assert!(
        faults(&with_volumes(&VOLUMES)).is_empty(),
        "{}",
        render_faults(&faults(&with_volumes(&VOLUMES)))
    );
    let mut off = VOLUMES;
    off[14] += 9000.0; // 52,000 acre-ft is the most that 5,200 acres can add in 10 ft
    let list = faults(&with_volumes(&off));
    assert_eq!(list.len(), 1, "{}", render_faults(&list));
    assert!(
        list[0].found.contains("grows by 59050 acre-ft"),
        "{}",
        list[0].found
    );
    let list = faults(&with_volumes(&VOLUMES[..15]));
    assert_eq!(list.len(), 1, "{}", render_faults(&list));
    assert!(
        list[0].found.contains("without volume_acre_ft"),
        "{}",
        list[0].found
    );
}
