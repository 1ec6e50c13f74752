//! What the gauge service says of the invented stations.

/// A station: number, name, kind, latitude, longitude, altitude of the gauge in ft, datum.
struct Station {
    number: &'static str,
    name: &'static str,
    kind: (&'static str, &'static str),
    position: (f64, f64),
    altitude_ft: f64,
}

const LAKE: (&str, &str) = ("Lake, Reservoir, Impoundment", "LK");
const STREAM: (&str, &str) = ("Stream", "ST");

const STATIONS: [Station; 4] = [
    Station {
        number: "990000010",
        name: "HARROW GAP RESERVOIR AT THE DAM (INVENTED)",
        kind: LAKE,
        position: (42.2031, -119.6008),
        altitude_ft: 850.0,
    },
    Station {
        number: "990000020",
        name: "SORREL RIVER BELOW HARROW GAP DAM (INVENTED)",
        kind: STREAM,
        position: (42.1987, -119.6032),
        altitude_ft: 626.0,
    },
    Station {
        number: "990000030",
        name: "SORREL RIVER ABOVE HARROW GAP RESERVOIR (INVENTED)",
        kind: STREAM,
        position: (42.3611, -119.4302),
        altitude_ft: 872.0,
    },
    Station {
        number: "990000040",
        name: "WICKET CREEK ABOVE HARROW GAP RESERVOIR (INVENTED)",
        kind: STREAM,
        position: (42.2547, -119.6480),
        altitude_ft: 861.0,
    },
];

/// Station numbers and the replies about them.
pub fn monitoring_locations() -> impl Iterator<Item = (&'static str, Vec<u8>)> {
    STATIONS.iter().map(|station| {
        let (latitude, longitude) = station.position;
        let number = station.number;
        let text = format!(
            "{{\"features\":[{{\"geometry\":{{\"coordinates\":[{longitude:.4},{latitude:.4}],\"type\":\"Point\"}},\
             \"id\":\"USGS-{number}\",\"properties\":{{\"agency_code\":\"USGS\",\"agency_name\":\"Invented station, no agency\",\
             \"altitude\":{:.1},\"altitude_accuracy\":0.1,\"altitude_method_code\":\"L\",\"altitude_method_name\":\"Level or other surveyed method\",\
             \"basin_code\":null,\"country_code\":\"US\",\"id\":\"USGS-{number}\",\"monitoring_location_name\":\"{}\",\
             \"monitoring_location_number\":\"{number}\",\"original_horizontal_datum\":\"NAD83\",\"site_type\":\"{}\",\"site_type_code\":\"{}\",\
             \"time_zone_abbreviation\":\"PST\",\"uses_daylight_savings\":\"Y\",\"vertical_datum\":\"NGVD29\",\
             \"vertical_datum_name\":\"National Geodetic Vertical Datum of 1929\"}},\"type\":\"Feature\"}}],\
             \"numberReturned\":1,\"type\":\"FeatureCollection\"}}",
            station.altitude_ft, station.name, station.kind.0, station.kind.1
        );
        (number, text.into_bytes())
    })
}
