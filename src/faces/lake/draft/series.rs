//! Series of a draft: those chosen, and all others as comments.

use super::found::{cadences_of, miles, stations};
use super::write::{Page, quoted};
use crate::lake::{Cadence, SeriesPlace};
use crate::quantity::Quantity;
use crate::reports::draft::{Draft, DraftSeries, FAR_M, Group, RECENT_DAYS};

pub(super) fn render_series(page: &mut Page, draft: &Draft) {
    page.comment("Where each series comes from.");
    let wanted = [
        (Quantity::PoolElevation, "the lake's level"),
        (Quantity::Release, "the release"),
        (Quantity::Inflow, "an inflow"),
        (Quantity::WaterTemp, "the water temperature"),
    ];
    for (quantity, what) in wanted {
        if draft.series.iter().all(|s| s.source.quantity != quantity) {
            let far = miles(FAR_M, page.units);
            page.comment(&format!(
                "Nothing was chosen for {what}: no series found runs (newest value at most {RECENT_DAYS} days old) and is surely \
                 the lake's own (at the lake's name, or within {far}; of flows, by the gauge's name)."
            ));
        }
    }
    page.gap();
    for series in &draft.series {
        if series.source.quantity == Quantity::AirTemp {
            page.comment(
                "Weather of a model, by position: daily values for the long view, hourly ones for the last years, and the \
                 ensemble ahead.",
            );
        }
        render_one(page, series);
    }
    if draft.alerts {
        page.comment("Warnings, advisories and watches for the position, quoted word for word in the brief.");
        page.line("[official_alerts]");
        page.key("service", "\"nws\"", "the National Weather Service");
        page.gap();
    }
}

fn render_one(page: &mut Page, series: &DraftSeries) {
    let source = &series.source;
    if let Some(group) = &series.group {
        page.comment(&described(group, page));
    }
    page.line("[[series]]");
    page.key("id", &quoted(source.id.as_str()), "");
    page.key("quantity", &quoted(source.quantity.word()), "");
    match &source.place {
        SeriesPlace::Lake => {}
        SeriesPlace::Zone(zone) => page.key("zone", &quoted(zone.as_str()), "the zone where it is measured"),
        SeriesPlace::Inflow(inflow) => page.key(
            "inflow",
            &quoted(inflow.as_str()),
            "the inflow where it is measured",
        ),
    }
    if source.quantity == Quantity::WaterTemp {
        let sublocation = series.group.as_ref().and_then(|g| g.first().sublocation.clone());
        let said = sublocation.map_or(String::new(), |s| format!(" The service says of the place: {s}."));
        let depth = page.unit("depth", "ft", "m");
        page.question(
            &depth,
            &format!("how deep below the surface does the sensor hang?{said} The page of the station tells."),
        );
    }
    page.key("service", &quoted(&source.service), "");
    if !source.station.is_empty() {
        page.key("station", &quoted(&source.station), "");
    }
    page.key("parameter", &quoted(&source.parameter), "");
    if let Some(statistic) = &source.statistic {
        page.key(
            "statistic",
            &quoted(statistic),
            "the service's code of the daily statistic",
        );
    }
    if let Some(model) = &source.ensemble_model {
        page.key("ensemble_model", &quoted(model), "");
    }
    let cadences: Vec<String> = source.cadences.iter().map(|c| quoted(word(*c))).collect();
    page.key("cadences", &format!("[{}]", cadences.join(", ")), "");
    if source.cadences.contains(&Cadence::Daily) {
        match source.daily_from {
            Some(day) => page.key("daily_from", &day.to_string(), "first day of daily values"),
            None => page.question(
                "daily_from",
                "the first day of daily values; the service does not say.",
            ),
        }
    }
    for (name, day) in [
        ("daily_until", source.daily_until),
        ("continuous_from", source.continuous_from),
    ] {
        if let Some(day) = day {
            page.key(name, &day.to_string(), "");
        }
    }
    if source.quantity == Quantity::PoolElevation {
        offset(page, series);
    }
    if let Some(hours) = source.late_after_h {
        page.key("late_after_h", &format!("{hours:.1}"), "");
    }
    page.gap();
}

fn offset(page: &mut Page, series: &DraftSeries) {
    let name = page.unit("datum_offset", "ft", "m");
    if let (Some(offset_m), Some(source)) = (series.source.datum_offset_m, &series.source.datum_source) {
        // Only an offset of nothing is ever known, in feet as in metres.
        page.key(
            &name,
            &format!("{offset_m:.1}"),
            "added to a reading to come to the datum of the file",
        );
        page.key("datum_source", &quoted(source), "");
        return;
    }
    let gauge = series.datum.as_ref().map_or(
        "the service does not state the gauge's datum; the page of the station does".to_owned(),
        |datum| format!("the gauge reads above {datum}"),
    );
    page.question(
        &name,
        &format!(
            "what is added to a reading of the gauge to come to the datum of this file? {gauge}. 0.0 where the two are one; else \
             the difference of the datums at the dam, from the operator or a geodetic calculator. It is never guessed."
        ),
    );
    page.question(
        "datum_source",
        "where is that offset from? A line for whoever reads the file later.",
    );
}

/// What a series is, in a line.
fn described(group: &Group, page: &Page) -> String {
    let first = group.first();
    let away = first
        .distance_m
        .map_or(String::new(), |away_m| format!(", {}", miles(away_m, page.units)));
    format!("{}{away}: {}", first.name, what(group))
}

fn what(group: &Group) -> String {
    let first = group.first();
    let unit = if first.unit.is_empty() {
        String::new()
    } else {
        format!(", {}", first.unit)
    };
    format!("{}{unit}; {}", first.what, cadences_of(group))
}

pub(super) fn render_others(page: &mut Page, draft: &Draft) {
    if draft.others.is_empty() {
        return;
    }
    page.comment(
        "What else was found, nearest first, with the keys that a series of it begins with. To take one, exchange it for a \
         series above, or write a [[series]] with an id and a quantity.",
    );
    for station in stations(&draft.others) {
        page.line("#");
        page.comment(&station.title(page.units));
        if let Some(line) = station.weather() {
            page.item(&line);
            continue;
        }
        for group in station.groups {
            let first = group.first();
            page.item(&what(group));
            let station_key = if first.station.is_empty() {
                String::new()
            } else {
                format!("station = {}, ", quoted(&first.station))
            };
            let words: Vec<&str> = first.quantities.iter().map(|q| q.word()).collect();
            let line = format!(
                "  service = {}, {station_key}parameter = {}  ({})",
                quoted(first.service),
                quoted(&first.parameter),
                if words.is_empty() {
                    "of no use to the program in this unit".to_owned()
                } else {
                    words.join(" or ")
                }
            );
            page.line(&format!("# {line}"));
        }
    }
}

/// The word of a cadence in lake files.
fn word(cadence: Cadence) -> &'static str {
    match cadence {
        Cadence::Daily => "daily",
        Cadence::Continuous => "continuous",
        Cadence::Forecast => "forecast",
    }
}
