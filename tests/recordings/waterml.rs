//! A recorded WaterML file of the USGS.

use plungeline::series::Approval;
use plungeline::sources::{read_saved, waterml};

use crate::validation::data;

#[test]
fn a_recorded_waterml_file_is_read_whole() {
    let Some(path) = data("recordings/usgs-legacy/WaterML1Example.xml") else {
        return;
    };
    let bytes = std::fs::read(path).unwrap();
    let page = waterml::read_values(&bytes).unwrap();
    let values = String::from_utf8_lossy(&bytes).matches("<ns1:value ").count();
    assert_eq!((page.rows.len(), page.faults.len()), (values, 0));
    let first = &page.rows[0];
    // 83 ft3/s at midnight of 2012-05-12 at -05:00, approved: the first value of the file.
    assert_eq!(
        (first.stamp.to_string().as_str(), first.value),
        ("2012-05-12T05:00:00Z", Some(83.0))
    );
    assert_eq!(
        (first.station.as_str(), first.unit.as_str()),
        ("USGS-01491000", "ft3/s")
    );
    assert_eq!(first.approval, Approval::Approved);
    assert_eq!(read_saved(None, &bytes, "file").unwrap().service, "waterml");
}
