//! The words of a trip's line: figures with their units, fish, marks, readings.

use chrono::{DateTime, Utc};

use super::model::{Catch, Instrument, Mark, MarkKind, Reading};
use crate::lake::{SpeciesId, ZoneId};
use crate::units::{M_PER_FT, M_PER_IN, M_S_PER_KMH, M_S_PER_KT, M_S_PER_MPH, degc_from_degf};

/// Words that are units, and stand behind a figure one blank off.
const UNITS: [&str; 22] = [
    "h", "hours", "min", "rods", "rod", "ft", "feet", "m", "mph", "kt", "km/h", "m/s", "in", "cm", "F", "C",
    "degF", "degC", "hour", "inches", "knots", "metres",
];

/// The words of a line; a figure and a unit after it are one word.
pub(super) fn words_of(line: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in line.split_whitespace() {
        let is_figure = |w: &String| {
            w.parse::<f64>().is_ok() || w.rsplit_once('@').is_some_and(|(_, f)| f.parse::<f64>().is_ok())
        };
        match words.last_mut() {
            Some(last) if UNITS.contains(&word) && is_figure(last) => last.push_str(word),
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Figure and unit of a word such as `18ft`.
fn measure(word: &str) -> Option<(f64, &str)> {
    let at = word.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))?;
    let (figure, unit) = word.split_at(at);
    figure
        .parse()
        .ok()
        .filter(|f: &f64| f.is_finite())
        .map(|f| (f, unit))
}

/// Hours of `4.5h` or `90min`. They may be wrong ones: the check of the trip says so.
pub fn hours_of(word: &str) -> Option<f64> {
    match measure(word)? {
        (hours_h, "h" | "hours" | "hour") => Some(hours_h),
        (minutes, "min") => Some(minutes / 60.0),
        _ => None,
    }
}

/// Depth or length of the water, metres, of `18ft` or `5.5m`.
pub fn depth_of(word: &str) -> Option<f64> {
    match measure(word)? {
        (feet, "ft" | "feet") => Some(feet * M_PER_FT),
        (metres, "m" | "metres") => Some(metres),
        _ => None,
    }
}

/// Speed, m/s, of `2.2mph`, `2kt`, `3.5km/h` or `1m/s`.
pub fn speed_of(word: &str) -> Option<f64> {
    let (figure, unit) = measure(word)?;
    let m_s = match unit {
        "mph" => M_S_PER_MPH,
        "kt" | "knots" => M_S_PER_KT,
        "km/h" => M_S_PER_KMH,
        "m/s" => 1.0,
        _ => return None,
    };
    Some(figure * m_s)
}

/// Temperature, degC, of `64F` or `17.5C`.
pub fn temp_of(word: &str) -> Option<f64> {
    match measure(word)? {
        (temp_degf, "F" | "degF") => Some(degc_from_degf(temp_degf)),
        (temp_degc, "C" | "degC") => Some(temp_degc),
        _ => None,
    }
}

/// Length of a fish, metres, of `18in` or `45cm`.
pub fn length_of(word: &str) -> Option<f64> {
    match measure(word)? {
        (inches, "in" | "inches") => Some(inches * M_PER_IN),
        (centimetres, "cm") => Some(centimetres / 100.0),
        _ => None,
    }
}

/// The fish of a word after a species: `3`, `3@45ft`, or one length a fish, `18in,20in@45ft,16in!` (`!`: it went back).
///
/// # Errors
/// What was wanted.
pub fn fish_of(species: &SpeciesId, word: &str) -> Result<Vec<Catch>, &'static str> {
    const WANTED: &str =
        "how many (3, or 3@45ft), or a length a fish: 18in,20in@45ft,16in! (! for one that went back)";
    let mut fish = Vec::new();
    for part in word.split(',') {
        let (part, released) = match part.strip_suffix('!') {
            Some(part) => (part, true),
            None => (part, false),
        };
        let (size, depth) = part
            .split_once('@')
            .map_or((part, None), |(size, depth)| (size, Some(depth)));
        let depth_m = depth.map(|d| depth_of(d).ok_or(WANTED)).transpose()?;
        let (count, length_m) = match (size.parse::<u32>(), length_of(size)) {
            (Ok(count), _) => (count, None),
            (_, Some(length_m)) => (1, Some(length_m)),
            _ => return Err(WANTED),
        };
        fish.push(Catch {
            species: species.clone(),
            count,
            released: released.then_some(count),
            length_m,
            depth_m,
        });
    }
    Ok(fish)
}

/// The mark of `bait@40ft` or `single@35ftx6`; its place and time come from the leg.
pub(super) fn mark_of(word: &str) -> Option<Mark> {
    let (kind, rest) = word.split_once('@')?;
    let kind = MarkKind::from_word(kind)?;
    let (depth, count) = match rest.rsplit_once('x') {
        Some((depth, count)) => (depth, Some(count.parse().ok()?)),
        None => (rest, None),
    };
    Some(Mark {
        zone: ZoneId::new(""),
        time: None,
        kind,
        depth_m: depth_of(depth)?,
        count,
    })
}

/// A reading whose place and time come from its leg.
pub(super) struct Told(Reading);

impl Told {
    /// The reading at a place and time.
    pub(super) fn at(self, zone: &ZoneId, time: Option<DateTime<Utc>>) -> Reading {
        Reading {
            zone: zone.clone(),
            time,
            ..self.0
        }
    }
}

/// The readings of `surface 64F`, `secchi 12ft`, `cast 30ft:54F:7.1,60ft:50F` and `probe 45ft:52F`.
///
/// # Errors
/// What was wanted after that word.
pub(super) fn readings_of(word: &str, figures: &str) -> Result<Vec<Told>, &'static str> {
    let bare = |instrument, depth_m| Reading {
        zone: ZoneId::new(""),
        time: None,
        instrument,
        depth_m,
        temp_degc: None,
        temp_error_degc: None,
        oxygen_mg_l: None,
        oxygen_error_mg_l: None,
        secchi_m: None,
    };
    match word {
        "surface" => {
            let temp_degc = Some(temp_of(figures).ok_or("the temperature, such as 64F or 17.5C")?);
            Ok(vec![Told(Reading {
                temp_degc,
                ..bare(Instrument::Surface, 0.0)
            })])
        }
        "secchi" => {
            let secchi_m = Some(depth_of(figures).ok_or("the depth of the disc, such as 12ft or 3.5m")?);
            Ok(vec![Told(Reading {
                secchi_m,
                ..bare(Instrument::Disc, 0.0)
            })])
        }
        _ => {
            const WANTED: &str = "depth:temperature:oxygen, such as 30ft:54F:7.1,60ft:50F; oxygen in mg/L may be left out, or \
                                  the temperature: 60ft::6.8";
            let instrument = if word == "cast" {
                Instrument::Cast
            } else {
                Instrument::Probe
            };
            let readings = figures.split(',').map(|part| {
                let mut parts = part.split(':');
                let depth_m = parts.next().and_then(depth_of).ok_or(WANTED)?;
                let temp_degc = parts
                    .next()
                    .filter(|t| !t.is_empty())
                    .map(|t| temp_of(t).ok_or(WANTED))
                    .transpose()?;
                let oxygen = parts.next().filter(|t| !t.is_empty());
                let oxygen_mg_l = oxygen.map(|t| t.parse().map_err(|_| WANTED)).transpose()?;
                match parts.next() {
                    None if temp_degc.is_some() || oxygen_mg_l.is_some() => Ok(Told(Reading {
                        temp_degc,
                        oxygen_mg_l,
                        ..bare(instrument, depth_m)
                    })),
                    _ => Err(WANTED),
                }
            });
            readings.collect()
        }
    }
}
