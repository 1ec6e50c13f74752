//! Which stations there are near a position, or under a name: what each measures and since when.
//!
//! A service whose catalogue can be searched is one row of [`FINDERS`]. The rows stand beside those of
//! [`SERVICES`](super::SERVICES), since many a service (a file, a forecast by position) has no catalogue.

use std::future::Future;
use std::pin::Pin;

use chrono::NaiveDate;

use super::client::Client;
use super::error::SourceError;
use super::job::RowFault;
use super::{cwms, nws, rise, usgs_ogc};
use crate::lake::{Cadence, distance_m};
use crate::quantity::Quantity;

/// What to look for: everything within a distance of a position.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Search {
    /// Latitude, degrees north.
    pub latitude_deg: f64,
    /// Longitude, degrees east.
    pub longitude_deg: f64,
    /// Greatest distance.
    pub within_m: f64,
}

/// Metres of a degree of latitude on the sphere of [`distance_m`].
const M_PER_DEGREE: f64 = 6_371_009.0 * std::f64::consts::PI / 180.0;

impl Search {
    /// The position.
    pub fn position(&self) -> (f64, f64) {
        (self.latitude_deg, self.longitude_deg)
    }

    /// Distance of a position from it.
    pub fn distance_m(&self, position: (f64, f64)) -> f64 {
        distance_m(self.position(), position)
    }

    /// West, south, east, north of a box that holds the whole circle, as services take it: degrees, four
    /// decimals. It does not reach across the line of 180 degrees.
    pub fn bounding_box(&self) -> String {
        let north_south_deg = self.within_m / M_PER_DEGREE;
        // A little beyond the circle's own latitude a degree of longitude is shorter still.
        let narrowest_deg = (self.latitude_deg.abs() + north_south_deg).min(89.0);
        let east_west_deg = north_south_deg / narrowest_deg.to_radians().cos();
        let sides_deg = [
            (self.longitude_deg - east_west_deg).max(-180.0),
            (self.latitude_deg - north_south_deg).max(-90.0),
            (self.longitude_deg + east_west_deg).min(180.0),
            (self.latitude_deg + north_south_deg).min(90.0),
        ];
        sides_deg.map(|side_deg| format!("{side_deg:.4}")).join(",")
    }
}

/// What a station stands at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Site {
    /// A lake or reservoir.
    Reservoir,
    /// A river or stream.
    River,
    /// A weather station.
    Weather,
    /// Anything else, or not said.
    Other,
}

/// One time series that a service has: a station, what it measures there, and since when.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Service, a name of [`SERVICES`](super::SERVICES).
    pub service: &'static str,
    /// Station, as a lake file names it; empty where the service goes by position.
    pub station: String,
    /// Name of the station, for people.
    pub name: String,
    /// Latitude and longitude, degrees.
    pub position: Option<(f64, f64)>,
    /// Distance from the position searched.
    pub distance_m: Option<f64>,
    /// What it stands at.
    pub site: Site,
    /// The service's own parameter, as a lake file names it.
    pub parameter: String,
    /// What that is, in the service's words.
    pub what: String,
    /// Quantities that it can stand for, in a unit that the program reads; none where it is of no use to it.
    pub quantities: Vec<Quantity>,
    /// Unit, as the service states it.
    pub unit: String,
    /// Daily values, or values within the day.
    pub cadence: Cadence,
    /// The service's code of the daily statistic, where it has several.
    pub statistic: Option<String>,
    /// The service's own name of this time series, where it has one.
    pub series: Option<String>,
    /// First day.
    pub since: Option<NaiveDate>,
    /// Last day with a value.
    pub until: Option<NaiveDate>,
    /// Whether the service calls it the main sensor of its parameter there.
    pub primary: bool,
    /// Where at the station, such as a depth, in the service's words.
    pub sublocation: Option<String>,
    /// Vertical datum of an elevation, as the service states it; `None` where it does not.
    pub datum: Option<String>,
}

/// What a service has near a position.
#[derive(Debug, Default)]
pub struct Found {
    /// Time series.
    pub candidates: Vec<Candidate>,
    /// IANA name of the time zone there, where the service says it.
    pub time_zone: Option<String>,
    /// What could not be read.
    pub faults: Vec<RowFault>,
    /// Requests that failed while others came.
    pub failed: Vec<SourceError>,
}

/// A place that bears the name looked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Service.
    pub service: &'static str,
    /// Station.
    pub station: String,
    /// Name.
    pub name: String,
    /// Latitude, degrees north.
    pub latitude_deg: f64,
    /// Longitude, degrees east.
    pub longitude_deg: f64,
}

/// A search by position under way.
pub type Finding<'a> = Pin<Box<dyn Future<Output = Result<Found, SourceError>> + Send + 'a>>;
/// A search by name under way.
pub type Naming<'a> = Pin<Box<dyn Future<Output = Result<Vec<Place>, SourceError>> + Send + 'a>>;

/// A catalogue that can be searched.
pub struct Finder {
    /// Service, a name of [`SERVICES`](super::SERVICES).
    pub service: &'static str,
    /// What stands near a position.
    pub near: for<'a> fn(&'a Client, &'a Search) -> Finding<'a>,
    /// Lakes and reservoirs whose name holds a text; `None` where the service has no such search.
    pub named: Option<for<'a> fn(&'a Client, &'a str) -> Naming<'a>>,
}

/// The catalogues there are.
pub const FINDERS: &[Finder] = &[usgs_ogc::FINDER, cwms::FINDER, rise::FINDER, nws::FINDER];

/// Words of a lake's name that tell it from no other.
const COMMON_WORDS: [&str; 6] = ["LAKE", "RESERVOIR", "RES", "DAM", "THE", "AT"];

/// The words of a name, in capitals, that tell it from others: common words are left out unless there are no others.
pub fn telling_words(name: &str) -> Vec<String> {
    let plain: String = name
        .chars()
        .map(|c| if c.is_alphanumeric() || c == '-' { c } else { ' ' })
        .flat_map(char::to_uppercase)
        .collect();
    let all: Vec<&str> = plain.split_whitespace().collect();
    let own: Vec<&str> = all
        .iter()
        .copied()
        .filter(|w| !COMMON_WORDS.contains(w))
        .collect();
    let told = if own.is_empty() { all } else { own };
    told.into_iter().map(str::to_owned).collect()
}

/// The name of a datum as lake files write it, whatever way a catalogue or a user does.
pub fn datum_word(text: &str) -> String {
    let bare: String = text
        .chars()
        .filter(char::is_ascii_alphanumeric)
        .map(|c| c.to_ascii_uppercase())
        .collect();
    match bare.as_str() {
        "NGVD29" | "NGVD1929" => "NGVD 29".to_owned(),
        "NAVD88" | "NAVD1988" => "NAVD 88".to_owned(),
        _ => text.trim().to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_box_holds_the_whole_circle() {
        let search = Search {
            latitude_deg: 42.2,
            longitude_deg: -119.6,
            within_m: 30_000.0,
        };
        let sides: Vec<f64> = search
            .bounding_box()
            .split(',')
            .map(|s| s.parse().unwrap())
            .collect();
        let [west, south, east, north] = sides[..] else {
            panic!("{sides:?}")
        };
        // The nearest point of each side lies at 30 km or a little more; four decimals are 11 m.
        for point in [(42.2, west), (42.2, east), (south, -119.6), (north, -119.6)] {
            let away_m = search.distance_m(point);
            assert!((29_980.0..30_400.0).contains(&away_m), "{point:?}: {away_m}");
        }
        // 30 km are 0.2698 degrees of 111.195 km (IUGG mean sphere).
        assert!((north - 42.4698).abs() < 1e-4, "{north}");
    }

    #[test]
    fn datums_are_written_one_way() {
        for (text, word) in [("NGVD29", "NGVD 29"), ("NAVD-88", "NAVD 88"), ("Local", "Local")] {
            assert_eq!(datum_word(text), word);
        }
    }
}
