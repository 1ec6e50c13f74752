//! A trip as the log keeps it: SI and UTC.

use chrono::{DateTime, Duration, NaiveDate, SubsecRound as _, Utc};
use serde::{Deserialize, Serialize};

use crate::lake::{SpeciesId, ZoneId};

/// Values are kept to a millionth of their unit: so many digits every form gives back as they were.
const KEPT_PER_UNIT: f64 = 1e6;
/// Two trips that share more than so many seconds are one (project choice).
const TWIN_FROM_S: i64 = 60;
/// Farther apart than so many days no legs meet: they begin on their trip's day or the next, and last a day at most.
const TWIN_DAYS: i64 = 3;

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$of:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(
            Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
        )]
        #[serde(rename_all = "kebab-case")]
        pub enum $name {
            $($(#[$of])* $variant),+
        }

        impl $name {
            /// All words, in order.
            pub const WORDS: &'static [&'static str] = &[$($word),+];

            /// The word of it.
            pub fn word(self) -> &'static str {
                match self {
                    $($name::$variant => $word),+
                }
            }

            /// That of a word; `None` for any other text.
            pub fn from_word(word: &str) -> Option<Self> {
                match word {
                    $($word => Some($name::$variant),)+
                    _ => None,
                }
            }
        }
    };
}

words! {
    /// Why a zone was chosen. Without it choice and belief cannot be told apart.
    Reason {
        /// The brief said so.
        Forecast = "forecast",
        /// Somebody told of fish there.
        Report = "report",
        /// It is where one always goes.
        Habit = "habit",
        /// To see whether fish are there, whatever is believed.
        Scouting = "scouting",
    }
}

words! {
    /// Light of a leg, as the angler saw it.
    Light {
        /// Before sunrise.
        Dawn = "dawn",
        /// Daylight.
        Day = "day",
        /// After sunset.
        Dusk = "dusk",
        /// Dark.
        Night = "night",
    }
}

words! {
    /// What a mark on the sonar was taken for.
    MarkKind {
        /// A cloud of bait.
        Bait = "bait",
        /// A single target.
        Single = "single",
    }
}

words! {
    /// What a reading of the water was made with.
    Instrument {
        /// The surface sensor of a sonar.
        Surface = "surface",
        /// A thermometer or probe let down by hand.
        Cast = "cast",
        /// A probe at the weight or the lure.
        Probe = "probe",
        /// A Secchi disc.
        Disc = "disc",
    }
}

words! {
    /// Where a trip came from.
    Origin {
        /// Told by the angler, in words or answers.
        Told = "told",
        /// A table with a map of columns.
        Table = "table",
        /// A track in GPX.
        Gpx = "gpx",
        /// A track in KML.
        Kml = "kml",
    }
}

/// A trip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trip {
    /// Civil day at the lake on which it began.
    pub date: NaiveDate,
    /// Where it came from.
    pub origin: Origin,
    /// What else the angler wrote.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Its legs, in order.
    pub legs: Vec<Leg>,
    /// Marks on the sonar.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<Mark>,
    /// Readings of the water.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<Reading>,
}

/// Time spent in one zone, or on one stretch of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Leg {
    /// Zone.
    pub zone: ZoneId,
    /// Stretch of the zone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stretch: Option<String>,
    /// When it began, where the hour is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start: Option<DateTime<Utc>>,
    /// Hours fished.
    pub duration_h: f64,
    /// Rods in the water.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rods: Option<u32>,
    /// Depth fished, below the surface.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth_m: Option<f64>,
    /// Speed over ground: way over time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed_m_s: Option<f64>,
    /// Straight way from first to last place over time: small where the boat went to and fro.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drift_m_s: Option<f64>,
    /// Where to, clockwise from north.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drift_deg: Option<f64>,
    /// What was run: a kind of tackle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub presentation: Option<String>,
    /// Why the zone was chosen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<Reason>,
    /// Light.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light: Option<Light>,
    /// Whether the catch is told: a blank leg is one whose catch is known and empty. A track knows none.
    pub catch_known: bool,
    /// What was caught.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub catches: Vec<Catch>,
}

/// Fish of one species.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Catch {
    /// Species.
    pub species: SpeciesId,
    /// How many.
    pub count: u32,
    /// How many of them went back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub released: Option<u32>,
    /// Length, of each of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_m: Option<f64>,
    /// Depth below the surface where it took.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth_m: Option<f64>,
}

/// A mark on the sonar.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// Zone.
    pub zone: ZoneId,
    /// When, where it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub time: Option<DateTime<Utc>>,
    /// What it was taken for.
    pub kind: MarkKind,
    /// Depth below the surface.
    pub depth_m: f64,
    /// How many; one where nothing is said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
}

/// A reading of the water at one depth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Zone.
    pub zone: ZoneId,
    /// When, where it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub time: Option<DateTime<Utc>>,
    /// What it was made with.
    pub instrument: Instrument,
    /// Depth below the surface.
    pub depth_m: f64,
    /// Temperature.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temp_degc: Option<f64>,
    /// Standard error of the temperature, where the angler knows it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temp_error_degc: Option<f64>,
    /// Oxygen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub oxygen_mg_l: Option<f64>,
    /// Standard error of the oxygen, where the angler knows it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub oxygen_error_mg_l: Option<f64>,
    /// Depth at which a Secchi disc vanishes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub secchi_m: Option<f64>,
}

impl Reading {
    /// The temperature of the surface that was read on a leg.
    pub fn of_surface(leg: &Leg, temp_degc: f64) -> Reading {
        Reading {
            zone: leg.zone.clone(),
            time: leg.middle(),
            instrument: Instrument::Surface,
            depth_m: 0.0,
            temp_degc: Some(temp_degc),
            temp_error_degc: None,
            oxygen_mg_l: None,
            oxygen_error_mg_l: None,
            secchi_m: None,
        }
    }
}

impl Leg {
    /// A leg of which only place and hours are known.
    pub fn of(zone: ZoneId, duration_h: f64) -> Leg {
        Leg {
            zone,
            stretch: None,
            start: None,
            duration_h,
            rods: None,
            depth_m: None,
            speed_m_s: None,
            drift_m_s: None,
            drift_deg: None,
            presentation: None,
            reason: None,
            light: None,
            catch_known: false,
            catches: Vec::new(),
        }
    }

    /// When it ended, where the hour is known; hours beyond what a clock can hold have no end.
    pub fn end(&self) -> Option<DateTime<Utc>> {
        self.after(self.duration_h)
    }

    /// Its middle, where the hour is known.
    pub fn middle(&self) -> Option<DateTime<Utc>> {
        self.after(0.5 * self.duration_h)
    }

    fn after(&self, hours_h: f64) -> Option<DateTime<Utc>> {
        let milliseconds = (hours_h * 3.6e6).round();
        let span = (milliseconds.abs() < 1e15).then(|| Duration::milliseconds(milliseconds as i64))?;
        self.start?.checked_add_signed(span)
    }

    /// Rod-hours; `None` where the rods are not known.
    pub fn rod_h(&self) -> Option<f64> {
        self.rods.map(|rods| f64::from(rods) * self.duration_h)
    }

    /// Fish of a species.
    pub fn count_of(&self, species: &SpeciesId) -> u32 {
        let of = self.catches.iter().filter(|c| &c.species == species);
        of.map(|c| c.count).fold(0, u32::saturating_add)
    }
}

impl Trip {
    /// The trip with its values to a millionth of their unit and its times to the second; a blank note is none.
    pub fn tidied(mut self) -> Trip {
        let kept = |value: &mut Option<f64>| *value = value.map(tidy);
        let second = |time: &mut Option<DateTime<Utc>>| *time = time.map(|t| t.trunc_subsecs(0));
        self.note = self.note.filter(|note| !note.trim().is_empty());
        for leg in &mut self.legs {
            leg.duration_h = tidy(leg.duration_h);
            second(&mut leg.start);
            for value in [
                &mut leg.depth_m,
                &mut leg.speed_m_s,
                &mut leg.drift_m_s,
                &mut leg.drift_deg,
            ] {
                kept(value);
            }
            for fish in &mut leg.catches {
                kept(&mut fish.length_m);
                kept(&mut fish.depth_m);
            }
        }
        for mark in &mut self.marks {
            mark.depth_m = tidy(mark.depth_m);
            second(&mut mark.time);
        }
        for reading in &mut self.readings {
            reading.depth_m = tidy(reading.depth_m);
            second(&mut reading.time);
            for value in [
                &mut reading.temp_degc,
                &mut reading.temp_error_degc,
                &mut reading.oxygen_mg_l,
                &mut reading.oxygen_error_mg_l,
                &mut reading.secchi_m,
            ] {
                kept(value);
            }
        }
        self
    }

    /// Whether this and another trip are one: a leg of each at the same time (a boat is at one place), or, where no
    /// hours are known, the same legs on the same day.
    pub fn is_twin_of(&self, other: &Trip) -> bool {
        if (self.date - other.date).num_days().abs() > TWIN_DAYS {
            return false;
        }
        let spans = |trip: &Trip| -> Vec<Span> {
            let legs = trip.legs.iter();
            legs.filter_map(|leg| Some((leg.start?, leg.end()?))).collect()
        };
        let (own, others) = (spans(self), spans(other));
        let common_s = |a: &Span, b: &Span| (a.1.min(b.1) - a.0.max(b.0)).num_seconds();
        let common = own
            .iter()
            .any(|a| others.iter().any(|b| common_s(a, b) > TWIN_FROM_S));
        let bare = |trip: &Trip| -> Vec<(ZoneId, Option<String>, u64)> {
            let mut legs: Vec<_> = trip.legs.iter().map(bare_leg).collect();
            legs.sort();
            legs
        };
        let untimed = own.is_empty() && others.is_empty();
        common || (untimed && self.date == other.date && bare(self) == bare(other))
    }
}

/// Begin and end.
type Span = (DateTime<Utc>, DateTime<Utc>);

/// Place and seconds of a leg.
fn bare_leg(leg: &Leg) -> (ZoneId, Option<String>, u64) {
    let seconds = (leg.duration_h * 3600.0).round().max(0.0) as u64;
    (leg.zone.clone(), leg.stretch.clone(), seconds)
}

/// A value to a millionth of its unit; what is no number stays what it is, for the check to refuse.
fn tidy(value: f64) -> f64 {
    let kept = (value * KEPT_PER_UNIT).round() / KEPT_PER_UNIT;
    // One zero: -0 and 0 are the same value, and a form may tell them apart.
    kept + 0.0
}
