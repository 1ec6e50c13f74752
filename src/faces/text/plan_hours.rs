//! The hours of the trip as a strip: light, wind, chop and air under each other.

use crate::faces::reader::Reader;
use crate::lake::ZoneId;
use crate::plan::{Light, PlanHour};
use crate::reports::Brief;

use super::block::{Block, Page, Strip};

/// Most hours that stand beside each other.
const MOST_HOURS: usize = 10;

/// Writes the strip.
pub fn hours(page: &mut Page, brief: &Brief, reader: &Reader) {
    page.row("Hours", 7, &format!("{}.", hours_said(brief, reader)));
    if let Some(strip) = strip(brief, reader) {
        page.blocks.push(Block::Strip(strip));
    }
}

/// Light of the morning, and what is not known of the hours.
pub fn hours_said(brief: &Brief, reader: &Reader) -> String {
    let hours = &brief.plan.hours;
    let event = |name: &str, at: Option<chrono::DateTime<chrono::Utc>>| match at {
        Some(at) => format!("{name} {}", reader.hour(at)),
        None => format!("{name} not known"),
    };
    let mut text = format!(
        "{}, {}, {}",
        event("first light", hours.first_light),
        event("sunrise", hours.sunrise),
        match hours.sun_over_hills {
            Some(at) => format!("over the hills {}", reader.hour(at)),
            None => "shade of hills not known".to_owned(),
        }
    );
    let pace = brief
        .plan
        .pace
        .as_ref()
        .filter(|pace| pace.home_by > pace.leave_at);
    if let Some(pace) = pace {
        text.push_str(&format!("; back by {}", reader.hour(pace.home_by)));
    }
    if !hours.wind_known {
        text.push_str("; wind and chop by hour are not known: check an official forecast");
    }
    if hours.wind_late {
        text.push_str("; the wind forecast is too old to trust: check an official one");
    }
    text
}

/// The strip; `None` where nothing is known of any hour.
pub fn strip(brief: &Brief, reader: &Reader) -> Option<Strip> {
    let all = &brief.plan.hours.hours;
    // A longer trip takes every second hour, and so on.
    let every = all.len().div_ceil(MOST_HOURS).max(1);
    let hours: Vec<&PlanHour> = all.iter().step_by(every).collect();
    let number = |value: Option<f64>, of: &dyn Fn(f64) -> String| value.map_or_else(|| "-".to_owned(), of);
    let row = |head: String, cell: &dyn Fn(&PlanHour) -> String| -> (String, Vec<String>) {
        (head, hours.iter().map(|h| cell(h)).collect())
    };
    let mut rows = vec![row("light".to_owned(), &|h| {
        let word = match h.light {
            Some(Light::Dark) => "dark",
            Some(Light::HalfLight) => "half",
            Some(Light::Day) => "day",
            None => "-",
        };
        word.to_owned()
    })];
    let wind = format!("gusts, {}", reader.speed_unit());
    rows.push(row(wind, &|h| {
        number(h.wind_gust_m_s.or(h.wind_speed_m_s), &|v| reader.speed_number(v))
    }));
    for zone in zones(brief) {
        let name = brief.water.zones.iter().find(|z| &z.zone == zone);
        let name = name.map_or_else(|| zone.to_string(), |z| z.name.clone());
        rows.push(row(format!("{name}, {}", reader.length_unit()), &|h| {
            let chop = h.chop.iter().find(|c| &c.zone == zone);
            number(chop.and_then(|c| c.wave_height_m), &|v| reader.wave_number(v))
        }));
    }
    rows.push(row(format!("air, {}", reader.temp_unit()), &|h| {
        number(h.air_temp_degc, &|v| reader.temp_number(v))
    }));
    // What is known of no hour is said once, not an hour at a time.
    rows.retain(|(_, cells)| cells.iter().any(|c| c != "-"));
    let highest =
        |of: &dyn Fn(&PlanHour) -> Option<f64>| -> Vec<Option<f64>> { hours.iter().map(|h| of(h)).collect() };
    let top = |h: &PlanHour| {
        h.chop
            .iter()
            .filter_map(|c| c.wave_height_m)
            .max_by(f64::total_cmp)
    };
    (!rows.is_empty() && !hours.is_empty()).then(|| Strip {
        heads: hours
            .iter()
            .map(|h| reader.hour(h.time)[..2].to_owned())
            .collect(),
        light: hours.iter().map(|h| h.light).collect(),
        gust_m_s: highest(&|h| h.wind_gust_m_s.or(h.wind_speed_m_s)),
        wave_height_m: highest(&top),
        rows,
    })
}

/// Zones whose chop the strip shows: the first and second places of the plan.
fn zones(brief: &Brief) -> Vec<&ZoneId> {
    let mut zones: Vec<&ZoneId> = Vec::new();
    for order in &brief.plan.order {
        let second = match &order.second {
            Some(crate::plan::SecondChoice::Zone { zone, .. }) => Some(zone),
            _ => None,
        };
        for zone in order.places.first().map(|p| &p.zone).into_iter().chain(second) {
            if !zones.contains(&zone) {
                zones.push(zone);
            }
        }
    }
    if zones.is_empty() {
        zones.extend(
            brief
                .water
                .zones
                .iter()
                .filter(|z| !z.closed)
                .map(|z| &z.zone)
                .take(2),
        );
    }
    zones
}
