//! Recorded replies of the Bureau of Reclamation, and a recorded WaterML file of the USGS.

use plungeline::series::Approval;
use plungeline::sources::hydromet::read_values;
use plungeline::sources::read_saved;
use plungeline::sources::rise::{read_items, read_locations};
use plungeline::sources::waterml;

use crate::validation::data;

fn bytes(file: &str) -> Option<Vec<u8>> {
    Some(std::fs::read(data(&format!("recordings/{file}"))?).unwrap())
}

#[test]
fn a_recorded_location_has_its_place_datum_and_items() {
    let Some(bytes) = bytes("usbr/rise_location_1.json") else {
        return;
    };
    let locations = read_locations(&bytes).unwrap();
    let location = &locations[0];
    // Read off the reply.
    assert_eq!(
        (location.station.id.as_str(), location.station.latitude_deg),
        ("1", Some(40.344_079_6))
    );
    assert_eq!(location.station.vertical_datum.as_deref(), Some("NAVD88"));
    assert_eq!(location.item_ids, ["4222", "4223", "4225"]);
    assert_eq!(read_saved(None, &bytes, "location").unwrap().service, "rise");
}

#[test]
fn a_recorded_page_of_parameters_has_their_units_and_the_next_page() {
    let Some(bytes) = bytes("usbr/rise_parameter_page1_of_233.json") else {
        return;
    };
    let (items, next) = read_items(&bytes).unwrap();
    assert_eq!(
        (items.len(), items[0].id.as_str(), items[0].unit.as_deref()),
        (2, "1688", Some("count"))
    );
    assert_eq!(next.as_deref(), Some("/rise/api/parameter?itemsPerPage=3&page=2"));
    assert_eq!(read_saved(None, &bytes, "parameters").unwrap().records.len(), 2);
}

#[test]
fn a_recorded_page_of_hydromet_is_read_whole() {
    let Some(bytes) = bytes("usbr/hydromet_webdaycsv_UNY_20170502.txt") else {
        return;
    };
    let page = read_values(&bytes).unwrap();
    // Eight quarters of an hour of level and storage: read off the page.
    assert_eq!((page.cells.len(), page.faults.len()), (16, 0));
    assert_eq!(
        (page.cells[0].parameter.as_str(), page.cells[0].value),
        ("FB", Some(3818.25))
    );
    assert_eq!(
        (page.cells[15].parameter.as_str(), page.cells[15].value),
        ("AF", Some(23350.0))
    );
    let saved = read_saved(None, &bytes, "page").unwrap();
    assert_eq!(
        (saved.service, saved.records[0].time.as_str()),
        ("hydromet", "2017-05-02T03:30:00")
    );
}

#[test]
fn a_recorded_waterml_file_is_read_whole() {
    let Some(bytes) = bytes("usgs-legacy/WaterML1Example.xml") else {
        return;
    };
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
