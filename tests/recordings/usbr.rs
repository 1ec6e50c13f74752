//! Recorded replies of the Bureau of Reclamation, as they came.

use plungeline::lake::Cadence;
use plungeline::quantity::Quantity;
use plungeline::sources::csv::StampZone;
use plungeline::sources::hydromet::{read_values, to_rows};
use plungeline::sources::read_saved;
use plungeline::sources::rise::{read_items, read_locations};

use super::want;
use crate::validation::data;

fn recorded(name: &str) -> Option<Vec<u8>> {
    data(&format!("recordings/usbr/{name}")).map(|path| std::fs::read(path).unwrap())
}

#[test]
fn a_recorded_location_gives_position_datum_zone_and_items() {
    let Some(bytes) = recorded("rise_location_1.json") else {
        return;
    };
    let found = read_locations(&bytes).unwrap();
    assert_eq!((found.locations.len(), found.faults.len()), (1, 0));
    let location = &found.locations[0];
    let station = &location.station;
    // All read off the reply.
    assert_eq!(
        (station.id.as_str(), station.name.as_deref()),
        ("1", Some("Marys Lake"))
    );
    assert_eq!(
        (station.latitude_deg, station.longitude_deg),
        (Some(40.344_079_6), Some(-105.534_308_3))
    );
    assert_eq!(station.vertical_datum.as_deref(), Some("NAVD88"));
    assert_eq!(location.item_ids, ["4222", "4223", "4225"]);
    assert_eq!(read_saved(None, &bytes, "recorded").unwrap().service, "rise");
}

#[test]
fn recorded_parameters_have_their_units_and_the_link_to_the_next_page() {
    let Some(bytes) = recorded("rise_parameter_page1_of_233.json") else {
        return;
    };
    let (items, next) = read_items(&bytes).unwrap();
    // Two of the page's three rows are held (README of the data); unit and link read off the reply.
    assert_eq!(items.len(), 2);
    assert_eq!(
        (items[0].id.as_str(), items[0].unit.as_deref()),
        ("1688", Some("count"))
    );
    assert_eq!(next.as_deref(), Some("/rise/api/parameter?itemsPerPage=3&page=2"));
    assert_eq!(read_saved(None, &bytes, "recorded").unwrap().service, "rise");
}

#[test]
fn a_recorded_page_of_hydromet_is_read_whole() {
    let Some(bytes) = recorded("hydromet_webdaycsv_UNY_20170502.txt") else {
        return;
    };
    let page = read_values(&bytes).unwrap();
    // Eight lines of two columns, without a bad one: counted in the page.
    assert_eq!((page.cells.len(), page.faults.len()), (16, 0));
    let zone = StampZone::read("-08:00").unwrap();
    let want = want(Quantity::Storage, Cadence::Continuous, "hydromet", "UNY", "af");
    let (rows, faults) = to_rows(&page, &want, zone);
    assert_eq!((rows.len(), faults.len()), (8, 0));
    // 05/02/2017 03:45 and 23322.00: read off the page; at -08:00, chosen here, it is 11:45 UTC.
    assert_eq!(
        (
            rows[1].stamp.to_string().as_str(),
            rows[1].value,
            rows[1].unit.as_str()
        ),
        ("2017-05-02T11:45:00Z", Some(23_322.0), "acre-ft")
    );
    assert_eq!(read_saved(None, &bytes, "recorded").unwrap().service, "hydromet");
}
