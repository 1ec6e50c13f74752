//! What was found, for people: station by station, what each measures and since when.

use super::write::plain;
use crate::faces::Units;
use crate::lake::Cadence;
use crate::reports::draft::Group;
use crate::sources::Site;
use crate::units::M_PER_MI;

/// The groups of one station.
pub(super) struct StationGroups<'g> {
    pub groups: Vec<&'g Group>,
}

impl StationGroups<'_> {
    /// Station, name, distance, service.
    pub fn title(&self, units: Units) -> String {
        let Some(first) = self.groups.first().map(|group| group.first()) else {
            return String::new();
        };
        let away = first
            .distance_m
            .map_or(String::new(), |away_m| format!(", {}", miles(away_m, units)));
        let station = if first.station.is_empty() {
            String::new()
        } else {
            format!("{} ", first.station)
        };
        plain(&format!("{station}{}{away}, {}", first.name, first.service))
    }
}

impl StationGroups<'_> {
    /// All that a weather station or forecast has in one line: it has no dates, and its parameters' names say
    /// what they are. `None` of other stations.
    pub fn weather(&self) -> Option<String> {
        let first = self.groups.first()?.first();
        if first.site != Site::Weather {
            return None;
        }
        let names: Vec<&str> = self.groups.iter().map(|g| g.first().parameter.as_str()).collect();
        let cadence = match first.cadence {
            Cadence::Forecast => "forecast",
            Cadence::Daily => "daily",
            Cadence::Continuous => "within the day",
        };
        Some(format!("{cadence}: {}", names.join(", ")))
    }
}

/// Groups by station, in the order of the first of each.
pub(super) fn stations(groups: &[Group]) -> Vec<StationGroups<'_>> {
    let mut found: Vec<StationGroups<'_>> = Vec::new();
    for group in groups {
        let key = (group.first().service, &group.first().station);
        let same = |s: &&mut StationGroups<'_>| {
            s.groups
                .first()
                .is_some_and(|g| (g.first().service, &g.first().station) == key)
        };
        match found.iter_mut().find(same) {
            Some(station) => station.groups.push(group),
            None => found.push(StationGroups { groups: vec![group] }),
        }
    }
    found
}

/// Everything that was found.
pub fn render_found(groups: &[Group], units: Units) -> String {
    let mut text = String::new();
    for station in stations(groups) {
        text.push_str(&station.title(units));
        text.push('\n');
        if let Some(line) = station.weather() {
            text.push_str(&plain(&format!("  {line}")));
            text.push('\n');
            continue;
        }
        for group in &station.groups {
            let first = group.first();
            let unit = if first.unit.is_empty() {
                String::new()
            } else {
                format!(", {}", first.unit)
            };
            let line = format!(
                "  {}  {}{unit}; {}",
                first.parameter,
                first.what,
                cadences_of(group)
            );
            text.push_str(&plain(&line));
            text.push('\n');
        }
    }
    text
}

/// Cadences of a group, each with its first and last day.
pub(super) fn cadences_of(group: &Group) -> String {
    let parts: Vec<String> = group
        .members
        .iter()
        .map(|member| {
            let what = match member.cadence {
                Cadence::Daily => "daily",
                Cadence::Continuous => "within the day",
                Cadence::Forecast => "forecast",
            };
            let statistic = member
                .statistic
                .as_ref()
                .map_or(String::new(), |code| format!(" {code}"));
            let place = member
                .sublocation
                .as_ref()
                .map_or(String::new(), |place| format!(" ({place})"));
            let span = match (member.since, member.until) {
                (Some(since), Some(until)) => format!(" {since} to {until}"),
                (Some(since), None) => format!(" since {since}"),
                (None, Some(until)) => format!(" to {until}"),
                (None, None) => String::new(),
            };
            format!("{what}{statistic}{place}{span}")
        })
        .collect();
    parts.join(", ")
}

/// A distance in the reader's units.
pub(super) fn miles(distance_m: f64, units: Units) -> String {
    match units {
        Units::Us => format!("{:.1} mi", distance_m / M_PER_MI),
        Units::Metric => format!("{:.1} km", distance_m / 1000.0),
    }
}
