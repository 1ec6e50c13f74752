//! Named SI figures (`gust_max_m_s` 12.4) in the reader's words and units (`gust max 28 mph`).

use super::reader::{Reader, compass, percent, rounded, significant};

type Show = fn(&Reader, f64) -> String;

/// How the end of a figure's name decides its unit: what the name ends in, what of it is the unit and
/// not shown, and how the value is shown. The first that fits wins.
const ENDINGS: [(&str, &str, Show); 21] = [
    ("_elevation_m", "_m", |r, v| r.elevation(v)),
    ("_elevation_low_m", "_m", |r, v| r.elevation(v)),
    ("visibility_m", "_m", |r, v| r.distance(v)),
    ("visibility_min_m", "_m", |r, v| r.distance(v)),
    ("_distance_m", "_m", |r, v| r.distance(v)),
    ("fetch_m", "_m", |r, v| r.distance(v)),
    ("change_7d_m", "_m", |r, v| r.change(v)),
    ("change_1d_m", "_m", |r, v| r.change(v)),
    ("_less_bottom_degc", "_degc", |r, v| r.temp_change(v)),
    ("_degc", "_degc", |r, v| r.temp(v)),
    ("days_since_peak", "", |_, v| format!("{} days", rounded(v, 1))),
    ("_m3", "_m3", |r, v| r.volume(v)),
    ("_deg", "_deg", |_, v| compass(v).to_owned()),
    ("_m3s", "_m3s", |r, v| r.discharge(v)),
    ("_m_s", "_m_s", |r, v| r.speed(v)),
    ("_frac", "_frac", |_, v| percent(v)),
    ("_prob", "_prob", |_, v| percent(v)),
    ("_ntu", "_ntu", |_, v| format!("{} NTU", significant(v))),
    ("_days", "_days", |_, v| format!("{} days", rounded(v, 0))),
    ("_s", "_s", |_, v| format!("{} s", rounded(v, 1))),
    ("_m", "_m", |r, v| r.length(v)),
];

/// Figures whose name alone would mislead, and what is said instead.
const PHRASES: [(&str, &str); 2] = [
    ("water_temp_low_degc", "water may be as low as"),
    ("pool_elevation_low_m", "pool may be as low as"),
];

/// One figure in words: its name without the unit, and its value.
pub fn figure(reader: &Reader, name: &str, value: f64) -> String {
    for (ending, unit, show) in ENDINGS {
        if name.ends_with(ending) {
            let stem = name.strip_suffix(unit).unwrap_or(name).replace('_', " ");
            let phrase = PHRASES.iter().find(|(of, _)| *of == name);
            let words = phrase.map_or(stem.as_str(), |(_, words)| words);
            return format!("{words} {}", show(reader, value));
        }
    }
    format!("{} {}", name.replace('_', " "), rounded(value, 2))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faces::Units;

    #[test]
    fn a_figure_is_shown_in_the_readers_unit() {
        let us = Reader {
            units: Units::Us,
            zone: chrono_tz::UTC,
        };
        let metric = Reader {
            units: Units::Metric,
            zone: chrono_tz::UTC,
        };
        assert_eq!(figure(&us, "gust_max_m_s", 12.5), "gust max 28 mph");
        assert_eq!(figure(&metric, "gust_max_m_s", 12.5), "gust max 12.5 m/s");
        assert_eq!(
            figure(&us, "pool_elevation_m", 257.556),
            "pool elevation 845.00 ft"
        );
        assert_eq!(figure(&us, "water_temp_degc", 10.0), "water temp 50 °F");
        assert_eq!(
            figure(&us, "water_temp_low_degc", 10.0),
            "water may be as low as 50 °F"
        );
        assert_eq!(
            figure(&us, "pool_elevation_low_m", 257.556),
            "pool may be as low as 845.00 ft"
        );
        assert_eq!(figure(&us, "flow_ratio", 3.04), "flow ratio 3.04");
        assert_eq!(figure(&us, "since_peak_days", 2.0), "since peak 2 days");
    }
}
