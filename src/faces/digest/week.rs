//! What the digest says of the week behind, and of what else there is.

use super::words::Labelled;
use crate::faces::changes::{self, RuleCodes};
use crate::faces::reader::{Reader, chance};
use crate::faces::words;
use crate::reports::{Brief, Digest, WhereaboutsSkill};

/// Level, inflows, surface and weather of the week.
pub fn behind(digest: &Digest, reader: &Reader) -> Vec<Labelled> {
    let (week, brief) = (&digest.behind, &digest.brief);
    let mut lines = vec![(
        "Days".to_owned(),
        format!("{} to {}", reader.day(week.from), reader.day(week.to)),
    )];
    let level = |date| week.levels.iter().find(|l| l.date == date).map(|l| l.elevation_m);
    // From the day before the first: seven days of change, as the brief counts them.
    let before = week.from.pred_opt().and_then(level);
    if let Some((from_m, to_m)) = before.zip(level(week.to)) {
        // The change itself stands at the head, of the same daily means.
        let said = format!("{} to {}", reader.elevation(from_m), reader.elevation(to_m));
        lines.push(("Level".to_owned(), said));
    }
    for inflow in &week.inflows {
        let before = inflow
            .before_m3s
            .map(|b| format!(", {} the week before", reader.discharge(b)));
        let said = format!(
            "{} on average{}; highest {} on {}",
            reader.discharge(inflow.mean_m3s),
            before.unwrap_or_default(),
            reader.discharge(inflow.highest_m3s),
            reader.day(inflow.highest_on)
        );
        lines.push((words::inflow(brief, inflow.inflow.as_str()), said));
    }
    let surface = |date| week.surfaces.iter().find(|s| s.date == date).map(|s| s.mean_degc);
    if let Some((from, to)) = surface(week.from).zip(surface(week.to)) {
        let said = format!("{} to {}", reader.temp(from), reader.temp(to));
        lines.push(("Surface".to_owned(), said));
    }
    if let Some(air) = &week.air {
        let span = air.lowest_degc.zip(air.highest_degc);
        let span = span.map(|(low, high)| format!(", {} to {}", reader.temp_number(low), reader.temp(high)));
        let rain = week
            .rain_m
            .map(|rain_m| format!(", {}", reader.rain_said(rain_m)));
        let said = format!(
            "{} on average{}{}",
            reader.temp(air.mean_degc),
            span.unwrap_or_default(),
            rain.unwrap_or_default()
        );
        lines.push(("Air".to_owned(), said));
    }
    if let Some(wind) = &week.wind {
        let gust = wind.gust_m_s.map(|g| format!(", gusts to {}", reader.speed(g)));
        let said = format!(
            "{} on average{}; windiest {} ({})",
            reader.speed(wind.mean_m_s),
            gust.unwrap_or_default(),
            reader.day(wind.windiest_on),
            reader.speed(wind.windiest_m_s)
        );
        lines.push(("Wind".to_owned(), said));
    }
    lines
}

/// Since when, and what changed.
pub fn changed(digest: &Digest, reader: &Reader) -> (String, Vec<String>) {
    let Some(since) = &digest.since else {
        let none = "No brief of a week ago is in this store, and it holds nothing to make one from.";
        return (String::new(), vec![none.to_owned()]);
    };
    let made = if since.made_again {
        "that morning made again from what the store holds now; no brief was issued then"
    } else {
        "as issued then"
    };
    let when = format!("since {}, {made}", reader.stamp(since.changes.since));
    let lines = changes::lines(&digest.brief, &since.changes, reader, RuleCodes::Hidden);
    (when, lines.iter().map(|line| words::capitalised(line)).collect())
}

/// Trips, turnover, notices, and how the week's calls did: what stands of them.
pub fn also(digest: &Digest, reader: &Reader) -> Vec<Labelled> {
    let mut lines = Vec::new();
    lines.extend(trips(digest, reader).map(|said| ("Trips".to_owned(), said)));
    if let Some(turnover) = &digest.turnover {
        let said = format!(
            "about {} (8 of 10 weathers: {} to {}); {} within the outlook",
            reader.day(turnover.median),
            reader.day(turnover.early),
            reader.day(turnover.late),
            chance(turnover.within_prob)
        );
        lines.push(("Turnover".to_owned(), said));
    }
    for notice in &digest.notices {
        let said = format!("{}, {}", notice.name, reader.day_hour(notice.fired_at));
        lines.push(("Notice".to_owned(), said));
    }
    if let Some(record) = &digest.record {
        lines.extend(record_of(&digest.brief, record, reader).map(|said| ("Last calls".to_owned(), said)));
    }
    lines
}

fn trips(digest: &Digest, reader: &Reader) -> Option<String> {
    let week = digest.trips.as_ref()?;
    if week.trips == 0 {
        return Some("none logged this week".to_owned());
    }
    let name = |id: &crate::lake::SpeciesId| {
        let call = digest.brief.whereabouts.get(id);
        call.map_or_else(|| id.to_string(), |call| call.name.clone())
    };
    let caught: Vec<String> = week
        .species
        .iter()
        .filter_map(|of| {
            let per_h = of.fish_per_rod_h?;
            Some(format!(
                "{} {} in {} rod-hours ({} an hour)",
                of.fish,
                name(&of.species),
                reader.rounded(of.rod_h, 1),
                reader.rounded(per_h, 2)
            ))
        })
        .collect();
    let blank = match week.blank_trips {
        0 => String::new(),
        blank => format!(", {blank} of them blank"),
    };
    Some(format!("{} logged{blank}: {}", week.trips, caught.join("; ")))
}

/// Trips scored and fish within the band, by species.
fn record_of(brief: &Brief, record: &WhereaboutsSkill, reader: &Reader) -> Option<String> {
    let found: Vec<String> = record
        .species
        .iter()
        .filter(|(_, of)| of.band.fish > 0 || of.shares.trips > 0)
        .map(|(id, of)| {
            let name = brief.whereabouts.get(id).map_or(id.as_str(), |call| call.name.as_str());
            format!(
                "{name}: {} of {} fish came from the depth band that was called, {} of the {} rod-hours were in it",
                of.band.fish_in_band,
                of.band.fish,
                reader.rounded(of.band.in_band_rod_h, 1),
                reader.rounded(of.band.rod_h, 1)
            )
        })
        .collect();
    (!found.is_empty()).then(|| found.join("; "))
}
