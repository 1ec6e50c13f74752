//! Named SI figures (`wind_gust_m_s` 12.4) as a practitioner says them (`gusts to 28 mph`).

use crate::conditions::{InflowCondition, RatioBasis};

use super::reader::{Reader, compass, percent, rounded};
use super::words;

/// How a figure is worded: for a reader, the value, and the flow that ratios are taken against.
type Wording = fn(&Reader, f64, &str) -> String;

/// Every figure that a caution or a reason may hold, in the order in which they read well. One whose
/// wording is empty is said by the reason's own label.
const WORDINGS: [(&str, Wording); 39] = [
    ("pool_elevation_m", |r, v, _| format!("level {}", r.elevation(v))),
    ("pool_elevation_low_m", |r, v, _| {
        format!("the level may be as low as {}", r.elevation(v))
    }),
    ("percentile_for_date_frac", |_, v, _| {
        format!("higher than on {} of such days", percent(v))
    }),
    ("pool_change_7d_m", |r, v, _| moved(r, v)),
    ("above_highest_60d_m", |r, v, _| {
        format!(
            "{} above the highest daily level of the 60 days up to a week ago",
            r.length(v)
        )
    }),
    ("highest_10d_ratio", |r, v, base| {
        format!("inflow up to {} times {base} within 10 days", r.rounded(v, 1))
    }),
    ("pulse_peak_ratio", |r, v, base| {
        format!("inflow peaked at {} times {base}", r.rounded(v, 1))
    }),
    ("water_temp_low_degc", |r, v, _| {
        format!("water may be as cold as {}", r.temp(v))
    }),
    ("water_temp_degc", |r, v, _| format!("water {}", r.temp(v))),
    ("felt_temp_degc", |r, v, _| {
        format!("feels like {} on bare skin", r.temp(v))
    }),
    ("air_temp_low_degc", |r, v, _| format!("air of {}", r.temp(v))),
    ("air_temp_degc", |r, v, _| format!("air to {}", r.temp(v))),
    ("wave_height_m", |r, v, _| {
        format!("waves of about {}", r.length(v))
    }),
    ("wave_period_s", |r, v, _| format!("{} s apart", r.rounded(v, 1))),
    ("wind_speed_m_s", |r, v, _| format!("wind to {}", r.speed(v))),
    ("wind_gust_m_s", |r, v, _| format!("gusts to {}", r.speed(v))),
    ("wind_direction_deg", |_, v, _| format!("from {}", compass(v))),
    ("visibility_m", |r, v, _| {
        format!("visibility down to {}", r.distance(v))
    }),
    ("thunder_prob", |_, v, _| {
        format!("chance of thunder {}", percent(v))
    }),
    ("zone_suitable_volume_m3", |r, v, _| {
        format!("{} here", r.volume(v))
    }),
    ("main_suitable_volume_m3", |r, v, _| {
        format!("{} in the main body", r.volume(v))
    }),
    ("zone_suitability", |r, v, _| {
        format!("{} of 1 here", r.rounded(v, 2))
    }),
    ("main_suitability", |r, v, _| {
        format!("{} in the main body", r.rounded(v, 2))
    }),
    ("lake_best_temp_degc", |r, v, _| {
        format!("best water of the main body at {}", r.temp(v))
    }),
    ("river_temp_degc", |r, v, _| format!("river at {}", r.temp(v))),
    ("flow_ratio", |r, v, base| {
        format!("flow {} times {base}", r.rounded(v, 1))
    }),
    ("days_since_peak", |_, v, _| since_peak(v)),
    ("season_weight", |_, v, _| season(v)),
    ("level_change_7d_m", |r, v, _| moved(r, v)),
    ("surface_less_bottom_degc", |r, v, _| mixed(r, v)),
    ("turbidity_ntu", |_, v, _| words::turbidity(v)),
    ("forage_less_main", |r, v, _| {
        format!("{} by index against the main body", r.signed(v, 2))
    }),
    ("days_since_bait", |_, v, _| since_bait(v)),
    ("days_since_release", |_, v, _| since_release(v)),
    ("fish_temp_degc", |r, v, _| {
        format!("fish in water of {}", r.temp(v))
    }),
    ("half_light_frac", |_, v, _| format!("{} of the trip", percent(v))),
    ("mature_frac", |_, v, _| format!("{} mature", percent(v))),
    ("eta_before", |r, v, _| format!("{} otherwise", r.rounded(v, 2))),
    ("eta_bound", |_, _, _| String::new()),
];

/// Whether a figure of this name has a wording.
pub fn is_worded(name: &str) -> bool {
    WORDINGS.iter().any(|(known, _)| *known == name)
}

/// Figures in words, in the order in which they read well. `base` names the flow that ratios are taken
/// against ([`flow_base`]). A name without wording comes last, as it is: rather plain than left out.
pub fn figures<'f>(
    reader: &Reader,
    base: impl Fn(f64) -> &'static str,
    named: impl IntoIterator<Item = (&'f String, &'f f64)>,
) -> Vec<String> {
    let place = |name: &str| WORDINGS.iter().position(|(known, _)| *known == name);
    let mut found: Vec<(usize, String)> = named
        .into_iter()
        .map(|(name, value)| match place(name) {
            Some(i) => (i, WORDINGS[i].1(reader, *value, base(*value))),
            None => (WORDINGS.len(), format!("{name} {}", reader.rounded(*value, 2))),
        })
        .filter(|(_, text)| !text.is_empty())
        .collect();
    found.sort_by_key(|(i, _)| *i);
    found.into_iter().map(|(_, text)| text).collect()
}

/// What a ratio of one inflow is taken against.
pub fn flow_base(basis: RatioBasis) -> &'static str {
    match basis {
        RatioBasis::EckhardtBaseflow => "its base flow",
        RatioBasis::Median30d => "its usual flow (median of 30 days)",
    }
}

/// What the ratio `value` of a caution or reason is taken against: that of the inflow whose figure it is, else
/// that of all inflows, where it is one.
pub fn flow_base_of(inflows: &[InflowCondition], value: f64) -> &'static str {
    let own = inflows.iter().find(|i| {
        i.ratio == Some(value)
            || i.highest_10d.is_some_and(|peak| peak.ratio == value)
            || i.pulse.as_ref().is_some_and(|p| p.peak_ratio == value)
    });
    let common = || {
        let first = inflows.first()?;
        let same = inflows.iter().all(|i| i.ratio_basis == first.ratio_basis);
        same.then_some(first)
    };
    own.or_else(common)
        .map_or("its usual flow", |i| flow_base(i.ratio_basis))
}

fn moved(reader: &Reader, change_m: f64) -> String {
    let size = reader.change(change_m.abs()).trim_start_matches('+').to_owned();
    if rounded(change_m, 3) == "0.000" {
        "unchanged over 7 days".to_owned()
    } else if change_m < 0.0 {
        format!("fell {size} in 7 days")
    } else {
        format!("rose {size} in 7 days")
    }
}

fn since_peak(days: f64) -> String {
    match rounded(days, 0).as_str() {
        // 0 while the pulse rises, and on the day of its peak.
        "0" => "at or before its peak".to_owned(),
        "1" => "peak 1 day ago".to_owned(),
        whole => format!("peak {whole} days ago"),
    }
}

fn since_release(days: f64) -> String {
    match rounded(days, 0).as_str() {
        "0" => "released today".to_owned(),
        "1" => "released 1 day ago".to_owned(),
        whole => format!("released {whole} days ago"),
    }
}

fn since_bait(days: f64) -> String {
    match days {
        d if d < 1.0 => "bait looked for today".to_owned(),
        d if d < 1.5 => "bait looked for yesterday".to_owned(),
        d => format!("bait looked for {} days ago", rounded(d, 0)),
    }
}

fn season(weight_frac: f64) -> String {
    match rounded(weight_frac * 100.0, 0).as_str() {
        "100" => "in full season".to_owned(),
        "0" => "out of season".to_owned(),
        whole => format!("season at {whole} % of its height"),
    }
}

fn mixed(reader: &Reader, difference_degc: f64) -> String {
    let size = reader.temp_change(difference_degc.abs());
    let size = size.trim_start_matches('+');
    let shown = size.split(' ').next().unwrap_or_default();
    if shown.chars().all(|c| matches!(c, '0' | '.' | ',')) {
        "surface and bottom equal".to_owned()
    } else if difference_degc < 0.0 {
        format!("surface {size} colder than the bottom")
    } else {
        format!("surface {size} warmer than the bottom")
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::faces::Units;

    fn said(units: Units, named: &[(&str, f64)]) -> String {
        let reader = Reader::new(units, chrono_tz::UTC);
        let named: BTreeMap<String, f64> = named.iter().map(|(n, v)| ((*n).to_owned(), *v)).collect();
        figures(&reader, |_| flow_base(RatioBasis::Median30d), &named).join(", ")
    }

    // Factors: NIST SP 811 (2008), exact: 1 mph = 0.44704 m/s, 1 ft = 0.3048 m, degF = 1.8 degC + 32.
    #[test]
    fn a_figure_is_said_in_the_readers_unit() {
        assert_eq!(
            said(Units::Us, &[("wind_gust_m_s", 12.5)]), // 12.5 / 0.44704 = 27.96
            "gusts to 28 mph"
        );
        assert_eq!(
            said(Units::Metric, &[("wind_gust_m_s", 12.5)]),
            "gusts to 12.5 m/s"
        );
        assert_eq!(
            said(Units::Us, &[("pool_elevation_m", 257.556)]), // 257.556 / 0.3048 = 845
            "level 845.00 ft"
        );
        assert_eq!(said(Units::Us, &[("water_temp_degc", 10.0)]), "water 50 °F"); // 1.8 x 10 + 32
    }

    #[test]
    fn signs_become_words_and_the_order_is_that_of_speech() {
        assert_eq!(
            said(
                Units::Us,
                &[("pool_change_7d_m", -0.74371), ("percentile_for_date_frac", 0.62)]
            ),
            "higher than on 62 % of such days, fell 2.44 ft in 7 days" // 0.74371 / 0.3048 = 2.44
        );
        assert_eq!(
            said(Units::Metric, &[("level_change_7d_m", 1.1)]),
            "rose 1.10 m in 7 days"
        );
        assert_eq!(
            said(Units::Us, &[("level_change_7d_m", 0.0)]),
            "unchanged over 7 days"
        );
        assert_eq!(
            said(Units::Us, &[("surface_less_bottom_degc", -1.0)]), // 1 degC = 1.8 degF
            "surface 1.8 °F colder than the bottom"
        );
        assert_eq!(
            said(
                Units::Us,
                &[("main_suitability", 1.0), ("zone_suitability", 0.94)]
            ),
            "0.94 of 1 here, 1.00 in the main body"
        );
    }

    #[test]
    fn what_a_regulated_flow_is_compared_with_is_its_median() {
        assert_eq!(
            said(Units::Us, &[("pulse_peak_ratio", 7.59)]),
            "inflow peaked at 7.6 times its usual flow (median of 30 days)"
        );
        assert_eq!(flow_base(RatioBasis::EckhardtBaseflow), "its base flow");
    }
}
