//! Words for what a report holds as values: hazards, verdicts, bases, services.

use chrono::{DateTime, Duration, Utc};

use crate::clock::LakeClock;
use crate::column::{ProfileBasis, WayKind};
use crate::lake::{CableKind, ZoneId, ZoneKind};
use crate::plan::{CautionLevel, Hazard};
use crate::quantity::Quantity;
use crate::reports::{Brief, Lacking, PlungeLineSummary, RiverWaySummary, Trust};
use crate::whereabouts::{CallBasis, RulesWhy};

use super::reader::{Reader, age, rounded};

/// Make-up of a cable.
pub fn cable(kind: CableKind) -> &'static str {
    match kind {
        CableKind::Smooth => "smooth wire",
        CableKind::Stranded => "stranded wire",
        CableKind::Braid => "braid",
    }
}

/// Name of a hazard.
pub fn hazard(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::Wind => "Wind",
        Hazard::Waves => "Waves",
        Hazard::ColdWater => "Cold water",
        Hazard::Ice => "Ice",
        Hazard::Thunder => "Lightning",
        Hazard::Debris => "Floating debris",
        Hazard::LowWater => "Low water",
        Hazard::ChangingLevel => "Changing level",
        Hazard::Fog => "Fog",
        Hazard::Darkness => "Darkness",
        Hazard::Heat => "Heat",
        Hazard::ColdAir => "Cold air",
        Hazard::Ramp => "Ramps",
        Hazard::LifeJacket => "Life jacket",
        Hazard::Algae => "Harmful algae",
        Hazard::FishAdvisory => "Eating fish",
        Hazard::Regulations => "Rules",
    }
}

/// Word of a caution's level.
pub fn level(level: CautionLevel) -> &'static str {
    match level {
        CautionLevel::Severe => "SEVERE",
        CautionLevel::Strong => "STRONG",
        CautionLevel::Caution => "CAUTION",
        CautionLevel::NotKnown => "NOT KNOWN",
        CautionLevel::Reminder => "ALWAYS",
    }
}

/// What to do about a hazard: the usual advice of the trade and of public safety notes.
pub fn advice(hazard: Hazard, level: CautionLevel) -> &'static str {
    if level == CautionLevel::NotKnown {
        return "not known from these data: check before you launch";
    }
    match (hazard, level) {
        (Hazard::Wind | Hazard::Waves, CautionLevel::Severe) => "do not launch a small boat",
        (Hazard::Wind | Hazard::Waves, _) => "stay where you can reach shelter, and be off before it builds",
        (Hazard::ColdWater, _) => "wear a life jacket and dress for the water, not for the air",
        (Hazard::Ice, _) => "ice may be on the water or the ramp: do not launch before you have looked",
        (Hazard::Thunder, _) => {
            "do not go out if storms are possible; off the water at the first thunder, until 30 min after the last"
        }
        (Hazard::Debris, _) => "run slowly with a lookout, not in the dark",
        (Hazard::LowWater, _) => "slow over shallow ground; rocks and stumps may lie just under the surface",
        (Hazard::ChangingLevel, CautionLevel::Reminder) => "a sudden release is possible; ask the operator",
        (Hazard::ChangingLevel, _) => "watch moorings and the ramp; releases may change without notice",
        (Hazard::Fog, CautionLevel::Caution) => "be ready to stop; lights and sound signals",
        (Hazard::Fog, _) => "do not run in it",
        (Hazard::Darkness, _) => "lights between sunset and sunrise; in the dark slow past shoals",
        (Hazard::Heat, _) => "drink, shade yourself, and be off the water before the worst of it",
        (Hazard::ColdAir, _) => "cover hands and face, and keep them dry",
        (Hazard::Algae, _) => "see the posted status; nothing here tells of it",
        (Hazard::FishAdvisory, _) => "see the advisories on fish of this water",
        (Hazard::Ramp, CautionLevel::Reminder) => "by level only; gate, closure and surface are not known",
        (Hazard::Ramp, _) => "out of use at this level",
        (Hazard::LifeJacket, _) => "wear it, all the time",
        (Hazard::Regulations, _) => "local rules, closures and official warnings come before anything below",
    }
}

/// Turbidity; NTU in either system of units.
pub fn turbidity(turbidity_ntu: f64) -> String {
    format!("turbidity {} NTU", rounded(turbidity_ntu, 0))
}

/// The best of a band, of water that reaches the species' limits or else the least bad; empty where no depth stands out.
pub fn best_depth(best_m: Option<f64>, reaches_limits: bool, reader: &Reader) -> String {
    let word = if reaches_limits { "best" } else { "least bad" };
    best_m.map_or_else(String::new, |m| format!(", {word} near {}", reader.depth(m)))
}

/// Whether the severe caution on a hazard says to stay ashore, or not to run.
pub use crate::plan::says_stay_ashore;

/// How many of ten draws.
pub fn of_ten(prob: f64) -> String {
    let tenths = (prob * 10.0).round();
    match tenths {
        t if t >= 10.0 => "nearly all draws".to_owned(),
        t if t <= 0.0 => "hardly any draw".to_owned(),
        t => format!("{t:.0} of 10 draws"),
    }
}

/// What a profile rests on.
pub fn basis(reader: &Reader, basis: &ProfileBasis) -> String {
    match basis {
        ProfileBasis::Measured { observed_at } => {
            format!("measured by depth on {}", reader.day_hour(*observed_at))
        }
        ProfileBasis::SurfaceMeasured { .. } => "surface measured, below it a rule of thumb".to_owned(),
        ProfileBasis::SurfaceFromMainBody { .. } => {
            "not measured here: taken from the main body's surface, below it a rule of thumb".to_owned()
        }
        ProfileBasis::Columns { corrected_at, .. } => match corrected_at {
            Some(at) => format!(
                "computed from weather, rivers and level, corrected by readings up to {}",
                reader.day_hour(*at)
            ),
            None => "computed from weather, rivers and level; nothing was measured here".to_owned(),
        },
        ProfileBasis::SurfaceModelled => {
            "surface computed from air temperature, below it a rule of thumb".to_owned()
        }
        ProfileBasis::SeasonOnly => "only the season is known: no more than a guess".to_owned(),
    }
}

/// Where a river goes in the lake.
pub fn river_way(brief: &Brief, reader: &Reader, way: &RiverWaySummary) -> String {
    let mut text = match way.kind {
        WayKind::Floats => "lighter than the lake, spreads over its surface".to_owned(),
        WayKind::Weak => "about as heavy as the lake's surface, the wind decides where it goes".to_owned(),
        WayKind::Sinks => format!("sinks{}", plunge_line(brief, reader, way.line.as_ref())),
    };
    if way.kind == WayKind::Sinks {
        let depth = match (reader.depth(way.rests_low_m), reader.depth(way.rests_high_m)) {
            (low, high) if low == high => low,
            _ => reader.band(way.rests_low_m, way.rests_high_m),
        };
        let bed = if way.on_the_bed { ", on the bed," } else { "" };
        text.push_str(&format!(
            " and comes to rest at {depth}{bed} in {}",
            zone(brief, &way.rests_zone)
        ));
    }
    if way.members_frac < MOST {
        text.push_str(&format!(" (so in {})", of_ten_members(way.members_frac)));
    }
    text
}

/// From so many of the members on, no count is told (project choice).
const MOST: f64 = 0.95;

fn of_ten_members(share_frac: f64) -> String {
    format!("{:.0} of 10 members", share_frac * 10.0)
}

/// Where the plunge line lies, with its band.
fn plunge_line(brief: &Brief, reader: &Reader, line: Option<&PlungeLineSummary>) -> String {
    let Some(line) = line else { return String::new() };
    let kind = brief
        .water
        .zones
        .iter()
        .find(|z| z.zone == line.zone)
        .map(|z| z.kind);
    let from = match kind {
        Some(ZoneKind::MainBody) => "the dam".to_owned(),
        _ => format!("the mouth of {}", zone(brief, &line.zone)),
    };
    let band = match (reader.distance(line.low_m), reader.distance(line.high_m)) {
        (low, high) if low == high => String::new(),
        (low, high) => format!(" ({low} to {high})"),
    };
    format!(" {} from {from}{band}", reader.distance(line.distance_m))
}

/// Name of a service for people; its own where it is not one of the program's.
pub fn service(name: &str) -> &str {
    match name {
        "usgs-ogc" => "USGS Water Data",
        "hydromet" => "USBR Hydromet",
        "waterml" => "WaterML files",
        "rise" => "USBR RISE",
        "cwms" => "USACE CWMS Data API",
        "usgs-legacy" => "USGS NWIS (the older service)",
        "open-meteo" => "Open-Meteo",
        "nws" => "National Weather Service",
        "cdec" => "California Data Exchange Center",
        "nwps" => "National Water Prediction Service",
        "csv" => "local file",
        other => other,
    }
}

/// Name of an inflow; its id where the water does not name it.
pub fn inflow(brief: &Brief, id: &str) -> String {
    let rivers = &brief.water.rivers;
    rivers
        .iter()
        .find(|r| r.inflow.as_str() == id)
        .map_or_else(|| id.to_owned(), |r| r.name.clone())
}

/// Name of a zone as it reads in a sentence.
pub fn zone(brief: &Brief, zone: &ZoneId) -> String {
    let described = brief.whereabouts.values().find_map(|call| call.zones.get(zone));
    match described {
        Some(share) if share.kind == ZoneKind::MainBody => "the main body".to_owned(),
        Some(share) if share.kind == ZoneKind::River => share.name.clone(),
        Some(share) => format!("the {}", share.name),
        // A species of which nothing is known names no zone.
        None => match brief.water.zones.iter().find(|described| described.zone == *zone) {
            Some(described) if described.kind == ZoneKind::MainBody => "the main body".to_owned(),
            Some(described) => format!("the {}", described.name),
            None => zone.to_string(),
        },
    }
}

/// Name of a quantity of which several series may stand in for each other.
pub fn quantity(quantity: Quantity) -> String {
    match quantity {
        Quantity::PoolElevation => "level".to_owned(),
        Quantity::WaterTemp => "water temperature".to_owned(),
        Quantity::Inflow => "flow".to_owned(),
        other => other.word().replace('_', " "),
    }
}

/// When something was observed: the hour, or of a daily mean its day. A daily value is stamped with the
/// beginning of its standard-time day, an hour at which nothing was read. `series` is whose value it is, where
/// that is known.
pub fn observed(brief: &Brief, reader: &Reader, series: Option<&str>, instant: DateTime<Utc>) -> String {
    let of_cadence = |cadence: &str| {
        let inputs = brief.inputs.iter().filter(move |i| i.cadence == cadence);
        inputs
            .filter(|i| series.is_none_or(|id| i.series == id))
            .collect::<Vec<_>>()
    };
    let clock = LakeClock::new(reader.zone);
    let begins_a_day = clock.standard_day_start(clock.standard_day(instant)) == instant;
    let read_then = of_cadence("continuous").iter().any(|i| i.newest == Some(instant));
    if begins_a_day && !read_then && !of_cadence("daily").is_empty() {
        format!("{}, day mean", day_of_mean(reader, instant))
    } else {
        reader.day_hour(instant)
    }
}

/// The day of a daily mean, stamped with its beginning: its noon is inside it by any clock.
pub fn day_of_mean(reader: &Reader, start: DateTime<Utc>) -> String {
    reader.day_of(start + Duration::hours(12))
}

/// Heading over what is lacking: essential inputs weigh more than one feed among many.
pub fn trust_heading(trust: &Trust) -> (&'static str, &'static str) {
    let essential = |l: &Lacking| !matches!(l, Lacking::Feeds { .. } | Lacking::OfficialAlerts);
    if trust.lacking.iter().any(essential) {
        (
            "NOT ENOUGH TO TRUST",
            "what follows rests on data too old or too thin:",
        )
    } else {
        ("LESS CERTAIN THAN USUAL", "not every feed of the lake file came:")
    }
}

/// One essential input that is missing or too old.
pub fn lacking(brief: &Brief, lacking: &Lacking) -> String {
    let old = |age_h: &Option<f64>| match age_h {
        Some(age_h) => format!("too old or refused ({})", age(*age_h)),
        None => "missing".to_owned(),
    };
    match lacking {
        Lacking::Level { age_h: None } => {
            "level missing: ramps and low-water hazards are not known".to_owned()
        }
        Lacking::Level { age_h } => {
            format!(
                "level {}: ramps and low-water hazards are judged by a lower pool, or not known",
                old(age_h)
            )
        }
        Lacking::Hypsography => {
            "no elevation-area table: volumes, and how much water suits the fish, are not known".to_owned()
        }
        Lacking::WaterTemperature => {
            "the lake's temperature is neither measured nor computed from weather".to_owned()
        }
        Lacking::Wind { age_h } => format!("wind forecast {}", old(age_h)),
        Lacking::Inflow { inflow, age_h } => {
            format!("flow of {} {}", self::inflow(brief, inflow.as_str()), old(age_h))
        }
        Lacking::OfficialAlerts => {
            "official alerts are not known: see https://www.weather.gov or the local office".to_owned()
        }
        Lacking::Feeds { series } => {
            let of = |forecast: bool, word: &str| {
                let ids: Vec<String> = series
                    .iter()
                    .filter(|s| s.forecast == forecast)
                    .map(|s| match s.age_h {
                        Some(age_h) => format!("{} ({})", s.series, age(age_h)),
                        None => s.series.clone(),
                    })
                    .collect();
                (!ids.is_empty()).then(|| format!("{word} {}", ids.join(", ")))
            };
            let said = [of(false, "no value from"), of(true, "no forecast in time of")];
            let said: Vec<String> = said.into_iter().flatten().collect();
            format!(
                "{}: what rests on it is less certain or left out",
                said.join("; ")
            )
        }
    }
}

/// `text` with a capital first letter.
pub fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// What the shares rest on beside the rules; `None` where it is the rules and there is no trip.
pub fn call_basis(basis: &CallBasis, reader: &Reader) -> Option<String> {
    Some(match basis {
        CallBasis::Rules { why: None } => return None,
        CallBasis::Rules { why: Some(why) } => {
            let why = match why {
                RulesWhy::NeverFitted => "the trip log was never fitted: `plungeline fit`",
                RulesWhy::LogChanged => {
                    "trips of the last fit have been changed or removed: `plungeline fit`"
                }
                RulesWhy::RulesChanged => "the rules have changed since the last fit: `plungeline fit`",
                RulesWhy::Unreadable => {
                    "the trip log or its last fit cannot be read: `plungeline fit` makes it anew or says why"
                }
            };
            format!("By the rules alone; {why}.")
        }
        CallBasis::Learned {
            trips,
            fitted_at,
            trips_since,
            rules_for,
            ..
        } => {
            let since = match trips_since {
                0 => String::new(),
                1 => "; 1 trip since is not in it: `plungeline fit`".to_owned(),
                n => format!("; {n} trips since are not in it: `plungeline fit`"),
            };
            let except = match rules_for.is_empty() {
                true => String::new(),
                false => {
                    let ids: Vec<&str> = rules_for.iter().map(|id| id.as_str()).collect();
                    format!("; for {} by the rules alone, which have changed", ids.join(", "))
                }
            };
            let taught = match trips {
                1 => "one of your trips has".to_owned(),
                n => format!("{n} of your trips have"),
            };
            format!(
                "By the rules and what {taught} taught, fitted {}{since}{except}.",
                reader.stamp(*fitted_at)
            )
        }
    })
}
