//! What was understood of a lake file.

use super::boat::boat;
use super::notices::notices;
use super::page::Page;
use crate::faces::{Reader, Units};
use crate::lake::{
    Cadence, HazardKind, Inflow, InflowFlow, Lake, OxygenPrior, Presentation, SeriesPlace, SeriesSource,
    Structure, ThermalRegime, TrophicState, Zone, ZoneKind,
};

/// The whole description as text of at most 80 columns, apart from long names.
pub fn render_lake(lake: &Lake, units: Units) -> String {
    let reader = &Reader::new(units, lake.time_zone);
    let mut page = Page::default();
    head(&mut page, lake, reader);
    for (pool, elevation_m) in [
        ("full", lake.full_pool_elevation_m),
        ("minimum", lake.minimum_pool_elevation_m),
    ] {
        page.title(&format!(
            "Zones at {pool} pool, {}",
            reader.elevation(elevation_m)
        ));
        for zone in &lake.zones {
            page.row(
                &[(18, &zone.name), (14, zone.id.as_str())],
                &zone_at(lake, zone, elevation_m, reader),
            );
        }
    }
    wind_and_bed(&mut page, lake, reader);
    places(&mut page, lake, reader);
    water(&mut page, lake, reader);
    fish(&mut page, lake, reader);
    boat(&mut page, lake.boat.as_ref(), reader);
    let links = &lake.links;
    let pages = [
        ("algae", &links.algae),
        ("eating fish", &links.fish_advisory),
        ("rules", &links.rules),
        ("operator", &links.operator),
    ];
    page.titled("Pages", pages.iter().all(|(_, page)| page.is_none()));
    for (what, address) in pages {
        if let Some(address) = address {
            page.row(&[(18, what)], address);
        }
    }
    page.titled("Series", lake.series.is_empty());
    for series in &lake.series {
        page.row(&[(18, series.id.as_str())], &series_text(series, reader));
    }
    page.titled("Official alerts", lake.official_alerts.is_none());
    if let Some(source) = &lake.official_alerts {
        page.line(&format!("{} at the lake's position", source.service));
    }
    let orders = orders_of(lake);
    if !orders.is_empty() {
        page.title("Order of series");
    }
    for order in orders {
        page.line(&order);
    }
    page.into_text()
}

/// The order of the series that stand in for each other, a line a chain.
pub fn orders_of(lake: &Lake) -> Vec<String> {
    let firsts = lake.series.iter().filter(|s| s.stands_in_for.is_none());
    let chains = firsts.map(|first| (first, lake.chain_of(first)));
    let several = chains.filter(|(_, chain)| chain.len() > 1);
    let line = |(first, chain): (&SeriesSource, Vec<&SeriesSource>)| {
        let ids: Vec<&str> = chain.iter().map(|s| s.id.as_str()).collect();
        format!(
            "{}{}: {}",
            first.quantity.word(),
            place_text(first),
            ids.join(", then ")
        )
    };
    several.map(line).collect()
}

fn place_text(series: &SeriesSource) -> String {
    match &series.place {
        SeriesPlace::Lake => String::new(),
        SeriesPlace::Zone(zone) => format!(" in {zone}"),
        SeriesPlace::Inflow(inflow) => format!(" of {inflow}"),
    }
}

fn head(page: &mut Page, lake: &Lake, reader: &Reader) {
    page.title(&format!("{} ({})", lake.name, lake.id));
    if let Some(note) = &lake.note {
        page.line(note);
    }
    let (lat, lon) = (lake.latitude_deg, lake.longitude_deg);
    let (north, east) = (
        if lat < 0.0 { 'S' } else { 'N' },
        if lon < 0.0 { 'W' } else { 'E' },
    );
    page.line(&format!(
        "{:.4} {north} {:.4} {east}, {}",
        lat.abs(),
        lon.abs(),
        lake.time_zone.name()
    ));
    page.line(&format!("elevations above {}", lake.vertical_datum));
    if let Some(contact) = &lake.contact {
        page.line(&format!("requests carry the contact {contact}"));
    }
    page.title("Pool");
    for (word, elevation_m) in [
        ("full", lake.full_pool_elevation_m),
        ("minimum", lake.minimum_pool_elevation_m),
    ] {
        let amounts = lake.hypsography.as_ref().and_then(|table| {
            let (area_m2, volume_m3) = (table.area_m2(elevation_m)?, table.volume_m3(elevation_m)?);
            let depth_m = table.max_depth_m(elevation_m)?;
            let (area, volume) = (reader.area(area_m2), reader.volume(volume_m3));
            Some(format!(
                "; {area}, {volume}, {} at the deepest",
                reader.elevation(depth_m)
            ))
        });
        page.row(
            &[(18, word)],
            &format!("{}{}", reader.elevation(elevation_m), amounts.unwrap_or_default()),
        );
    }
    page.line(match &lake.hypsography {
        None => "no hypsography: no volumes, and the rules that need them are left out",
        Some(table) if table.volume_given => "volumes as the file gives them, checked against the areas",
        Some(_) => "volumes derived from the areas",
    });
}

fn zone_at(lake: &Lake, zone: &Zone, elevation_m: f64, reader: &Reader) -> String {
    if zone.kind == ZoneKind::River {
        return format!(
            "river above {}",
            zone.above.as_ref().map_or("", |above| above.as_str())
        );
    }
    let kind = if zone.kind == ZoneKind::MainBody {
        "main body"
    } else {
        "arm"
    };
    if lake.is_closed_at(zone, elevation_m) == Some(true) {
        return format!("{kind}, closed at this pool");
    }
    let mut parts = vec![kind.to_owned()];
    parts.extend(
        lake.zone_area_m2(zone, elevation_m)
            .map(|area_m2| reader.area(area_m2)),
    );
    parts.extend(
        lake.zone_volume_m3(zone, elevation_m)
            .map(|volume_m3| reader.volume(volume_m3)),
    );
    parts.extend(
        lake.zone_max_depth_m(zone, elevation_m)
            .map(|depth_m| format!("{} deep", reader.elevation(depth_m))),
    );
    parts.join(", ")
}

fn wind_and_bed(page: &mut Page, lake: &Lake, reader: &Reader) {
    page.title("Bed, axis, and open water upwind");
    for zone in lake.zones.iter().filter(|zone| zone.kind != ZoneKind::River) {
        let mut parts = Vec::new();
        if let (Some(first), Some(last)) = (zone.thalweg.first(), zone.thalweg.last()) {
            parts.push(format!(
                "bed from {} to {} over {}",
                reader.elevation(first.bed_elevation_m),
                reader.elevation(last.bed_elevation_m),
                reader.distance(last.distance_m)
            ));
        }
        parts.extend(
            zone.orientation_deg
                .map(|axis_deg| format!("axis toward {axis_deg:.0} deg")),
        );
        if !zone.fetch.is_empty() {
            let by_wind = zone
                .fetch
                .iter()
                .map(|(from_deg, m)| format!("{from_deg:.0} deg {}", reader.distance(*m)));
            parts.push(format!("wind from {}", by_wind.collect::<Vec<_>>().join(", ")));
        }
        let text = if parts.is_empty() {
            "not given".to_owned()
        } else {
            parts.join("; ")
        };
        page.row(&[(18, &zone.name)], &text);
    }
}

fn places(page: &mut Page, lake: &Lake, reader: &Reader) {
    page.titled("Stretches", lake.stretches.is_empty());
    for stretch in &lake.stretches {
        let structure = match stretch.structure {
            Structure::Channel => "channel",
            Structure::Bluff => "bluff",
            Structure::Island => "island",
            Structure::Flat => "flat",
            Structure::Point => "point",
        };
        let bed = reader.elevation(stretch.bed_elevation_m);
        let text = format!("{structure}, bed at {bed}, line of {} points", stretch.line.len());
        page.row(&[(18, &stretch.name), (14, stretch.zone.as_str())], &text);
    }
    page.titled("Ramps", lake.ramps.is_empty());
    for ramp in &lake.ramps {
        let lanes = ramp
            .lanes
            .iter()
            .map(|(e, n)| format!("{n} from {}", reader.elevation(*e)))
            .collect::<Vec<_>>();
        let lanes = if lanes.is_empty() {
            String::new()
        } else {
            format!("; lanes: {}", lanes.join(", "))
        };
        let place = ramp
            .position
            .map_or(String::new(), |(lat, lon)| format!("; at {lat:.4}, {lon:.4}"));
        let text = format!("toe {}{lanes}{place}", reader.elevation(ramp.toe_elevation_m));
        page.row(&[(18, &ramp.name), (14, ramp.zone.as_str())], &text);
    }
    page.titled("Hazards, as a falling pool meets them", lake.hazards.is_empty());
    let mut hazards: Vec<_> = lake.hazards.iter().collect();
    hazards.sort_by(|a, b| b.top_elevation_m.total_cmp(&a.top_elevation_m));
    for hazard in hazards {
        let kind = match hazard.kind {
            HazardKind::Rock => "rock",
            HazardKind::Stumps => "stumps",
            HazardKind::Saddle => "saddle that dries",
        };
        let text = format!("{}, {}, {kind}", hazard.name, hazard.zone);
        page.row(&[(18, &reader.elevation(hazard.top_elevation_m))], &text);
    }
}

fn water(page: &mut Page, lake: &Lake, reader: &Reader) {
    page.titled("Inflows", lake.inflows.is_empty());
    for inflow in &lake.inflows {
        page.row(&[(18, &inflow.name)], &inflow_text(inflow, reader));
    }
    page.titled("Outlets", lake.outlets.is_empty());
    for outlet in &lake.outlets {
        page.row(&[(18, &outlet.name)], &reader.elevation(outlet.elevation_m));
    }
    page.titled(
        "Light extinction, January to December, per metre",
        lake.clarity.is_none(),
    );
    if let Some(clarity) = &lake.clarity {
        let months = clarity.extinction_per_m.map(|k| format!("{k:.2}")).join(" ");
        let from = if clarity.from_secchi {
            " (from Secchi depths: 1.7 over the depth)"
        } else {
            ""
        };
        page.line(&format!("{months}{from}"));
    }
    page.titled("Oxygen in deep water", lake.oxygen.is_none());
    match lake.oxygen {
        Some(OxygenPrior::Trophic(TrophicState::Oligotrophic)) => page.line("oligotrophic lake"),
        Some(OxygenPrior::Trophic(TrophicState::Mesotrophic)) => page.line("mesotrophic lake"),
        Some(OxygenPrior::Trophic(TrophicState::Eutrophic)) => page.line("eutrophic lake"),
        Some(OxygenPrior::DemandMgLPerDay(demand)) => page.line(&format!("demand {demand} mg/L a day")),
        None => {}
    }
}

fn inflow_text(inflow: &Inflow, reader: &Reader) -> String {
    let flow = match &inflow.flow {
        InflowFlow::Series => "gauged".to_owned(),
        InflowFlow::FromGauge { gauge, factor } => format!("{factor} times the flow of {gauge}"),
    };
    let regime = match inflow.thermal_regime {
        ThermalRegime::Lowland => "lowland",
        ThermalRegime::Regulated => "regulated",
        ThermalRegime::SnowFed => "snow-fed",
    };
    let dam = if inflow.regulated { ", behind a dam" } else { "" };
    let mean = inflow.mean_flow_m3s.map_or(String::new(), |flow_m3s| {
        format!(", mean {}", reader.discharge(flow_m3s))
    });
    format!(
        "enters {}; {flow}; temperature as a {regime} river{dam}{mean}",
        inflow.enters
    )
}

fn fish(page: &mut Page, lake: &Lake, reader: &Reader) {
    page.title("Species");
    for species in &lake.species {
        let mature = species
            .mature_frac
            .map_or(String::new(), |m| format!("mature share in autumn {m}"));
        page.row(&[(18, species.id.as_str())], &mature);
    }
    page.titled("Stocking", lake.stocking.is_empty());
    for event in &lake.stocking {
        let text = format!("{} {} into {}", event.count, event.species, event.zone);
        page.row(&[(18, &event.date.to_string())], &text);
    }
    page.titled("Planned release", lake.planned_release.is_empty());
    for plan in &lake.planned_release {
        let text = format!(
            "{} to {}: {} ({})",
            plan.from,
            plan.until,
            reader.discharge(plan.flow_m3s),
            plan.source
        );
        page.line(&text);
    }
    if !lake.model_factors.is_empty() {
        page.title("Factors of the water model");
    }
    for factor in &lake.model_factors {
        let text = format!(
            "{} with a spread of its logarithm of {}",
            factor.median_frac, factor.log_sd
        );
        page.row(&[(18, &factor.name)], &text);
    }
    notices(page, lake, reader);
    page.titled("Presentation ladder", lake.ladder.is_empty());
    for (i, rung) in lake.ladder.iter().enumerate() {
        page.row(&[(2, &format!("{}.", i + 1))], &rung_text(rung, reader));
    }
}

fn rung_text(rung: &Presentation, reader: &Reader) -> String {
    let species = rung
        .species
        .iter()
        .map(|id| id.as_str())
        .collect::<Vec<_>>()
        .join(", ");
    let lead = rung
        .lead_m
        .map_or(String::new(), |lead_m| format!(", lead {}", reader.lead(lead_m)));
    let speeds = reader.speeds(rung.speed_min_m_s, rung.speed_max_m_s);
    format!(
        "{}: {species}; {speeds}{lead}; move on: {} ({})",
        rung.what, rung.move_on, rung.basis
    )
}

fn series_text(series: &SeriesSource, reader: &Reader) -> String {
    let place = place_text(series);
    let depth = series.depth_m.map_or(String::new(), |depth_m| {
        format!(" at {}", reader.elevation(depth_m))
    });
    let station = if series.station.is_empty() {
        String::new()
    } else {
        format!(" {}", series.station)
    };
    let mut parts = vec![format!("{}{place}{depth}", series.quantity.word())];
    match &series.csv {
        Some(csv) => {
            let unit = series.unit.as_deref().unwrap_or("");
            parts.push(format!(
                "column {} of {}, {unit}, stamps {}",
                csv.value,
                csv.path.display(),
                csv.stamp_zone
            ));
        }
        None => parts.push(format!("{}{station} {}", series.service, series.parameter)),
    }
    parts.extend(
        series
            .statistic
            .as_ref()
            .map(|code| format!("daily statistic {code}")),
    );
    parts.extend(
        series
            .ensemble_model
            .as_ref()
            .map(|model| format!("ensemble {model}")),
    );
    let day =
        |date: Option<chrono::NaiveDate>, word| date.map_or(String::new(), |date| format!(" {word} {date}"));
    parts.extend(series.cadences.iter().map(|cadence| match cadence {
        Cadence::Daily => format!(
            "daily{}{}",
            day(series.daily_from, "from"),
            day(series.daily_until, "to")
        ),
        Cadence::Continuous => format!("continuous{}", day(series.continuous_from, "from")),
        Cadence::Forecast => "forecast".to_owned(),
    }));
    if let Some(offset_m) = series.datum_offset_m {
        let source = series.datum_source.as_deref().unwrap_or("");
        parts.push(format!("reading plus {} ({source})", reader.elevation(offset_m)));
    }
    parts.extend(
        series
            .stands_in_for
            .as_ref()
            .map(|first| format!("stands in for {first}")),
    );
    parts.extend(series.late_after_h.map(|age_h| format!("late after {age_h} h")));
    parts.join("; ")
}
