//! National Water Prediction Service: the one recorded block, of one point.

use plungeline::lake::Cadence;
use plungeline::quantity::Quantity;
use plungeline::sources::nwps::{Part, read_stageflow, to_batch};
use plungeline::sources::read_saved;

use super::{at, want};
use crate::validation::data;

fn bytes() -> Option<Vec<u8>> {
    let path = data("recordings/nwps/stageflow_observed_one_point.json")?;
    Some(std::fs::read(path).unwrap())
}

#[test]
fn a_recorded_flow_in_kcfs_is_read_by_its_name() {
    let Some(bytes) = bytes() else { return };
    let block = read_stageflow(&bytes, Part::Observed).unwrap();
    assert!(block.faults.is_empty());
    assert_eq!(block.issued_at, Some(at("2026-07-28T13:15:00Z")));
    let want = want(Quantity::Inflow, Cadence::Continuous, "nwps", "XHGA1", "flow");
    let now = at("2026-07-28T14:00:00Z");
    let rows = to_batch(&block, &want, now, now).unwrap().filled.rows;
    assert_eq!(rows.len(), 1);
    assert_eq!(
        (rows[0].time, rows[0].original_value),
        (at("2026-06-28T14:45:00Z"), Some(20.6))
    );
    // 20.6 kcfs x 28.316846592 (exact factor); tolerance: the tenth figure.
    assert!((rows[0].value.unwrap() - 583.327_039_8).abs() < 1e-6);
}

#[test]
fn the_recording_is_known_for_what_it_is() {
    let Some(bytes) = bytes() else { return };
    let saved = read_saved(None, &bytes, "any").unwrap();
    assert_eq!((saved.service, saved.records.len()), ("nwps", 2));
    let stage = &saved.records[0];
    assert_eq!(
        (stage.parameter.as_str(), stage.value, stage.unit.as_str()),
        ("stage", Some(5.03), "ft")
    );
    assert_eq!(stage.series, "HGIRG");
    assert_eq!(stage.note, "observed, issued 2026-07-28T13:15:00Z");
}
