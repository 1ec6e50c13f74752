//! One target for every reader of outside bytes. The fuzzer runs them, and a plain test reads all seeds and all
//! kept crashes through them. To add a reader: one line in [`typed`]; a service's `read_saved` needs none.

use std::path::Path;
use std::sync::Arc;

use chrono::{DateTime, NaiveDate, Utc};
use plungeline::clock::LakeClock;
use plungeline::delivery::bounce::{messages_of, read_reports};
use plungeline::delivery::table::{read_consent, read_readers};
use plungeline::delivery::{DecimalMark, HourStyle, LetterUnits, read_settings};
use plungeline::lake::{Cadence, CapacityKind, CsvColumns, LakeError, SeriesSource, read_lake_bytes};
use plungeline::quality::Thresholds;
use plungeline::quantity::Quantity;
use plungeline::series::{Batch, Provenance};
use plungeline::sources::replay::Index;
use plungeline::sources::{
    SERVICES, Want, cdec, csv, cwms, hydromet, nwps, nws, open_meteo, read_saved, rise, service_rules, stamp,
    usgs_legacy, usgs_ogc, waterml,
};
use plungeline::species::read_species;
use plungeline::trips::forms::{
    read_column_map, read_foreign_csv, read_trips_csv, read_trips_json, trips_csv,
};
use plungeline::trips::tracks::{CutOptions, Track, cut_track, read_gpx, read_kml};
use plungeline::trips::{Known, Origin, Placed, TripFault, check_trip, read_trip_line};

/// What is done with the bytes.
pub type Run = Box<dyn Fn(&[u8]) + Send + Sync>;

/// A reader under the fuzzer.
pub struct Target {
    /// Name on the command line.
    pub name: String,
    /// Readers it calls, as `folder/of/src::function`; a house test looks for every one of them.
    #[allow(dead_code)] // The house test alone reads it.
    pub readers: &'static [&'static str],
    /// Folder or file that it starts from, under the repository's root.
    pub seeds: String,
    /// Reads the bytes. It may refuse them; a panic, a hang or memory without bound is a crash.
    pub run: Run,
}

/// All targets: the saved reply of every service, of none in particular, and each reader by itself.
pub fn targets() -> Vec<Target> {
    let mut all = vec![Target {
        name: "saved".to_owned(),
        readers: &["sources::read_saved"],
        seeds: "fixtures/replies".to_owned(),
        run: Box::new(|bytes| saved(None, bytes)),
    }];
    all.extend(SERVICES.iter().map(|service| Target {
        name: format!("saved-{}", service.name),
        readers: &["sources::read_saved"],
        seeds: format!("fixtures/replies/{}", service.name),
        run: Box::new(|bytes| saved(Some(service.name), bytes)),
    }));
    all.extend(typed().into_iter().map(|(name, readers, seeds, run)| Target {
        name: name.to_owned(),
        readers,
        seeds: seeds.to_owned(),
        run: Box::new(run),
    }));
    all
}

type Typed = (&'static str, &'static [&'static str], &'static str, fn(&[u8]));

const USGS: &str = "fixtures/replies/usgs-ogc";
const CWMS: &str = "fixtures/replies/cwms";
const NWS: &str = "fixtures/replies/nws";
const TRIPS: &str = "fixtures/trips";
const WEATHER: &str = "fixtures/replies/open-meteo";

/// One line a reader: name, what it reads with, what it starts from, how.
#[rustfmt::skip]
fn typed() -> Vec<Typed> {
    vec![
        ("mail-settings", &["delivery::read_settings"], "fixtures/letters", |b| text(b, mail_settings)),
        ("readers-csv", &["delivery::read_readers", "delivery::read_consent"], "fixtures/letters", readers_csv),
        ("bounces", &["delivery::read_reports"], "fixtures/letters", |b| messages_of(b).iter().for_each(|m| drop(read_reports(m)))),
        ("usgs-ogc-observations", &["sources/usgs_ogc::read_observations"], USGS, usgs_observations),
        ("usgs-ogc-stations", &["sources/usgs_ogc::read_stations"], USGS, |b| drop(usgs_ogc::read_stations(b))),
        ("open-meteo-weather", &["sources/open_meteo::read_weather"], WEATHER, |b| drop(open_meteo::read_weather(b))),
        ("nws-alerts", &["sources/nws::read_alerts"], NWS, |b| drop(nws::read_alerts(b))),
        ("nws-grid", &["sources/nws::read_grid"], NWS, |b| drop(nws::read_grid(b))),
        ("nws-observations", &["sources/nws::read_observations"], NWS, |b| drop(nws::read_observations(b))),
        ("nws-point", &["sources/nws::read_point"], NWS, |b| drop(nws::read_point(b))),
        ("nws-stations", &["sources/nws::read_stations"], NWS, |b| drop(nws::read_stations(b))),
        ("cdec-readings", &["sources/cdec::read_readings"], "fixtures/replies/cdec", |b| drop(cdec::read_readings(b))),
        ("nwps-stageflow", &["sources/nwps::read_stageflow"], "fixtures/replies/nwps", nwps_stageflow),
        ("usgs-legacy-values", &["sources/usgs_legacy::read_observations", "sources/usgs_legacy::read_rdb",
            "sources/usgs_legacy::read_rdb_observations", "sources/usgs_legacy::read_sites"], "fixtures/replies/usgs-legacy", usgs_legacy_all),
        ("usgs-ogc-catalogue", &["sources/usgs_ogc::read_locations", "sources/usgs_ogc::read_time_series"], "fixtures/catalogues/usgs-ogc", usgs_catalogue),
        ("cwms-json", &["sources/cwms::read_series", "sources/cwms::read_catalogue", "sources/cwms::read_location",
            "sources/cwms::read_levels"], CWMS, cwms_json),
        ("cwms-rating", &["sources/cwms::read_rating", "sources::read_document"], CWMS, |b| drop(cwms::read_rating(b))),
        ("rise", &["sources/rise::read_results", "sources/rise::read_items", "sources/rise::read_locations"], "fixtures/replies/rise", rise_all),
        ("hydromet-values", &["sources/hydromet::read_values"], "fixtures/replies/hydromet", |b| drop(hydromet::read_values(b))),
        ("waterml-values", &["sources/waterml::read_values"], "fixtures/replies/waterml", |b| drop(waterml::read_values(b))),
        ("csv-capacity", &["sources/csv::read_capacity"], "fixtures/catalogues/capacity-harrow-gap.csv", csv_capacity),
        ("csv-table", &["sources/csv::read_table"], "fixtures/replies/csv", csv_table),
        ("csv-columns", &["sources/csv::read_columns", "sources/csv::read_days"], "fixtures/replies/csv", csv_columns),
        ("csv-water", &["sources/csv::read_water_readings"], "fixtures/replies/csv", csv_water),
        ("replay-index", &["sources/replay::from_bytes"], "fixtures/demo/index.json", replay_index),
        ("texts", &["sources::read_day", "sources::read_civil", "sources::read_rfc3339", "sources::read_unix",
            "sources/nws::read_interval", "clock::read_as_of"], "fixtures/replies/csv", texts),
        ("lake-file", &["lake/file::read_lake_bytes", "lake/file::read_lake"], "config/lakes", lake_file),
        ("species-file", &["species::read_species"], "config/species", |b| text(b, |t| drop(read_species(t, "any", "any.toml")))),
        ("trip-csv", &["trips/forms::read_trips_csv"], TRIPS, |b| sound_trips(read_trips_csv(b))),
        ("trip-json", &["trips/forms::read_trips_json"], TRIPS, |b| sound_trips(read_trips_json(b))),
        ("trip-foreign", &["trips/forms::read_foreign_csv", "trips/forms::read_column_map"], TRIPS, foreign_trips),
        ("trip-line", &["trips::read_trip_line"], TRIPS, |b| text(b, trip_line)),
        ("track-gpx", &["trips/tracks::read_gpx"], TRIPS, |b| track(read_gpx(b))),
        ("track-kml", &["trips/tracks::read_kml"], TRIPS, |b| track(read_kml(b))),
        ("quality-file", &["quality::from_toml"], "config/quality.toml", |b| text(b, |t| drop(Thresholds::from_toml("any", t)))),
    ]
}

fn text(bytes: &[u8], read: impl Fn(&str)) {
    if let Ok(text) = std::str::from_utf8(bytes) {
        read(text);
    }
}

fn as_of() -> DateTime<Utc> {
    NaiveDate::from_ymd_opt(2025, 10, 9)
        .and_then(|day| day.and_hms_opt(11, 30, 0))
        .expect("the demonstration's morning is a time")
        .and_utc()
}

fn clock() -> LakeClock {
    LakeClock::new(chrono_tz::America::Los_Angeles)
}

fn want(quantity: Quantity, cadence: Cadence, parameter: &str) -> Want {
    Want {
        series: SeriesSource {
            station: "USGS-990000010".to_owned(),
            cadences: vec![cadence],
            datum_offset_m: Some(1.0),
            ..SeriesSource::of("any", quantity, "", parameter)
        },
        cadence,
        from: None,
    }
}

/// What every batch keeps to: one value a time and depth, in order, finite, nothing from the future.
fn assert_sound(batch: &Batch) {
    let in_order = |w: &[_]| {
        let [a, b]: &[plungeline::series::Observation; 2] = w.try_into().expect("two at a time");
        (a.time, a.depth_m) < (b.time, b.depth_m)
    };
    assert!(batch.rows.windows(2).all(in_order), "not in order");
    assert!(
        batch
            .rows
            .iter()
            .all(|row| row.time <= as_of() && row.value.is_none_or(f64::is_finite)),
        "not finite, or from the future"
    );
}

fn saved(service: Option<&str>, bytes: &[u8]) {
    match read_saved(service, bytes, "any") {
        Ok(saved) => {
            for record in saved.records {
                assert!(record.value.is_none_or(f64::is_finite), "{record:?}");
                assert!(record.value_si.is_none_or(f64::is_finite), "{record:?}");
            }
        }
        Err(error) => drop(error.to_string()),
    }
}

fn nwps_stageflow(bytes: &[u8]) {
    for part in [nwps::Part::Observed, nwps::Part::Forecast] {
        drop(nwps::read_stageflow(bytes, part));
    }
}

fn usgs_legacy_all(bytes: &[u8]) {
    drop(usgs_legacy::read_observations(bytes));
    drop(usgs_legacy::read_rdb(bytes));
    drop(usgs_legacy::read_rdb_observations(bytes));
    drop(usgs_legacy::read_sites(bytes));
}

fn usgs_catalogue(bytes: &[u8]) {
    drop(usgs_ogc::read_locations(bytes));
    drop(usgs_ogc::read_time_series(bytes));
}

fn cwms_json(bytes: &[u8]) {
    drop(cwms::read_series(bytes));
    drop(cwms::read_catalogue(bytes));
    drop(cwms::read_location(bytes));
    drop(cwms::read_levels(bytes));
}

fn rise_all(bytes: &[u8]) {
    drop(rise::read_results(bytes));
    drop(rise::read_items(bytes));
    drop(rise::read_locations(bytes));
}

fn csv_capacity(bytes: &[u8]) {
    let columns = csv::CapacityColumns {
        elevation: "elevation_ft".to_owned(),
        elevation_unit: "ft".to_owned(),
        kind: CapacityKind::Storage,
        figure: "storage_acre_ft".to_owned(),
        figure_unit: "acre-ft".to_owned(),
    };
    drop(csv::read_capacity(bytes, &columns));
}

fn usgs_observations(bytes: &[u8]) {
    let Ok(page) = usgs_ogc::read_observations(bytes) else {
        return;
    };
    for (quantity, code) in [(Quantity::PoolElevation, "62614"), (Quantity::Inflow, "00060")] {
        for cadence in [Cadence::Daily, Cadence::Continuous] {
            let want = want(quantity, cadence, code);
            if let Ok(filled) = usgs_ogc::to_batch(&page.rows, &want, clock(), as_of(), as_of()) {
                assert_sound(&filled.batch);
            }
        }
    }
}

fn csv_table(bytes: &[u8]) {
    let columns = CsvColumns {
        path: "any.csv".into(),
        time: "time".to_owned(),
        value: "temp_f".to_owned(),
        depth: Some("depth_m".to_owned()),
        stamp_zone: "America/Los_Angeles".to_owned(),
        missing: vec!["NA".to_owned()],
    };
    let Ok(table) = csv::read_table(bytes, &columns) else {
        return;
    };
    let provenance = Arc::new(Provenance {
        service: "csv".to_owned(),
        station: "any".to_owned(),
        parameter: "temp_f".to_owned(),
        original_unit: "degF".to_owned(),
        retrieved_at: as_of(),
    });
    let want = want(Quantity::WaterTemp, Cadence::Continuous, "temp_f");
    if let Ok((batch, _)) = csv::to_batch(&table, &want, clock(), as_of(), &provenance) {
        assert_sound(&batch);
    }
}

fn csv_columns(bytes: &[u8]) {
    let missing = ["NA".to_owned()];
    let wanted = csv::Wanted {
        time: Some("time"),
        zone: csv::StampZone::Named(chrono_tz::America::Los_Angeles),
        missing: &missing,
        columns: &["temp_f", "depth_m"],
        times_repeat: true,
    };
    if let Ok(columns) = csv::read_columns(bytes, &wanted) {
        let rows = columns.lines.len();
        assert!(columns.stamps.len() == rows && columns.values.iter().all(|c| c.len() == rows));
        assert!(columns.values.iter().flatten().flatten().all(|v| v.is_finite()));
    }
    drop(csv::read_days(bytes, ["time", "temp_f"], &missing));
}

fn csv_water(bytes: &[u8]) {
    let zone = csv::StampZone::Named(chrono_tz::America::Los_Angeles);
    if let Ok(readings) = csv::read_water_readings(bytes, zone) {
        for row in readings.rows {
            assert!(row.temp_degc.is_some() || row.oxygen_mg_l.is_some(), "{row:?}");
            assert!(
                row.temp_error_degc
                    .or(row.oxygen_error_mg_l)
                    .is_some_and(|e| e > 0.0),
                "{row:?}"
            );
            assert!(row.depth_m >= 0.0 && row.depth_m.is_finite(), "{row:?}");
        }
    }
}

fn replay_index(bytes: &[u8]) {
    if let Ok(index) = Index::from_bytes(bytes, Path::new("any")) {
        for entry in &index.entries {
            let query: Vec<_> = entry.query.clone().into_iter().collect();
            let _ = index.find(&entry.host, &entry.path, &query, as_of());
        }
    }
}

fn texts(bytes: &[u8]) {
    text(bytes, |text| {
        let _ = stamp::read_day(text, &["%Y-%m-%d", "%m/%d/%Y"]);
        let _ = stamp::read_civil(text, &["%Y-%m-%dT%H:%M:%S%.f", "%m/%d/%Y %H:%M"]);
        let _ = stamp::read_rfc3339(text);
        let _ = text.trim().parse().ok().and_then(stamp::read_unix);
        let _ = nws::read_interval(text);
        let _ = clock().read_as_of(text);
    });
}

/// What trips are checked against: the demonstration lake.
fn known() -> Known<'static> {
    static LAKE: std::sync::OnceLock<plungeline::lake::Lake> = std::sync::OnceLock::new();
    let lake = LAKE.get_or_init(|| {
        let text = include_bytes!("../../config/lakes/harrow-gap.toml");
        read_lake_bytes(text, Path::new("any.toml"), &service_rules())
            .expect("the demonstration lake has no faults")
    });
    Known {
        lake,
        species: &["rainbow-trout"],
        as_of: as_of(),
    }
}

/// Trips that pass the check are written and read back as they are.
fn sound_trips(read: Result<Vec<Placed>, Vec<TripFault>>) {
    match read {
        Ok(placed) => {
            for Placed { trip, place } in placed {
                if check_trip(&trip, &known(), &place).is_empty() {
                    let trip = trip.tidied();
                    let back = read_trips_csv(trips_csv(std::slice::from_ref(&trip)).as_bytes());
                    assert_eq!(
                        back.map(|b| b.into_iter().map(|p| p.trip).collect::<Vec<_>>()),
                        Ok(vec![trip])
                    );
                }
            }
        }
        Err(faults) => assert!(!faults.is_empty(), "refused without a fault"),
    }
}

fn foreign_trips(bytes: &[u8]) {
    let map = include_str!("../../fixtures/trips/columns.toml");
    let map = read_column_map(map).expect("the map of the seeds has no faults");
    sound_trips(read_foreign_csv(bytes, &map, &known()));
    text(bytes, |text| drop(read_column_map(text)));
}

fn trip_line(line: &str) {
    let read = read_trip_line(line, &known());
    let place = "the line".to_owned();
    sound_trips(read.map(|trip| vec![Placed { place, trip }]));
}

fn track(read: Result<Track, TripFault>) {
    if let Ok(track) = read {
        let later = |w: &[plungeline::trips::tracks::TrackPoint]| w[0].time < w[1].time;
        assert!(
            track.pieces.iter().all(|piece| piece.windows(2).all(later)),
            "not in order"
        );
        let cut = cut_track(&track, known().lake, Origin::Gpx, &CutOptions::default());
        drop(cut.expect("the demonstration lake has outlines"));
    }
}

fn lake_file(bytes: &[u8]) {
    if let Err(faults) = read_lake_bytes(bytes, Path::new("any.toml"), &service_rules()) {
        assert!(!faults.is_empty(), "refused without a fault");
        let file = "any.toml".into();
        drop(LakeError::Faulty { file, faults }.to_string());
    }
}

fn mail_settings(text: &str) {
    drop(read_settings(text, Path::new("conf/mail.toml")));
}

/// What is let into the list of readers holds nothing that could begin a header of its own.
fn readers_csv(bytes: &[u8]) {
    let form = (LetterUnits::Us, DecimalMark::Point, HourStyle::Hours24);
    let today = NaiveDate::from_ymd_opt(2026, 11, 27).expect("a day");
    for reader in read_readers(bytes, "any.csv", form, today).unwrap_or_default() {
        let source = reader.consent.map(|(_, source)| source);
        for text in [Some(reader.mailbox.to_string()), reader.name, source]
            .into_iter()
            .flatten()
        {
            assert!(!text.contains(char::is_control), "{text:?}");
        }
    }
    text(bytes, |text| drop(read_consent(text, text, today)));
}
