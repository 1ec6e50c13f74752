//! The whole folder: bodies, CSV, and the index that a replay reads.

use std::fmt::Write as _;

use chrono::{DateTime, Datelike, Duration, NaiveDate, Utc};
use plungeline::units::M3_PER_ACRE_FT;
use serde_json::{Value, json};

use super::gauges::{GAUGES, Gauge, Readings};
use super::gzip::gzip;
use super::text::fixed;
use super::{alerts, open_meteo, stations, usgs};
use crate::forecast::{ensemble, first_hour};
use crate::hours::{LATITUDE_DEG, LONGITUDE_DEG, date, standard_day_start};
use crate::mornings::{DemoMorning, mornings};
use crate::reanalysis::analysed;
use crate::truth::Truth;
use crate::weather::Weather;

/// A file of the folder.
pub struct File {
    /// Path below the folder.
    pub path: String,
    /// Content.
    pub bytes: Vec<u8>,
}

const USGS: (&str, &str) = ("usgs-ogc", "api.waterdata.usgs.gov");
const NWS: (&str, &str) = ("nws", "api.weather.gov");
const NOTE: &str = "Invented: Harrow Gap Reservoir does not exist, and no service ever sent these replies. \
                    Made by examples/generate_harrow_gap; see docs/demonstration-lake.md.";

/// Files and index entries as they come.
struct Folder {
    files: Vec<File>,
    entries: Vec<Value>,
}

/// What an entry answers.
struct Asked<'a> {
    service: (&'a str, &'a str),
    path: &'a str,
    query: Vec<(&'a str, String)>,
    window: Option<(String, String)>,
    known: Option<&'a DemoMorning>,
}

impl Asked<'_> {
    fn media_type(&self) -> &'static str {
        if self.service == NWS {
            "application/geo+json"
        } else {
            "application/json"
        }
    }
}

impl Folder {
    fn add(&mut self, asked: Asked<'_>, body: String, bytes: &[u8]) {
        let stored = if body.ends_with(".gz") {
            gzip(bytes)
        } else {
            bytes.to_vec()
        };
        let media_type = asked.media_type();
        let query: serde_json::Map<String, Value> = asked
            .query
            .into_iter()
            .map(|(key, value)| (key.to_owned(), Value::from(value)))
            .collect();
        let stamp = |instant: DateTime<Utc>| instant.format("%Y-%m-%dT%H:%M:%SZ").to_string();
        self.entries.push(json!({
            "service": asked.service.0,
            "host": asked.service.1,
            "path": asked.path,
            "query": query,
            "window": asked.window.map(|(from, to)| json!({"from": from, "to": to})),
            "known_from": asked.known.map(|morning| stamp(morning.as_of())),
            "known_until": asked.known.map(|morning| stamp(morning.until())),
            "status": 200,
            "headers": {"content-type": media_type},
            "body": body,
        }));
        self.files.push(File {
            path: body,
            bytes: stored,
        });
    }
}

/// Everything below the demonstration folder but its README.
pub fn all_files(truth: &Truth) -> Vec<File> {
    let mut folder = Folder {
        files: vec![],
        entries: vec![],
    };
    let readings = Readings::of(truth);
    let archive = analysed(&truth.weather, 30, 1.0, 0);
    add_stations(&mut folder);
    add_daily(&mut folder, &readings);
    add_archive(&mut folder, &archive);
    for morning in &mornings() {
        add_gauges_of_morning(&mut folder, &readings, morning);
        add_weather_of_morning(&mut folder, truth, &archive, morning);
    }
    for morning in &mornings() {
        add_alerts_of_morning(&mut folder, truth, morning);
    }
    let mut files = folder.files;
    files.push(File {
        path: "csv/evaporation.csv.gz".to_owned(),
        bytes: gzip(&evaporation(truth)),
    });
    files.push(File {
        path: "index.json".to_owned(),
        bytes: index(&folder.entries),
    });
    files
}

/// One entry a line, so that a change shows.
fn index(entries: &[Value]) -> Vec<u8> {
    let mut text = format!(
        "{{\"format\": \"plungeline-replay-1\",\n \"note\": {},\n \"entries\": [",
        json!(NOTE)
    );
    for (k, entry) in entries.iter().enumerate() {
        let _ = write!(text, "{}\n  {entry}", if k > 0 { "," } else { "" });
    }
    text.push_str("\n ]}\n");
    text.into_bytes()
}

/// Last published day of the whole record.
fn last_day() -> NaiveDate {
    date(2026, 3, 11)
}

fn collection_path(collection: &str) -> String {
    format!("/ogcapi/v0/collections/{collection}/items")
}

fn gauge_query(gauge: Gauge) -> Vec<(&'static str, String)> {
    vec![
        ("f", "json".to_owned()),
        ("skipGeometry", "TRUE".to_owned()),
        ("monitoring_location_id", format!("USGS-{}", gauge.station())),
        ("parameter_code", gauge.parameter().to_owned()),
    ]
}

fn add_stations(folder: &mut Folder) {
    for (number, bytes) in stations::monitoring_locations() {
        let query = vec![("f", "json".to_owned()), ("id", format!("USGS-{number}"))];
        let path = collection_path("monitoring-locations");
        let asked = Asked {
            service: USGS,
            path: &path,
            query,
            window: None,
            known: None,
        };
        folder.add(asked, format!("usgs-ogc/station-{number}.json"), &bytes);
    }
}

fn add_daily_year(
    folder: &mut Folder,
    readings: &Readings,
    gauge: Gauge,
    year: i32,
    known: Option<&DemoMorning>,
) {
    let newest = known.map_or(last_day(), |morning| morning.day - Duration::days(1));
    let (first, last) = (date(year, 1, 1), date(year, 12, 31).min(newest));
    let bytes = usgs::daily(readings, gauge, first, last, known.map(DemoMorning::as_of));
    let mut query = gauge_query(gauge);
    query.push(("statistic_id", "00003".to_owned()));
    let window = Some((first.to_string(), date(year, 12, 31).to_string()));
    let path = collection_path("daily");
    let seen = known.map_or(String::new(), |morning| format!("{}/", morning.day));
    let body = format!(
        "usgs-ogc/{seen}daily-{}-{}-{year}.json.gz",
        gauge.station(),
        gauge.parameter()
    );
    folder.add(
        Asked {
            service: USGS,
            path: &path,
            query,
            window,
            known,
        },
        body,
        &bytes,
    );
}

fn add_daily(folder: &mut Folder, readings: &Readings) {
    for gauge in GAUGES.into_iter().filter(|gauge| gauge.is_daily()) {
        for year in 2012..=2026 {
            add_daily_year(folder, readings, gauge, year, None);
        }
    }
}

/// The running year as it stood on a morning, and the year before where part of it was provisional.
fn add_gauges_of_morning(folder: &mut Folder, readings: &Readings, morning: &DemoMorning) {
    let known = Some(morning);
    for gauge in GAUGES.into_iter().filter(|gauge| gauge.is_daily()) {
        let year = morning.day.year();
        if morning.day.ordinal() < 151 {
            add_daily_year(folder, readings, gauge, year - 1, known);
        }
        add_daily_year(folder, readings, gauge, year, known);
    }
    let as_of = morning.as_of();
    let stamp = |instant: DateTime<Utc>| instant.format("%Y-%m-%dT%H:%M:%SZ").to_string();
    let window = (stamp(as_of - Duration::days(60)), stamp(as_of));
    let path = collection_path("continuous");
    for gauge in GAUGES.into_iter().filter(|gauge| gauge.step_min().is_some()) {
        let asked = |query| Asked {
            service: USGS,
            path: &path,
            query,
            window: Some(window.clone()),
            known,
        };
        let name = format!(
            "usgs-ogc/{}/continuous-{}-{}",
            morning.day,
            gauge.station(),
            gauge.parameter()
        );
        if gauge == Gauge::SorrelFlow && morning.stream == 2 {
            add_two_pages(folder, readings, morning, asked, &window, &name);
        } else {
            let scattered = gauge == Gauge::WicketFlow && morning.stream == 4;
            let bytes = usgs::continuous(readings, gauge, as_of, scattered);
            folder.add(asked(gauge_query(gauge)), format!("{name}.json.gz"), &bytes);
        }
        let latest = usgs::latest(readings, gauge, as_of);
        let body = format!(
            "usgs-ogc/{}/latest-{}-{}.json",
            morning.day,
            gauge.station(),
            gauge.parameter()
        );
        let latest_path = collection_path("latest-continuous");
        let query = gauge_query(gauge);
        folder.add(
            Asked {
                service: USGS,
                path: &latest_path,
                query,
                window: None,
                known,
            },
            body,
            &latest,
        );
    }
}

/// Features of the first page where a reply comes in two.
const PAGE: usize = 4000;

fn add_two_pages<'a>(
    folder: &mut Folder,
    readings: &Readings,
    morning: &DemoMorning,
    asked: impl Fn(Vec<(&'static str, String)>) -> Asked<'a>,
    window: &(String, String),
    name: &str,
) {
    let gauge = Gauge::SorrelFlow;
    let href = format!(
        "https://{}{}?f=json&skipGeometry=TRUE&monitoring_location_id=USGS-{}&parameter_code={}&time={}/{}&limit=10000&offset={}",
        USGS.1,
        collection_path("continuous"),
        gauge.station(),
        gauge.parameter(),
        window.0,
        window.1,
        PAGE - 1,
    );
    let [first, second] =
        usgs::continuous_pages(readings, gauge, morning.as_of(), PAGE, &usgs::NextPage { href });
    folder.add(asked(gauge_query(gauge)), format!("{name}-page1.json.gz"), &first);
    let mut query = gauge_query(gauge);
    query.push(("offset", (PAGE - 1).to_string()));
    folder.add(asked(query), format!("{name}-page2.json.gz"), &second);
}

fn position() -> Vec<(&'static str, String)> {
    vec![
        ("latitude", format!("{LATITUDE_DEG}")),
        ("longitude", format!("{LONGITUDE_DEG}")),
        ("timezone", "GMT".to_owned()),
        ("wind_speed_unit", "ms".to_owned()),
    ]
}

const ARCHIVE: (&str, &str) = ("open-meteo", "archive-api.open-meteo.com");

fn add_archive(folder: &mut Folder, archive: &Weather) {
    for (from, to) in [(1985, 1994), (1995, 2004), (2005, 2014), (2015, 2021)] {
        let (first, last) = (date(from, 1, 1), date(to, 12, 31));
        let mut query = position();
        query.push(("daily", open_meteo::names(&open_meteo::DAILY)));
        let window = Some((first.to_string(), last.to_string()));
        let asked = Asked {
            service: ARCHIVE,
            path: "/v1/archive",
            query,
            window,
            known: None,
        };
        let bytes = open_meteo::archive_daily(archive, first, last);
        folder.add(asked, format!("open-meteo/daily-{from}-{to}.json.gz"), &bytes);
    }
    for year in 2022..=2026 {
        let last = date(year, 12, 31).min(last_day() + Duration::days(1));
        let bytes = open_meteo::archive_hourly(archive, date(year, 1, 1), last, None);
        let body = format!("open-meteo/hourly-{year}.json.gz");
        folder.add(asked_hourly(year, None), body, &bytes);
    }
}

fn asked_hourly(year: i32, known: Option<&DemoMorning>) -> Asked<'_> {
    let mut query = position();
    query.push(("hourly", open_meteo::names(&open_meteo::HOURLY)));
    let window = Some((date(year, 1, 1).to_string(), date(year, 12, 31).to_string()));
    Asked {
        service: ARCHIVE,
        path: "/v1/archive",
        query,
        window,
        known,
    }
}

/// Days by which the archive lags.
const ARCHIVE_LAG_DAYS: usize = 5;
/// Past days of the plain forecast.
const PAST_DAYS: usize = 7;

fn add_weather_of_morning(folder: &mut Folder, truth: &Truth, archive: &Weather, morning: &DemoMorning) {
    let (day, known) = (morning.day, Some(morning));
    let first = first_hour(morning);
    let known_until = first + 24 - 24 * ARCHIVE_LAG_DAYS;
    let bytes = open_meteo::archive_hourly(archive, date(day.year(), 1, 1), day, Some(known_until));
    folder.add(
        asked_hourly(day.year(), known),
        format!("open-meteo/{day}/hourly-{}.json.gz", day.year()),
        &bytes,
    );

    let members = ensemble(&truth.weather, morning);
    let past = analysed(&truth.weather, 40 + morning.stream, 0.8, first - 24 * PAST_DAYS);
    let mut query = position();
    query.push((
        "hourly",
        format!("{},visibility", open_meteo::names(&open_meteo::HOURLY)),
    ));
    let service = ("open-meteo", "api.open-meteo.com");
    let asked = Asked {
        service,
        path: "/v1/forecast",
        query,
        window: None,
        known,
    };
    let bytes = open_meteo::forecast(&past, &members[0], first, PAST_DAYS);
    folder.add(asked, format!("open-meteo/{day}/forecast.json.gz"), &bytes);

    let mut query = position();
    query.push(("models", "gfs_seamless".to_owned()));
    query.push(("hourly", open_meteo::names(&open_meteo::HOURLY)));
    let service = ("open-meteo", "ensemble-api.open-meteo.com");
    let asked = Asked {
        service,
        path: "/v1/ensemble",
        query,
        window: None,
        known,
    };
    let bytes = open_meteo::ensemble(&members, first);
    folder.add(asked, format!("open-meteo/{day}/ensemble.json.gz"), &bytes);
}

fn add_alerts_of_morning(folder: &mut Folder, truth: &Truth, morning: &DemoMorning) {
    let asked = Asked {
        service: NWS,
        path: "/alerts/active",
        query: vec![("point", format!("{LATITUDE_DEG},{LONGITUDE_DEG}"))],
        window: None,
        known: Some(morning),
    };
    let control = &ensemble(&truth.weather, morning)[0];
    let bytes = alerts::active(morning, control);
    folder.add(asked, format!("nws/{}/alerts.json", morning.day), &bytes);
}

/// Daily evaporation, acre-ft, by standard day; three days of 2015 and one of 2024 are missing.
fn evaporation(truth: &Truth) -> Vec<u8> {
    let mut text = String::from("date,evaporation_acre_ft\n");
    let missing = [
        date(2015, 7, 18),
        date(2015, 7, 19),
        date(2015, 7, 20),
        date(2024, 5, 2),
    ];
    for day in date(2012, 1, 1).iter_days().take_while(|day| *day <= last_day()) {
        let step = truth.step_of(standard_day_start(day));
        let sum_m3: f64 = truth.evaporation_m3[step..step + 24].iter().sum();
        let value = if missing.contains(&day) {
            String::new()
        } else {
            fixed(sum_m3 / M3_PER_ACRE_FT, 1)
        };
        let _ = writeln!(text, "{day},{value}");
    }
    text.into_bytes()
}
