//! Level, inflows, water, wind, light.

use chrono::{DateTime, Duration, Utc};

use crate::column::ShownBy;
use crate::conditions::TurbidityCondition;
use crate::faces::figures::flow_base;
use crate::faces::reader::{Reader, compass, percent, rounded};
use crate::faces::words;
use crate::reports::Brief;

use super::ahead::{balance, level_ahead};
use super::block::{Page, held};
use super::water::water;

/// Columns of a label.
const LABEL_WIDTH: usize = 10;

/// Writes the conditions.
pub fn write(page: &mut Page, brief: &Brief, reader: &Reader) {
    page.heading("CONDITIONS", "");
    level(page, brief, reader);
    level_ahead(page, brief, reader);
    balance(page, brief, reader);
    inflows(page, brief, reader);
    surface(page, brief, reader);
    water(page, brief, reader);
    turbid_zones(page, brief);
    wind(page, brief, reader);
    light(page, brief, reader);
}

pub(super) fn line(page: &mut Page, label: &str, text: &str) {
    page.row(label, LABEL_WIDTH, text);
}

fn level(page: &mut Page, brief: &Brief, reader: &Reader) {
    let Some(pool) = &brief.pool else {
        line(page, "Level", "not known");
        return;
    };
    let mut text = format!(
        "{} at {}",
        reader.elevation(pool.elevation_m),
        words::observed(brief, reader, None, pool.observed_at)
    );
    for (days, change) in [
        ("1 day", pool.change_1d),
        ("7 days", pool.change_7d),
        ("30 days", pool.change_30d),
    ] {
        if let Some(change) = change {
            text.push_str(&format!("; {} in {days}", reader.change(change.change_m)));
        }
    }
    let below_full_m = brief.lake.full_pool_elevation_m - pool.elevation_m;
    if below_full_m >= 0.0 {
        text.push_str(&format!("; {} below full", reader.length(below_full_m)));
    }
    if let Some(percentile) = pool.percentile_for_date_frac {
        text.push_str(&format!(
            "; higher than on {} of such days in the record",
            percent(percentile)
        ));
    }
    line(page, "Level", &text);
    if let Some(storage_m3) = brief.storage_m3 {
        let old = |at: &DateTime<Utc>| brief.as_of - *at > Duration::days(2);
        let of = brief.storage_observed_at.filter(old);
        let of = of.map_or(String::new(), |at| {
            format!(" ({})", words::observed(brief, reader, None, at))
        });
        line(page, "Storage", &format!("{}{of}", reader.volume(storage_m3)));
    }
}

fn inflows(page: &mut Page, brief: &Brief, reader: &Reader) {
    for inflow in &brief.inflows {
        let name = words::inflow(brief, inflow.inflow.as_str());
        let base = flow_base(inflow.ratio_basis);
        let mut text = format!("{}: {}", name, reader.discharge(inflow.discharge_m3s));
        if let Some(ratio) = inflow.ratio {
            text.push_str(&format!(", {} times {base}", rounded(ratio, 1)));
        }
        if let Some(pulse) = inflow.pulse.as_ref().filter(|p| p.end.is_none()) {
            text.push_str(&format!("; pulse since {}", reader.day(pulse.onset)));
            if pulse.peaked {
                text.push_str(&format!(
                    ", peak {} at {} times, falling",
                    reader.day(pulse.peak),
                    rounded(pulse.peak_ratio, 1)
                ));
            } else {
                text.push_str(", still rising");
            }
        }
        if let Some(step) = inflow
            .step
            .filter(|_| inflow.pulse.as_ref().is_none_or(|p| p.end.is_some()))
        {
            text.push_str(&format!(
                "; stepped to {} times its flow on {}",
                rounded(step.factor, 1),
                reader.day(step.date)
            ));
        }
        if let Some(flashiness) = inflow.flashiness_frac {
            text.push_str(&format!("; flashiness {}", rounded(flashiness, 2)));
        }
        if let Some(river) = brief.water.rivers.iter().find(|r| r.inflow == inflow.inflow) {
            let how = if river.measured { "measured" } else { "computed" };
            text.push_str(&format!("; {} ({how})", reader.temp(river.median_degc)));
            if let Some(way) = &river.way {
                text.push_str(&format!("; {}", words::river_way(brief, reader, way)));
            }
        }
        let at = |t: &&TurbidityCondition| t.inflow.as_ref() == Some(&inflow.inflow);
        if let Some(turbid) = brief.turbidities.iter().find(at) {
            text.push_str(&format!("; {}", words::turbidity(turbid.turbidity_ntu)));
        }
        line(page, "Inflow", &text);
    }
}

fn turbid_zones(page: &mut Page, brief: &Brief) {
    let said: Vec<String> = brief
        .turbidities
        .iter()
        .filter_map(|t| {
            let zone = t.zone.as_ref()?;
            Some(format!(
                "{}: {}",
                words::zone(brief, zone),
                words::turbidity(t.turbidity_ntu)
            ))
        })
        .collect();
    if !said.is_empty() {
        line(page, "Clarity", &said.join("; "));
    }
}

fn surface(page: &mut Page, brief: &Brief, reader: &Reader) {
    let mut text = match &brief.surface {
        Some(surface) => {
            let mut text = format!(
                "{} (newest value {})",
                reader.temp(surface.temp_degc),
                words::observed(brief, reader, None, surface.observed_at)
            );
            if let Some(trend) = surface.trend_7d {
                text.push_str(&format!(
                    ", {} a day over 7 days",
                    reader.temp_change(trend.rate_degc_per_day)
                ));
            }
            if surface.cooling {
                text.push_str(": cooling");
            } else if surface.warming {
                text.push_str(": warming");
            }
            if let Some(step) = surface.step {
                text.push_str(&format!(
                    "; stepped by {} on {}",
                    reader.temp_change(step.step_degc),
                    reader.day(step.date)
                ));
            }
            text
        }
        None => "not measured".to_owned(),
    };
    if let Some(last) = brief.water.surface_outlook.iter().take(8).next_back() {
        text.push_str(&format!(
            "; by {} about {} ({} to {})",
            reader.day(last.date),
            reader.temp(last.median_degc),
            reader.temp_number(last.low_degc),
            reader.temp_number(last.high_degc)
        ));
        text.push_str(match last.shown_by {
            ShownBy::Model => "",
            ShownBy::CorrectedModel => ", corrected by what past forecasts missed",
            ShownBy::DampedPersistence => ", by what usually lasts: past forecasts were no better",
        });
    }
    line(page, "Surface", &text);
}

fn wind(page: &mut Page, brief: &Brief, reader: &Reader) {
    let Some(wind) = &brief.wind else {
        line(page, "Wind", "no forecast");
        return;
    };
    let mut text = format!(
        "{} to {}: to {}",
        reader.hour(wind.from),
        reader.hour(wind.to),
        reader.speed(wind.speed_max_m_s)
    );
    if let Some(gust_m_s) = wind.gust_max_m_s {
        text.push_str(&format!(", gusts {}", reader.speed(gust_m_s)));
    }
    if let Some(direction_deg) = wind.direction_deg {
        text.push_str(&format!(", from {}", compass(direction_deg)));
    }
    text.push_str(" (9 of 10 members stay below)");
    line(page, "Wind", &text);
    let every_two: Vec<String> = wind
        .hours
        .iter()
        .step_by(2)
        .map(|h| {
            let from = h.direction_deg.map_or("", compass);
            let text = format!("{} {} {from}", reader.hour(h.time), reader.speed(h.speed_m_s));
            held(text.trim())
        })
        .collect();
    if !every_two.is_empty() {
        line(page, "", &every_two.join(" · "));
    }
    if let Some(sky) = &brief.sky
        && let (Some(low), Some(high)) = (sky.air_temp_min_degc, sky.air_temp_max_degc)
    {
        let rain = sky
            .precipitation_m
            .map_or(String::new(), |m| format!(", {}", reader.rain_said(m)));
        line(
            page,
            "Air",
            &format!("{} to {}{rain}", reader.temp_number(low), reader.temp(high)),
        );
    }
}

fn light(page: &mut Page, brief: &Brief, reader: &Reader) {
    let Some(light) = &brief.light else { return };
    let mut parts = Vec::new();
    for (label, instant) in [
        ("first light", light.civil_dawn),
        ("sunrise", light.sunrise),
        ("sunset", light.sunset),
        ("last light", light.civil_dusk),
    ] {
        if let Some(instant) = instant {
            parts.push(format!("{label} {}", reader.hour(instant)));
        }
    }
    if !parts.is_empty() {
        line(page, "Light", &parts.join(", "));
    }
}
