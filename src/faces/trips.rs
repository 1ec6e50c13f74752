//! Trips of the log as text: a line a trip, and one trip whole.

use super::reader::{Reader, compass, rounded};
use crate::lake::Lake;
use crate::trips::tracks::CutTrack;
use crate::trips::{Catch, Leg, Reading, StoredTrip, Trip, Version};

/// All trips, a line each, with what they add up to.
pub fn render_trips(trips: &[StoredTrip], lake: &Lake) -> String {
    if trips.is_empty() {
        return "no trips yet: plungeline log add\n".to_owned();
    }
    let rows: Vec<[String; 6]> = trips
        .iter()
        .map(|(number, trip)| row_of(*number, trip, lake))
        .collect();
    let width = |i: usize| rows.iter().map(|row| row[i].chars().count()).max().unwrap_or(0);
    let widths: [usize; 6] = std::array::from_fn(width);
    let mut out = String::new();
    for row in &rows {
        let cells = row.iter().enumerate().map(|(i, cell)| {
            let pad = " ".repeat(widths[i] - cell.chars().count());
            // Figures stand at the right, words at the left.
            if matches!(i, 0 | 2 | 3) {
                format!("{pad}{cell}")
            } else {
                format!("{cell}{pad}")
            }
        });
        let line = cells.collect::<Vec<_>>().join("  ");
        out.push_str(line.trim_end());
        out.push('\n');
    }
    let hours_h: f64 = trips.iter().map(|(_, trip)| hours(trip)).sum();
    let blank = trips
        .iter()
        .filter(|(_, trip)| told(trip) && fish_of(trip) == 0)
        .count();
    let untold = trips.iter().filter(|(_, trip)| !told(trip)).count();
    out.push_str(&format!(
        "{}, {} h",
        count(trips.len(), "trip", "trips"),
        rounded(hours_h, 1)
    ));
    if blank > 0 {
        out.push_str(&format!("; {blank} blank"));
    }
    if untold > 0 {
        out.push_str(&format!(
            "; the catch of {untold} is not told (plungeline log edit N catch=blank, or rainbow-trout=3)"
        ));
    }
    out.push('\n');
    out
}

fn row_of(number: u32, trip: &Trip, lake: &Lake) -> [String; 6] {
    let rods: Option<f64> = trip.legs.iter().map(Leg::rod_h).sum();
    let mut places: Vec<String> = Vec::new();
    for leg in &trip.legs {
        let name = place(leg, lake);
        if !places.contains(&name) {
            places.push(name);
        }
    }
    [
        number.to_string(),
        trip.date.format("%a %-d %b %Y").to_string(),
        format!("{} h", rounded(hours(trip), 1)),
        rods.map_or("rods not told".to_owned(), |h| format!("{} rod-h", rounded(h, 1))),
        places.join(", "),
        caught(trip.legs.iter()),
    ]
}

fn hours(trip: &Trip) -> f64 {
    trip.legs.iter().map(|leg| leg.duration_h).sum()
}

fn told(trip: &Trip) -> bool {
    trip.legs.iter().all(|leg| leg.catch_known)
}

fn fish_of(trip: &Trip) -> u32 {
    trip.legs
        .iter()
        .flat_map(|leg| &leg.catches)
        .map(|fish| fish.count)
        .fold(0, u32::saturating_add)
}

fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// Where a leg was, by name.
fn place(leg: &Leg, lake: &Lake) -> String {
    let zone = lake
        .zone(&leg.zone)
        .map_or(leg.zone.as_str(), |zone| zone.name.as_str());
    let stretch = leg
        .stretch
        .as_deref()
        .and_then(|id| lake.stretches.iter().find(|s| s.id == id));
    match (stretch, &leg.stretch) {
        (Some(stretch), _) => format!("{} ({zone})", stretch.name),
        (None, Some(id)) => format!("{id} ({zone})"),
        (None, None) => zone.to_owned(),
    }
}

/// What legs caught, in words.
fn caught<'l>(legs: impl Iterator<Item = &'l Leg>) -> String {
    let (mut all, mut untold) = (Vec::<(String, u32)>::new(), 0);
    for leg in legs {
        untold += usize::from(!leg.catch_known);
        for fish in &leg.catches {
            match all
                .iter_mut()
                .find(|(species, _)| species == fish.species.as_str())
            {
                Some((_, count)) => *count = count.saturating_add(fish.count),
                None => all.push((fish.species.as_str().to_owned(), fish.count)),
            }
        }
    }
    all.retain(|(_, count)| *count > 0);
    let mut words: Vec<String> = all
        .iter()
        .map(|(species, count)| format!("{count} {species}"))
        .collect();
    if words.is_empty() && untold == 0 {
        words.push("blank".to_owned());
    }
    if untold > 0 {
        words.push("catch not told".to_owned());
    }
    words.join(", ")
}

/// A version of a trip, whole.
pub fn render_trip(number: u32, version: &Version, newest: usize, lake: &Lake, reader: &Reader) -> String {
    let trip = &version.trip;
    let mut out = format!("Trip {number}, {}", trip.date.format("%a %-d %b %Y"));
    if newest > 1 {
        out.push_str(&format!(", version {} of {newest}", version.version));
    }
    out.push_str(&format!(", written {}", reader.stamp(version.recorded_at)));
    out.push_str(if version.removed { ", REMOVED\n" } else { "\n" });
    for (i, leg) in trip.legs.iter().enumerate() {
        out.push_str(&format!("  {}  {}\n", i + 1, place(leg, lake)));
        for line in leg_lines(leg, reader) {
            out.push_str(&format!("     {line}\n"));
        }
    }
    for mark in &trip.marks {
        let when = mark
            .time
            .map_or(String::new(), |t| format!(", {}", reader.hour(t)));
        let many = mark.count.map_or(String::new(), |n| format!(", {n} of them"));
        out.push_str(&format!(
            "  mark  {} at {} in {}{many}{when}\n",
            mark.kind.word(),
            reader.depth(mark.depth_m),
            mark.zone
        ));
    }
    for reading in &trip.readings {
        out.push_str(&format!("  water {}\n", reading_words(reading, reader)));
    }
    if let Some(note) = &trip.note {
        out.push_str(&format!("  note  {note}\n"));
    }
    out
}

fn leg_lines(leg: &Leg, reader: &Reader) -> Vec<String> {
    let hours = match (leg.start, leg.end()) {
        (Some(start), Some(end)) => {
            format!(
                "{} to {}, {} h",
                reader.hour(start),
                reader.hour(end),
                rounded(leg.duration_h, 2)
            )
        }
        _ => format!("{} h", rounded(leg.duration_h, 2)),
    };
    let mut how = vec![hours];
    how.push(leg.rods.map_or("rods not told".to_owned(), |rods| {
        count(rods as usize, "rod", "rods")
    }));
    how.extend(leg.depth_m.map(|depth_m| format!("at {}", reader.depth(depth_m))));
    how.extend(leg.speed_m_s.map(|speed_m_s| reader.speeds(speed_m_s, speed_m_s)));
    how.extend(leg.presentation.as_ref().map(|kind| format!("on {kind}")));
    how.extend(leg.reason.map(|reason| format!("by {}", reason.word())));
    how.extend(leg.light.map(|light| format!("light {}", light.word())));
    let mut lines = vec![how.join(", ")];
    if let Some((drift_m_s, drift_deg)) = leg.drift_m_s.zip(leg.drift_deg) {
        let made_good = reader.speeds(drift_m_s, drift_m_s);
        lines.push(format!("made good {made_good} toward {}", compass(drift_deg)));
    }
    match leg.catches.is_empty() {
        true => lines.push(caught(std::iter::once(leg))),
        false => lines.extend(leg.catches.iter().map(|fish| fish_words(fish, reader))),
    }
    lines
}

fn fish_words(fish: &Catch, reader: &Reader) -> String {
    let mut words = format!("{} {}", fish.count, fish.species);
    if let Some(length_m) = fish.length_m {
        words.push_str(&format!(", {}", reader.lead(length_m)));
    }
    if let Some(depth_m) = fish.depth_m {
        words.push_str(&format!(", took at {}", reader.depth(depth_m)));
    }
    match fish.released {
        Some(released) if released == fish.count => words.push_str(", released"),
        Some(released) if released > 0 => words.push_str(&format!(", {released} released")),
        _ => {}
    }
    words
}

fn reading_words(reading: &Reading, reader: &Reader) -> String {
    let mut words = vec![format!("{} in {}", reading.instrument.word(), reading.zone)];
    if reading.depth_m > 0.0 {
        words.push(format!("at {}", reader.depth(reading.depth_m)));
    }
    words.extend(reading.temp_degc.map(|temp_degc| reader.temp(temp_degc)));
    words.extend(
        reading
            .oxygen_mg_l
            .map(|oxygen_mg_l| format!("oxygen {} mg/L", rounded(oxygen_mg_l, 1))),
    );
    words.extend(
        reading
            .secchi_m
            .map(|secchi_m| format!("Secchi {}", reader.depth(secchi_m))),
    );
    words.extend(reading.time.map(|time| reader.hour(time)));
    words.join(", ")
}

/// What of a track is no leg.
pub fn render_cut(cut: &CutTrack, (without_time, not_later): (usize, usize)) -> Vec<String> {
    let mut lines = Vec::new();
    for (hours_h, what) in [
        (cut.running_h, "running from place to place, which is no effort"),
        (cut.outside_h, "outside the outlines of the lake file"),
        (cut.short_h, "in pieces too short for a leg"),
    ] {
        if hours_h > 0.005 {
            lines.push(format!("{} h {what}", rounded(hours_h, 2)));
        }
    }
    for (points, what) in [
        (without_time, "without a time"),
        (not_later, "no later than the one before"),
    ] {
        if points > 0 {
            lines.push(format!("{} {what} left out", count(points, "point", "points")));
        }
    }
    lines
}
